package jobs

import (
	"putback/intent"
	"putback/jobs/fastening"
	"putback/jobs/measure"
)

// calculate answers a question of fastening that needs no job; false: in is none.
func (d *draft) calculate(in intent.Intent) bool {
	var a fastening.Answer
	var err error
	switch v := in.(type) {
	case intent.Convert:
		a, err = fastening.AnswerConvert(v.From, v.To)
	case intent.AskJudge:
		a, err = fastening.AnswerJudge(knownAs(v.Size, v.Class, v.Oiled), v.Torque)
	case intent.AskGuide:
		a, err = fastening.AnswerGuide(knownAs(v.Size, v.Class, v.Oiled))
	case intent.AskThread:
		a, err = fastening.AnswerThread(knownAs(v.Size, "", false))
	case intent.AskHead:
		a, err = fastening.AnswerHead(knownAs(v.Size, "", false))
	case intent.AskSetting:
		ad := fastening.Adapter{Lever: v.Lever, Length: v.Adapter, Angle: v.Angle}
		a, err = fastening.AnswerSetting(v.Torque, ad, d.wrenches())
	case intent.AskPattern:
		a, err = fastening.AnswerPattern(v.Count)
	case intent.AskEngage:
		a, err = fastening.AnswerEngage(knownAs(v.Size, "", false), v.Turns, v.Depth, fastening.Material(v.Material))
	default:
		return false
	}
	if err != nil {
		// The sum cannot be done as asked; that is an answer, not a failure of the program.
		d.tell(ReplyAnswer, sentence(err.Error()))
		return true
	}
	d.tell(ReplyAnswer, a.Spoken())
	return true
}

// knownAs hands on what was said of a fastener.
func knownAs(z intent.Size, class string, oiled bool) fastening.Known {
	k := fastening.Known{Said: z.Said, Size: z.Across, Thread: z.Designation, Class: class}
	if oiled {
		k.Lubrication = fastening.LubeOiled
	}
	switch z.Kind {
	case intent.SizeWrench:
		k.Kind = fastening.KindWrench
	case intent.SizeThread:
		k.Kind = fastening.KindThread
	case intent.SizeHexKey:
		k.Kind = fastening.KindHexKey
	}
	return k
}

// known is what the record holds of a group.
func (g *group) known() fastening.Known {
	k := fastening.Known{Said: g.Size, Size: g.Wrench, Thread: g.Thread, Class: g.Class, Kind: fastening.KindWrench, Into: fastening.Material(g.Into)}
	if g.SizeKind == string(intent.SizeHexKey) {
		k.Kind = fastening.KindHexKey
	} else if g.SizeKind == string(intent.SizeUnknown) {
		k.Kind = fastening.KindUnknown
	}
	if g.Oiled {
		k.Lubrication = fastening.LubeOiled
	}
	return k
}

// objection weighs a torque for a group: "" when nothing speaks against it, or
// when too little is known of the fastener to judge.
func (g *group) objection(q measure.Quantity) string {
	if g.Thread == "" && !g.Wrench.Given() {
		return ""
	}
	v, err := fastening.Judge(g.known(), q)
	if err != nil || v.Level == fastening.Plausible {
		return ""
	}
	if v.Level == fastening.Undecided {
		return v.Ask
	}
	return v.Reason
}

// wrenches are the torque wrenches of the sheet.
func (d *draft) wrenches() []fastening.Wrench {
	if d.st.Sheet == nil {
		return nil
	}
	var list []fastening.Wrench
	for _, w := range d.st.Sheet.Wrenches {
		list = append(list, fastening.Wrench{Name: w.Name, Range: measure.Range{Low: w.Low, High: w.High}, Mark: w.Marks})
	}
	return list
}
