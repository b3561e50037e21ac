package jobs

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"putback/intent"
	"putback/jobs/measure"
)

// nextStep opens the next step, or where one is open tells what comes after it.
func (d *draft) nextStep() {
	if r := d.st.Run; r != nil && !r.Paused {
		d.keep = true
		d.tellBolt("")
		return
	}
	if len(d.st.Steps) == 0 {
		d.say(ReplyAnswer, "There are no steps. Say new step, or just tell me what you do.")
		return
	}
	open := d.st.open()
	passed := ""
	if open == nil {
		passed = d.passCovered()
	}
	st, waits := d.st.next()
	switch {
	case st == nil && open != nil:
		d.say(ReplyAnswer, "%s is the last step.", capital(open.Name))
	case st == nil:
		d.phaseThrough()
	case len(waits) > 0:
		d.say(ReplyAnswer, "%s waits for %s.", capital(st.Name), andList(waits))
	case open != nil:
		d.say(ReplyAnswer, "After %s: %s.", open.Name, doing(st))
		d.outlook(st, false)
	case passed != "":
		d.openStep(st.Name, passed+". Next")
	default:
		d.openStep(st.Name, "")
	}
}

// covered tells that a step is done by the record, though nobody said so: who
// leaves the procedure has told what came off, or what is back and tight. A step
// that moves nothing never is, nor one with a bead to lay, a figure to measure
// or a doubt to settle.
func (s *State) covered(st *step) bool {
	if len(st.Fasteners)+len(st.Parts)+len(st.Fluids) == 0 {
		return false
	}
	for _, name := range st.Measure {
		if _, l := s.limit(name); l == nil || !l.Value.Given() {
			return false
		}
	}
	if st.Phase == "strip" {
		return s.strippedAll(st)
	}
	return st.Sealant == "" && !st.starts() && len(s.doubtsFor(st)) == 0 && s.refittedAll(st)
}

// strippedAll: once-only parts are no sign of a strip step either way.
func (s *State) strippedAll(st *step) bool {
	signs := len(st.Fasteners) + len(st.Fluids)
	for _, name := range st.Fasteners {
		g := s.group(name)
		if g == nil || g.Count == 0 || g.holes() < g.Count && !(st.slackens() && g.holes()+g.Loose >= g.Count) {
			return false
		}
	}
	for _, name := range st.Fluids {
		if _, f := s.fluid(name); f == nil || !f.Out {
			return false
		}
	}
	for _, name := range st.Parts {
		_, p := s.part(name)
		if p == nil || p.Renew == "always" {
			continue
		}
		if !p.Aside {
			return false
		}
		signs++
	}
	return signs > 0
}

// refittedAll: where bolts are tight, what they hold is in; a new part must have
// been said.
func (s *State) refittedAll(st *step) bool {
	for _, name := range st.Fasteners {
		g := s.group(name)
		if g == nil || g.holes() > 0 || g.Refitted+g.Renewed == 0 || g.Loose > 0 || g.figure() != "" && g.Back+g.Snug > 0 {
			return false
		}
	}
	for _, name := range st.Fluids {
		if _, f := s.fluid(name); f == nil || !f.In {
			return false
		}
	}
	for _, name := range st.Parts {
		_, p := s.part(name)
		if p == nil || p.mustBeNew() && p.New < max(p.Need, 1) || len(st.Fasteners) == 0 && p.Fitted < max(p.Need, 1) {
			return false
		}
	}
	return true
}

// passCovered ends the steps that are done by the record, and says which.
func (d *draft) passCovered() string {
	var names []string
	for again := true; again; {
		again = false
		for _, st := range d.st.Steps {
			if st.State != "waiting" || st.Phase != d.st.stepPhase() || !d.st.covered(st) || len(d.st.waits(st)) > 0 {
				continue
			}
			again = true
			names = append(names, st.Name)
			d.add(KindStep, stepState{Step: st.Name, State: "done"})
			for _, part := range st.Parts {
				if _, p := d.st.part(part); st.Phase == "refit" && p != nil && p.Fitted < max(p.Need, 1) {
					d.add(KindPartFitted, partCount{Part: part, N: max(p.Need, 1) - p.Fitted})
				}
			}
		}
	}
	if len(names) == 0 {
		return ""
	}
	return "Done by the record: " + fewOf(names, 3)
}

func doing(st *step) string {
	if st.Do == "" {
		return st.Name
	}
	return st.Do
}

func (d *draft) phaseThrough() {
	if d.st.stepPhase() == "strip" {
		n, groups := d.st.totalOut()
		text := fmt.Sprintf("Stripping is through: %s out in %s.", spell(n), countOf(groups, "group", "groups"))
		if short := d.st.shortages(); len(short) > 0 {
			text += " Not all counted: " + fewOf(short, 2) + "."
		}
		d.ask = &question{yes: func(d *draft) { d.stage("refit") },
			no: func(d *draft) { d.say(ReplyAnswer, "Say refit when you start back.") }}
		d.reply = Reply{Kind: ReplyQuestion, Text: text + " Putting back now?", Choices: []string{"yes", "no"}}
		return
	}
	d.say(ReplyAnswer, "All steps are through.")
	if open := d.st.unfinished(d.now); len(open) > 0 {
		d.more("Still open: %s.", fewOf(open, 3))
	} else {
		if len(d.st.unchecked()) > 0 {
			d.more("Say ready to start for the checklist.")
		} else {
			d.more("Ask what was done for the hand-over.")
		}
	}
}

