package jobs

import (
	"fmt"
	"slices"
	"strings"

	"putback/intent"
)

// lookUp answers a question about the job; false: in is none.
func (d *draft) lookUp(in intent.Intent) bool {
	switch v := in.(type) {
	case intent.AskTorque:
		d.oneGroup(v.Name, tellTorque)
	case intent.AskSize:
		d.oneGroup(v.Name, tellSize)
	case intent.AskCount:
		d.oneGroup(v.Name, tellCount)
	case intent.AskPlace:
		d.tellPlace(v.Name)
	case intent.AskPart:
		d.tellPart(v.Name)
	case intent.AskFluid:
		d.tellFluid(v.Name)
	case intent.AskLimit:
		d.tellLimit(v.Name)
	case intent.AskOut:
		d.tellOut(v.Name)
	case intent.AskLeft:
		d.tellLeft(v.Name)
	case intent.AskDoubts:
		d.tellDoubts()
	case intent.AskTimers:
		d.tellTimers(v.Name)
	case intent.AskWhy:
		d.why(v.Name)
	case intent.AskLast:
		d.tellLast()
	case intent.AskFaults:
		d.tellFaults()
	case intent.WhereWasI:
		d.whereWasI()
	case intent.HandOver:
		d.handOver()
	default:
		return false
	}
	return true
}

func tellTorque(d *draft, g *group) {
	f := g.figure()
	if f == "" {
		d.say(ReplyAnswer, "I have no torque for the %s. Your manual decides.", g.Name)
		return
	}
	q := g.full()
	d.numbers = append(d.numbers, q.Amount)
	text := fmt.Sprintf("%s: %s", capital(g.Name), f)
	if g.Oiled {
		text += ", oiled"
	}
	d.say(ReplyAnswer, "%s, %s.", text, d.st.source(g, d.now))
}

func tellSize(d *draft, g *group) {
	size := g.sizeText()
	if g.Thread != "" && size != "" {
		size += ", thread " + g.Thread
	} else if size == "" {
		size = g.Thread
	}
	if size == "" {
		d.say(ReplyAnswer, "Nobody said the size of the %s.", g.Name)
		return
	}
	d.say(ReplyAnswer, "%s: %s.", capital(g.Name), size)
}

func tellCount(d *draft, g *group) {
	switch {
	case g.Count > 0:
		d.say(ReplyAnswer, "%s: %s, %s out.", capital(g.Name), d.count(g.Count), d.count(g.out()))
	default:
		d.say(ReplyAnswer, "%s: %s taken off, the whole number was not said.", capital(g.Name), d.count(g.Removed))
	}
}

func (d *draft) tellPlace(name string) {
	if list := d.st.lookGroups(name, nil, nil); len(list) > 0 && name != "" {
		d.oneGroup(name, func(d *draft, g *group) {
			if g.Stow == "" {
				d.say(ReplyAnswer, "Nobody said where the %s are kept.", g.Name)
				return
			}
			d.say(ReplyAnswer, "%s: %s.", capital(g.Name), g.Stow)
		})
		return
	}
	part := d.findPart(name)
	if _, p := d.st.part(part); p != nil && p.Where != "" {
		d.say(ReplyAnswer, "%s: %s.", capital(p.Name), p.Where)
		return
	}
	if name == "" {
		d.say(ReplyAnswer, "Where is what?")
		return
	}
	d.say(ReplyAnswer, "Nobody said where %s is kept.", the(name))
}

func (d *draft) tellPart(name string) {
	if name != "" {
		_, p := d.st.part(d.findPart(name))
		if p == nil {
			d.say(ReplyAnswer, "I do not know %s.", the(name))
			return
		}
		d.say(ReplyAnswer, "%s: %s needed, %s at hand, %s fitted.", capital(p.Name), d.count(max(p.Need, 1)), d.count(p.Have), d.count(p.Fitted))
		if p.Renew != "" {
			d.more("Renew: %s.", p.Renew)
		}
		return
	}
	var need []string
	for _, p := range d.st.Parts {
		if p.Renew == "always" && p.Have+p.New < max(p.Need, 1) {
			need = append(need, p.Name)
		}
	}
	if len(need) == 0 {
		d.say(ReplyAnswer, "Every new part is at hand or fitted.")
		return
	}
	d.say(ReplyAnswer, "Still needed new: %s.", fewOf(need, 6))
}

