package board

import (
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"putback/jobs"
)

// How many lines the page shows of each kind. The rest is counted and stands in the
// report: a page with thousands of lines is neither read nor quick.
const (
	benchGroups  = 3
	benchTimers  = 1
	benchDoubts  = 1
	detailLines  = 40
	heroGroups   = 3
	longestWords = 400 // runes of one free text on the page
)

// screen is the page's content, worked out from a view. It holds text and
// numbers only; templates draw it.
type screen struct {
	Job, Machine, Stage string
	Out                 int // fasteners out, all groups
	OpenDoubts          int
	Timer               *timerLine // the next one due
	Now                 hero
	Groups              []groupLine // with something out or loose, the step's own first
	Timers              []timerLine
	Doubts              []jobs.DoubtView // open ones
	More                string           // what else the bench holds, counted
	Journal             []jobs.EntryView
	Steps               []stepLine
	MoreSteps           int
	Ledger              []groupLine
	MoreLedger          int
	Parts               []jobs.PartView
	MoreParts           int
	Fluids              []jobs.FluidView
	Limits              []jobs.LimitView
	Suspects            []jobs.SuspectView
	Notes               []jobs.NoteView
	Settled             []jobs.DoubtView
	CanType, CanCorrect bool
	CanTalk             bool
}

// hero is the one thing to be read from afar.
type hero struct {
	Kind    string // "question", "objection", "run", "step", "bare"
	Fit     string // type size: "s" few words … "xl" many
	Lead    string // the small line above
	Text    string
	Caution string
	Waits   []string
	Choices []string
	Needs   []needLine // what the step fastens
	Parts   []string
	Hint    string
	Next    string
	Wide    bool // takes the whole width: nothing else matters now
	Run     *runScene
}

// needLine is one group that the step fastens.
type needLine struct {
	Name, Torque string
	Count        int
}

// runScene is a tightening run.
type runScene struct {
	Group    string
	Pass     string // "pass 2 of 3"
	Target   string // "10 N·m"
	TargetNo string // the figure of the target: "10"
	Unit     string
	Current  int
	Done     int
	Whole    int
	Tool     string
	Paused   bool
	Finished bool
	Drawing  *layout
	Gauge    *gauge
	From     string
}

type timerLine struct {
	Name, State, Source string
	Due, Warn           int64 // milliseconds since 1970
	Left                string
}

type groupLine struct {
	jobs.GroupView
	Drawing *ledger
	Gauge   *gauge
	Whole   int
	Hint    string // size, thread, place
}

type stepLine struct {
	jobs.StepView
	Current bool
}

// makeScreen works out what the page shows of v at now.
func makeScreen(v jobs.View, now time.Time) screen {
	s := screen{Job: v.Job, Machine: v.Machine, Stage: v.Stage}
	named := make(map[string]int, len(v.Groups))
	for i, g := range v.Groups {
		named[g.Name] = i
		s.Out += max(g.Out, 0)
	}
	s.Now = makeHero(v, named)
	var moreGroups, moreTimers, moreDoubts int
	for _, g := range stepFirst(v) {
		if g.Out <= 0 && g.Loose <= 0 {
			continue
		}
		if len(s.Groups) < benchGroups {
			s.Groups = append(s.Groups, makeGroup(g))
		} else {
			moreGroups++
		}
	}
	for _, t := range v.Timers {
		if t.State == "stopped" {
			continue
		}
		l := timerLine{Name: cut(t.Name), State: t.State, Source: cut(t.Source), Due: t.Due.UnixMilli(), Left: countdown(t.Due.Sub(now))}
		if !t.Warn.IsZero() {
			l.Warn = t.Warn.UnixMilli()
		}
		if s.Timer == nil || l.Due < s.Timer.Due {
			soonest := l
			s.Timer = &soonest
		}
		if len(s.Timers) < benchTimers {
			s.Timers = append(s.Timers, l)
		} else {
			moreTimers++
		}
	}
	for _, d := range v.Doubts {
		d.Text, d.Ended = cut(d.Text), cut(d.Ended)
		switch {
		case !d.Open:
			if len(s.Settled) < detailLines {
				s.Settled = append(s.Settled, d)
			}
			continue
		case len(s.Doubts) < benchDoubts:
			s.Doubts = append(s.Doubts, d)
		default:
			moreDoubts++
		}
		s.OpenDoubts++
	}
	var more []string
	for _, m := range []struct {
		n    int
		what string
	}{{moreGroups, "group"}, {moreTimers, "timer"}, {moreDoubts, "doubt"}} {
		if m.n > 0 {
			more = append(more, several(m.n, "more "+m.what))
		}
	}
	s.More = strings.Join(more, ", ")
	for _, e := range v.Recent[:min(len(v.Recent), 50)] {
		e.Heard, e.Words = cut(e.Heard), cut(e.Words)
		s.Journal = append(s.Journal, e)
	}
	s.Steps, s.MoreSteps = stepsAround(v)
	for _, g := range v.Groups {
		if g.Removed == 0 && g.Loose == 0 && g.Torqued == 0 {
			continue
		}
		if len(s.Ledger) < detailLines {
			s.Ledger = append(s.Ledger, makeGroup(g))
		}
	}
	s.MoreLedger = len(v.Groups) - len(s.Ledger)
	for _, p := range v.Parts {
		if len(s.Parts) == detailLines {
			s.MoreParts = len(v.Parts) - detailLines
			break
		}
		p.Name, p.Where = cut(p.Name), cut(p.Where)
		s.Parts = append(s.Parts, p)
	}
	s.Fluids = first(v.Fluids)
	s.Limits = first(v.Limits)
	s.Suspects = first(v.Suspects)
	s.Notes = first(v.Notes)
	return s
}