func countOf(n int, one, many string) string { return spell(n) + " " + plural(n, one, many) }

// openStep opens a step and says it in one breath.
func (d *draft) openStep(name, lead string) {
	_, st := d.st.step(name)
	say := st.Caution != "" && !slices.Contains(d.st.Cautions, st.Caution)
	if lead == "" {
		lead = "Next"
	}
	d.say(ReplyReadBack, "%s: %s.", lead, strings.TrimSuffix(doing(st), "."))
	tips := d.outlook(st, say)
	if st.starts() && (len(d.st.unfinished(d.now)) > 0 || len(d.st.unchecked()) > 0) {
		d.more("Ask me first if it is ready to start.")
	}
	d.add(KindStep, stepState{Step: name, State: "open", Caution: say, Tips: tips})
}

// room adds a sentence while the reply stays short enough for the ear; false: it was left out.
func (d *draft) room(format string, args ...any) bool {
	text := fmt.Sprintf(format, args...)
	if words(d.reply.Text)+words(text) > maxWords {
		return false
	}
	d.more("%s", text)
	return true
}

// outlook adds what a step needs: its caution first, then the figures. It gives
// the groups whose tip was said.
func (d *draft) outlook(st *step, caution bool) (tips []string) {
	if caution {
		// A safety line is never left out for length.
		d.more("%s", sentence(st.Caution))
	}
	if st.Phase == "strip" {
		var list, odd []string
		for _, name := range st.Fasteners {
			g := d.st.group(name)
			if g == nil {
				continue
			}
			if g.Count > 0 {
				list = append(list, g.inShort())
			}
			if len(g.Conditions) > 0 {
				odd = append(odd, fewOf(g.Conditions, 2))
			}
		}
		if len(list) > 0 {
			d.room("%s.", capital(andList(list)))
		}
		if len(odd) > 0 {
			d.room("Mind: %s.", fewOf(odd, 2))
		}
		return nil
	}
	if wait := d.st.fluidWait(st, d); wait != "" {
		d.more("%s", wait)
	}
	fresh := false
	for _, name := range st.Parts {
		if _, p := d.st.part(name); p != nil && p.mustBeNew() {
			fresh = d.room("New %s.", name) || fresh
		}
	}
	for _, name := range st.Fasteners {
		g := d.st.group(name)
		if g == nil {
			continue
		}
		var w []string
		if f := g.figure(); f != "" {
			if g.Oiled {
				f += " oiled"
			}
			w = append(w, f)
		}
		if g.Renew == "always" {
			w = append(w, "new")
		}
		if g.Stow != "" {
			w = append(w, "from "+the(g.Stow))
		}
		if len(w) == 0 {
			continue
		}
		text := strings.Join(w, ", ")
		if fresh || !strings.Contains(doing(st), g.Name) {
			text = g.Name + " " + text
		}
		d.room("%s.", capital(text))
	}
	for _, name := range st.Fasteners {
		if g := d.st.group(name); g != nil && len(g.Tips) > 0 && d.room("Tip: %s.", strings.TrimSuffix(g.Tips[len(g.Tips)-1], ".")) {
			tips = append(tips, name)
		}
	}
	for _, doubt := range d.st.doubtsFor(st) {
		d.room("Your doubt: %s.", strings.TrimSuffix(d.st.Doubts[doubt].Text, "."))
	}
	if miss := d.st.missingFor(st); len(miss) > 0 {
		d.room("Not at hand: %s.", andList(miss))
	} else if after := d.st.following(st); after != nil {
		if miss := d.st.missingFor(after); len(miss) > 0 {
			d.room("For the step after you need %s.", andList(miss))
		}
	}
	return tips
}

// inShort says what there is to undo: "twelve 10 mm bolts", "six clips, 7 mm driver".
func (g *group) inShort() string {
	hand := ""
	if g.LeftHand {
		hand = "left-hand "
	}
	switch {
	case g.Count == 1 && g.sizeText() != "":
		return hand + g.Name + ", " + g.sizeText()
	case g.Wrench.Given():
		return spell(g.Count) + " " + g.Wrench.String() + " " + hand + kindWord(g.Kind, g.Count)
	case g.sizeText() != "":
		return spell(g.Count) + " " + hand + kindWord(g.Kind, g.Count) + ", " + g.sizeText()
	}
	return spell(g.Count) + " " + hand + g.Name
}

// starts tells whether a refit step runs the engine, by the words of its text.
func (st *step) starts() bool {
	text := " " + normal(st.Name+" "+st.Do) + " "
	for _, w := range []string{"first run", "first start", "start the engine", "start it", "run it", "run the engine", "fire it up"} {
		if st.Phase == "refit" && strings.Contains(text, " "+w+" ") {
			return true
		}
	}
	return false
}

