package jobs

import (
	"strings"
	"time"

	"putback/intent"
	"putback/jobs/measure"
)

// work carries out what is about steps, figures, parts, fluids, timers, doubts
// and faults; false: in is none of it.
func (d *draft) work(b *Bench, in intent.Intent) bool {
	switch v := in.(type) {
	case intent.Next:
		d.nextStep()
	case intent.Back:
		d.back()
	case intent.Done:
		d.done(false)
	case intent.BackOne:
		d.backOne()
	case intent.Pause:
		d.pause()
	case intent.Resume:
		d.resume()
	case intent.GoStep:
		d.goStep(v.Name)
	case intent.SkipStep:
		d.skip(v)
	case intent.InsertStep:
		d.insert(v)
	case intent.Constrain:
		d.constrain(v)
	case intent.Stage:
		d.stage(v.To)
	case intent.Tighten:
		d.oneGroup(v.Name, func(d *draft, g *group) { d.startRun(g, v.Check) })
	case intent.Wrench:
		d.takeWrench(v.Name)
	case intent.SetSpec:
		d.dictate(v)
	case intent.PartAside:
		d.add(KindPartAside, partCount{Part: d.partName(v.Name), Where: v.Where})
		d.say(ReplyReadBack, "%s: %s.", capital(d.partName(v.Name)), v.Where)
	case intent.PartHave:
		n := max(v.Count, 1)
		d.add(KindPartHave, partCount{Part: d.partName(v.Name), N: n})
		d.say(ReplyReadBack, "At hand: %s %s.", d.count(n), d.partName(v.Name))
	case intent.PartNeeded:
		n := max(v.Count, 1)
		d.add(KindPartNeed, partCount{Part: d.partName(v.Name), N: n})
		d.say(ReplyReadBack, "Needed: %s %s.", d.count(n), d.partName(v.Name))
	case intent.PartFitted:
		d.fitPart(d.partName(v.Name), max(v.Count, 1), v.New)
	case intent.Drained:
		d.moveFluid(KindDrained, v.Fluid, v.Amount)
	case intent.Filled:
		d.moveFluid(KindFilled, v.Fluid, v.Amount)
	case intent.Sealed:
		d.sealed(v)
	case intent.Timer:
		name := v.Name
		if name == "" {
			name = "timer"
		}
		warn := time.Duration(0)
		if v.For >= 5*time.Minute {
			warn = v.For - v.For/5
		}
		d.add(KindTimer, timerSet{Name: name, Due: v.For, Warn: warn, Source: "set by you"})
		d.say(ReplyReadBack, "%s: %s.", capital(name), lasts(v.For))
	case intent.TimerOff:
		d.timerOff(v.Name)
	case intent.Note:
		d.add(KindNote, named{Text: v.Text})
		d.say(ReplyReadBack, "Noted: %s.", strings.TrimSuffix(v.Text, "."))
	case intent.Flag:
		at := ""
		if st := d.st.open(); st != nil {
			at = st.Name
		}
		d.add(KindDoubt, doubtRaised{Text: v.Text, Step: at})
		d.say(ReplyReadBack, "Doubt kept open: %s.", strings.TrimSuffix(v.Text, "."))
	case intent.Settle:
		d.settle(v)
	case intent.Mark:
		d.add(KindMark, named{Text: v.Label})
		d.say(ReplyReadBack, "Marked %s.", strings.TrimSpace(v.Label+" "+d.now.Format("15:04:05")))
	case intent.Measure:
		d.measured(v)
	case intent.Suspect:
		d.add(KindSuspect, named{Name: v.Name})
		d.say(ReplyReadBack, "Suspect: %s.", v.Name)
	case intent.Evidence:
		d.onSuspect(v.Name, func(name string) {
			d.add(KindEvidence, evidence{Suspect: name, For: v.For, Text: v.Text})
			side := "against"
			if v.For {
				side = "for"
			}
			d.say(ReplyReadBack, "Noted %s %s: %s.", side, name, v.Text)
		})
	case intent.RuleOut:
		d.onSuspect(v.Name, func(name string) {
			d.add(KindRuledOut, named{Name: name, Text: v.Reason})
			d.say(ReplyReadBack, "Ruled out: %s.", name)
			if v.Reason != "" {
				d.more("%s.", capital(v.Reason))
			}
		})
	case intent.Culprit:
		d.onSuspect(v.Name, func(name string) {
			d.add(KindCulprit, named{Name: name})
			d.say(ReplyReadBack, "The culprit is %s.", name)
		})
	case intent.StartCheck:
		d.startCheck()
	default:
		return false
	}
	return true
}