func (d *draft) tellFluid(name string) {
	hits := find(name, len(d.st.Fluids), func(i int) []string { return []string{d.st.Fluids[i].Name} })
	if len(hits) == 0 {
		d.say(ReplyAnswer, "I do not know %s.", the(name))
		return
	}
	f := d.st.Fluids[hits[0]]
	d.say(ReplyAnswer, "%s:", capital(f.Name))
	if f.Is != "" {
		d.more("%s.", f.Is)
	}
	if f.Fill.Given() {
		d.more("Fill %s.", d.figure(f.Fill))
	}
	switch {
	case f.In:
		d.more("It is in.")
	case f.Out:
		d.more("It is drained.")
	}
}

func (d *draft) tellLimit(name string) {
	hits := find(name, len(d.st.Limits), func(i int) []string { return []string{d.st.Limits[i].Name} })
	if len(hits) == 0 {
		d.say(ReplyAnswer, "I have no limit for %s.", the(name))
		return
	}
	l := d.st.Limits[hits[0]]
	d.say(ReplyAnswer, "%s: %s.", capital(l.Name), l.print())
	if l.Value.Given() {
		d.more("Measured %s.", d.figure(l.Value))
	}
}

// outList names the groups with something on the bench: "four front cover long".
func (d *draft) outList() []string {
	var list []string
	for _, g := range d.st.Groups {
		if g.out() > 0 {
			list = append(list, spell(g.out())+" "+g.Name)
		}
	}
	return list
}

func (d *draft) tellOut(name string) {
	if name != "" {
		list := d.st.lookGroups(name, nil, nil)
		if len(list) == 0 {
			d.say(ReplyAnswer, "I do not know %s.", the(name))
			return
		}
		n := 0
		for _, g := range list {
			n += g.out()
		}
		d.say(ReplyAnswer, "%s out of %s.", capital(d.count(n)), the(name))
		return
	}
	n, groups := d.st.totalOut()
	if n == 0 {
		d.say(ReplyAnswer, "None out.")
		return
	}
	d.say(ReplyAnswer, "%s out in %s: %s.", capital(d.count(n)), countOf(groups, "group", "groups"), fewOf(d.outList(), 4))
}

func (d *draft) tellLeft(name string) {
	if r := d.st.Run; r != nil && !r.Paused && name == "" {
		left := 0
		if r.Pass < len(r.Passes) {
			left = len(r.bolts(r.Pass)) - len(r.Done)
		}
		d.say(ReplyAnswer, "%s to go in pass %d of %d.", capital(d.count(left)), min(r.Pass+1, len(r.Passes)), len(r.Passes))
		return
	}
	if name == "" {
		open := d.st.unfinished()
		if len(open) == 0 {
			d.say(ReplyAnswer, "Nothing is left open.")
			return
		}
		d.say(ReplyAnswer, "Left: %s.", fewOf(open, 4))
		return
	}
	list := d.st.lookGroups(name, nil, nil)
	if len(list) == 0 {
		d.say(ReplyAnswer, "I do not know %s.", the(name))
		return
	}
	var parts []string
	for _, g := range list {
		n, word := g.holes(), "still out"
		if d.st.stepPhase() == "strip" && g.Count > 0 {
			n, word = g.Count-g.holes(), "still on"
		}
		if n > 0 {
			parts = append(parts, fmt.Sprintf("%s %s %s", d.count(n), g.Name, word))
		}
	}
	if len(parts) == 0 {
		d.say(ReplyAnswer, "Nothing left on %s.", the(name))
		return
	}
	d.say(ReplyAnswer, "%s.", capital(fewOf(parts, 3)))
}

// openDoubts are the texts of the doubts not settled.
func (s *State) openDoubts() []string {
	var list []string
	for _, x := range s.Doubts {
		if !x.Over {
			list = append(list, strings.TrimSuffix(x.Text, "."))
		}
	}
	return list
}

func (d *draft) tellDoubts() {
	list := d.st.openDoubts()
	if len(list) == 0 {
		d.say(ReplyAnswer, "No open doubts.")
		return
	}
	d.say(ReplyAnswer, "%s open: %s.", capital(countOf(len(list), "doubt", "doubts")), fewOf(list, 3))
}