// following is the step after st in order that still waits, nil when there is none.
func (s *State) following(st *step) *step {
	list, err := s.order(st.Phase)
	if err != nil {
		return nil
	}
	seen := false
	for _, i := range list {
		if seen && s.Steps[i].State == "waiting" {
			return s.Steps[i]
		}
		seen = seen || s.Steps[i].Name == st.Name
	}
	return nil
}

// missingFor names the new parts a refit step needs that are not at hand.
func (s *State) missingFor(st *step) []string {
	var list []string
	if st.Phase != "refit" {
		return nil
	}
	for _, name := range st.Parts {
		if _, p := s.part(name); p != nil && p.short() > 0 {
			list = append(list, name)
		}
	}
	return list
}

// doubtsFor gives the open doubts that belong to a step: raised in it, or in
// the strip step it reverses, by name, fasteners or parts.
func (s *State) doubtsFor(st *step) []int {
	var list []int
	for i, dt := range s.Doubts {
		if dt.Over || dt.Step == "" {
			continue
		}
		_, from := s.step(dt.Step)
		if from == nil {
			continue
		}
		same := from.Name == st.Name
		if st.Phase == "refit" && from.Phase == "strip" {
			same = same || st.Undoes == from.Name || overlap(st.Fasteners, from.Fasteners) || overlap(st.Parts, from.Parts)
		}
		if same {
			list = append(list, i)
		}
	}
	return list
}

func overlap(a, b []string) bool {
	for _, x := range a {
		if slices.Contains(b, x) {
			return true
		}
	}
	return false
}

// ending collects what was answered on the way to a step's end.
type ending struct {
	counted bool
	renewed []string // parts confirmed new
	doubts  bool
	wet     bool // a fluid went in although a sealant wants more time
	torque  bool // asked about what is not torqued
}

// doneSaid reports done what the words name: a step by its state, "the sea
// cock's shut"; else what is in hand.
func (d *draft) doneSaid(v intent.Done) {
	if v.Torque != nil || v.Count > 1 {
		d.boltsDone(v)
		return
	}
	if _, st := d.st.step(v.Step); st != nil && v.Step != "" {
		d.doneStep(st)
		return
	}
	if v.Step != "" && d.deedDone(v.Step) {
		return
	}
	open := d.st.open()
	if stem := doneStem(d.heard.Text); stem != "" && open != nil && d.st.Run == nil && !hasStem(open, stem) {
		var fit []*step
		for _, st := range d.st.Steps {
			if st.State == "waiting" && st.Phase == open.Phase && hasStem(st, stem) && len(d.st.waits(st)) == 0 {
				fit = append(fit, st)
			}
		}
		if len(fit) == 1 {
			name := fit[0].Name
			d.confirm(ReplyQuestion, capital(name)+", you mean?",
				func(d *draft) {
					_, st := d.st.step(name)
					d.doneStep(st)
				},
				func(d *draft) { d.say(ReplyAnswer, "%s is still in hand.", capital(open.Name)) })
			return
		}
	}
	d.done(v.Pass)
}

// deedDone reports done the step that asks for a deed, see [intent.Deeds]; the
// step in hand before others, one not done before one that is. It is false
// when none asks for it.
func (d *draft) deedDone(key string) bool {
	if item := d.st.checkOf(key); item != "" && (d.st.Phase == "start" || !d.st.asked(key)) {
		d.checkDone(item)
		return true
	}
	var fit []*step
	var of []intent.Deed
	best := 0
	for _, st := range d.st.Steps {
		for _, deed := range intent.Deeds(st.Name, st.Do) {
			if deed.Key != key {
				continue
			}
			rank := 1
			switch {
			case st.State == "open":
				rank = 4
			case st.State != "done" && st.Phase == d.st.stepPhase() && len(d.st.waits(st)) == 0:
				rank = 3
			case st.State != "done":
				rank = 2
			}
			if rank > best {
				best, fit, of = rank, nil, nil
			}
			if rank == best {
				fit, of = append(fit, st), append(of, deed)
			}
			break
		}
	}
	switch {
	case len(fit) == 0:
		return false
	case len(fit) > 1:
		var list []choice
		var names []string
		for _, st := range fit[:min(len(fit), 4)] {
			name := st.Name
			names = append(names, name)
			list = append(list, choice{name, func(d *draft) {
				_, st := d.st.step(name)
				d.doneStep(st)
			}})
		}
		d.choose(ReplyQuestion, capital(orList(names))+"?", true, list...)
	case !of[0].Whole && fit[0].State != "done":
		// A part of what the step asks for was told.
		name := fit[0].Name
		d.confirm(ReplyQuestion, fmt.Sprintf("All of it: %s?", fit[0].Do),
			func(d *draft) {
				_, st := d.st.step(name)
				d.doneStep(st)
			},
			func(d *draft) { d.say(ReplyAnswer, "%s stays to be done.", capital(name)) })
	default:
		d.doneStep(fit[0])
	}
	return true
}

