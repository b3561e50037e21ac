package jobs

import (
	"slices"
	"time"
)

// places are the stowing places named so far, each once.
func (s *State) places() []string {
	var list []string
	add := func(name string) {
		if name != "" && !slices.ContainsFunc(list, func(x string) bool { return normal(x) == normal(name) }) {
			list = append(list, name)
		}
	}
	for _, g := range s.Groups {
		add(g.Stow)
	}
	for _, p := range s.Parts {
		add(p.Where)
	}
	if s.Sheet != nil {
		for _, name := range s.Sheet.Places {
			add(name)
		}
	}
	return list
}

// tellHeld says what lies in a place: fasteners that are out and parts set aside.
func (d *draft) tellHeld(place string) {
	place = bare(place)
	known := d.st.places()
	if hits := find(place, len(known), func(i int) []string { return []string{known[i]} }); len(hits) == 1 {
		place = known[hits[0]]
	} else if len(hits) > 1 && len(hits) <= 4 {
		var list []choice
		var said []string
		for _, i := range hits {
			said = append(said, known[i])
			list = append(list, choice{known[i], func(d *draft) { d.keep = false; d.heldIn(known[i]) }})
		}
		d.keep = false
		d.choose(ReplyQuestion, capital(orList(said))+"?", false, list...)
		return
	}
	d.heldIn(place)
}

func (d *draft) heldIn(place string) {
	var there, homes []string
	var at time.Time
	for _, g := range d.st.Groups {
		switch {
		case normal(g.Stow) != normal(place):
		case g.out() > 0:
			there, at = append(there, spell(g.out())+" "+g.Name), g.StowAt
		default:
			homes = append(homes, g.Name)
		}
	}
	for _, p := range d.st.Parts {
		if normal(p.Where) == normal(place) && p.Fitted == 0 {
			there, at = append(there, p.Name), p.WhereAt
		}
	}
	where := lying(place)
	switch {
	case len(there) == 1:
		d.say(ReplyAnswer, "%s: %s, %s.", capital(where), there[0], d.from(at))
	case len(there) > 1:
		d.say(ReplyAnswer, "%s: %s.", capital(where), fewOf(there, 5))
	case len(homes) > 0:
		d.say(ReplyAnswer, "Nothing %s now. It is the place of the %s.", where, fewOf(homes, 3))
	default:
		d.say(ReplyAnswer, "Nothing is noted %s.", where)
	}
	if normal(place) != "bench" {
		return
	}
	var loose []string
	for _, g := range d.st.Groups {
		if g.out() > 0 && g.Stow == "" {
			loose = append(loose, spell(g.out())+" "+g.Name)
		}
	}
	if len(loose) > 0 {
		d.room("Out with no place said: %s.", fewOf(loose, 3))
	}
}
