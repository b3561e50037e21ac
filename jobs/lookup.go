package jobs

import (
	"putback/intent"
	"putback/jobs/fastening"
)

// lookUp answers what is asked of the record.
func (d *draft) lookUp(in intent.Intent) bool {
	d.keep = true
	switch v := in.(type) {
	case intent.AskTorque:
		d.oneGroup(v.Name, func(d *draft, g *group) {
			if g.figure() == "" {
				d.say(ReplyAnswer, "No torque is known for the %s.", g.Name)
				return
			}
			d.say(ReplyAnswer, "%s: %s, %s.", capital(g.Name), g.figure(), d.st.source(g, d.now))
		})
	case intent.AskSize:
		d.oneGroup(v.Name, func(d *draft, g *group) { d.say(ReplyAnswer, "%s: %s %s.", capital(g.Name), g.sizeText(), g.Thread) })
	case intent.AskCount:
		d.oneGroup(v.Name, func(d *draft, g *group) {
			d.say(ReplyAnswer, "%s: %s, %s out.", capital(g.Name), spell(g.Count), spell(g.out()))
		})
	case intent.AskOut, intent.AskLeft:
		n, groups := d.st.totalOut()
		d.say(ReplyAnswer, "%s out in %s.", capital(spell(n)), countOf(groups, "group", "groups"))
	case intent.AskDoubts:
		d.doubts()
	case intent.AskTimers:
		d.timers(v.Name)
	case intent.AskWhy:
		d.why(v.Name)
	case intent.AskFaults:
		d.faults()
	case intent.WhereWasI:
		d.whereWasI(d.before.Worked)
	default:
		d.keep = false
		return false
	}
	return true
}

// calculate answers what needs no job.
func (d *draft) calculate(in intent.Intent) bool {
	var a fastening.Answer
	var err error
	switch v := in.(type) {
	case intent.Convert:
		a, err = fastening.AnswerConvert(v.From, v.To)
	case intent.AskJudge:
		a, err = fastening.AnswerJudge(sizeKnown(v.Size, v.Class, v.Oiled), v.Torque)
	case intent.AskGuide:
		a, err = fastening.AnswerGuide(sizeKnown(v.Size, v.Class, v.Oiled))
	case intent.AskThread:
		a, err = fastening.AnswerThread(sizeKnown(v.Size, "", false))
	case intent.AskHead:
		a, err = fastening.AnswerHead(sizeKnown(v.Size, "", false))
	case intent.AskPattern:
		a, err = fastening.AnswerPattern(v.Count)
	case intent.AskSetting:
		a, err = fastening.AnswerSetting(v.Torque, fastening.Adapter{Lever: v.Lever, Length: v.Adapter, Angle: v.Angle}, nil)
	case intent.AskEngage:
		a, err = fastening.AnswerEngage(sizeKnown(v.Size, "", false), v.Turns, v.Depth, fastening.Material(v.Material))
	case intent.SetSpec:
		d.dictate(v)
		return true
	default:
		return false
	}
	d.keep = true
	if err != nil {
		d.tell(ReplyAnswer, err.Error())
		return true
	}
	d.tell(ReplyAnswer, a.Spoken())
	return true
}

func sizeKnown(z intent.Size, class string, oiled bool) fastening.Known {
	k := fastening.Known{Said: z.Said, Kind: fastening.Kind(z.Kind), Size: z.Across, Thread: z.Designation, Class: class}
	if oiled {
		k.Lubrication = fastening.LubeOiled
	}
	return k
}

// work carries out what moves the job on.
func (d *draft) work(b *Bench, in intent.Intent) bool {
	switch v := in.(type) {
	case intent.Next:
		d.nextStep()
	case intent.Back:
		d.back()
	case intent.Done:
		d.done(v.Pass)
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
		d.tighten(v)
	case intent.PartAside:
		d.partAside(v)
	case intent.PartHave:
		d.partHave(v)
	case intent.PartFitted:
		d.partFitted(v, false)
	case intent.PartNeeded:
		d.partNeeded(v)
	case intent.Drained:
		d.drained(v)
	case intent.Filled:
		d.filled(v, false)
	case intent.Sealed:
		d.sealed(v)
	case intent.Timer:
		d.timer(v)
	case intent.TimerOff:
		d.timerOff(v.Name)
	case intent.Note:
		d.note(v.Text)
	case intent.Flag:
		d.doubtRaise(v.Text)
	case intent.Settle:
		d.settle(v)
	case intent.Mark:
		d.mark(v.Label)
	case intent.Measure:
		d.measured(v, false)
	case intent.Suspect:
		d.suspectNamed(v.Name)
	case intent.Evidence:
		d.evidenceFor(v)
	case intent.RuleOut:
		d.ruleOut(v)
	case intent.Culprit:
		d.culprit(v.Name)
	case intent.StartCheck:
		d.startCheck(nil)
	default:
		// Said plainly, so that nobody believes it was written down.
		d.say(ReplyAnswer, "I cannot do that yet. Nothing written down.")
	}
	return true
}