// doneStep ends a step that is named. Another one in hand stays to be done.
func (d *draft) doneStep(st *step) {
	name, passed := st.Name, ""
	if len(d.st.waits(st)) > 0 { // for what is done already, perhaps
		passed = d.passCovered()
		_, st = d.st.step(name)
	}
	switch waits := d.st.waits(st); {
	case st.State == "done" && passed != "":
		d.say(ReplyReadBack, "%s.", passed)
		return
	case st.State == "done":
		d.say(ReplyAnswer, "%s"+doneAlready, capital(st.Name))
		return
	case st.Phase != d.st.stepPhase():
		d.say(ReplyAnswer, "%s belongs to the %s.", capital(st.Name), map[string]string{"strip": "stripping", "refit": "refit"}[st.Phase])
		return
	case len(waits) > 0:
		d.say(ReplyAnswer, "%s waits for %s.", capital(st.Name), fewOf(waits, 3))
		return
	case st.State != "open":
		d.add(KindStep, stepState{Step: st.Name, State: "open"})
	}
	d.endStep(name, ending{})
	if passed != "" && d.ask == nil {
		d.room("%s.", passed)
	}
}

// doneStems begin the words that tell what was done, and so which step.
var doneStems = []string{"shut", "clos", "mark", "drain", "disconnect", "unplug", "tag", "clean", "bled", "bleed", "photograph"}

func doneStem(text string) string {
	for _, w := range nameWords(text) {
		for _, stem := range doneStems {
			if strings.HasPrefix(w, stem) {
				return stem
			}
		}
	}
	return ""
}

func hasStem(st *step, stem string) bool {
	return slices.ContainsFunc(nameWords(st.Name+" "+st.Do), func(w string) bool { return strings.HasPrefix(w, stem) })
}

// done reports a step, bolt or pass as done.
func (d *draft) done(pass bool) {
	if r := d.st.Run; r != nil && !r.Paused {
		d.boltDone(pass)
		return
	}
	st := d.st.open()
	if left := d.st.unchecked(); d.st.Phase == "start" && len(left) > 0 && (st == nil || st.starts()) {
		d.tick(left[0])
		return
	}
	if st == nil {
		if st, _ := d.st.next(); st != nil {
			name := st.Name
			d.confirm(ReplyQuestion, "No step is open. Is "+name+" done?",
				func(d *draft) {
					d.add(KindStep, stepState{Step: name, State: "open"})
					d.endStep(name, ending{})
				},
				func(d *draft) { d.say(ReplyAnswer, "Say what's next to begin it.") })
			d.ask.done = true
		} else {
			d.say(ReplyAnswer, "No step is open.")
		}
		return
	}
	d.endStep(st.Name, ending{})
}

func (d *draft) endStep(name string, e ending) {
	_, st := d.st.step(name)
	if st == nil || st.State != "open" {
		d.say(ReplyAnswer, "%s is not open.", capital(name))
		return
	}
	if !e.counted && d.askCount(st, e) {
		return
	}
	if st.Phase == "refit" && d.askRefit(st, e) {
		return
	}
	d.finishStep(st, e)
}

// askRefit asks what a refit step must not end without: new parts, a sealant's
// wait, torques, doubts. What was answered before is recorded with the next
// question, so that nothing said is lost.
func (d *draft) askRefit(st *step, e ending) bool {
	name := st.Name
	for _, part := range st.Parts {
		_, p := d.st.part(part)
		if p == nil || !p.mustBeNew() || p.New >= max(p.Need, 1) || slices.Contains(e.renewed, part) {
			continue
		}
		more := e
		more.renewed = append(slices.Clone(e.renewed), part)
		why := "It is once-only."
		if p.Renew != "always" {
			why = "A new one was asked for."
		}
		d.confirm(ReplyQuestion, plural(p.Need, "Is the ", "Are the ")+part+" new?",
			func(d *draft) { d.endStep(name, more) },
			func(d *draft) { d.say(ReplyAnswer, "%s The step stays open.", why) })
		return true
	}
	if wait := d.st.fluidWait(st, d); wait != "" && !e.wet && d.st.dry(st.Fluids) {
		wet := e
		wet.wet = true
		d.confirm(ReplyObjection, wait+" Is it in all the same?",
			func(d *draft) {
				d.add(KindNote, named{Text: "filled against: " + wait})
				d.endStep(name, wet)
			},
			func(d *draft) { d.say(ReplyAnswer, "The step stays open.") })
		return true
	}
	if !e.torque && d.askTorqued(st, e) {
		return true
	}
	if list := d.st.doubtsFor(st); len(list) > 0 && !e.doubts {
		e.doubts = true
		k := list[0]
		d.confirm(ReplyQuestion, "You doubted: "+strings.TrimSuffix(d.st.Doubts[k].Text, ".")+". Settled?",
			func(d *draft) {
				d.add(KindSettled, doubtSettled{Doubt: k + 1, How: "settled at " + name})
				d.endStep(name, e)
			},
			func(d *draft) { d.endStep(name, e) })
		return true
	}
	return false
}