// partName is the sheet's name of a part, or the name as said.
func (d *draft) partName(name string) string {
	if known := d.findPart(name); known != "" {
		return known
	}
	return name
}

// fitPart records a part as fitted; where the rule says renew, it asks first.
func (d *draft) fitPart(name string, n int, isNew bool) {
	_, p := d.st.part(name)
	record := func(isNew bool) func(d *draft) {
		return func(d *draft) {
			d.add(KindPartFitted, partCount{Part: name, N: n, New: isNew})
			word := ""
			if isNew {
				word = "new "
			}
			d.say(ReplyReadBack, "Fitted: %s%s.", word, name)
		}
	}
	if p != nil && p.Renew == "always" && !isNew {
		d.confirm(ReplyQuestion, capital(the(name))+" is once-only. Is this a new one?", record(true),
			func(d *draft) { d.say(ReplyAnswer, "Then it does not go in. Nothing written down.") })
		return
	}
	record(isNew)(d)
}

func (d *draft) moveFluid(kind, name string, amount *measure.Quantity) {
	hits := find(name, len(d.st.Fluids), func(i int) []string { return []string{d.st.Fluids[i].Name} })
	if len(hits) > 0 {
		name = d.st.Fluids[hits[0]].Name
	}
	v := fluidMoved{Fluid: name}
	text := capital(name)
	if kind == KindDrained {
		text += " drained"
	} else {
		text += " filled"
	}
	if amount != nil {
		v.Amount = *amount
		text += ", " + d.figure(*amount)
	}
	d.add(kind, v)
	d.say(ReplyReadBack, "%s.", text)
}

func (d *draft) timerOff(name string) {
	for _, t := range d.st.Timers {
		if !t.Ended && (name == "" || strings.Contains(normal(t.Name), normal(name))) {
			d.add(KindTimerOff, named{Name: t.Name})
			d.say(ReplyReadBack, "Timer off: %s.", t.Name)
			return
		}
	}
	d.say(ReplyAnswer, "No such timer is running.")
}

// sealed starts the closing limit of a sealant of the sheet.
func (d *draft) sealed(v intent.Sealed) {
	if d.st.Sheet != nil {
		list := d.st.Sheet.Sealants
		if hits := find(v.Sealant, len(list), func(i int) []string { return []string{list[i].Name} }); len(hits) > 0 {
			d.startSealant(list[hits[0]], v.Where)
			return
		}
	}
	d.add(KindNote, named{Text: strings.TrimSpace(v.Sealant + " put on " + v.Where)})
	d.say(ReplyReadBack, "%s noted. Its times are not in the sheet: read the label and set a timer.", capital(v.Sealant))
}

// seal starts the sealant of a step that is done: closing was part of the
// step, so what runs is the wait before oil or coolant.
func (d *draft) seal(name string, st *step) {
	if d.st.Sheet == nil {
		return
	}
	for _, x := range d.st.Sheet.Sealants {
		if x.Name == name && x.OilAfter > 0 {
			d.add(KindTimer, timerSet{Name: x.Name + " before oil or coolant", Due: x.OilAfter, Source: x.Source, Where: st.Name})
		}
	}
}

func (d *draft) startSealant(x SheetSealant, where string) {
	if x.CloseWithin > 0 {
		// The warning comes while there is still time to close.
		d.add(KindTimer, timerSet{Name: x.Name, Due: x.CloseWithin, Warn: x.CloseWithin * 7 / 10, Source: x.Source, Limit: true, Sealant: x.Name, Where: where})
		d.say(ReplyReadBack, "%s: close within %s.", capital(x.Name), lasts(x.CloseWithin))
		return
	}
	if x.OilAfter > 0 {
		d.add(KindTimer, timerSet{Name: x.Name + " before oil or coolant", Due: x.OilAfter, Source: x.Source, Where: where})
		d.say(ReplyReadBack, "%s: oil or coolant after %s.", capital(x.Name), lasts(x.OilAfter))
		return
	}
	d.add(KindNote, named{Text: strings.TrimSpace(x.Name + " put on " + where)})
	d.say(ReplyReadBack, "%s noted.", capital(x.Name))
}

