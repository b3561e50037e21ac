package jobs

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"putback/jobs/fastening"
	"putback/jobs/measure"
)

var kinds = []string{"bolt", "nut", "stud", "screw", "washer", "clip", "hose", "connector", "pin"}

// group reads one group of fasteners.
func (r *sheetReader) group(name string, at, n *yaml.Node) {
	g := SheetGroup{Name: name, Line: at.Line}
	r.object(n, "a fastener group", fields{
		"kind": func(n *yaml.Node) {
			r.text(n, &g.Kind)
			ok := g.Kind == ""
			for _, k := range kinds {
				ok = ok || k == g.Kind
			}
			if !ok {
				r.bad(n, fmt.Sprintf("%q is no kind of fastener", g.Kind), suggest(g.Kind, kinds))
			}
		},
		"place": func(n *yaml.Node) { r.text(n, &g.Place) },
		"stow":  func(n *yaml.Node) { r.text(n, &g.Stow) },
		"thread": func(n *yaml.Node) {
			r.text(n, &g.Thread)
			if g.Thread == "" {
				return
			}
			t, err := fastening.LookThread(g.Thread)
			if err != nil {
				r.bad(n, fmt.Sprintf("%q is no thread I know: %v", g.Thread, err), "write it like M8, M8x1 or 3/8-16; leave it out for others")
				return
			}
			g.Thread = t.Designation
		},
		"class": func(n *yaml.Node) {
			r.text(n, &g.Class)
			if g.Class == "" {
				return
			}
			c, err := fastening.ParseClass(g.Class)
			if err != nil {
				r.bad(n, fmt.Sprintf("%q is no strength class: %v", g.Class, err), "write 8.8, 10.9, grade 5 or A2-70")
				return
			}
			g.Class = c.Name
		},
		"wrench": func(n *yaml.Node) { r.quantity(n, measure.Length, &g.Wrench, "10 mm or 9/16 in") },
		"tool":   func(n *yaml.Node) { r.text(n, &g.Tool) },
		"length": func(n *yaml.Node) { r.quantity(n, measure.Length, &g.Length, "25 mm") },
		"count":  func(n *yaml.Node) { r.number(n, &g.Count, "count") },
		"torque": func(n *yaml.Node) { r.torque(n, &g) },
		"stages": func(n *yaml.Node) { r.stages(n, &g) },
		"again":  func(n *yaml.Node) { r.flag(n, &g.Again) },
		"order":  func(n *yaml.Node) { r.boltOrder(n, &g) },
		"at":     func(n *yaml.Node) { r.positions(n, &g) },
		"oiled":  func(n *yaml.Node) { r.flag(n, &g.Oiled) },
		"into": func(n *yaml.Node) {
			r.text(n, &g.Into)
			switch g.Into {
			case "", "steel", "cast iron", "aluminium":
			default:
				r.bad(n, fmt.Sprintf("%q is no material I have a rule for", g.Into), "write steel, cast iron or aluminium")
			}
		},
		"renew":     func(n *yaml.Node) { r.renew(n, &g.Renew) },
		"left hand": func(n *yaml.Node) { r.flag(n, &g.LeftHand) },
		"locker":    func(n *yaml.Node) { r.text(n, &g.Locker) },
		"tips":      func(n *yaml.Node) { r.texts(n, &g.Tips) },
	})
	r.checkGroup(at, &g)
	r.sheet.Fasteners = append(r.sheet.Fasteners, g)
}

