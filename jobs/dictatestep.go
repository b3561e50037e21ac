package jobs

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"putback/intent"
	"putback/jobs/fastening"
	"putback/jobs/measure"
)

// wrenches are the wrenches of the sheet, with what was dictated of them, and
// those that were only dictated.
func (s *State) wrenches() []SheetWrench {
	list := slices.Clone(s.Tools)
	if s.Sheet == nil {
		return list
	}
	for _, w := range s.Sheet.Wrenches {
		if !slices.ContainsFunc(list, func(t SheetWrench) bool { return normal(t.Name) == normal(w.Name) }) {
			list = append(list, w)
		}
	}
	return list
}

// setTool folds a dictated range; what was not said stays as it was.
func (s *State) setTool(v toolSet) error {
	if v.Name == "" {
		return fmt.Errorf("the wrench has no name")
	}
	w := SheetWrench{Name: v.Name}
	if old := s.wrench(v.Name); old != nil {
		w = *old
	}
	if v.High.Given() {
		w.Low, w.High = v.Low, v.High
	}
	if v.Marks.Given() {
		w.Marks = v.Marks
	}
	i := slices.IndexFunc(s.Tools, func(t SheetWrench) bool { return normal(t.Name) == normal(v.Name) })
	if i >= 0 {
		s.Tools[i] = w
	} else {
		s.Tools = append(s.Tools, w)
	}
	return nil
}

// dictateTool stores the range and the marks of a wrench.
func (d *draft) dictateTool(v intent.SetTool) {
	name := bare(v.Name)
	list := d.st.wrenches()
	hits := find(name, len(list), func(i int) []string { return []string{list[i].Name} })
	if len(hits) > 1 {
		var c []choice
		var said []string
		for _, i := range hits[:min(len(hits), 4)] {
			v.Name = list[i].Name
			again := v
			c = append(c, choice{list[i].Name, func(d *draft) { d.dictateTool(again) }})
			said = append(said, list[i].Name)
		}
		d.choose(ReplyQuestion, capital(orList(said))+"?", true, c...)
		return
	}
	if len(hits) == 1 {
		name = list[hits[0]].Name
	}
	if old := d.st.wrench(name); v.High.Given() && v.Low.Unit == (measure.Unit{}) {
		if old == nil || old.Low.Unit.Dimension() != v.High.Unit.Dimension() {
			d.say(ReplyAnswer, "From where to where?")
			return
		}
		v.Low = old.Low
	}
	t := toolSet{Name: name, Low: v.Low, High: v.High, Marks: v.Marks}
	var w []string
	if t.High.Given() {
		if t.Low.Unit.Dimension() != t.High.Unit.Dimension() || t.Low.SI() >= t.High.SI() {
			d.say(ReplyAnswer, "%s to %s is no range. "+nothingWritten, t.Low, t.High)
			return
		}
		w = append(w, strings.Replace(measure.Range{Low: t.Low, High: t.High}.String(), "..", " to ", 1))
		d.numbers = append(d.numbers, t.Low.Amount, t.High.Amount)
	}
	if t.Marks.Given() {
		high := t.High
		if old := d.st.wrench(name); !high.Given() && old != nil {
			high = old.High
		}
		if high.Given() && (t.Marks.Unit.Dimension() != high.Unit.Dimension() || t.Marks.SI() > high.SI()/2) {
			d.say(ReplyAnswer, "Marks every %s do not go with %s. "+nothingWritten, t.Marks, high)
			return
		}
		w = append(w, "marks every "+t.Marks.String())
		d.numbers = append(d.numbers, t.Marks.Amount)
	}
	if len(w) == 0 {
		d.say(ReplyAnswer, "From where to where?")
		return
	}
	d.add(KindTool, t)
	d.say(ReplyReadBack, "%s: %s.", capital(name), strings.Join(w, ", "))
}

