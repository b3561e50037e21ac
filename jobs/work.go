package jobs

import (
	"fmt"
	"strings"

	"putback/intent"
	"putback/jobs/fastening"
)

// work carries out what moves the job on; false: in is none of it.
func (d *draft) work(in intent.Intent) bool {
	switch v := in.(type) {
	case intent.Next:
		d.nextStep()
	case intent.Back:
		d.back()
	case intent.Done:
		d.doneSaid(v)
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
	case intent.Wrench:
		d.takeWrench(v.Name)
	case intent.SetSpec:
		d.dictate(v)
	case intent.SetOrder:
		d.dictateOrder(v)
	case intent.SetStages:
		d.dictateStages(v)
	case intent.SetLimit:
		d.dictateLimit(v)
	case intent.SetFill:
		d.dictateFill(v)
	case intent.SetTime:
		d.dictateTime(v)
	case intent.SetPattern:
		d.dictatePattern(v)
	case intent.SetTool:
		d.dictateTool(v)
	case intent.SetCaution:
		d.dictateCaution(v)
	case intent.SetUses:
		d.dictateUses(v)
	case intent.SetCheck:
		d.dictateCheck(v.Text)
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
		d.startCheck()
	default:
		return false
	}
	return true
}

// takeWrench records the wrench in hand; answers then use its units.
func (d *draft) takeWrench(name string) {
	name = strings.TrimSpace(strings.TrimPrefix(name, "the "))
	if name == "" {
		d.say(ReplyAnswer, "Which wrench?")
		return
	}
	list := d.st.wrenches()
	hits := find(name, len(list), func(i int) []string { return []string{list[i].Name} })
	if len(hits) > 1 {
		var c []choice
		var said []string
		for _, i := range hits[:min(len(hits), 4)] {
			full := list[i].Name
			c = append(c, choice{full, func(d *draft) { d.takeWrench(full) }})
			said = append(said, full)
		}
		d.choose(ReplyQuestion, capital(orList(said))+"?", true, c...)
		return
	}
	if len(hits) == 0 {
		d.add(KindWrench, named{Name: name})
		d.say(ReplyReadBack, "%s in hand. Its range is not on your sheet.", capital(name))
		return
	}
	w := list[hits[0]]
	d.add(KindWrench, named{Name: w.Name})
	d.say(ReplyReadBack, "%s", capital(w.Name))
	if !w.High.Given() {
		d.reply.Text += " in hand."
		return
	}
	d.reply.Text += fmt.Sprintf(", %s to %s.", strings.Fields(w.Low.String())[0], w.High)
	r := d.st.Run
	if r == nil || r.Pass >= len(r.Passes) || !r.Passes[r.Pass].Torque.Given() {
		return
	}
	ws := torqueWrenches([]SheetWrench{w})
	c, err := fastening.SetWrench(ws[0], r.Passes[r.Pass].Torque, fastening.Adapter{})
	if err != nil {
		return
	}
	if !c.Usable {
		d.more("It does not suit %s.", r.Passes[r.Pass].Torque)
		return
	}
	d.more("Set %s.", c.Set)
}