// torque reads "25 ± 3 N·m", "40 N·m + 90°" or a figure printed in several units.
func (r *sheetReader) torque(n *yaml.Node, g *SheetGroup) {
	var s string
	r.text(n, &s)
	if s == "" {
		return
	}
	if t, err := r.habits.ParseTightening(s); err == nil {
		if t.Torque.Given() && t.Torque.Amount <= 0 {
			r.bad(n, "a torque of nothing tightens nothing", "write the figure of your manual, or leave it out")
			return
		}
		g.Torque, g.Angles = t.Torque, t.Angles
		return
	} else if list, perr := measure.ParsePrinted(s); perr == nil && len(list) > 1 {
		p, cerr := fastening.CheckPrinted(list)
		if cerr == nil && list[0].Unit.Dimension() == measure.Torque {
			if !p.Agree {
				r.problem(n, SeverityWarning, "the figures contradict each other: "+p.Reason, "look into your manual which one is right")
			}
			g.Torque = list[0]
			return
		}
	} else {
		var ask *measure.AskError
		fix := "write it like 25 N·m, 25 ± 3 N·m or 40 N·m + 90°"
		if errors.As(err, &ask) {
			fix = ask.Question
		}
		r.bad(n, fmt.Sprintf("%q is no torque: %v", s, err), fix)
		return
	}
	r.bad(n, fmt.Sprintf("%q is no torque", s), "write it like 25 N·m, 25 ± 3 N·m or 40 N·m + 90°")
}

func (r *sheetReader) stages(n *yaml.Node, g *SheetGroup) {
	var list []string
	r.texts(n, &list)
	for _, s := range list {
		if strings.EqualFold(s, "loosen") || strings.EqualFold(s, "back off") {
			g.Stages = append(g.Stages, SheetStage{Back: true})
			continue
		}
		stages, err := measure.ParseStages(s)
		if err != nil {
			r.bad(n, fmt.Sprintf("%q is no stage: %v", s, err), "write stages like [5 N·m, 10 N·m, 90°, loosen]")
			return
		}
		for _, t := range stages {
			if t.Loosen {
				st := SheetStage{Back: true, Bolts: t.Bolts}
				if len(t.Angles) > 0 {
					st.Angle = t.Angles[0]
				}
				g.Stages = append(g.Stages, st)
				continue
			}
			if t.Torque.Given() {
				g.Stages = append(g.Stages, SheetStage{Torque: t.Torque, Bolts: t.Bolts})
			}
			for _, a := range t.Angles {
				g.Stages = append(g.Stages, SheetStage{Angle: a, Bolts: t.Bolts})
			}
		}
	}
}

func (r *sheetReader) boltOrder(n *yaml.Node, g *SheetGroup) {
	if n.Kind == yaml.SequenceNode {
		for _, c := range n.Content {
			v, err := strconv.Atoi(c.Value)
			if err != nil {
				r.bad(c, "a printed order is a list of bolt numbers", "write it like [1, 7, 4, 10]")
				return
			}
			g.Sequence = append(g.Sequence, v)
		}
		return
	}
	r.text(n, &g.Order)
	switch g.Order {
	case "", "cross", "centre-out", "round", "spiral":
	default:
		r.bad(n, fmt.Sprintf("%q is no order I know", g.Order), "write cross, centre-out, spiral, round, or the printed numbers as a list")
	}
}

func (r *sheetReader) positions(n *yaml.Node, g *SheetGroup) {
	n, ok := r.deeper(n)
	if !ok {
		return
	}
	if n.Kind != yaml.SequenceNode {
		r.bad(n, "positions are a list of pairs", "write [[0, 0], [40, 0]], in mm")
		return
	}
	for _, c := range n.Content {
		if c.Kind != yaml.SequenceNode || len(c.Content) != 2 {
			r.bad(c, "a position is a pair of numbers", "write [40, 0], in mm")
			return
		}
		x, err1 := strconv.ParseFloat(c.Content[0].Value, 64)
		y, err2 := strconv.ParseFloat(c.Content[1].Value, 64)
		if err1 != nil || err2 != nil || !(x > -1e5 && x < 1e5 && y > -1e5 && y < 1e5) {
			r.bad(c, "a position is a pair of numbers", "write [40, 0], in mm")
			return
		}
		g.At = append(g.At, [2]float64{x, y})
		if r.nodes++; r.nodes > maxNodes {
			return
		}
	}
}

