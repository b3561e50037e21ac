package jobs

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"putback/intent"
	"putback/jobs/fastening"
)

// sealant finds a sealant by its name, dictated ones before the sheet's.
func (s *State) sealant(name string) *SheetSealant {
	list := s.Labels
	if s.Sheet != nil {
		list = append(slices.Clip(list), s.Sheet.Sealants...)
	}
	hits := find(name, len(list), func(i int) []string { return []string{list[i].Name} })
	if len(hits) == 0 {
		return nil
	}
	return &list[hits[0]]
}

// labelTime takes a dictated time of a sealant.
func (s *State) labelTime(v sealantTime) error {
	if v.For <= 0 || v.For > 100*24*time.Hour {
		return fmt.Errorf("%s is no time for a sealant", v.For)
	}
	x := SheetSealant{Name: v.Sealant}
	at := slices.IndexFunc(s.Labels, func(l SheetSealant) bool { return l.Name == v.Sealant })
	if at >= 0 {
		x = s.Labels[at]
	} else if s.Sheet != nil {
		if i := slices.IndexFunc(s.Sheet.Sealants, func(l SheetSealant) bool { return l.Name == v.Sealant }); i >= 0 {
			x = s.Sheet.Sealants[i]
		}
	}
	switch v.What {
	case "close":
		x.CloseWithin = v.For
	case "torque":
		x.TorqueIn = v.For
	case "oil":
		x.OilAfter = v.For
	case "cure":
		x.Cure = v.For
	default:
		return fmt.Errorf("a sealant has no time %q", v.What)
	}
	if at >= 0 {
		s.Labels[at] = x
	} else {
		x.Source = "your word"
		s.Labels = append(s.Labels, x)
	}
	return nil
}

func (x *SheetSealant) product() fastening.Sealant {
	return fastening.Sealant{Name: x.Name, CloseWithin: x.CloseWithin, FluidAfter: x.OilAfter, Cure: x.Cure, Source: x.Source}
}

// limitTime is the time from putting it on until it must be closed or tight, 0 none.
func (x *SheetSealant) limitTime() time.Duration {
	if x.CloseWithin > 0 && (x.TorqueIn == 0 || x.CloseWithin < x.TorqueIn) {
		return x.CloseWithin
	}
	return x.TorqueIn
}

// seal starts the closing time of a sealant put on at a step. The groups whose
// tightening ends it are the step's own, or those of the steps waiting for it.
func (d *draft) seal(name string, st *step) {
	x := d.st.sealant(name)
	if x == nil {
		return
	}
	groups := st.Fasteners
	if len(groups) == 0 {
		for _, o := range d.st.Steps {
			if slices.Contains(d.st.constraints(o), st.Name) && len(o.Fasteners) > 0 {
				groups = append(slices.Clip(groups), o.Fasteners...)
			}
		}
	}
	for _, t := range d.st.Timers {
		if t.Sealant == x.Name && overlap(t.Groups, groups) {
			return // said when it was put on
		}
	}
	if d.st.closedUp(st.Fasteners) {
		d.startWaits(x)
		d.waitWords(x)
		return
	}
	d.startSealant(x, groups)
	if limit := x.limitTime(); limit > 0 {
		d.more("%s", x.toClose(limit))
	}
}

// locker starts the time of a locker when its bolts go in.
func (d *draft) locker(g *group) {
	x := d.st.sealant(g.Locker)
	if g.Locker == "" || x == nil || x.limitTime() == 0 {
		return
	}
	for _, t := range d.st.Timers {
		if !t.Ended && t.Sealant == x.Name && slices.Contains(t.Groups, g.Name) {
			return
		}
	}
	d.startSealant(x, []string{g.Name})
	d.more("%s", x.toClose(x.limitTime()))
}

// closedUp tells whether all of the groups are tight; false without any.
func (s *State) closedUp(groups []string) bool {
	for _, name := range groups {
		g := s.group(name)
		if g == nil || g.holes() > 0 || g.tight() == 0 || g.tight() < g.Count {
			return false
		}
	}
	return len(groups) > 0
}

// toClose says how long there is from now.
func (x *SheetSealant) toClose(limit time.Duration) string {
	what := "to close it"
	if x.CloseWithin == 0 {
		what = "to torque"
	}
	return capital(lasts(limit)) + " " + what + ", by " + x.Source + "."
}

