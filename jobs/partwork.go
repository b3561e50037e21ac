package jobs

import (
	"fmt"
	"math"
	"strings"

	"putback/intent"
	"putback/jobs/measure"
)

// partName gives the part meant, or the name as said for a new one.
func (d *draft) partName(name string) string {
	if p := d.findPart(name); p != "" {
		return p
	}
	return strings.TrimPrefix(name, "the ")
}

// onePart goes on with the part meant, or the name as said for a new one, and
// asks where several fit equally well.
func (d *draft) onePart(name string, then func(d *draft, part string)) {
	hits := findThing(name, len(d.st.Parts), func(i int) []string { return []string{d.st.Parts[i].Name} })
	if len(hits) < 2 || len(hits) > 4 {
		then(d, d.partName(name))
		return
	}
	var list []choice
	var said []string
	for _, i := range hits {
		part := d.st.Parts[i].Name
		said = append(said, part)
		list = append(list, choice{part, func(d *draft) { then(d, part) }})
	}
	d.choose(ReplyQuestion, capital(orList(said))+"?", true, list...)
}

func (d *draft) partAside(v intent.PartAside) {
	d.onePart(v.Name, func(d *draft, name string) { d.setAside(name, v) })
}

func (d *draft) setAside(name string, v intent.PartAside) {
	v.Where = bare(v.Where)
	d.add(KindPartAside, partCount{Part: name, Where: v.Where})
	d.fix = func(d *draft, c intent.Choice) bool {
		if c.Text == "" || !d.st.isPlace(c.Text) {
			return false
		}
		d.setAside(name, intent.PartAside{Name: name, Where: c.Text})
		return true
	}
	if v.Where == "" {
		d.say(ReplyReadBack, "%s set aside.", capital(name))
		return
	}
	d.say(ReplyReadBack, "%s: %s.", capital(name), v.Where)
}

func (d *draft) partHave(v intent.PartHave) {
	d.onePart(v.Name, func(d *draft, name string) { d.atHand(name, v) })
}

func (d *draft) atHand(name string, v intent.PartHave) {
	n := v.Count
	if n == 0 {
		// "The impeller arrived": as many as are needed.
		n = 1
		if _, p := d.st.part(name); p != nil {
			n = max(p.Need, 1)
		}
	}
	if _, p := d.st.part(name); p != nil && v.More {
		n += p.Have
	}
	d.add(KindPartHave, partCount{Part: name, N: n})
	d.say(ReplyReadBack, "%s: %s at hand.", capital(name), d.count(n))
	if _, p := d.st.part(name); p != nil && p.Need > p.Have+p.New {
		d.more("%s needed.", capital(spell(p.Need)))
	}
}

func (d *draft) partNeeded(v intent.PartNeeded) {
	d.onePart(v.Name, func(d *draft, name string) { d.wanted(name, v) })
}

func (d *draft) wanted(name string, v intent.PartNeeded) {
	n := max(v.Count, 1)
	d.add(KindPartNeed, partCount{Part: name, N: n})
	d.say(ReplyReadBack, "%s: %s needed.", capital(name), d.count(n))
}

func (d *draft) partFitted(v intent.PartFitted, sure bool) {
	d.onePart(v.Name, func(d *draft, name string) { v.Name = name; d.fitted(name, v, sure) })
}

func (d *draft) fitted(name string, v intent.PartFitted, sure bool) {
	_, p := d.st.part(name)
	n := max(v.Count, 1)
	if p != nil && v.Count == 0 && p.Need > p.Fitted {
		n = p.Need - p.Fitted
	}
	if p != nil && p.Renew == "always" && !v.New && !sure {
		d.ask = &question{holds: true,
			yes:     func(d *draft) { v.New = true; d.partFitted(v, true) },
			no:      func(d *draft) { d.say(ReplyAnswer, "Then fit a new one. Nothing written down.") },
			choices: []choice{{"old", func(d *draft) { d.partFitted(v, true); d.more("An old one, against its rule.") }}}}
		d.reply = Reply{Kind: ReplyObjection, Text: "The " + name + " is once-only: is this " + plural(n, "the new one", "new") + "?", Choices: []string{"yes", "no", "old"}}
		return
	}
	d.add(KindPartFitted, partCount{Part: name, N: n, New: v.New})
	text := name
	if n > 1 {
		text = d.count(n) + " " + strings.TrimSuffix(name, "s") + "s"
	}
	if v.New {
		text = "new " + text
	}
	d.say(ReplyReadBack, "%s fitted.", capital(text))
}

// fluidName gives the fluid meant, or the name as said for a new one.
func (d *draft) fluidName(name string) string {
	hits := find(name, len(d.st.Fluids), func(i int) []string { return []string{d.st.Fluids[i].Name, d.st.Fluids[i].Is} })
	if len(hits) > 0 {
		return d.st.Fluids[hits[0]].Name
	}
	return strings.TrimPrefix(name, "the ")
}

