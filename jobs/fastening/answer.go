package fastening

import (
	"fmt"
	"math"
	"strings"

	"putback/jobs/measure"
)

// Answer is a reply about fastening: one to three sentences for the ear with
// figures as printed, and what stands behind them.
type Answer struct {
	Text        string
	Ask         string            // a question that must be answered first; then Text may be ""
	Choices     []string          // answers to Ask
	Figure      *measure.Quantity // the figure of the answer, when it is one
	Assumptions []string
	Source      string
	Level       Level // of a judgement, else ""
}

// Spoken joins text and question.
func (a Answer) Spoken() string { return strings.TrimSpace(a.Text + " " + a.Ask) }

const manualDecides = "Guide figure, your manual decides."

// AnswerConvert converts a quantity: "66 lbf·in is 7.46 N·m." A wrench size
// that has a tempting neighbour gets a warning. The error is for different dimensions.
func AnswerConvert(from measure.Quantity, to measure.Unit) (Answer, error) {
	q, err := from.In(to)
	if err != nil {
		return Answer{}, err
	}
	digits := 3
	if d := to.Dimension(); d == measure.Length || d == measure.Angle || d == measure.Time || d == measure.Temperature {
		digits = 4
	}
	a := Answer{Text: fmt.Sprintf("%s is %s.", from, briefly(q, digits)), Figure: &q, Source: "NIST SP 811, exact factors"}
	if n, ok := NearFitOf(from); ok && to.Dimension() == measure.Length && from.Tolerance == 0 {
		other := n.Metric
		if sameSize(n.Metric, from) {
			other = n.Inch
		}
		if n.Fits {
			a.Text += fmt.Sprintf(" A %s wrench does fit.", other)
		} else {
			a.Text += fmt.Sprintf(" A %s wrench is close, but it rounds the head off.", other)
		}
	}
	return a, nil
}

// briefly rounds a computed figure, but leaves fractions of an inch alone.
func briefly(q measure.Quantity, digits int) string {
	if q.Unit == measure.Inch && strings.Contains(q.String(), "/") {
		return q.String()
	}
	return q.Digits(digits).String()
}

// AnswerJudge answers "is 70 foot-pounds too much for an M6". Errors as [Judge].
func AnswerJudge(k Known, torque measure.Quantity) (Answer, error) {
	v, err := Judge(k, torque)
	if err != nil {
		return Answer{}, err
	}
	a := Answer{Level: v.Level, Ask: v.Ask, Choices: v.Choices, Assumptions: v.Assumptions, Source: srcShigley, Text: v.Reason}
	switch v.Level {
	case Undecided:
		return a, nil
	case Plausible:
		r := v.Readings[0]
		if sameNominal(v.Readings) {
			if v.Reason == "" {
				a.Text = fmt.Sprintf("%s is reasonable for %s, %s of its proof load.", torque, v.boltName(k, r), percent(expectedShare(r, k.Lubrication)))
			}
		} else {
			a.Text = fmt.Sprintf("%s is reasonable for %s.", torque, v.boltName(k, r))
		}
	default:
		if sameNominal(v.Readings) {
			if g, err := GuideFor(v.Readings[0].Thread, v.Readings[0].Class.Name, k.Lubrication, k.Into); err == nil {
				like := torque
				if v.Likely != nil {
					like = v.Likely.Torque
				}
				a.Text += fmt.Sprintf(" Usual is about %s.", inUnitOf(g.Torque, like))
			}
		}
	}
	a.Text += assumedWords(v.Assumptions) + " " + manualDecides
	return a, nil
}

// inUnitOf prints a computed torque in the unit the person used, or in N·m
// when that would need a silly number.
func inUnitOf(t measure.NewtonMetres, like measure.Quantity) string {
	q, err := t.Quantity().In(like.Unit)
	if err != nil || q.Amount < 1 {
		q = t.Quantity()
	}
	return roundGuide(q).String()
}

// roundGuide gives a guide figure no more digits than it deserves: two, or three
// where the first is a one.
func roundGuide(q measure.Quantity) measure.Quantity {
	if strings.HasPrefix(strings.TrimLeft(short(q.Amount), "0."), "1") {
		return q.Digits(3)
	}
	return q.Digits(2)
}

func assumedWords(as []string) string {
	if len(as) == 0 {
		return ""
	}
	return " " + strings.ToUpper(as[0][:1]) + as[0][1:] + strings.Join(append([]string{""}, as[1:]...), ", ") + "."
}