// stepFirst gives the groups, those of the current step before the others.
func stepFirst(v jobs.View) []jobs.GroupView {
	if v.Step == nil || len(v.Step.Groups) == 0 {
		return v.Groups
	}
	own := make(map[string]bool, len(v.Step.Groups))
	for _, name := range v.Step.Groups {
		own[name] = true
	}
	groups := make([]jobs.GroupView, 0, len(v.Groups))
	for _, g := range v.Groups {
		if own[g.Name] {
			groups = append(groups, g)
		}
	}
	for _, g := range v.Groups {
		if !own[g.Name] {
			groups = append(groups, g)
		}
	}
	return groups
}

func several(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	return strconv.Itoa(n) + " " + what
}

func first[T any](list []T) []T { return list[:min(len(list), detailLines)] }

// makeGroup prepares one group's line.
func makeGroup(g jobs.GroupView) groupLine {
	var hint []string
	size := g.Size
	if g.Thread != "" && g.Thread != size {
		size = strings.TrimSpace(size + " " + g.Thread)
	}
	for _, h := range []string{size, g.Place, g.Stow} {
		if h != "" {
			hint = append(hint, cut(h))
		}
	}
	g.Name = cut(g.Name)
	return groupLine{
		GroupView: g,
		Drawing:   drawLedger(g),
		Gauge:     gaugeOf(g),
		Whole:     max(g.Count, g.Removed),
		Hint:      strings.Join(hint, " · "),
	}
}

// gaugeOf compares a group's torque with its guide range. A torque that a turn is
// added to is not the whole tightening, and is not compared.
func gaugeOf(g jobs.GroupView) *gauge {
	if strings.Contains(g.Torque, "°") {
		return nil
	}
	return drawGauge(g.TorqueNm, g.GuideLow, g.GuideHigh)
}

// makeHero picks the one thing that matters now: a question first, since the record waits
// for its answer; then the run; then the step.
func makeHero(v jobs.View, named map[string]int) hero {
	switch {
	case v.Question != nil && v.Question.Text != "":
		h := hero{Kind: "question", Wide: true, Lead: "Question", Text: cut(v.Question.Text)}
		if v.Question.Kind == jobs.ReplyObjection {
			h.Kind, h.Lead = "objection", "Objection"
		}
		for _, c := range v.Question.Choices[:min(len(v.Question.Choices), 6)] {
			h.Choices = append(h.Choices, cut(c))
		}
		h.Fit = fit(h.Text)
		return h
	case v.Run != nil:
		return hero{Kind: "run", Wide: true, Lead: v.Run.Group, Run: makeRun(v, named)}
	case v.Step != nil:
		return stepHero(v, named)
	}
	h := hero{Kind: "bare", Lead: v.Machine, Text: v.Job}
	if h.Text == "" {
		h.Text = "Ready"
	}
	h.Text, h.Lead = cut(h.Text), cut(h.Lead)
	if v.LastSeq == 0 {
		h.Hint = "Nothing written down yet. Say what you take off, and how many."
	}
	if v.Next != nil {
		h.Next = cut(stepText(*v.Next))
	}
	h.Fit = fit(h.Text)
	return h
}

