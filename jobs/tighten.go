package jobs

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"putback/intent"
	"putback/jobs/fastening"
	"putback/jobs/measure"
)

func round9(v float64) float64 { return math.Round(v*1e9) / 1e9 }

// known is what the judgement of a group's torque goes by.
func (g *group) known() fastening.Known {
	return known(g.Thread, g.Wrench, g.Class, g.Oiled, g.Into)
}

// guide is the range a usual bolt of the thread and class takes, N·m; false
// when the thread is not known.
func (g *group) guide() (low, high measure.NewtonMetres, ok bool) {
	if g.Thread == "" {
		return 0, 0, false
	}
	t, err := fastening.LookThread(g.Thread)
	if err != nil {
		return 0, 0, false
	}
	lube := fastening.LubeUnknown
	if g.Oiled {
		lube = fastening.LubeOiled
	}
	gd, err := fastening.GuideFor(t, g.Class, lube, fastening.Material(g.Into))
	if err != nil {
		return 0, 0, false
	}
	return gd.Low, gd.High, true
}

// maxRun bounds the bolts of one run; a generated order is no use beyond it.
const maxRun = 1000

// tighteningOrder gives the bolts in order and where the order comes from; the
// printed one wins over any pattern.
func (g *group) tighteningOrder() ([]int, string) {
	o, err := g.patternOrder()
	if err != nil {
		return nil, ""
	}
	return o.Sequence, o.From
}

func (g *group) patternOrder() (fastening.Order, error) {
	n := g.Count
	if n == 0 {
		n = g.touched()
	}
	if n > maxRun {
		return fastening.Order{}, fmt.Errorf("%s has more bolts than one run takes", g.Name)
	}
	if len(g.Sequence) > 0 {
		return fastening.PrintedOrder(g.Sequence, n)
	}
	if len(g.At) == n && n > 0 && (g.Order == "centre-out" || g.Order == "" || g.Order == "spiral") {
		at := make([]fastening.Point, n)
		for i, p := range g.At {
			at[i] = fastening.Point{X: p[0], Y: p[1]}
		}
		if g.Order == "spiral" {
			return fastening.Spiral(at)
		}
		return fastening.CentreOut(at)
	}
	if g.rowed() && n == g.Count {
		if g.Order == "spiral" {
			return fastening.Spiral(g.inRows())
		}
		return fastening.CentreOut(g.inRows())
	}
	if g.Order == "round" && n > 0 {
		return fastening.Order{Sequence: fastening.Circular(n), Pattern: "round", From: "round once, from your sheet"}, nil
	}
	return fastening.Cross(n)
}

// fewBolts is the number from which stages nobody printed are worth their time:
// two or three bolts are run down snug and then taken to the torque (common
// practice, no source).
const fewBolts = 4

// plan lays out the passes of a run: the printed stages as they are, else those
// of [fastening.Passes], and the retighten pass where the sheet wants it.
func (g *group) plan(o fastening.Order, mark measure.Quantity, check bool) ([]passPlan, error) {
	again := passPlan{Torque: g.full(), Again: true}
	if check {
		if !again.Torque.Given() {
			return nil, fmt.Errorf("%s has no torque to check", g.Name)
		}
		return []passPlan{again}, nil
	}
	printed := g.printedStages()
	if len(printed) == 0 && (len(o.Sequence) < fewBolts || g.Kind == "clip") {
		printed = []measure.Tightening{{Torque: g.Torque, Angles: g.Angles}}
	}
	passes, err := fastening.Passes(measure.Tightening{Torque: g.Torque, Angles: g.Angles}, printed, o, mark)
	if err != nil {
		return nil, err
	}
	var list []passPlan
	for _, p := range passes {
		plan := passPlan{Torque: p.Target.Torque, Back: p.Target.Loosen}
		if len(p.Target.Angles) > 0 {
			plan.Angle = p.Target.Angles[0]
		}
		if !slices.Equal(p.Order, o.Sequence) {
			plan.Order = p.Order
		}
		plan.Again = len(list) > 0 && !plan.Back && plan.Torque.Given() && len(p.Order) == len(o.Sequence) && plan.Torque == list[len(list)-1].Torque
		list = append(list, plan)
	}
	if g.Again && again.Torque.Given() && !list[len(list)-1].Again {
		list = append(list, again)
	}
	return list, nil
}

