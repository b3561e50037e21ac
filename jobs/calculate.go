package jobs

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"putback/intent"
	"putback/jobs/fastening"
	"putback/jobs/measure"
)

// calculate answers what needs no record; false: in is no such question.
func (d *draft) calculate(in intent.Intent) bool {
	var a fastening.Answer
	var err error
	d.keep = true
	switch v := in.(type) {
	case intent.Convert:
		if !v.From.Given() {
			if v.From = d.lastFigure(v.To.Dimension()); !v.From.Given() {
				d.say(ReplyAnswer, "I said no figure of that kind last. Say it with its number.")
				return true
			}
		}
		a, err = fastening.AnswerConvert(v.From, v.To)
	case intent.AskJudge:
		k := sizeKnown(v.Size, v.Class, v.Oiled)
		k.Into = fastening.Material(v.Into)
		d.judgeAsked(k, v.Torque)
		return true
	case intent.AskGuide:
		k := sizeKnown(v.Size, v.Class, v.Oiled)
		k.Into = fastening.Material(v.Into)
		d.guideAsked(k)
		return true
	case intent.AskThread:
		d.askThread(sizeKnown(v.Size, "", false), fastening.AnswerThread)
		return true
	case intent.AskHead:
		d.askThread(sizeKnown(v.Size, "", false), fastening.AnswerHead)
		return true
	case intent.AskPattern:
		if v.Loosen {
			a, err = fastening.AnswerLoosening(v.Count)
		} else {
			a, err = fastening.AnswerPattern(v.Count)
		}
	case intent.AskStrength:
		d.askThread(sizeKnown(v.Size, v.Class, false), fastening.AnswerStrength)
		return true
	case intent.AskPreload:
		d.askThread(sizeKnown(v.Size, v.Class, v.Oiled), func(k fastening.Known) (fastening.Answer, error) {
			return fastening.AnswerPreload(k, v.Torque)
		})
		return true
	case intent.AskDesignation:
		a, err = fastening.AnswerDesignation(sizeKnown(v.Size, "", false))
	case intent.AskWrench:
		if len(torqueWrenches(d.st.wrenches())) == 0 {
			d.say(ReplyAnswer, "No torque wrench is on the sheet. Take one whose range has %s in its upper four fifths.", v.Torque)
			return true
		}
		d.settingAsked(intent.AskSetting{Torque: v.Torque})
		return true
	case intent.AskLocker:
		a = fastening.AnswerLocker()
	case intent.AskSetting:
		d.settingAsked(v)
		return true
	case intent.AskEngage:
		d.askThread(sizeKnown(v.Size, "", false), func(k fastening.Known) (fastening.Answer, error) {
			return fastening.AnswerEngage(k, v.Turns, v.Depth, fastening.Material(v.Material))
		})
		return true
	default:
		d.keep = false
		return false
	}
	d.answered(a, err)
	return true
}

func (d *draft) answered(a fastening.Answer, err error) {
	if err != nil {
		d.tell(ReplyAnswer, err.Error())
		return
	}
	d.tell(ReplyAnswer, a.Spoken())
}

// asking makes an answer's question a pending one; again decides with what was
// answered and gives false when that is no answer.
func (d *draft) asking(a fastening.Answer, again func(d *draft, said string) bool) {
	d.keep = false
	d.ask = &question{other: func(d *draft, text string, q *measure.Quantity) bool {
		switch {
		case q != nil && q.Unit.Dimension() == measure.Length:
			text = measure.Quantity{Amount: q.Amount, Unit: q.Unit}.String()
		case q != nil && q.Said != "":
			text = q.Said
		}
		return normal(text) != "" && again(d, text)
	}}
	for _, c := range a.Choices {
		d.ask.choices = append(d.ask.choices, choice{c, func(d *draft) { again(d, c) }})
	}
	d.tell(ReplyQuestion, a.Spoken())
	d.reply.Choices = a.Choices
}

