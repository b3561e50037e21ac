package jobs

import (
	"fmt"
	"slices"
	"time"

	"putback/intent"
	"putback/jobs/measure"
)

// View is the job at a moment, for the page and the report.
func (b *Bench) View(now time.Time) View {
	b.mu.Lock()
	defer b.mu.Unlock()
	s := b.state
	v := View{Job: s.Job, Machine: s.Machine, Stage: s.Phase, LastSeq: s.Seq}
	for i, st := range s.Steps {
		sv := s.viewStep(st)
		v.Steps = append(v.Steps, sv)
		if i == s.Current {
			v.Step = &sv
		}
	}
	if st, _ := s.next(); st != nil {
		sv := s.viewStep(st)
		v.Next = &sv
	}
	for _, g := range s.Groups {
		v.Groups = append(v.Groups, s.viewGroup(g))
	}
	if r := s.Run; r != nil && r.Pass < len(r.Passes) {
		rv := r.view()
		v.Run = &rv
	}
	for _, r := range s.Paused {
		if r.Pass < len(r.Passes) {
			v.Paused = append(v.Paused, r.view())
		}
	}
	v.Wrench, v.Dictated = s.Wrench, s.dictated()
	for _, c := range s.checks() {
		v.Checks = append(v.Checks, CheckView{Name: c, Done: slices.Contains(s.Checked, c)})
	}
	for _, t := range s.Timers {
		state := "running"
		if t.Ended {
			state = "stopped"
		} else if !now.Before(t.due()) {
			state = "over"
		}
		tv := TimerView{Name: t.Name, Due: t.due(), Source: t.Source, State: state}
		if t.Warn > 0 {
			tv.Warn = t.warn()
		}
		v.Timers = append(v.Timers, tv)
	}
	for _, d := range s.Doubts {
		v.Doubts = append(v.Doubts, DoubtView{Text: d.Text, At: d.At, Step: d.Step, Open: !d.Over, Ended: d.Ended})
	}
	for _, p := range s.Parts {
		v.Parts = append(v.Parts, PartView{Name: p.Name, Need: p.Need, Have: p.Have, Fitted: p.Fitted, New: p.New, Spare: p.Spare, Where: p.Where, Renew: p.Renew, Aside: p.Aside, Asked: p.Asked})
	}
	for _, f := range s.Fluids {
		fv := FluidView{Name: f.Name, Fill: f.Fill.String()}
		if !f.Fill.Given() {
			fv.Fill = ""
		}
		if f.Out {
			fv.Drained = printed(f.Drained, "drained")
		}
		if f.In {
			fv.Filled = printed(f.Filled, "filled")
		}
		v.Fluids = append(v.Fluids, fv)
	}
	for _, l := range s.Limits {
		lv := LimitView{Name: l.Name, Limit: l.print(), Source: l.Source}
		if l.Value.Given() {
			lv.Value = l.Value.String()
			lv.Verdict, _ = l.verdict()
		}
		v.Limits = append(v.Limits, lv)
	}
	for _, u := range s.Suspects {
		v.Suspects = append(v.Suspects, SuspectView{Name: u.Name, State: u.State, For: slices.Clone(u.For), Against: slices.Clone(u.Against), Reason: u.Reason})
	}
	for _, n := range s.Notes {
		v.Notes = append(v.Notes, *n)
	}
	for _, e := range slices.Backward(b.recent) {
		v.Recent = append(v.Recent, EntryView{Seq: e.Seq, At: e.At, Kind: e.Kind, Heard: e.Heard, Words: Words(e), Struck: s.Struck[e.Turn] || s.Amended[e.Turn]})
	}
	if b.question != nil {
		r := b.question.reply
		v.Question = &r
	}
	return v
}

func (r *run) view() RunView {
	return RunView{Group: r.Group, Pass: r.Pass + 1, Passes: len(r.Passes), Target: r.Passes[r.Pass].String(),
		Order: slices.Clone(r.bolts(r.Pass)), Done: slices.Clone(r.Done), Current: r.current(), Paused: r.Paused, Tool: r.Tool}
}

func printed(q measure.Quantity, without string) string {
	if !q.Given() {
		return without
	}
	return q.String()
}

func (s *State) viewStep(st *step) StepView {
	return StepView{Name: st.Name, Do: st.Do, Phase: st.Phase, State: st.State, Caution: st.Caution, Waits: s.waits(st),
		Groups: slices.Clone(st.Fasteners), Parts: slices.Clone(st.Parts), Reason: st.Reason, Inserted: st.Inserted}
}