// printedStages are the stages of the sheet, then the turns that stand apart from them.
func (g *group) printedStages() []measure.Tightening {
	if len(g.Stages) == 0 {
		return nil
	}
	var list []measure.Tightening
	for _, st := range g.Stages {
		t := measure.Tightening{Torque: st.Torque, Loosen: st.Back, Bolts: st.Bolts}
		if st.Angle.Given() {
			t.Angles = []measure.Quantity{st.Angle}
		}
		list = append(list, t)
	}
	if len(g.Angles) > 0 {
		list = append(list, measure.Tightening{Angles: g.Angles})
	}
	return list
}

// tighten starts a run, or takes an interrupted one up again.
func (d *draft) tighten(v intent.Tighten) {
	d.oneGroup(v.Name, func(d *draft, g *group) { d.tightenGroup(g.Name, v.Check, tightening{}) })
}

// tightening collects what was answered on the way to a run.
type tightening struct{ short, tool bool }

func (d *draft) tightenGroup(name string, check bool, t tightening) {
	g := d.st.group(name)
	if r := d.st.Run; r != nil && r.Group == name && r.Check == check {
		if r.Paused {
			d.add(KindRunResume, named{Name: name})
		}
		d.tellBolt("Going on")
		d.reply.Kind = ReplyReadBack
		return
	}
	for _, r := range d.st.Paused {
		if r.Group == name && r.Check == check {
			d.add(KindRunResume, named{Name: name})
			d.tellBolt("Going on")
			d.reply.Kind = ReplyReadBack
			return
		}
	}
	if !g.full().Given() && len(g.Angles) == 0 {
		d.say(ReplyAnswer, "There is no torque for the %s. Dictate one, or say they are tight by feel.", name)
		return
	}
	in := g.touched()
	if g.Count > 0 {
		in = g.Count - g.holes()
	}
	if in == 0 {
		if g.Count == 1 {
			d.say(ReplyAnswer, "The %s is not in.", name)
		} else {
			d.say(ReplyAnswer, "None of the %s is in.", name)
		}
		return
	}
	if g.holes() > 0 && !t.short {
		d.confirm(ReplyQuestion, capital(d.count(g.holes()))+" of the "+name+" "+isAre(g.holes())+" still out. Tighten all the same?",
			func(d *draft) { t.short = true; d.tightenGroup(name, check, t) },
			func(d *draft) { d.say(ReplyAnswer, "Waiting.") })
		return
	}
	if g.Renew == "always" && g.Renewed == 0 && g.Refitted > 0 && !check && !t.tool {
		d.confirm(ReplyObjection, "The "+name+" is once-only and the old one is in. Tighten it all the same?",
			func(d *draft) { t.tool = true; d.tightenGroup(name, check, t) },
			func(d *draft) { d.say(ReplyAnswer, "Fit the new one first.") })
		return
	}
	o, err := g.patternOrder()
	if err != nil {
		d.say(ReplyAnswer, "I cannot lay out the %s: %v.", name, err)
		return
	}
	tool, warn, passes, err := d.layOut(g, o, check)
	if err != nil {
		d.say(ReplyAnswer, "I cannot lay out the %s: %v.", name, err)
		return
	}
	d.add(KindRun, runStarted{Group: name, Check: check, Passes: passes, Order: o.Sequence, Tool: tool})
	n := len(o.Sequence)
	switch {
	case n == 1:
		d.say(ReplyReadBack, "%s", capital(name))
	case strings.HasSuffix(name, " "+kindWord(g.Kind, 2)):
		d.say(ReplyReadBack, "%s %s", capital(spell(n)), name)
	default:
		d.say(ReplyReadBack, "%s, %s %s", capital(name), spell(n), kindWord(g.Kind, n))
	}
	if g.Oiled {
		d.reply.Text += ", oiled"
	}
	if len(passes) > 1 {
		d.reply.Text += ", " + countOf(len(passes), "pass", "passes")
	}
	d.reply.Text += "."
	first := d.otherTool(d.st.Run)
	switch {
	case warn != "":
		d.more("%s", sentence(warn))
	case first != "":
		d.more("Start with the %s, then the %s.", first, tool)
	case tool != "":
		d.more("With the %s.", tool)
	}
	if check {
		d.room("%s", fastening.CheckAdvice)
	}
	if o.Fallback && n > 2 {
		if g.rowed() {
			d.room("Number them along each row; a printed order beats mine.")
		} else if len(g.At) == 0 {
			d.room("Number them clockwise; a printed order beats mine.")
		} else {
			d.room("A printed order beats mine.")
		}
	}
	if n == 1 {
		d.reply.Text += " " + capital(d.st.Run.passWords()) + "."
	} else {
		d.reply.Text = strings.TrimSuffix(d.reply.Text, ".") + ". " + capital(d.st.Run.passWords()) + ", bolt " + fmt.Sprint(d.st.Run.current()) + "."
	}
	d.numbers = append(d.numbers, passes[0].Torque.Amount, float64(o.Sequence[0]))
	d.reply.Kind = ReplyReadBack
}