// narrowed takes the answer to "is it the wrench or the thread", "which thread"
// or "which wrench size" into k. A bare number is the size asked for, or where
// the size is known the thread.
func narrowed(k fastening.Known, said string) fastening.Known {
	switch said {
	case "wrench":
		k.Kind = fastening.KindWrench
		return k
	case "thread":
		k.Kind = fastening.KindThread
		return k
	}
	if v, err := measure.ParseNumber(said); err == nil && k.Size.Given() {
		said = fmt.Sprintf("M%g", v)
	} else if err == nil {
		said = measure.Quantity{Amount: v, Unit: measure.Millimetre}.String()
	}
	if q, err := measure.ParseAs(measure.Length, said); err == nil && !k.Size.Given() {
		k.Size, k.Kind = q, fastening.KindUnknown
		return k
	}
	k.Thread = said
	return k
}

func (d *draft) judgeAsked(k fastening.Known, torque measure.Quantity) {
	d.askThread(k, func(k fastening.Known) (fastening.Answer, error) { return fastening.AnswerJudge(k, torque) })
}

// guideAsked gives a guide figure, except for what is tightened by the maker's
// manual alone: then it says so.
func (d *draft) guideAsked(k fastening.Known) {
	about := d.heard.Text + " " + d.st.Job
	if st := d.st.open(); st != nil {
		about += " " + st.Name + " " + strings.Join(st.Fasteners, " ")
	}
	if why, only := fastening.ManualOnly(about); only {
		d.say(ReplyAnswer, "%s", why)
		return
	}
	d.askThread(k, fastening.AnswerGuide)
}

// askThread answers about one thread or size, after asking which where it is
// not said or fits several.
func (d *draft) askThread(k fastening.Known, answer func(fastening.Known) (fastening.Answer, error)) {
	a, err := answer(k)
	if err != nil || a.Ask == "" {
		d.answered(a, err)
		return
	}
	d.asking(a, func(d *draft, said string) bool {
		n := narrowed(k, said)
		b, err := answer(n)
		if err != nil || b.Spoken() == a.Spoken() {
			return false
		}
		d.askThread(n, answer)
		return true
	})
}

// settingAsked says what to set: on the wrench in hand, else on the best of the sheet's.
func (d *draft) settingAsked(v intent.AskSetting) {
	ws := torqueWrenches(d.st.wrenches())
	if i := slices.IndexFunc(ws, func(w fastening.Wrench) bool { return w.Name == d.st.Wrench }); i >= 0 {
		ws = ws[i : i+1]
	}
	a, err := fastening.AnswerSetting(v.Torque, fastening.Adapter{Lever: v.Lever, Length: v.Adapter, Angle: v.Angle}, ws)
	if err == nil && a.Ask != "" {
		d.asking(a, func(d *draft, said string) bool {
			if _, err := measure.ParseNumber(said); err == nil {
				said += " " + v.Adapter.Unit.Symbol
			}
			q, err := measure.ParseAs(measure.Length, said)
			if err != nil {
				return false
			}
			v.Lever = q
			d.settingAsked(v)
			return true
		})
		return
	}
	d.answered(a, err)
}

func sizeKnown(z intent.Size, class string, oiled bool) fastening.Known {
	k := fastening.Known{Said: z.Said, Kind: fastening.Kind(z.Kind), Size: z.Across, Thread: z.Designation, Class: class}
	if oiled {
		k.Lubrication = fastening.LubeOiled
	}
	return k
}

// figureSaid is a number with a unit in a reply.
var figureSaid = regexp.MustCompile(`[0-9]+(?:\.[0-9]+)? [^ ,.;:]+`)

// lastFigure is the first figure of a dimension in the last reply, not given when
// it had none.
func (d *draft) lastFigure(dim measure.Dimension) measure.Quantity {
	for _, text := range figureSaid.FindAllString(d.bench.last.Text, -1) {
		if q, err := measure.ParseAs(dim, text); err == nil {
			return q
		}
	}
	return measure.Quantity{}
}