func stepHero(v jobs.View, named map[string]int) hero {
	h := hero{Kind: "step", Text: cut(stepText(*v.Step)), Caution: cut(v.Step.Caution)}
	h.Fit = fit(h.Text)
	n, whole := 0, 0
	for _, s := range v.Steps {
		if s.Phase != v.Step.Phase {
			continue
		}
		whole++
		if s.Name == v.Step.Name && n == 0 {
			n = whole
		}
	}
	h.Lead = v.Step.Phase
	if n > 0 {
		h.Lead = strings.TrimSpace(h.Lead + " " + strconv.Itoa(n) + " of " + strconv.Itoa(whole))
	}
	for _, w := range v.Step.Waits[:min(len(v.Step.Waits), 4)] {
		h.Waits = append(h.Waits, cut(w))
	}
	for _, name := range v.Step.Groups {
		i, ok := named[name]
		if len(h.Needs) == heroGroups {
			break
		}
		l := needLine{Name: cut(name)}
		if ok {
			g := v.Groups[i]
			l.Count, l.Torque = max(g.Count, g.Removed), g.Torque
			if v.Step.Phase == "strip" {
				l.Torque = g.Size
			}
		}
		h.Needs = append(h.Needs, l)
	}
	for _, p := range v.Step.Parts[:min(len(v.Step.Parts), heroGroups)] {
		h.Parts = append(h.Parts, cut(p))
	}
	if v.Next != nil {
		h.Next = cut(stepText(*v.Next))
	}
	// A step with more to say sets its name smaller, so that the rest has room.
	rows := len(h.Needs) + len(h.Parts)
	if h.Caution != "" || len(h.Waits) > 0 {
		rows += 2
	}
	if rows > 2 {
		h.Fit = smaller[h.Fit]
	}
	return h
}

func makeRun(v jobs.View, named map[string]int) *runScene {
	r := v.Run
	sc := &runScene{
		Group: cut(r.Group), Target: cut(r.Target), Current: r.Current, Done: len(r.Done),
		Whole: len(r.Order), Tool: cut(r.Tool), Paused: r.Paused,
	}
	if r.Passes > 1 {
		sc.Pass = "pass " + strconv.Itoa(r.Pass) + " of " + strconv.Itoa(r.Passes)
	}
	sc.TargetNo, sc.Unit, _ = strings.Cut(sc.Target, " ")
	sc.Finished = sc.Whole > 0 && sc.Done >= sc.Whole && r.Current == 0
	done := make(map[int]bool, len(r.Done))
	for _, b := range r.Done {
		done[b] = true
	}
	var g jobs.GroupView
	if i, ok := named[r.Group]; ok {
		g = v.Groups[i]
	}
	sc.From = cut(g.OrderFrom)
	sc.Drawing = drawLayout(max(g.Count, len(r.Order)), g.Positions, r.Order, boltRun{done: done, current: r.Current})
	sc.Gauge = gaugeOf(g)
	return sc
}

// stepsAround gives the steps from a few before the current one on.
func stepsAround(v jobs.View) ([]stepLine, int) {
	from := 0
	current := -1
	if v.Step != nil {
		for i, s := range v.Steps {
			if s.Name == v.Step.Name && s.Phase == v.Step.Phase {
				current = i
				break
			}
		}
	}
	if len(v.Steps) > detailLines && current > 5 {
		from = min(current-5, len(v.Steps)-detailLines)
	}
	var lines []stepLine
	for i := from; i < len(v.Steps) && len(lines) < detailLines; i++ {
		s := v.Steps[i]
		s.Name, s.Do, s.Reason = cut(s.Name), cut(s.Do), cut(s.Reason)
		lines = append(lines, stepLine{s, i == current})
	}
	return lines, len(v.Steps) - len(lines)
}

func stepText(s jobs.StepView) string {
	if s.Do != "" {
		return s.Do
	}
	return s.Name
}

// fit says how large a text can be set so that it stays on the screen.
func fit(text string) string {
	switch n := utf8.RuneCountInString(text); {
	case n <= 26:
		return "s"
	case n <= 56:
		return "m"
	case n <= 110:
		return "l"
	}
	return "xl"
}

// smaller is the next smaller type size.
var smaller = map[string]string{"s": "m", "m": "l", "l": "xl", "xl": "xl"}

// cut keeps a text to a length that a page can carry.
func cut(s string) string {
	if len(s) <= longestWords {
		return s
	}
	n := 0
	for i := range s {
		if n++; n == longestWords {
			return s[:i] + "…"
		}
	}
	return s
}

// countdown prints what is left of a timer; the page's script prints the same.
func countdown(d time.Duration) string {
	sign := ""
	if d < 0 {
		sign, d = "+", -d
	} else {
		d += time.Second - time.Nanosecond // a timer at 0:00 is over, not nearly over
	}
	sec := int(d / time.Second)
	switch {
	case sec < 3600:
		return sign + strconv.Itoa(sec/60) + ":" + two(sec%60)
	case sec < 48*3600:
		return sign + strconv.Itoa(sec/3600) + " h " + two(sec/60%60)
	}
	return sign + strconv.Itoa(sec/86400) + " days"
}

func two(n int) string {
	if n < 10 {
		return "0" + strconv.Itoa(n)
	}
	return strconv.Itoa(n)
}