// layOut chooses the wrench and plans the passes for its marks. The wrench in
// hand is kept where it suits every pass; else the one that suits the most
// passes, of those the one whose range the full torque suits best. Warn says
// why the wrench in hand is not taken, or that none suits.
func (d *draft) layOut(g *group, o fastening.Order, check bool) (tool, warn string, passes []passPlan, err error) {
	full := g.full()
	var ws []fastening.Wrench
	if full.Given() {
		ws = torqueWrenches(d.st.wrenches())
	}
	if len(ws) == 0 {
		passes, err = g.plan(o, measure.Quantity{}, check)
		return d.st.Wrench, "", passes, err
	}
	first, err := fastening.ChooseWrench(ws, full, fastening.Adapter{})
	if err != nil {
		return "", "", nil, err
	}
	misses, hand := -1, ""
	for _, w := range ws {
		list, err := g.plan(o, w.Mark, check)
		if err != nil {
			return "", "", nil, err
		}
		off, at := 0, measure.Quantity{}
		for _, p := range list {
			if p.Torque.Given() && !suits(w, p.Torque) {
				off, at = off+1, p.Torque
			}
		}
		if w.Name == d.st.Wrench {
			if off == 0 {
				return w.Name, "", list, nil
			}
			hand = fmt.Sprintf("The %s does not suit %s, take the ", w.Name, at)
		}
		if misses < 0 || off < misses || off == misses && w.Name == first.Wrench.Name {
			misses, tool, passes = off, w.Name, list
		}
	}
	switch {
	case misses == len(passes) || !first.Usable:
		warn = "No wrench of yours suits " + full.String()
	case hand != "" && tool != d.st.Wrench:
		warn = hand + tool
	}
	return tool, warn, passes, nil
}

// suits tells whether a torque is within what a wrench is good for.
func suits(w fastening.Wrench, q measure.Quantity) bool {
	c, err := fastening.SetWrench(w, q, fastening.Adapter{})
	return err == nil && c.Usable
}

// otherTool names the wrench for a pass that the run's own does not suit, "" none.
func (d *draft) otherTool(r *run) string {
	p := r.Passes[r.Pass]
	w := d.st.wrench(r.Tool)
	if w == nil || !p.Torque.Given() {
		return ""
	}
	if own := torqueWrenches([]SheetWrench{*w}); len(own) == 0 || suits(own[0], p.Torque) {
		return ""
	}
	c, err := fastening.ChooseWrench(torqueWrenches(d.st.wrenches()), p.Torque, fastening.Adapter{})
	if err != nil || !c.Usable {
		return ""
	}
	return c.Wrench.Name
}

