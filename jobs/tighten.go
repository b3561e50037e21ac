package jobs

import (
	"fmt"
	"math"
	"strings"

	"putback/intent"
	"putback/jobs/fastening"
	"putback/jobs/measure"
)

func round9(v float64) float64 { return math.Round(v*1e9) / 1e9 }

// guide is the range a usual bolt of the thread and class takes, N·m: the
// short form at K 0.15 and 0.30, three quarters of the proof load (Shigley
// eq. 8-31 and table 8-15). It is a guide figure.
func (g *group) guide() (low, high measure.NewtonMetres, ok bool) {
	if g.Thread == "" {
		return 0, 0, false
	}
	t, err := fastening.LookThread(g.Thread)
	if err != nil {
		return 0, 0, false
	}
	class := g.Class
	if class == "" {
		class = "8.8"
		if t.PerInch() > 0 {
			class = "grade 5"
		}
	}
	preload, err := fastening.Preload(t, class, 0.75)
	if err != nil {
		return 0, 0, false
	}
	return fastening.ShortTorque(0.15, t.Diameter, preload), fastening.ShortTorque(0.30, t.Diameter, preload), true
}

// tightening gives the order of a group's bolts: the printed sequence, else
// one made from their places or number.
func (g *group) tightening() (fastening.Order, error) {
	n := g.Count
	if n == 0 {
		n = max(g.Removed, len(g.At))
	}
	if len(g.Sequence) > 0 {
		return fastening.PrintedOrder(g.Sequence, len(g.Sequence))
	}
	if len(g.At) > 1 && len(g.At) == n && strings.Contains(g.Order, "centre") {
		at := make([]fastening.Point, len(g.At))
		for i, p := range g.At {
			at[i] = fastening.Point{X: p[0], Y: p[1]}
		}
		return fastening.CentreOut(at)
	}
	return fastening.Cross(n)
}

func (g *group) tighteningOrder() ([]int, string) {
	o, err := g.tightening()
	if err != nil {
		return nil, ""
	}
	return o.Sequence, o.From
}

// startRun lays out a tightening run and says its first bolt; the wrench's
// range is looked at first.
func (d *draft) startRun(g *group, check bool) {
	if n := g.holes(); n > 0 {
		d.say(ReplyAnswer, "%s %s %s still out.", capital(d.count(n)), g.Name, isAre(n))
		return
	}
	if left := d.leftRun(g.Name); left != nil && !check {
		d.add(KindRunResume, named{Name: g.Name})
		d.tellBolt("Going on. ")
		return
	}
	full := g.full()
	if !full.Given() && g.figure() == "" {
		d.say(ReplyAnswer, "I have no torque for the %s. Say it from your manual first.", g.Name)
		return
	}
	o, err := g.tightening()
	if err != nil || len(o.Sequence) == 0 {
		d.say(ReplyAnswer, "How many %s are there? Count them first.", g.Name)
		return
	}
	var passes []passPlan
	switch {
	case check:
		passes = []passPlan{{Torque: full, Again: true}}
	case len(g.Stages) > 0:
		for _, st := range g.Stages {
			passes = append(passes, passPlan{Torque: st.Torque, Angle: st.Angle, Back: st.Back, Bolts: st.Bolts})
		}
	default:
		if full.Given() {
			passes = append(passes, passPlan{Torque: full})
		}
	}
	if !check {
		for _, a := range g.Angles {
			passes = append(passes, passPlan{Angle: a})
		}
		if g.Again && full.Given() {
			passes = append(passes, passPlan{Torque: full, Again: true})
		}
	}
	tool, warning := d.toolFor(full)
	d.add(KindRun, runStarted{Group: g.Name, Check: check, Passes: passes, Order: o.Sequence, Tool: tool})
	lead := fmt.Sprintf("%s, %s, %s.", capital(g.Name), countOf(len(o.Sequence), "bolt", "bolts"), countOf(len(passes), "pass", "passes"))
	if o.Fallback {
		lead += " No printed order, so a fallback."
	}
	if warning != "" {
		lead += " " + sentence(warning)
	}
	d.tellBolt(lead + " ")
}

// toolFor chooses the wrench for a torque: the one in the hand, else the best of the sheet.
func (d *draft) toolFor(q measure.Quantity) (name, warning string) {
	list := d.wrenches()
	if len(list) == 0 || !q.Given() {
		return d.st.Wrench, ""
	}
	for _, w := range list {
		if w.Name == d.st.Wrench {
			c, err := fastening.SetWrench(w, q, fastening.Adapter{})
			if err == nil && len(c.Warnings) > 0 {
				return w.Name, c.Warnings[0]
			}
			return w.Name, ""
		}
	}
	c, err := fastening.ChooseWrench(list, q, fastening.Adapter{})
	if err != nil {
		return "", "No wrench of yours is made for " + q.String()
	}
	if len(c.Warnings) > 0 {
		return c.Wrench.Name, c.Warnings[0]
	}
	return c.Wrench.Name, "Take the " + c.Wrench.Name
}

// leftRun is the run of a group that was left unfinished.
func (d *draft) leftRun(name string) *run {
	if r := d.st.Run; r != nil && r.Group == name {
		return r
	}
	for _, r := range d.st.Paused {
		if r.Group == name {
			return r
		}
	}
	return nil
}