// askTorqued asks about the groups of a step that wait for the wrench.
func (d *draft) askTorqued(st *step, e ending) bool {
	e.torque = true
	name := st.Name
	var open []string
	for _, n := range st.Fasteners {
		if g := d.st.group(n); g != nil && g.figure() != "" && g.Back+g.Snug+g.Loose > 0 {
			open = append(open, n)
		}
	}
	if len(open) == 0 {
		return false
	}
	tight := func(how string) func(d *draft) {
		return func(d *draft) {
			for _, n := range open {
				g := d.st.group(n)
				t := groupTorqued{Group: n, N: g.Back + g.Snug + g.Loose, How: how}
				if how == "wrench" {
					t.Torque = g.full()
				}
				d.add(KindTorqued, t)
			}
			d.endStep(name, e)
		}
	}
	later := func(d *draft) { d.endStep(name, e) }
	d.ask = &question{holds: true, no: later,
		choices: []choice{{"torqued", tight("wrench")}, {"by feel", tight("feel")}, {"later", later}}}
	text := "Not torqued yet: " + fewOf(open, 3)
	if len(open) == 1 {
		text += ", " + d.st.group(open[0]).figure()
	}
	d.reply = Reply{Kind: ReplyQuestion, Text: text + ". Torqued, by feel, or later?", Choices: []string{"torqued", "by feel", "later"}}
	return true
}

// dry tells whether one of the fluids is not in.
func (s *State) dry(fluids []string) bool {
	return slices.ContainsFunc(fluids, func(name string) bool {
		_, f := s.fluid(name)
		return f == nil || !f.In
	})
}

// askCount asks about fasteners of the step that were not counted; false: all are accounted for.
func (d *draft) askCount(st *step, e ending) bool {
	type left struct {
		group string
		n     int
		kind  string // what a yes records
	}
	var list []left
	var names, fresh []string
	loose := false
	for _, name := range st.Fasteners {
		g := d.st.group(name)
		if g == nil {
			continue
		}
		switch {
		case st.Phase == "strip":
			if n := g.Count - g.holes() - g.Loose; g.Count > 0 && n > 0 {
				list = append(list, left{name, n, KindRemoved})
			}
		case g.holes() > 0 && g.Renew == "always":
			list = append(list, left{name, g.holes(), KindRenewed})
			fresh = append(fresh, name)
		case g.holes() > 0:
			list = append(list, left{name, g.holes(), KindRefitted})
		case g.figure() == "" && g.Loose > 0:
			list = append(list, left{name, g.Loose, KindTorqued})
			loose = true
		}
	}
	if len(list) == 0 {
		return false
	}
	for _, s := range list {
		names = append(names, d.count(s.n)+" "+s.group)
	}
	name := st.Name
	e.counted = true
	record := func(loosened bool) func(d *draft) {
		return func(d *draft) {
			for _, s := range list {
				switch {
				case loosened:
					d.add(KindLoosened, groupCount{Group: s.group, N: s.n})
				case s.kind == KindTorqued:
					d.add(KindTorqued, groupTorqued{Group: s.group, N: s.n, How: "feel"})
				default:
					d.add(s.kind, groupCount{Group: s.group, N: s.n})
				}
			}
			d.endStep(name, e)
		}
	}
	if st.Phase == "strip" && st.slackens() {
		d.ask = &question{holds: true, yes: record(true), no: func(d *draft) { d.endStep(name, e) }, choices: []choice{{"out", record(false)}}}
		d.reply = Reply{Kind: ReplyQuestion, Text: "Not counted yet: " + fewOf(names, 3) + ". Loose, not out?", Choices: []string{"yes", "out", "no"}}
		return true
	}
	if st.Phase == "strip" {
		d.ask = &question{holds: true, yes: record(false), no: func(d *draft) { d.endStep(name, e) }, choices: []choice{{"loose", record(true)}}}
		d.ask.echo = "all out"
		d.reply = Reply{Kind: ReplyQuestion, Text: "Not counted yet: " + fewOf(names, 3) + ". All out?", Choices: []string{"yes", "loose", "no"}}
		return true
	}
	text, echo := "Still out: "+fewOf(names, 3)+". All back", "all back"
	switch {
	case loose:
		echo = "all tight"
		text = "Still loose: " + fewOf(names, 3) + ". All tight"
	case len(fresh) == len(list):
		text += ", with " + plural(list[0].n, "a new one", "new ones")
	case len(fresh) > 0:
		text += ", new " + fewOf(fresh, 2)
	}
	d.confirm(ReplyQuestion, text+"?", record(false), func(d *draft) { d.say(ReplyAnswer, "The step stays open.") })
	d.ask.echo = echo
	return true
}

// slackens tells whether a step only loosens its fasteners, by the words of its text.
func (st *step) slackens() bool {
	for _, w := range nameWords(st.Name + " " + st.Do) {
		for _, p := range []string{"slack", "loosen", "crack", "ease"} {
			if strings.HasPrefix(w, p) {
				return true
			}
		}
	}
	return false
}