// tellBolt says the bolt to do, and with a lead the pass as well.
func (d *draft) tellBolt(lead string) {
	r := d.st.Run
	if r == nil {
		d.say(ReplyAnswer, "No tightening run is on.")
		return
	}
	text := fmt.Sprintf("bolt %d", r.current())
	d.numbers = append(d.numbers, float64(r.current()))
	if len(r.Order) == 1 {
		text = r.passWords()
	}
	if d.reply.Kind == ReplyNone {
		d.reply.Kind = ReplyAnswer
	}
	if lead != "" {
		lead = strings.TrimSuffix(lead, ".")
		d.numbers = append(d.numbers, r.Passes[r.Pass].Torque.Amount)
		d.reply.Text = lead + ". " + capital(r.passWords())
		if len(r.Order) > 1 {
			d.reply.Text += ", " + text
		}
		d.reply.Text += "."
		if p := r.Passes[r.Pass]; p.Angle.Given() && !p.Torque.Given() && len(r.Done) == 0 {
			d.more("%s", fastening.TurnAdvice)
		}
		if other := d.otherTool(r); other != "" && len(r.Done) == 0 {
			d.more("With the %s.", other)
		}
		return
	}
	d.reply.Text = capital(text) + "."
}

// passWords names the pass: "first pass, 5 N·m".
func (r *run) passWords() string {
	p := r.Passes[r.Pass]
	switch {
	case p.Back && p.Angle.Given():
		return "loosen by " + p.Angle.String()
	case p.Back:
		return "loosen again"
	case p.Again:
		bare := p.Torque
		bare.Tolerance = 0
		return "once more at " + bare.String()
	case p.Angle.Given() && !p.Torque.Given():
		return "turn " + p.Angle.String()
	}
	if len(r.Passes) == 1 {
		return p.String()
	}
	return passName(r.Pass) + ", " + p.String()
}

// passName names a pass, from 0.
func passName(i int) string {
	names := []string{"first", "second", "third", "fourth", "fifth", "sixth"}
	if i < len(names) {
		return names[i] + " pass"
	}
	return fmt.Sprintf("pass %d", i+1)
}

// boltsDone counts several bolts of a run, or one with the figure it was pulled to;
// another figure than the pass's counts nothing.
func (d *draft) boltsDone(v intent.Done) {
	r := d.st.Run
	if r == nil || r.Paused {
		d.say(ReplyAnswer, "No tightening run is on.")
		return
	}
	if v.Torque != nil {
		p := r.Passes[r.Pass]
		said := *v.Torque
		if said.Unit == (measure.Unit{}) {
			said.Unit = p.Torque.Unit
		}
		d.numbers = append(d.numbers, said.Amount, p.Torque.Amount)
		switch {
		case !p.Torque.Given():
			d.say(ReplyAnswer, "It is %s now, no torque. Not counted.", r.passWords())
		case math.Abs(said.SI()-p.Torque.SI()) > 0.005*p.Torque.SI():
			d.confirm(ReplyObjection, fmt.Sprintf("This pass is %s. Was it that?", p.Torque),
				func(d *draft) { d.boltDone(false) },
				func(d *draft) { d.say(ReplyAnswer, "Not counted.") })
		default:
			d.boltDone(false)
		}
		return
	}
	if left := len(r.bolts(r.Pass)) - len(r.Done); v.Count > left {
		d.say(ReplyAnswer, "Only %s left in this pass. Not counted.", spell(left))
		return
	}
	for range v.Count {
		d.boltDone(false)
		if d.err != nil {
			return
		}
	}
}