// AnswerGuide answers "guide torque for an M8 8.8 oiled", in N·m and lbf·ft
// (lbf·in when small). A size that fits several threads is asked about.
func AnswerGuide(k Known) (Answer, error) {
	rs, err := k.readings()
	if err != nil {
		return Answer{}, fmt.Errorf("guide torque: %w", err)
	}
	if len(rs) == 0 {
		return Answer{Ask: "For which thread?"}, nil
	}
	if k.Thread == "" && !sameNominal(rs) {
		names := nominals(rs)
		return Answer{Ask: "Is the thread " + orWords(names) + "?", Choices: names}, nil
	}
	class := k.Class
	if class == "" && k.Thread != "" {
		d, err := ParseDesignation(k.Thread)
		if err != nil {
			return Answer{}, fmt.Errorf("guide torque: %w", err)
		}
		class = d.Class
	}
	g, err := GuideFor(rs[0].Thread, class, k.Lubrication, k.Into)
	if err != nil {
		return Answer{}, err
	}
	q := g.Torque.Quantity()
	us, err := q.In(measure.FootPound)
	if err == nil && us.Amount < 15 {
		us, err = q.In(measure.InchPound)
	}
	if err != nil {
		return Answer{}, err
	}
	name := g.Class.Name
	if k.Thread == "" {
		g.Assumptions = append(g.Assumptions, rs[0].Thread.Spoken()+" taken")
	}
	return Answer{
		Text: fmt.Sprintf("About %s, %s, for %s %s: %s. %s", roundGuide(q), roundGuide(us), g.Thread.Spoken(), name,
			strings.Join(g.Assumptions, ", "), manualDecides),
		Figure: &q, Assumptions: g.Assumptions, Source: g.Source,
	}, nil
}

// AnswerThread answers "what thread takes a 12 mm head": every thread the
// wrench or key can belong to.
func AnswerThread(k Known) (Answer, error) {
	if !k.Size.Given() || k.Size.Unit.Dimension() != measure.Length {
		return Answer{Ask: "Which wrench size?"}, nil
	}
	hs, what := ThreadsTaking(k.Size), "head"
	if k.Kind == KindHexKey {
		hs, what = ThreadsForKey(k.Size), "hex key"
	}
	a := Answer{Source: srcHeads + "; " + srcJIS}
	if len(hs) == 0 {
		a.Text = fmt.Sprintf("No thread in the tables has a %s %s.", k.Size, what)
	} else {
		a.Text = fmt.Sprintf("A %s %s can be %s.", k.Size, what, orWords(headGroups(hs)))
		if len(headGroups(hs)) == 1 {
			a.Text = fmt.Sprintf("A %s %s is %s.", k.Size, what, headGroups(hs)[0])
		}
	}
	if n, ok := NearFitOf(k.Size); ok && k.Kind != KindHexKey && !n.Fits {
		a.Text += fmt.Sprintf(" Mind that %s and %s are close but do not fit each other.", n.Metric, n.Inch)
	}
	return a, nil
}

// AnswerHead answers "what wrench fits an M10": every wrench the thread can
// want, by standard.
func AnswerHead(k Known) (Answer, error) {
	nominal := ""
	switch {
	case k.Thread != "":
		t, err := LookThread(k.Thread)
		if err != nil {
			return Answer{}, err
		}
		nominal = t.Nominal
	default:
		rs := fromNominal(k.Size)
		if len(rs) == 0 {
			return Answer{Ask: "Which thread?"}, nil
		}
		nominal = rs[0].Thread.Nominal
	}
	var parts []string
	said := map[string]int{}
	for _, h := range HeadsOf(nominal) {
		what := string(h.Kind)
		if h.Kind == HeadSocket {
			what = "hex key"
		}
		key := h.Across.String()
		if i, ok := said[key]; ok && h.Kind != HeadSocket {
			parts[i] += " or " + what
			continue
		}
		said[key] = len(parts)
		// "7/16 inch hexagon", not "7/16 in inch hexagon".
		parts = append(parts, strings.Replace(key+" "+what, " in inch ", " inch ", 1))
	}
	if len(parts) == 0 {
		return Answer{Text: "The tables have no wrench for " + nominal + "."}, nil
	}
	return Answer{
		Text:   fmt.Sprintf("%s: %s.", nominal, strings.Join(parts, ", ")),
		Source: srcHeads + "; " + srcJIS,
	}, nil
}