// finishStep records a step's end with what goes without saying, and opens the next.
func (d *draft) finishStep(st *step, e ending) {
	d.add(KindStep, stepState{Step: st.Name, State: "done"})
	for _, part := range st.Parts {
		_, p := d.st.part(part)
		if st.Phase == "strip" {
			if p == nil || !p.Aside {
				d.add(KindPartAside, partCount{Part: part})
			}
			continue
		}
		isNew := slices.Contains(e.renewed, part)
		if p == nil || p.Fitted < max(p.Need, 1) {
			n := 1
			if p != nil {
				n = max(p.Need, 1) - p.Fitted
			}
			d.add(KindPartFitted, partCount{Part: part, N: n, New: isNew})
		}
	}
	for _, name := range st.Fluids {
		_, f := d.st.fluid(name)
		if st.Phase == "strip" && (f == nil || !f.Out) {
			d.add(KindDrained, fluidMoved{Fluid: name})
		} else if st.Phase == "refit" && (f == nil || !f.In) {
			d.add(KindFilled, fluidMoved{Fluid: name})
		}
	}
	d.say(ReplyReadBack, "%s done.", capital(st.Name))
	if st.Sealant != "" {
		d.seal(st.Sealant, st)
	}
	var open []string
	for _, name := range st.Measure {
		if _, l := d.st.limit(name); l == nil || !l.Value.Given() {
			open = append(open, name)
		}
	}
	if len(open) > 0 {
		d.more("Not measured: %s.", andList(open))
	}
	if passed := d.passCovered(); passed != "" {
		d.more("%s.", passed)
	}
	next, waits := d.st.next()
	switch {
	case next == nil:
		tail := d.reply.Text
		d.phaseThrough()
		d.reply.Text = tail + " " + d.reply.Text
		if d.ask == nil {
			d.reply.Kind = ReplyReadBack
		}
	case len(waits) > 0:
		d.more("%s waits for %s.", capital(next.Name), andList(waits))
	default:
		lead := strings.TrimSuffix(d.reply.Text, ".")
		d.openStep(next.Name, lead+". Next")
	}
}

// back opens the step before again.
func (d *draft) back() {
	if r := d.st.Run; r != nil && !r.Paused {
		d.backOne()
		return
	}
	var last *step
	for _, st := range d.st.Steps {
		if st.DoneSeq > 0 && (last == nil || st.DoneSeq > last.DoneSeq) {
			last = st
		}
	}
	if last == nil {
		d.say(ReplyAnswer, "There is no step before this one.")
		return
	}
	d.openStep(last.Name, "Back to "+last.Name)
}

// findStep finds a step by its name, what it does, its fasteners or parts;
// steps of the phase in hand come before others.
func (d *draft) findStep(name, phase string, then func(d *draft, st *step)) {
	names := func(i int) []string {
		st := d.st.Steps[i]
		return append(append([]string{st.Name, st.Do}, st.Fasteners...), st.Parts...)
	}
	hits := find(name, len(d.st.Steps), names)
	if phase != "" {
		if in := slices.DeleteFunc(findAll(name, len(d.st.Steps), names), func(i int) bool { return d.st.Steps[i].Phase != phase }); len(in) > 0 {
			best := find(name, len(in), func(k int) []string { return names(in[k]) })
			hits = nil
			for _, k := range best {
				hits = append(hits, in[k])
			}
		}
	}
	// A step named in full is that one, whatever the stage: "seal in" while all is still coming apart.
	for i, st := range d.st.Steps {
		if normal(st.Name) == normal(name) {
			hits = []int{i}
		}
	}
	switch {
	case len(hits) == 0:
		d.say(ReplyAnswer, "I do not know a step %s.", name)
	case len(hits) == 1:
		then(d, d.st.Steps[hits[0]])
	case len(hits) > 4:
		d.say(ReplyAnswer, "%s steps fit. Say more of its name.", capital(spell(len(hits))))
	default:
		var list []choice
		var said []string
		for _, i := range hits {
			st := d.st.Steps[i]
			list = append(list, choice{st.Name, func(d *draft) {
				_, st := d.st.step(st.Name)
				then(d, st)
			}})
			said = append(said, st.Name)
		}
		d.events = nil
		d.choose(ReplyQuestion, capital(orList(said))+"?", true, list...)
	}
}

func (d *draft) goStep(name string) {
	d.findStep(name, d.st.stepPhase(), func(d *draft, st *step) {
		if w := d.st.waits(st); len(w) > 0 {
			d.say(ReplyAnswer, "%s waits for %s.", capital(st.Name), andList(w))
			return
		}
		d.openStep(st.Name, capital(st.Name))
	})
}