func (d *draft) startSealant(x *SheetSealant, groups []string) {
	limit := x.limitTime()
	if limit == 0 {
		return
	}
	p := x.product()
	p.CloseWithin = limit
	t := timerSet{Name: x.Name, Due: limit, Source: x.Source, Limit: true, Sealant: x.Name, Groups: groups}
	if w := p.WarnBefore(); w > 0 && w < limit {
		t.Warn = w
	}
	d.add(KindTimer, t)
}

// sealed records a sealant or locker said to be on.
func (d *draft) sealed(v intent.Sealed) {
	if v.Sealant == "" {
		v.Sealant = d.st.beadIn()
	}
	x := d.st.sealant(v.Sealant)
	if x == nil && v.Sealant == "" {
		d.say(ReplyAnswer, "Of which sealant? Say its name.")
		return
	}
	if x == nil {
		d.add(KindNote, named{Text: v.Sealant + " on " + v.Where})
		d.say(ReplyReadBack, "%s noted. I have no times for it; give me a timer from its label.", capital(v.Sealant))
		return
	}
	var groups []string
	if v.Where != "" {
		var locked []string
		for _, g := range d.st.lookGroups(v.Where, nil, nil) {
			groups = append(groups, g.Name)
			if l := d.st.sealant(g.Locker); g.Locker != "" && l != nil && l.Name == x.Name {
				locked = append(locked, g.Name)
			}
		}
		if len(locked) > 0 { // of several of that name, those that want it
			groups = locked
		}
	}
	d.startSealant(x, groups)
	if limit := x.limitTime(); limit > 0 {
		d.say(ReplyReadBack, "%s on. %s", capital(x.Name), x.toClose(limit))
		return
	}
	d.startWaits(x)
	d.say(ReplyReadBack, "%s on.", capital(x.Name))
}

// beadIn is the sealant that is meant by "the bead": that of the step in hand, of
// the only steps that want one, or the only one there is; "" none.
func (s *State) beadIn() string {
	if st := s.open(); st != nil && st.Sealant != "" {
		return st.Sealant
	}
	var names []string
	add := func(name string) {
		if x := s.sealant(name); x != nil && x.CloseWithin > 0 && !slices.Contains(names, x.Name) {
			names = append(names, x.Name)
		}
	}
	for _, st := range s.Steps {
		add(st.Sealant)
	}
	if len(names) == 0 && s.Sheet != nil {
		for _, x := range s.Sheet.Sealants {
			add(x.Name)
		}
	}
	if len(names) == 1 {
		return names[0]
	}
	return ""
}

// closed ends the closing times whose fasteners are now all tight, and starts the long waits.
func (d *draft) closed() {
	for _, t := range d.st.Timers {
		if !t.Limit || t.Ended || t.Sealant == "" || len(t.Groups) == 0 {
			continue
		}
		if !d.st.closedUp(t.Groups) {
			continue
		}
		x := d.st.sealant(t.Sealant)
		d.add(KindTimerOff, named{Name: t.Name})
		if x == nil {
			continue
		}
		d.startWaits(x)
		if late := d.now.After(t.due()); late {
			d.more("%s: %s late.", capital(x.Name), lasts(d.now.Sub(t.due())))
		} else {
			d.more("%s: in time.", capital(x.Name))
		}
		d.waitWords(x)
	}
}

// waitWords says how long a sealant wants now.
func (d *draft) waitWords(x *SheetSealant) {
	if x.OilAfter > 0 {
		d.more("No oil or coolant for %s, by %s.", lasts(x.OilAfter), x.Source)
	} else if x.Cure > 0 {
		d.more("It cures in %s, by %s.", lasts(x.Cure), x.Source)
	}
}

// wetTail ends the name of the wait before oil or coolant may touch a sealant.
const wetTail = " before oil"

func (d *draft) startWaits(x *SheetSealant) {
	if x.OilAfter > 0 {
		d.add(KindTimer, timerSet{Name: x.Name + wetTail, Due: x.OilAfter, Source: x.Source, Sealant: x.Name})
	}
	if x.Cure > 0 {
		d.add(KindTimer, timerSet{Name: x.Name + " full cure", Due: x.Cure, Source: x.Source, Sealant: x.Name})
	}
}

// fluidWait says that a sealant still needs time before a step's fluid.
func (s *State) fluidWait(st *step, d *draft) string {
	if st.Phase != "refit" || len(st.Fluids) == 0 {
		return ""
	}
	return s.wetWait(d.now)
}

func (s *State) wetWait(now time.Time) string {
	for _, t := range s.Timers {
		if t.Limit || t.Ended || t.Sealant == "" || !now.Before(t.due()) || t.Name != t.Sealant+wetTail {
			continue
		}
		return capital(t.Sealant) + " wants " + lasts(t.due().Sub(now)) + " more before oil or coolant."
	}
	return ""
}