// AnswerSetting answers "set my wrench: 50 newton metres with a 50 mm crowfoot
// on 400". With wrenches given the best is chosen and the setting rounded to
// its marks. An adapter without the length of the wrench is asked about.
func AnswerSetting(want measure.Quantity, ad Adapter, wrenches []Wrench) (Answer, error) {
	if ad.Fitted() && !ad.Lever.Given() && !allLevers(wrenches) {
		return Answer{Ask: "How long is your wrench from grip to drive?"}, nil
	}
	a := Answer{Source: srcAdapter}
	if len(wrenches) == 0 {
		q, err := Setting(want, ad)
		if err != nil {
			return Answer{}, err
		}
		a.Figure = &q
		a.Text = fmt.Sprintf("Set %s for %s at the fastener", q.Digits(3), want)
		if !ad.Fitted() {
			a.Text = fmt.Sprintf("Set %s", want)
		}
	} else {
		c, err := ChooseWrench(wrenches, want, ad)
		if err != nil {
			return Answer{}, err
		}
		a.Figure, a.Source = &c.Set, c.Source
		if c.Wrench.Lever.Given() {
			ad.Lever = c.Wrench.Lever
		}
		a.Text = fmt.Sprintf("Take %s, set %s", c.Wrench.Name, c.Set.Digits(4))
		if ad.Fitted() {
			a.Text += fmt.Sprintf(" for %s at the fastener", want)
		}
		if c.Error > 0.001 || c.Error < -0.001 {
			side := "over"
			if c.Error < 0 {
				side = "under"
			}
			a.Text += fmt.Sprintf(", %.1f %% %s the exact %s", 100*math.Abs(c.Error), side, c.Exact.Digits(3))
		}
		for _, w := range c.Warnings {
			a.Text += ". Careful, " + w
		}
	}
	if ad.Fitted() {
		where := "straight ahead"
		if ad.Angle.Given() && ad.Angle.Amount != 0 {
			where = "at " + ad.Angle.String()
		}
		as := fmt.Sprintf("adapter %s, %s from grip to drive", where, ad.Lever)
		a.Assumptions = []string{as}
		a.Text += ": " + as
	}
	a.Text += ". " + manualDecides
	return a, nil
}

// allLevers tells whether every wrench has its own length; false without any.
func allLevers(ws []Wrench) bool {
	for _, w := range ws {
		if !w.Lever.Given() {
			return false
		}
	}
	return len(ws) > 0
}

// AnswerPattern answers "pattern for 12 bolts".
func AnswerPattern(n int) (Answer, error) {
	o, err := Cross(n)
	if err != nil {
		return Answer{}, err
	}
	nums := make([]string, n)
	for i, b := range o.Sequence {
		nums[i] = fmt.Sprint(b)
	}
	a := Answer{Source: o.Source, Assumptions: []string{"bolts in a ring, numbered clockwise"}}
	switch {
	case n == 1:
		a.Text = "One bolt: there is no order."
	case n == 2:
		a.Text = "1, 2, a little at a time. A sequence printed in your manual wins."
	default:
		a.Text = fmt.Sprintf("Numbered clockwise: %s. At 30, 60 and 100 %%, then once round. A sequence printed in your manual wins.",
			strings.Join(nums, ", "))
	}
	return a, nil
}

// AnswerEngage answers whether enough thread is in: by turns when depth is not
// given. Without either it says how much the material wants.
func AnswerEngage(k Known, turns float64, depth *measure.Quantity, into Material) (Answer, error) {
	name := k.Thread
	if name == "" {
		rs := fromNominal(k.Size)
		if len(rs) == 0 || k.Kind == KindWrench {
			return Answer{Ask: "Which thread?"}, nil
		}
		name = rs[0].Thread.Designation
	}
	t, err := LookThread(name)
	if err != nil {
		return Answer{}, err
	}
	var e Engagement
	said := ""
	switch {
	case depth != nil:
		mm, err := depth.Millimetres()
		if err != nil {
			return Answer{}, fmt.Errorf("judge thread engagement: %w", err)
		}
		if e, err = EngagementByDepth(t, mm, into); err != nil {
			return Answer{}, err
		}
		said = depth.String()
	case turns > 0:
		if e, err = EngagementByTurns(t, turns, into); err != nil {
			return Answer{}, err
		}
		said = fmt.Sprintf("%s turns are %s", short(turns), e.Depth.Quantity().Digits(3))
	default:
		if e, err = EngagementByDepth(t, 0, into); err != nil {
			return Answer{}, err
		}
		q := e.Wanted.Quantity()
		a := Answer{Source: e.Source, Figure: &q, Text: fmt.Sprintf("%s wants %s of thread in %s, %.0f turns.", t.Spoken(), q.Digits(3), e.Into, math.Ceil(float64(e.Wanted/t.Pitch)-1e-9))}
		if into == MaterialUnknown {
			a.Text += materialTaken(&a)
		}
		a.Text += " " + manualDecides
		return a, nil
	}
	a := Answer{Source: e.Source}
	q := e.Depth.Quantity()
	a.Figure = &q
	verdict := "enough"
	if !e.Enough {
		verdict = "not enough"
	}
	a.Text = fmt.Sprintf("%s of %s, %s diameters: %s for %s, which wants %s.", said, t.Spoken(),
		short(float64(measure.Quantity{Amount: e.Diameters}.Digits(2).Amount)), verdict, e.Into, e.Wanted.Quantity().Digits(3))
	if into == MaterialUnknown {
		a.Text += materialTaken(&a)
	}
	a.Text += " " + manualDecides
	return a, nil
}

// materialTaken records and says that aluminium was assumed.
func materialTaken(a *Answer) string {
	a.Assumptions = []string{"aluminium taken, as no material was given"}
	return " Aluminium taken, as no material was given."
}