func (d *draft) tellTimers(name string) {
	var list []string
	for _, t := range d.st.Timers {
		if t.Ended || t.Over || (name != "" && !strings.Contains(normal(t.Name), normal(name))) {
			continue
		}
		if left := t.due().Sub(d.now); left > 0 {
			list = append(list, t.Name+" "+lasts(left)+" to go")
		} else {
			list = append(list, t.Name+" is over")
		}
	}
	if len(list) == 0 {
		d.say(ReplyAnswer, "No timer is running.")
		return
	}
	d.say(ReplyAnswer, "%s.", capital(fewOf(list, 3)))
}

func (d *draft) tellLast() {
	_, events, err := d.bench.lastChange()
	if err != nil {
		d.say(ReplyAnswer, "Nothing is written down yet.")
		return
	}
	d.say(ReplyAnswer, "Last I wrote: %s.", strings.TrimSuffix(short(inWords(events)), "."))
}

func (d *draft) tellFaults() {
	if len(d.st.Suspects) == 0 {
		d.say(ReplyAnswer, "No suspects named.")
		return
	}
	var list []string
	for _, s := range d.st.Suspects {
		list = append(list, s.Name+" "+s.State)
	}
	d.say(ReplyAnswer, "%s.", capital(fewOf(list, 4)))
}

// whereWasI sums up after an interruption in under a quarter of a minute: when
// and where they stopped, what is out, what is open, what is next.
func (d *draft) whereWasI() {
	if d.st.Worked.IsZero() {
		d.say(ReplyAnswer, "Nothing is written down yet.")
	} else {
		d.say(ReplyAnswer, "Last worked %s.", ago(d.st.Worked, d.now))
	}
	if st := d.st.open(); st != nil {
		d.more("In hand: %s.", st.Name)
	} else if d.st.LastDone != "" {
		d.more("Last done: %s.", d.st.LastDone)
	}
	if r := d.st.Run; r != nil && r.current() > 0 {
		d.room("Tightening %s, bolt %d.", r.Group, r.current())
	}
	if n, groups := d.st.totalOut(); n > 0 {
		d.room("%s out in %s.", capital(d.count(n)), countOf(groups, "group", "groups"))
	}
	if list := d.st.openDoubts(); len(list) > 0 {
		d.room("%s open: %s.", capital(countOf(len(list), "doubt", "doubts")), short(list[0]))
	}
	if next, waits := d.st.next(); next != nil && len(waits) == 0 {
		d.room("Next: %s.", next.Name)
	}
}

func (d *draft) handOver() {
	var done, torqued int
	for _, st := range d.st.Steps {
		if st.State == "done" {
			done++
		}
	}
	for _, g := range d.st.Groups {
		torqued += g.Torqued
	}
	d.say(ReplyAnswer, "%s done, %s torqued by wrench.", capital(countOf(done, "step", "steps")), spell(torqued))
	if i := slices.IndexFunc(d.st.Suspects, func(s *suspect) bool { return s.State == "culprit" }); i >= 0 {
		d.room("The fault was %s.", d.st.Suspects[i].Name)
	}
	if open := d.st.unfinished(); len(open) > 0 {
		d.room("Open: %s.", fewOf(open, 3))
	} else {
		d.room("Nothing is open.")
	}
	d.room("The report has the figures.")
}

// unfinished names what still stands between the job and its end.
func (s *State) unfinished() []string {
	var list []string
	for _, g := range s.Groups {
		if n := g.holes(); n > 0 && g.Excuse == "" {
			list = append(list, spell(n)+" "+g.Name+" out")
		}
	}
	for _, g := range s.Groups {
		in := g.Refitted + g.Renewed
		if g.figure() != "" && in > 0 && g.Torqued < in && g.holes() == 0 {
			what := "not torqued"
			if g.ByFeel > 0 {
				what = "only by feel"
			}
			list = append(list, g.Name+" "+what)
		}
	}
	for _, p := range s.Parts {
		if p.Aside && p.Fitted == 0 && p.New == 0 {
			list = append(list, p.Name+" not refitted")
		}
	}
	for _, f := range s.Fluids {
		if f.Out && !f.In {
			list = append(list, f.Name+" drained")
		}
	}
	for _, text := range s.openDoubts() {
		list = append(list, "doubt: "+short(text))
	}
	return list
}