// fluidWhen says when a fluid may go in: after the sealant, if one was put on.
func (d *draft) fluidWhen(fluid string) {
	if wait := d.st.wetWait(d.now); wait != "" {
		d.tell(ReplyAnswer, wait)
		return
	}
	for _, t := range d.st.Timers {
		if !t.Limit || t.Ended || t.Sealant == "" {
			continue
		}
		if x := d.st.sealant(t.Sealant); x != nil && x.OilAfter > 0 {
			d.say(ReplyAnswer, "%s after the %s is closed up, by %s.", capital(lasts(x.OilAfter)), x.Name, x.Source)
			if d.now.Before(t.due()) {
				d.more("%s left to close it.", capital(lasts(t.due().Sub(d.now))))
			}
			return
		}
	}
	name := d.fluidName(fluid)
	for _, st := range d.st.Steps {
		if st.Phase == "refit" && st.State != "done" && slices.Contains(st.Fluids, name) {
			if w := d.st.waits(st); len(w) > 0 {
				d.say(ReplyAnswer, "%s waits for %s.", capital(st.Name), andList(w))
				return
			}
		}
	}
	d.say(ReplyAnswer, "Nothing on record keeps %s out.", the(name))
}

// timer starts a timer somebody asked for.
func (d *draft) timer(v intent.Timer) {
	name := v.Name
	if name == "" {
		name = "timer"
	}
	if v.For <= 0 {
		d.say(ReplyAnswer, "For how long?")
		return
	}
	t := timerSet{Name: name, Due: v.For}
	if v.For > 2*time.Minute {
		t.Warn = v.For - max(min(v.For/5, 10*time.Minute), time.Minute)
	}
	d.add(KindTimer, t)
	d.numbers = append(d.numbers, v.For.Minutes())
	d.say(ReplyReadBack, "%s: %s from now.", capital(name), lasts(v.For))
}

func (d *draft) timerOff(name string) {
	var list []*timer
	for _, t := range d.st.Timers {
		if !t.Ended && !t.Over && (name == "" || likeness(name, t.Name) > 0) {
			list = append(list, t)
		}
	}
	switch {
	case len(list) == 0:
		d.say(ReplyAnswer, "No such timer is running.")
	case len(list) > 1 && normal(list[0].Name) != normal(name):
		var c []choice
		var said []string
		for _, t := range list[:min(len(list), 4)] {
			c = append(c, choice{t.Name, func(d *draft) { d.timerOff(t.Name) }})
			said = append(said, t.Name)
		}
		d.choose(ReplyQuestion, capital(orList(said))+"?", true, c...)
	default:
		d.add(KindTimerOff, named{Name: list[0].Name})
		d.say(ReplyReadBack, "%s stopped.", capital(list[0].Name))
	}
}

func (d *draft) timers(name string) {
	var list []string
	for _, t := range d.st.Timers {
		if t.Ended || !d.now.Before(t.due()) || name != "" && likeness(name, t.Name) == 0 {
			continue
		}
		list = append(list, t.Name+" "+lasts(t.due().Sub(d.now)))
	}
	switch {
	case len(list) > 0:
	case name != "" && d.tellSealant(name):
		return
	case name != "" && sealantWords.MatchString(name):
		d.tell(ReplyAnswer, fastening.AnswerSealantTimes().Spoken())
		return
	default:
		d.say(ReplyAnswer, "No timer is running.")
		return
	}
	d.say(ReplyAnswer, "Left: %s.", fewOf(list, 3))
}

// sealantWords are names of sealants and lockers, whose times are on a label.
var sealantWords = regexp.MustCompile(`(?i)silicone|seal|RTV|gasket maker|anaerobic|lock`)

// tellSealant gives the times of a sealant of the sheet; false: the sheet has none of that name.
func (d *draft) tellSealant(name string) bool {
	x := d.st.sealant(name)
	if x == nil {
		return false
	}
	var times []string
	for _, t := range []struct {
		what string
		time time.Duration
	}{{"close within", x.CloseWithin}, {"torque within", x.TorqueIn}, {"oil or coolant after", x.OilAfter}, {"cured after", x.Cure}} {
		if t.time > 0 {
			times = append(times, t.what+" "+lasts(t.time))
		}
	}
	if len(times) == 0 {
		return false
	}
	d.say(ReplyAnswer, "%s: %s, from your sheet.", capital(x.Name), strings.Join(times, ", "))
	return true
}