func (d *draft) drained(v intent.Drained) {
	name := d.fluidName(v.Fluid)
	m := fluidMoved{Fluid: name}
	if v.Amount != nil {
		m.Amount = *v.Amount
	}
	d.add(KindDrained, m)
	d.say(ReplyReadBack, "%s drained", capital(name))
	d.amount(v.Amount)
}

func (d *draft) amount(q *measure.Quantity) {
	if q != nil {
		d.reply.Text += ", " + d.figure(*q)
	}
	d.reply.Text += "."
}

// filled records a fluid filled; too much, too little or too early is asked about first.
func (d *draft) filled(v intent.Filled, sure bool) {
	name := d.fluidName(v.Fluid)
	_, f := d.st.fluid(name)
	if item := d.st.markOf(name); v.ToMark && item != "" {
		d.checkDone(item)
		return
	}
	if !sure {
		text := d.st.wetWait(d.now)
		if text == "" && f != nil && v.Amount != nil && f.Fill.Given() {
			have := v.Amount.SI()
			if f.In && f.Filled.Given() {
				have += f.Filled.SI()
			}
			if want := f.Fill.SI(); v.Amount.Unit.Dimension() != measure.Volume {
				d.say(ReplyAnswer, "%s is no volume.", v.Amount)
				return
			} else if math.Abs(have/want-1) > 0.10 {
				text = fmt.Sprintf("The sheet says %s.", f.Fill)
				if all, err := f.Filled.In(f.Fill.Unit); f.In && f.Filled.Given() && err == nil {
					more, _ := v.Amount.In(f.Fill.Unit)
					all.Amount += more.Amount
					text = fmt.Sprintf("That makes %s, the sheet says %s.", all.Digits(3), f.Fill)
				}
			}
		}
		if text != "" {
			d.confirm(ReplyObjection, text+" Write it down all the same?",
				func(d *draft) {
					d.filled(v, true)
					d.add(KindNote, named{Text: "filled " + name + " against: " + text})
				},
				func(d *draft) { d.say(ReplyAnswer, "Nothing written down.") })
			return
		}
	}
	m := fluidMoved{Fluid: name}
	if v.Amount != nil {
		m.Amount = *v.Amount
	}
	d.add(KindFilled, m)
	d.say(ReplyReadBack, "%s filled", capital(name))
	d.amount(v.Amount)
}

// measured records a measurement and says whether it keeps its limits.
func (d *draft) measured(v intent.Measure, sure bool) {
	name := strings.TrimPrefix(v.Name, "the ")
	hits := find(name, len(d.st.Limits), func(i int) []string { return []string{d.st.Limits[i].Name} })
	if len(hits) > 1 {
		var c []choice
		var said []string
		for _, i := range hits[:min(len(hits), 4)] {
			full := d.st.Limits[i].Name
			c = append(c, choice{full, func(d *draft) { d.measured(intent.Measure{Name: full, Value: v.Value}, sure) }})
			said = append(said, full)
		}
		d.choose(ReplyQuestion, capital(orList(said))+"?", true, c...)
		return
	}
	if len(hits) == 1 {
		l := d.st.Limits[hits[0]]
		name = l.Name
		bound := l.Max
		if !bound.Given() {
			bound = l.Min
		}
		if v.Value.Unit == (measure.Unit{}) && bound.Given() {
			v.Value.Unit = bound.Unit
		}
		if bound.Given() && bound.Unit.Dimension() != v.Value.Unit.Dimension() {
			d.say(ReplyAnswer, "%s is measured in %s. Nothing written down.", capital(name), bound.Unit)
			return
		}
		if bound.Given() && !sure {
			ratio := v.Value.SI() / bound.SI()
			if bound.Unit.Dimension() != measure.Temperature && (ratio > 8 || ratio < 0.125 && l.Min.Given()) {
				d.confirm(ReplyObjection, fmt.Sprintf("%s against a limit of %s: is the figure right?", d.figure(v.Value), bound),
					func(d *draft) { d.measured(v, true) },
					func(d *draft) { d.say(ReplyAnswer, "Nothing written down.") })
				return
			}
		}
	}
	if name == "" {
		d.say(ReplyAnswer, "What did you measure?")
		return
	}
	if v.Value.Unit == (measure.Unit{}) {
		d.say(ReplyAnswer, "In what unit? Say it with the unit.")
		return
	}
	d.add(KindMeasured, measured{Name: name, Value: v.Value})
	d.fix = func(d *draft, c intent.Choice) bool {
		q, ok := corrected(v.Value, c)
		if !ok {
			return false
		}
		d.measured(intent.Measure{Name: name, Value: q}, false)
		return true
	}
	d.say(ReplyReadBack, "%s %s", capital(name), d.figure(v.Value))
	_, l := d.st.limit(name)
	if l == nil {
		return
	}
	verdict, by := l.verdict()
	switch verdict {
	case "in":
		d.reply.Text += ", within the limit."
	case "over":
		d.reply.Text += fmt.Sprintf(", %s over the limit of %s.", by, l.Max)
	case "under":
		d.reply.Text += fmt.Sprintf(", %s under the limit of %s.", by, l.Min)
	default:
		d.reply.Text += ". No limit known."
	}
}