func (s *State) viewGroup(g *group) GroupView {
	v := GroupView{Name: g.Name, Kind: g.Kind, Size: g.sizeText(), Thread: g.Thread, Class: g.Class, Place: g.Place, Stow: g.Stow,
		Count: g.Count, Removed: g.Removed, Out: g.out(), Refitted: g.Refitted, Renewed: g.Renewed, Discarded: g.Discarded,
		Loose: g.Loose, Snug: g.Snug, Torqued: g.Torqued, ByFeel: g.ByFeel, Unsure: g.Unsure, Torque: g.figure(), Source: s.source(g, time.Time{}),
		Renew: g.Renew, Excuse: g.Excuse, Positions: slices.Clone(g.At), Tips: slices.Clone(g.Tips), Flags: slices.Clone(g.Conditions)}
	if g.LeftHand && !slices.Contains(v.Flags, "left-hand") {
		v.Flags = append(v.Flags, "left-hand")
	}
	if nm, err := g.full().NewtonMetres(); err == nil && g.full().Given() {
		v.TorqueNm = float64(nm)
	}
	if g.DoneAt.Given() {
		v.DoneAt = g.DoneAt.String()
	}
	if low, high, ok := g.guide(); ok {
		v.GuideLow, v.GuideHigh = float64(low), float64(high)
	}
	v.Order, v.OrderFrom = g.tighteningOrder()
	return v
}

// sizeText is the size for the page: as said, or the wrench, or the drive.
func (g *group) sizeText() string {
	switch {
	case g.Size != "":
		return g.Size
	case g.Wrench.Given():
		return g.Wrench.String()
	}
	return g.Tool
}

// full is the torque at the end of the stages, not given where only a turn is known.
func (g *group) full() measure.Quantity {
	if g.Torque.Given() {
		return g.Torque
	}
	for _, st := range slices.Backward(g.Stages) {
		if st.Torque.Given() && !st.Back {
			return st.Torque
		}
	}
	return measure.Quantity{}
}

// figure prints what the group is tightened to: "25 ± 3 N·m", "40 N·m + 90°".
func (g *group) figure() string {
	t := measure.Tightening{Torque: g.full(), Angles: g.Angles}
	if len(t.Angles) == 0 {
		for _, st := range g.Stages {
			if st.Angle.Given() && !st.Back {
				t.Angles = append(t.Angles, st.Angle)
			}
		}
	}
	if !t.Torque.Given() && len(t.Angles) == 0 {
		return ""
	}
	return t.String()
}

// source says who gave a group's figure; with the zero time not when.
func (s *State) source(g *group, now time.Time) string {
	switch {
	case g.figure() == "":
		return ""
	case g.Source == "sheet":
		return "from your sheet"
	case now.IsZero():
		return "dictated " + g.SourceAt.Format("2 January 2006")
	}
	return "dictated " + ago(g.SourceAt, now)
}

// Vocabulary is what the job adds to the grammar.
func (b *Bench) Vocabulary() intent.Vocabulary {
	b.mu.Lock()
	defer b.mu.Unlock()
	s := b.state
	v := intent.Vocabulary{CallWord: b.callWord}
	add := func(list *[]string, names ...string) {
		for _, n := range names {
			if n != "" && !slices.Contains(*list, n) {
				*list = append(*list, n)
			}
		}
	}
	for _, g := range s.Groups {
		add(&v.Groups, g.Name, g.Place)
		add(&v.Places, g.Stow)
	}
	for _, p := range s.Parts {
		add(&v.Parts, p.Name)
		add(&v.Places, p.Where)
	}
	for _, st := range s.Steps {
		add(&v.Steps, st.Name)
		v.Deeds = append(v.Deeds, intent.Deeds(st.Name, st.Do)...)
	}
	for _, c := range s.checks() {
		v.Deeds = append(v.Deeds, intent.CheckDeeds(c)...)
	}
	for _, f := range s.Fluids {
		add(&v.Fluids, f.Name)
	}
	for _, l := range s.Limits {
		add(&v.Limits, l.Name)
	}
	for _, u := range s.Suspects {
		add(&v.Suspects, u.Name)
	}
	for _, x := range s.Labels {
		add(&v.Sealants, x.Name)
	}
	for _, w := range s.Tools {
		add(&v.Wrenches, w.Name)
	}
	if s.Sheet != nil {
		for _, x := range s.Sheet.Sealants {
			add(&v.Sealants, x.Name)
		}
		for _, w := range s.Sheet.Wrenches {
			add(&v.Wrenches, w.Name)
		}
		add(&v.Places, s.Sheet.Places...)
		add(&v.Words, s.Sheet.Words...)
	}
	if b.question != nil {
		add(&v.Words, b.question.reply.Choices...)
	}
	return v
}

// Quiet tells whether the companion was told to be quiet.
func (b *Bench) Quiet() bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.state.Quiet
}

// print writes a limit the way the sheet does.
func (l *limit) print() string {
	switch {
	case l.Min.Given() && l.Max.Given():
		return measure.Range{Low: l.Min, High: l.Max}.String()
	case l.Max.Given():
		return "at most " + l.Max.String()
	case l.Min.Given():
		return "at least " + l.Min.String()
	}
	return ""
}

// String prints a pass's target.
func (p passPlan) String() string {
	switch {
	case p.Back && p.Angle.Given():
		return "loosen " + p.Angle.String()
	case p.Back:
		return "loosen"
	case p.Angle.Given() && p.Torque.Given():
		return fmt.Sprintf("%s + %s", p.Torque, p.Angle)
	case p.Angle.Given():
		return p.Angle.String()
	case p.Torque.Given():
		return p.Torque.String()
	}
	return "tight"
}