// checkGroup finds what contradicts itself or cannot be right in a group.
func (r *sheetReader) checkGroup(at *yaml.Node, g *SheetGroup) {
	if g.Count == 0 && len(g.At) > 0 {
		g.Count = len(g.At)
	}
	if g.Count > 0 && len(g.At) > 0 && len(g.At) != g.Count {
		r.bad(at, fmt.Sprintf("%s: count is %d, but there are %d positions", g.Name, g.Count, len(g.At)), "make the two agree")
	}
	if len(g.Sequence) > 0 {
		if g.Count == 0 {
			g.Count = len(g.Sequence)
		}
		if _, err := fastening.PrintedOrder(g.Sequence, g.Count); err != nil {
			r.bad(at, fmt.Sprintf("%s: the printed order cannot be: %v", g.Name, err), "name each bolt from 1 to the count once")
		}
	}
	if len(g.Stages) > 0 {
		last := measure.Quantity{}
		for _, st := range g.Stages {
			if !st.Torque.Given() {
				if st.Back {
					last = measure.Quantity{}
				}
				continue
			}
			if last.Given() && st.Torque.SI() < last.SI()*(1-1e-9) {
				r.problem(at, SeverityWarning, fmt.Sprintf("%s: stage %s comes after %s", g.Name, st.Torque, last), "stages go up, unless a loosening stands between them")
			}
			last = st.Torque
		}
		if last.Given() && g.Torque.Given() && !last.Same(g.Torque, 0.01) {
			r.problem(at, SeverityWarning, fmt.Sprintf("%s: the last stage is %s, the torque %s", g.Name, last, g.Torque), "make the two agree")
		}
	}
	if g.Thread != "" && g.Wrench.Given() && g.Tool == "" && !headTakes(g.Wrench, g.Thread) {
		r.problem(at, SeverityWarning, fmt.Sprintf("%s: no usual %s has a %s head", g.Name, g.Thread, g.Wrench), "check both; a special head is fine")
	}
	if g.Torque.Given() && g.slack() > 0.5 {
		r.problem(at, SeverityWarning, fmt.Sprintf("%s: the tolerance is over half of the torque", g.Name), "check the figure after ±")
	}
	if full := g.full(); full.Given() && (g.Thread != "" || g.Wrench.Given()) {
		v, err := fastening.Judge(known(g.Thread, g.Wrench, g.Class, g.Oiled, g.Into), full)
		if err == nil && v.Objects() {
			fix := "check unit and figure in your manual"
			if v.Likely != nil {
				fix = v.Likely.Ask
			}
			r.problem(at, SeverityWarning, g.Name+": "+v.Reason, fix)
		}
	}
}

// slack is the tolerance of the torque as a share of it.
func (g *SheetGroup) slack() float64 {
	if g.Torque.Amount == 0 {
		return 0
	}
	return g.Torque.Tolerance / g.Torque.Amount
}

func (g *SheetGroup) full() measure.Quantity {
	return (&group{Torque: g.Torque, Stages: g.Stages}).full()
}

// known is what the judgement of a torque goes by.
func known(thread string, wrench measure.Quantity, class string, oiled bool, into string) fastening.Known {
	k := fastening.Known{Thread: thread, Class: class, Into: fastening.Material(into)}
	if thread == "" && wrench.Given() {
		k.Kind, k.Size = fastening.KindWrench, wrench
	}
	if oiled {
		k.Lubrication = fastening.LubeOiled
	}
	return k
}