// boltDone counts the current bolt, or what is left of the pass.
func (d *draft) boltDone(pass bool) {
	r := d.st.Run
	g := d.st.group(r.Group)
	before := r.Pass
	if pass {
		d.add(KindRunBolt, runBolt{})
	} else {
		d.add(KindRunBolt, runBolt{Bolt: r.current()})
	}
	r = d.st.Run
	if d.err != nil || r == nil {
		return
	}
	switch {
	case r.Pass >= len(r.Passes):
		name, check, n := r.Group, r.Check, len(r.Order)
		in := g.touched()
		if g.Count > 0 {
			in = g.Count - g.holes()
		}
		full := g.full()
		d.add(KindRunEnd, empty{})
		if check {
			d.say(ReplyReadBack, "%s checked, %s.", capital(name), countOf(n, kindWord(g.Kind, 1), kindWord(g.Kind, n)))
			return
		}
		if in == 0 {
			// Taken off again in the middle of the run.
			d.say(ReplyReadBack, "The run is over, but none of the %s is in place.", name)
			return
		}
		d.add(KindTorqued, groupTorqued{Group: name, N: min(n, in), How: "wrench", Torque: full})
		if d.numbers = append(d.numbers, full.Amount); n == 1 {
			d.say(ReplyReadBack, "%s done, %s.", capital(name), g.figure())
		} else {
			d.say(ReplyReadBack, "%s done: %s at %s.", capital(name), d.count(min(n, in)), g.figure())
		}
		d.closed()
		d.afterRun(name)
	case r.Pass > before:
		d.say(ReplyReadBack, "%s done.", capital(passName(before)))
		d.tellBolt(d.reply.Text)
	default:
		d.reply.Kind = ReplyReadBack
		d.tellBolt("")
	}
}

// afterRun names what the open step still wants tightened.
func (d *draft) afterRun(name string) {
	st := d.st.open()
	if st == nil || !slices.Contains(st.Fasteners, name) {
		return
	}
	var open []string
	for _, other := range st.Fasteners {
		if g := d.st.group(other); g != nil && g.figure() != "" && g.holes()+g.Back+g.Snug+g.Loose > 0 {
			open = append(open, other)
		}
	}
	if len(open) > 0 {
		d.room("Still to tighten: %s.", andList(open))
	} else {
		if words(d.reply.Text) <= maxWords/2 {
			d.more("Say done for the step.")
		}
	}
}

func (d *draft) backOne() {
	r := d.st.Run
	switch {
	case r == nil:
		d.say(ReplyAnswer, "No tightening run is on.")
	case r.Pass == 0 && len(r.Done) == 0:
		d.say(ReplyAnswer, "This is the first bolt.")
	default:
		d.add(KindRunBack, empty{})
		d.say(ReplyReadBack, "Back to bolt %d, %s.", d.st.Run.current(), d.st.Run.Passes[d.st.Run.Pass])
	}
}

// pause suspends the run or the session.
func (d *draft) pause() {
	if r := d.st.Run; r != nil && !r.Paused {
		d.add(KindRunPause, empty{})
		d.say(ReplyReadBack, "Holding at bolt %d, %s.", r.current(), r.passWords())
		return
	}
	d.add(KindPaused, empty{})
	d.say(ReplyReadBack, "All kept. Say where was I when you are back.")
}

func (d *draft) resume() {
	if r := d.st.Run; r != nil && r.Paused {
		d.add(KindRunResume, named{Name: r.Group})
		d.say(ReplyReadBack, "%s again", capital(r.Group))
		d.tellBolt(d.reply.Text)
		return
	}
	if len(d.st.Paused) > 0 && d.st.Run == nil {
		r := d.st.Paused[len(d.st.Paused)-1]
		d.add(KindRunResume, named{Name: r.Group})
		d.say(ReplyReadBack, "%s again", capital(r.Group))
		d.tellBolt(d.reply.Text)
		return
	}
	if d.st.Left {
		d.add(KindResumed, empty{})
	}
	d.whereWasI(d.before.Worked)
}