func (d *draft) skip(v intent.SkipStep) {
	skip := func(d *draft, st *step) {
		name := st.Name
		record := func(d *draft, reason string) {
			d.add(KindStep, stepState{Step: name, State: "skipped", Reason: reason})
			d.say(ReplyReadBack, "Skipped %s: %s.", name, reason)
			if passed := d.passCovered(); passed != "" {
				d.more("%s.", passed)
			}
			if next, w := d.st.next(); next != nil && len(w) == 0 && d.st.open() == nil {
				d.openStep(next.Name, strings.TrimSuffix(d.reply.Text, ".")+". Next")
			}
		}
		if v.Reason != "" {
			record(d, v.Reason)
			return
		}
		d.ask = &question{holds: true,
			no: func(d *draft) { record(d, "no reason given") },
			other: func(d *draft, text string, _ *measure.Quantity) bool {
				if strings.TrimSpace(text) == "" {
					return false
				}
				record(d, text)
				return true
			}}
		d.say(ReplyQuestion, "Why skip %s?", name)
		d.reply.Free = true
	}
	if v.Name == "" {
		if st := d.st.open(); st != nil {
			skip(d, st)
		} else if st, _ := d.st.next(); st != nil {
			skip(d, st)
		} else {
			d.say(ReplyAnswer, "There is no step to skip.")
		}
		return
	}
	d.findStep(v.Name, d.st.stepPhase(), skip)
}

func (d *draft) insert(v intent.InsertStep) {
	text := strings.Join(strings.Fields(v.Text), " ")
	if text == "" {
		d.say(ReplyAnswer, "What is the step?")
		return
	}
	name := text
	if f := strings.Fields(text); len(f) > 5 {
		name = strings.Join(f[:5], " ")
	}
	insert := func(d *draft, after, phase string) {
		d.add(KindInsert, stepInserted{Name: d.st.freeStep(name), Do: text, Phase: phase, After: after})
		if after == "" {
			d.say(ReplyReadBack, "New step: %s.", text)
		} else {
			d.say(ReplyReadBack, "New step after %s: %s.", after, text)
		}
	}
	if v.After != "" {
		d.findStep(d.st.stepSaid(v.After), d.st.stepPhase(), func(d *draft, st *step) { insert(d, st.Name, st.Phase) })
		return
	}
	if v.Before != "" {
		d.findStep(d.st.stepSaid(v.Before), d.st.stepPhase(), func(d *draft, st *step) {
			before := st.Name
			list, err := d.st.order(st.Phase)
			if err != nil {
				d.err = err
				return
			}
			after, fresh := "", d.st.freeStep(name)
			for _, i := range list {
				if d.st.Steps[i].Name == before {
					break
				}
				after = d.st.Steps[i].Name
			}
			insert(d, after, st.Phase)
			if st.Phase == "refit" {
				d.add(KindConstrain, stepAfter{Step: before, After: fresh})
			}
			d.say(ReplyReadBack, "New step before %s: %s.", before, text)
		})
		return
	}
	after := ""
	if st := d.st.open(); st != nil {
		after = st.Name
	} else {
		// After the last step done in this phase, else at its beginning.
		var seq int64
		for _, st := range d.st.Steps {
			if st.Phase == d.st.stepPhase() && st.DoneSeq > seq {
				seq, after = st.DoneSeq, st.Name
			}
		}
	}
	insert(d, after, d.st.stepPhase())
}

// stepSaid is the name of the step that what is being done belongs to, "opening
// the sea cock"; other words stay as they are.
func (s *State) stepSaid(said string) string {
	do := intent.Doing(said)
	for _, who := range []string{"you ", "I ", "we "} {
		if rest, ok := strings.CutPrefix(said, who); ok {
			do = rest
		}
	}
	if do == "" {
		do = said
	}
	// "The impeller goes in", "take the hoses off".
	if thing, way, ok := cutLast(normal(do)); ok && slices.Contains([]string{"in", "on", "off", "out"}, way) {
		list := strings.Fields(thing)
		for len(list) > 1 && slices.Contains([]string{"back", "goes", "go", "is", "are", "comes", "come", "gets"}, list[len(list)-1]) {
			list = list[:len(list)-1]
		}
		for len(list) > 1 && slices.Contains([]string{"take", "put", "get", "fit", "pull", "press", "lift", "the"}, list[0]) {
			list = list[1:]
		}
		do = strings.Join(append(list, way), " ")
		if step := s.stepOf(do); step != strings.Join(list, " ") {
			return step
		}
	}
	found := ""
	for _, deed := range intent.Deeds("", do) {
		for _, st := range s.Steps {
			for _, of := range intent.Deeds(st.Name, st.Do) {
				if of.Key == deed.Key && found != st.Name {
					if found != "" {
						return do
					}
					found = st.Name
				}
			}
		}
	}
	if found == "" {
		return do
	}
	return found
}

func (d *draft) constrain(v intent.Constrain) {
	d.findStep(v.Step, "refit", func(d *draft, st *step) {
		name := st.Name
		d.findStep(v.After, st.Phase, func(d *draft, after *step) { d.constrainTo(name, after.Name) })
	})
}