// tellBolt says what is to be tightened now.
func (d *draft) tellBolt(lead string) {
	r := d.st.Run
	bolt := r.current()
	if bolt == 0 {
		d.say(ReplyReadBack, "%sThe %s are through.", lead, r.Group)
		return
	}
	p := r.Passes[r.Pass]
	kind := ReplyReadBack
	if len(d.events) == 0 {
		kind = ReplyAnswer
	}
	d.numbers = append(d.numbers, p.Torque.Amount)
	what := p.String()
	if p.Angle.Given() {
		what += ", by gauge or paint mark"
	}
	if len(r.Done) == 0 {
		d.say(kind, "%sPass %d of %d, %s. Bolt %d.", lead, r.Pass+1, len(r.Passes), what, bolt)
		return
	}
	d.say(kind, "%sBolt %d, %s.", lead, bolt, what)
}

// boltDone counts the bolt in hand, or with pass all that are left in the pass.
func (d *draft) boltDone(pass bool) {
	r := d.st.Run
	bolt := r.current()
	if bolt == 0 {
		d.endRun()
		return
	}
	if pass {
		bolt = 0
	}
	d.add(KindRunBolt, runBolt{Bolt: bolt})
	if d.err != nil {
		return
	}
	if d.st.Run.current() == 0 {
		d.endRun()
		return
	}
	d.tellBolt("")
}

// endRun writes the torqued bolts into the ledger, once.
func (d *draft) endRun() {
	r := d.st.Run
	g := d.st.group(r.Group)
	if n := g.Back + g.Snug + g.Loose + g.ByFeel + g.Unsure; n > 0 && !r.Check {
		d.add(KindTorqued, groupTorqued{Group: g.Name, N: n, How: "wrench", Torque: g.full()})
	}
	d.add(KindRunEnd, empty{})
	d.say(ReplyReadBack, "%s done, %s at %s.", capital(r.Group), spell(len(r.Order)), d.st.group(r.Group).figure())
}

// backOne takes the run one bolt back.
func (d *draft) backOne() {
	r := d.st.Run
	switch {
	case r == nil:
		d.say(ReplyAnswer, "No tightening run is on.")
	case r.Pass == 0 && len(r.Done) == 0:
		d.say(ReplyAnswer, "This is the first bolt.")
	default:
		d.add(KindRunBack, empty{})
		d.tellBolt("Back. ")
	}
}

func (d *draft) pause() {
	if r := d.st.Run; r != nil && !r.Paused {
		d.add(KindRunPause, empty{})
		d.say(ReplyReadBack, "Paused at bolt %d of the %s.", r.current(), r.Group)
		return
	}
	d.add(KindPaused, empty{})
	d.say(ReplyReadBack, "All right. Everything is kept.")
}

func (d *draft) resume() {
	if r := d.st.Run; r != nil && r.Paused {
		d.add(KindRunResume, named{Name: r.Group})
		d.tellBolt("Going on. ")
		return
	}
	d.add(KindResumed, empty{})
	d.whereWasI()
	d.reply.Kind = ReplyReadBack
}

func (d *draft) takeWrench(name string) {
	if d.st.Sheet != nil {
		list := d.st.Sheet.Wrenches
		if hits := find(name, len(list), func(i int) []string { return []string{list[i].Name} }); len(hits) > 0 {
			name = list[hits[0]].Name
		}
	}
	d.add(KindWrench, named{Name: name})
	d.say(ReplyReadBack, "Wrench in hand: %s.", name)
}

// judgeMove weighs a figure somebody tightened to, before anything is
// recorded; true: an objection is put first.
func (d *draft) judgeMove(m move) bool {
	if m.sure[-1] {
		return false
	}
	var f *intent.Fastener
	if len(m.items) > 0 {
		f = &m.items[0]
	}
	list := d.st.lookGroups(m.where, f, nil)
	if len(list) != 1 {
		return false // which group is asked first; the figure is judged with the answer
	}
	against := list[0].objection(*m.torque)
	if against == "" {
		return false
	}
	d.numbers = append(d.numbers, m.torque.Amount)
	d.confirm(ReplyObjection, sentence(against)+" Write "+m.torque.String()+" down all the same?",
		func(d *draft) {
			d.move(m.with(-1, func(m *move, i int) { m.sure[i] = true }))
			if len(d.events) > 0 && d.err == nil {
				d.add(KindNote, named{Text: "objection to " + list[0].Name + " at " + m.torque.String() + ": " + against})
			}
		}, nil)
	return true
}

// startCheck goes through what must be true before the first start.
func (d *draft) startCheck() {
	open := d.st.unfinished()
	if len(open) > 0 {
		d.say(ReplyAnswer, "Not ready. %s open: %s.", capital(countOf(len(open), "thing is", "things are")), fewOf(open, 3))
		return
	}
	d.say(ReplyAnswer, "Nothing is open in the record.")
	if d.st.Sheet != nil && len(d.st.Sheet.FirstStart) > 0 {
		d.more("Check: %s.", fewOf(d.st.Sheet.FirstStart, 4))
	} else {
		d.more("Check the levels, turn it by hand, tools out, then look for leaks.")
	}
	d.more("Your manual decides.")
}