// fluidWait warns before a fill step while a sealant still waits.
func (s *State) fluidWait(st *step, d *draft) string {
	if len(st.Fluids) == 0 {
		return ""
	}
	for _, t := range s.Timers {
		if !t.Ended && strings.HasSuffix(t.Name, "before oil or coolant") && t.due().After(d.now) {
			return capital(t.Name) + ": " + lasts(t.due().Sub(d.now)) + " still to wait."
		}
	}
	return ""
}

func (d *draft) settle(v intent.Settle) {
	var open []int
	for i, x := range d.st.Doubts {
		if !x.Over {
			open = append(open, i)
		}
	}
	if len(open) == 0 {
		d.say(ReplyAnswer, "No doubt is open.")
		return
	}
	at := open[len(open)-1]
	if v.Name != "" {
		hits := find(v.Name, len(open), func(i int) []string { return []string{d.st.Doubts[open[i]].Text} })
		if len(hits) == 0 {
			d.say(ReplyAnswer, "I have no doubt about %s.", v.Name)
			return
		}
		at = open[hits[0]]
	}
	d.add(KindSettled, doubtSettled{Doubt: at + 1, How: v.How})
	d.say(ReplyReadBack, "Settled: %s.", strings.TrimSuffix(d.st.Doubts[at].Text, "."))
}

func (d *draft) measured(v intent.Measure) {
	name := v.Name
	hits := find(name, len(d.st.Limits), func(i int) []string { return []string{d.st.Limits[i].Name} })
	if len(hits) > 0 {
		name = d.st.Limits[hits[0]].Name
	}
	d.add(KindMeasured, measured{Name: name, Value: v.Value})
	d.say(ReplyReadBack, "%s %s.", capital(name), d.figure(v.Value))
	if _, l := d.st.limit(name); l != nil {
		switch verdict, by := l.verdict(); verdict {
		case "in":
			d.more("Within its limit, %s.", l.print())
		case "over", "under":
			d.more("%s the limit by %s.", capital(verdict), by.String())
		}
	}
}

func (d *draft) onSuspect(name string, then func(name string)) {
	if name == "" && len(d.st.Suspects) > 0 {
		then(d.st.Suspects[len(d.st.Suspects)-1].Name)
		return
	}
	hits := find(name, len(d.st.Suspects), func(i int) []string { return []string{d.st.Suspects[i].Name} })
	switch {
	case len(hits) > 0:
		then(d.st.Suspects[hits[0]].Name)
	case name == "":
		d.say(ReplyAnswer, "No suspect was named.")
	default:
		d.add(KindSuspect, named{Name: name})
		then(name)
	}
}

// dictate stores a spoken figure of a group. One that fails the plausibility
// check is stored only after an explicit yes, together with the objection.
func (d *draft) dictate(v intent.SetSpec) {
	d.oneGroup(v.Name, func(d *draft, g *group) {
		s := groupSpec{Group: g.Name, Oiled: v.Oiled, Thread: v.Thread, Class: v.Class, Renew: v.RenewRule, Count: v.Count}
		if v.Torque != nil {
			s.Torque = *v.Torque
		}
		if v.Angle != nil {
			s.Angle = *v.Angle
		}
		store := func(d *draft) {
			d.add(KindSpec, s)
			now := d.st.group(g.Name)
			text := capital(g.Name)
			if f := now.figure(); f != "" && (v.Torque != nil || v.Angle != nil) {
				d.numbers = append(d.numbers, now.full().Amount)
				text += ", " + f
			}
			for _, x := range []string{v.Thread, v.Class} {
				if x != "" {
					text += ", " + x
				}
			}
			if v.Count > 0 {
				text += ", " + d.count(v.Count)
			}
			if v.RenewRule != "" {
				text += ", renew " + v.RenewRule
			}
			d.say(ReplyReadBack, "%s.", text)
		}
		if v.Torque != nil {
			next := *g
			if v.Thread != "" {
				next.Thread = v.Thread
			}
			if v.Class != "" {
				next.Class = v.Class
			}
			next.Oiled = next.Oiled || v.Oiled
			if against := next.objection(*v.Torque); against != "" {
				d.numbers = append(d.numbers, v.Torque.Amount)
				d.confirm(ReplyObjection, sentence(against)+" Keep "+v.Torque.String()+" all the same?",
					func(d *draft) { s.Objection = against; store(d) }, nil)
				return
			}
		}
		store(d)
	})
}