// foldStep folds what was dictated of a step.
func (s *State) foldStep(e Event) error {
	v, err := read[struct{ Step, Text, Group, Part string }](e)
	if err != nil {
		return err
	}
	i, _ := s.step(v.Step)
	if i < 0 {
		return fmt.Errorf("there is no step %q", v.Step)
	}
	st := edit(s.Steps, i)
	if v.Text != "" {
		st.Warn = v.Text
	}
	if v.Group != "" {
		st.Groups = with1(st.Groups, v.Group)
	}
	if v.Part != "" {
		st.Needs = with1(st.Needs, v.Part)
	}
	st.addDictated()
	return nil
}

// addDictated puts what was dictated beside what the sheet says.
func (st *step) addDictated() {
	if st.Warn != "" {
		st.Caution = st.Warn
	}
	for _, name := range st.Groups {
		st.Fasteners = with1(st.Fasteners, name)
	}
	for _, name := range st.Needs {
		st.Parts = with1(st.Parts, name)
	}
}

// dictateCaution stores what to be careful of at a step.
func (d *draft) dictateCaution(v intent.SetCaution) {
	text := strings.TrimSuffix(strings.TrimSpace(v.Text), ".")
	store := func(d *draft, st *step) {
		name := st.Name
		d.add(KindCaution, stepText{Step: name, Text: text})
		d.say(ReplyReadBack, "Caution at %s: %s.", name, short(text))
	}
	if v.Step != "" {
		d.findStep(v.Step, d.st.stepPhase(), store)
		return
	}
	st := d.st.open()
	if st == nil {
		d.say(ReplyAnswer, "No step is open. Say the step with it.")
		return
	}
	store(d, st)
}

// dictateUses stores that a group or a part belongs to a step.
func (d *draft) dictateUses(v intent.SetUses) {
	d.findStep(v.Step, d.st.stepPhase(), func(d *draft, st *step) {
		name := st.Name
		groups := d.st.lookGroups(v.Name, nil, nil)
		part := d.findPart(v.Name)
		switch {
		case part != "" && (len(groups) == 0 || normal(part) == normal(bare(v.Name))):
			d.add(KindUses, stepUses{Step: name, Part: part})
			d.say(ReplyReadBack, "%s belongs to %s.", capital(part), name)
		case len(groups) == 0:
			d.unknown(v.Name)
		case len(groups) > 1:
			d.whichGroup(groups, func(d *draft, group string) { d.usesGroup(name, group) })
		default:
			d.usesGroup(name, groups[0].Name)
		}
	})
}

func (d *draft) usesGroup(step, group string) {
	d.add(KindUses, stepUses{Step: step, Group: group})
	d.say(ReplyReadBack, "%s: at %s.", capital(group), step)
}

// dictateCheck adds a line to the checks before the first start.
func (d *draft) dictateCheck(text string) {
	text = strings.TrimSuffix(strings.TrimSpace(text), ".")
	if text == "" {
		d.say(ReplyAnswer, "Check what?")
		return
	}
	d.add(KindStartLine, named{Text: text})
	d.say(ReplyReadBack, "Before the first start: %s.", short(text))
}

// pattern says in what pattern a group is tightened and how its bolts stand.
func (g *group) pattern() []string {
	if len(g.Sequence) > 0 {
		return []string{"order " + numbers(g.Sequence)}
	}
	var w []string
	if text := patternWords[g.Order]; text != "" {
		w = append(w, text)
	}
	if g.Rows > 0 && g.Count > 0 {
		w = append(w, fmt.Sprintf("%s of %s", countOf(g.Rows, "row", "rows"), spell(g.Count/g.Rows)))
	}
	return w
}

var patternWords = map[string]string{"centre-out": "from the centre out", "cross": "crosswise", "round": "straight round", "spiral": "in a spiral"}