func (d *draft) constrainTo(step, after string) {
	if step == after {
		d.say(ReplyAnswer, "A step cannot wait for itself.")
		return
	}
	try := d.st.clone()
	try.After = with1(try.After, stepAfter{step, after})
	_, st := try.step(step)
	var ring *CycleError
	if _, err := try.order(st.Phase); errors.As(err, &ring) {
		d.say(ReplyAnswer, "That would be a ring: %s. Nothing written down.", strings.Join(append(slices.Clone(ring.Members), ring.Members[0]), ", then "))
		return
	}
	d.add(KindConstrain, stepAfter{Step: step, After: after})
	d.say(ReplyReadBack, "%s comes after %s.", capital(step), after)
}

func (d *draft) why(name string) {
	tell := func(d *draft, st *step) {
		if w := d.st.waits(st); len(w) > 0 {
			d.say(ReplyAnswer, "%s waits for %s.", capital(st.Name), andList(w))
			return
		}
		switch st.State {
		case "done":
			d.say(ReplyAnswer, "%s is done, %s.", capital(st.Name), ago(st.DoneAt, d.now))
		case "skipped":
			d.say(ReplyAnswer, "%s was skipped: %s.", capital(st.Name), st.Reason)
		default:
			d.say(ReplyAnswer, "Nothing holds %s up.", st.Name)
		}
	}
	if name == "" {
		for _, st := range d.st.Steps {
			if st.Phase == d.st.stepPhase() && st.State == "waiting" && len(d.st.waits(st)) > 0 {
				tell(d, st)
				return
			}
		}
		d.say(ReplyAnswer, "No step waits for another.")
		return
	}
	d.findStep(d.st.stepOf(name), "", tell)
}

// stepOf is the step of a name that ends in what it does, "exchanger on"; where
// none is called so, the one of that direction that is about the thing.
func (s *State) stepOf(name string) string {
	thing, way, ok := cutLast(normal(bare(name)))
	phase := map[string]string{"on": "refit", "in": "refit", "off": "strip", "out": "strip"}[way]
	if !ok || phase == "" {
		return name
	}
	found := ""
	for _, exact := range []bool{true, false} {
		for _, st := range s.Steps {
			head, last, _ := cutLast(normal(st.Name))
			about := func(n string) bool { return normal(n) == thing }
			switch {
			case st.Phase != phase:
			case exact && last == way && hasWords(thing, head), !exact && (hasWords(thing, head) || slices.ContainsFunc(st.Parts, about) || slices.ContainsFunc(st.Fasteners, about)):
				if found != "" && found != st.Name {
					return thing
				}
				found = st.Name
			}
		}
		if found != "" {
			return found
		}
	}
	return thing
}

// cutLast parts the last word from a text.
func cutLast(text string) (before, last string, ok bool) {
	i := strings.LastIndex(text, " ")
	if i < 0 {
		return "", text, false
	}
	return text[:i], text[i+1:], true
}

// stage moves to another part of the job.
func (d *draft) stage(to string) {
	switch to {
	case "fault", "strip", "clean", "refit", "start":
	default:
		d.say(ReplyAnswer, "The stages are fault, strip, clean, refit and start.")
		return
	}
	if to == "start" {
		d.startCheck()
		return
	}
	short := d.st.shortages()
	d.add(KindStage, named{Name: to})
	switch to {
	case "fault":
		d.say(ReplyReadBack, "Finding the fault. Name what you suspect.")
	case "clean":
		d.say(ReplyReadBack, "Cleaning and checking.")
	default:
		d.say(ReplyReadBack, "%s.", map[string]string{"strip": "Stripping", "refit": "Putting back"}[to])
		n := 0
		for _, st := range d.st.Steps {
			if st.Phase == to && st.State == "waiting" {
				n++
			}
		}
		if n > 0 {
			d.more("%s to go.", capital(countOf(n, "step", "steps")))
		}
		if to == "refit" && len(short) > 0 && !strings.Contains(d.bench.last.Text, "Not all counted") {
			d.room("Not all counted: %s.", fewOf(short, 2))
		}
		if next, w := d.st.next(); next != nil && len(w) == 0 {
			if to == "refit" || to == "strip" {
				d.openStep(next.Name, strings.TrimSuffix(d.reply.Text, ".")+". First")
				return
			}
			d.room("First: %s.", doing(next))
		}
	}
}

// shortages names groups of the sheet begun but not wholly counted off.
func (s *State) shortages() []string {
	var list []string
	done := map[string]bool{}
	for _, st := range s.Steps {
		if st.Phase == "strip" && st.State == "done" {
			for _, name := range st.Fasteners {
				done[name] = true
			}
		}
	}
	for _, g := range s.Groups {
		if g.Count == 0 || g.holes()+g.Loose >= g.Count || g.holes() == 0 && !done[g.Name] {
			continue
		}
		n := "none"
		if g.holes() > 0 {
			n = spell(g.holes())
		}
		list = append(list, fmt.Sprintf("%s of %s %s", n, spell(g.Count), g.Name))
	}
	return list
}

// totalOut counts what lies on the bench and in how many groups.
func (s *State) totalOut() (n, groups int) {
	for _, g := range s.Groups {
		if g.out() > 0 {
			n += g.out()
			groups++
		}
	}
	return n, groups
}