// check finds names that lead nowhere, rings of waiting steps, and sealants without a source.
func (r *sheetReader) check() {
	s := r.sheet
	have := func(kind, name string) bool { return r.at[kind+"/"+normal(name)] != nil }
	for _, x := range s.Sealants {
		if x.Source == "" && x.CloseWithin+x.TorqueIn+x.OilAfter+x.Cure > 0 {
			r.problem(r.at["sealants/"+normal(x.Name)], SeverityWarning, x.Name+": the times have no source", "add source: printed on the tube, or where they stand")
		}
		if x.Cure > 0 && x.OilAfter > x.Cure {
			r.problem(r.at["sealants/"+normal(x.Name)], SeverityWarning, x.Name+": the wait before oil is longer than the full cure", "check the two times")
		}
	}
	for _, g := range s.Fasteners {
		if g.Locker != "" && !have("sealants", g.Locker) {
			r.problem(r.at["fasteners/"+normal(g.Name)], SeverityWarning, fmt.Sprintf("%s: there is no sealant %q", g.Name, g.Locker), "add it under sealants, with the times of its label")
		}
	}
	for _, list := range []*[]SheetStep{&s.Strip, &s.Refit} {
		for i := range *list {
			st := &(*list)[i]
			at := r.at["steps/"+normal(st.Name)]
			link := func(kind, what string, names []string) {
				for k, name := range names {
					n := r.at[kind+"/"+normal(name)]
					if n == nil {
						r.bad(at, fmt.Sprintf("step %q names the %s %q, which is not on the sheet", st.Name, what, name), r.near(kind, name))
						continue
					}
					names[k] = strings.Join(strings.Fields(n.Value), " ")
				}
			}
			link("fasteners", "fasteners", st.Fasteners)
			link("parts", "part", st.Parts)
			link("steps", "step", st.After)
			link("fluids", "fluid", st.Fluids)
			link("limits", "measurement", st.Measure)
			if st.Sealant != "" {
				one := []string{st.Sealant}
				link("sealants", "sealant", one)
				st.Sealant = one[0]
			}
			if st.Undoes != "" {
				one := []string{st.Undoes}
				link("steps", "step", one)
				st.Undoes = one[0]
			}
		}
	}
	if r.failed {
		return
	}
	state := newState()
	state.mergeSteps("strip", s.Strip)
	state.mergeSteps("refit", s.Refit)
	for _, phase := range []string{"strip", "refit"} {
		var ring *CycleError
		if _, err := state.order(phase); errors.As(err, &ring) {
			r.bad(r.at["steps/"+normal(ring.Members[0])], ring.Error(), "take one of the after: lines out")
		}
	}
	if len(s.Wrenches) > 0 {
		r.checkWrenches()
	}
}

// near suggests a name of the sheet for one that leads nowhere.
func (r *sheetReader) near(kind, name string) string {
	best, text := 0.0, ""
	if r.hints++; r.hints > maxHints {
		return "add it to the sheet, or correct the name"
	}
	for key := range r.at {
		k, n, _ := strings.Cut(key, "/")
		if k != kind {
			continue
		}
		if l := max(likeness(name, n), likeness(n, name)); l > best || l == best && l > 0 && n < text {
			best, text = l, n
		}
	}
	if text != "" {
		return fmt.Sprintf("did you mean %q?", text)
	}
	return "add it to the sheet, or correct the name"
}

// checkWrenches tells which torques no wrench of the sheet reaches.
func (r *sheetReader) checkWrenches() {
	ws := torqueWrenches(r.sheet.Wrenches)
	if len(ws) == 0 {
		return
	}
	for _, g := range r.sheet.Fasteners {
		full := g.full()
		if !full.Given() {
			continue
		}
		c, err := fastening.ChooseWrench(ws, full, fastening.Adapter{})
		if err == nil && !c.Usable {
			r.problem(r.at["fasteners/"+normal(g.Name)], SeverityWarning, fmt.Sprintf("%s: no wrench of the sheet suits %s: %s", g.Name, full, strings.Join(c.Warnings, " ")), "borrow one, and add it under wrenches")
		}
	}
}

func torqueWrenches(list []SheetWrench) []fastening.Wrench {
	var ws []fastening.Wrench
	for _, w := range list {
		if w.High.Given() {
			ws = append(ws, fastening.Wrench{Name: w.Name, Range: measure.Range{Low: w.Low, High: w.High}, Mark: w.Marks})
		}
	}
	return ws
}