// dictatePattern stores in what pattern a group is tightened. From the centre
// out needs to know how the bolts stand: in so many rows; their coordinates are
// in the sheet or nowhere.
func (d *draft) dictatePattern(v intent.SetPattern) {
	d.oneGroup(v.Name, func(d *draft, g *group) {
		if g.Count == 0 {
			d.say(ReplyAnswer, "How many %s there are I do not know yet. Say that first.", g.Name)
			return
		}
		if v.Rows > 0 && g.Count%v.Rows != 0 {
			d.say(ReplyAnswer, "%s %s do not stand in %s. "+nothingWritten, capital(spell(g.Count)), g.Name, countOf(v.Rows, "equal row", "equal rows"))
			return
		}
		name := g.Name
		outward := v.Pattern == "centre-out" || v.Pattern == "spiral"
		if outward && v.Rows == 0 && g.Rows == 0 && len(g.At) == 0 {
			d.ask = &question{holds: true, other: func(d *draft, text string, q *measure.Quantity) bool {
				n := number(intent.Choice{Text: text, Quantity: q})
				if n == 0 || n > 10 {
					return false
				}
				d.dictatePattern(intent.SetPattern{Name: name, Pattern: v.Pattern, Rows: n})
				return true
			}}
			d.say(ReplyQuestion, "In how many rows do the %s stand?", name)
			return
		}
		d.add(KindSpec, groupSpec{Group: name, Order: v.Pattern, Rows: v.Rows})
		now := d.st.group(name)
		d.say(ReplyReadBack, "%s: %s.", capital(name), strings.Join(now.pattern(), ", "))
		if o, err := now.patternOrder(); err == nil && outward {
			if now.rowed() {
				d.more("Number them along each row.")
			}
			d.room("Order %s.", numbers(o.Sequence))
		}
	})
}

// rowed tells whether the order goes by rows that were said.
func (g *group) rowed() bool {
	return len(g.At) == 0 && g.Rows > 0 && g.Count > 0 && g.Count%g.Rows == 0 && (g.Order == "" || g.Order == "centre-out" || g.Order == "spiral")
}

// inRows gives the places of bolts that stand in equal rows, a square grid:
// only their order comes of it.
func (g *group) inRows() []fastening.Point {
	each := g.Count / g.Rows
	var at []fastening.Point
	for i := range g.Count {
		at = append(at, fastening.Point{X: float64(i % each), Y: -float64(i / each)})
	}
	return at
}

// dictated are the lines of the screen about what was dictated of the sheet.
func (s *State) dictated() []string {
	var list []string
	for _, w := range s.Tools {
		text := w.Name
		if w.High.Given() {
			text += ", " + measure.Range{Low: w.Low, High: w.High}.String()
		}
		if w.Marks.Given() {
			text += ", marks every " + w.Marks.String()
		}
		list = append(list, text)
	}
	for _, g := range s.Groups {
		if w := g.said(); len(w) > 0 {
			list = append(list, g.Name+": "+strings.Join(w, ", "))
		}
	}
	for _, st := range s.Steps {
		if st.Warn != "" {
			list = append(list, "caution at "+st.Name+": "+st.Warn)
		}
		if w := append(slices.Clone(st.Groups), st.Needs...); len(w) > 0 {
			list = append(list, st.Name+" uses "+andList(w))
		}
	}
	for _, p := range s.Parts {
		if p.Ruled {
			list = append(list, p.Name+": renew "+p.Renew)
		}
	}
	for _, f := range s.Fluids {
		if !f.FillAt.IsZero() {
			list = append(list, f.Name+": "+f.Fill.String())
		}
		if !f.IsAt.IsZero() {
			list = append(list, f.Name+": "+f.Is)
		}
	}
	for _, l := range s.Limits {
		if !l.Dictated.IsZero() {
			list = append(list, l.Name+": "+l.print())
		}
	}
	for _, x := range s.Labels {
		for _, t := range []struct {
			what string
			long time.Duration
		}{{"close", x.CloseWithin}, {"torque", x.TorqueIn}, {"oil", x.OilAfter}, {"cure", x.Cure}} {
			if t.long > 0 {
				list = append(list, x.Name+": "+timeWords[t.what]+" "+lasts(t.long))
			}
		}
	}
	for _, x := range s.Starts {
		list = append(list, "before the first start: "+x)
	}
	return list
}
