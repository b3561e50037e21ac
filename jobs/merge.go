package jobs

import (
	"slices"
	"time"
)

// merge takes a sheet into the state by name. What was recorded is never lost:
// an entry gone from the sheet stays with what is known of it, and a figure
// that was dictated stands until it is dictated anew.
func (s *State) merge(file string, sh *Sheet, at time.Time) {
	s.Sheet, s.File, s.Job, s.Machine = sh, file, sh.Job, sh.Machine
	for _, f := range sh.Fasteners {
		s.mergeGroup(f, at)
	}
	for _, p := range sh.Parts {
		q := s.editPart(p.Name)
		q.Need, q.Spare = max(p.Count, 1), p.Spare
		if !q.Ruled {
			q.Renew = p.Renew
		}
		if q.Have == 0 && q.Fitted == 0 {
			q.Have = p.Have
			if p.Renew == "always" && p.Have == 0 {
				q.Have = p.Spare
			}
		}
		if q.Where == "" {
			q.Where = p.Place
		}
	}
	for _, f := range sh.Fluids {
		g := s.editFluid(f.Name)
		if g.IsAt.IsZero() {
			g.Is = f.Kind
		}
		if g.FillAt.IsZero() {
			g.Fill = f.Fill
		}
	}
	for _, l := range sh.Limits {
		if i, old := s.limit(l.Name); i >= 0 {
			if old.Dictated.IsZero() {
				edit(s.Limits, i).SheetLimit = l
			}
		} else {
			s.Limits = append(s.Limits, &limit{SheetLimit: l})
		}
	}
	s.mergeSteps("strip", sh.Strip)
	s.mergeSteps("refit", sh.Refit)
}

func (s *State) mergeGroup(f SheetGroup, at time.Time) {
	if s.group(f.Name) == nil {
		s.addGroup(&group{Name: f.Name})
	}
	i := s.index[f.Name]
	g := edit(s.Groups, i)
	was := *g
	g.Kind, g.Place, g.Thread, g.Class = f.Kind, f.Place, f.Thread, f.Class
	g.Wrench, g.Tool, g.Length, g.Into = f.Wrench, f.Tool, f.Length, f.Into
	g.Renew, g.Locker, g.FromSheet = f.Renew, f.Locker, true
	g.LeftHand = g.LeftHand || f.LeftHand
	g.Order, g.Sequence, g.At, g.Again, g.Oiled = f.Order, f.Sequence, f.At, f.Again, f.Oiled
	said := was.dictated()
	if g.take(said); len(said.Sequence) > 0 {
		g.Sequence = said.Sequence
	}
	if g.Stow == "" {
		g.Stow = f.Stow
	}
	if g.Source != "dictated" {
		g.Torque, g.Angles, g.Stages = f.Torque, f.Angles, f.Stages
		if f.Torque.Given() || len(f.Angles) > 0 || len(f.Stages) > 0 {
			g.Source, g.SourceAt = "sheet", at
		}
	}
	// The record outweighs a count that is too low for it.
	if g.CountAt.IsZero() && f.Count >= g.holes()+g.touched() {
		g.Count = f.Count
	}
	for _, t := range f.Tips {
		if !slices.Contains(g.Tips, t) {
			g.Tips = append(slices.Clip(g.Tips), t)
		}
	}
}

// dictated are the facts of a group that a sheet does not take back.
func (g *group) dictated() groupSpec {
	var v groupSpec
	for _, what := range g.Said {
		switch what {
		case "oiled":
			v.Oiled = g.Oiled
		case "thread":
			v.Thread = g.Thread
		case "class":
			v.Class = g.Class
		case "renew":
			v.Renew = g.Renew
		case "wrench":
			v.Wrench = g.Wrench
		case "length":
			v.Length = g.Length
		case "into":
			v.Into = g.Into
		case "locker":
			v.Locker = g.Locker
		case "again":
			v.Again = g.Again
		case "order":
			v.Order, v.Rows, v.Sequence = g.Order, g.Rows, g.Sequence
		}
	}
	return v
}

func (s *State) mergeSteps(phase string, list []SheetStep) {
	current := ""
	if c := s.open(); c != nil {
		current = c.Name
	}
	var merged []*step
	seen := map[string]bool{}
	for _, sh := range list {
		seen[sh.Name] = true
		st := &step{State: "waiting"}
		if _, old := s.step(sh.Name); old != nil {
			c := *old
			st = &c
		}
		st.SheetStep, st.Phase = sh, phase
		st.addDictated()
		merged = append(merged, st)
	}
	// Steps of the record that the sheet does not name keep their place after the one they followed.
	before := ""
	for _, old := range s.Steps {
		if old.Phase != phase {
			continue
		}
		if !seen[old.Name] && (old.Inserted || old.Made || old.State != "waiting") {
			at := 0
			if i := slices.IndexFunc(merged, func(m *step) bool { return m.Name == before }); i >= 0 {
				at = i + 1
			}
			merged = slices.Insert(merged, at, old)
		}
		before = old.Name
	}
	var strip, refit []*step
	for _, old := range s.Steps {
		if old.Phase != phase && !seen[old.Name] {
			if old.Phase == "strip" {
				strip = append(strip, old)
			} else {
				refit = append(refit, old)
			}
		}
	}
	if phase == "strip" {
		strip = merged
	} else {
		refit = merged
	}
	s.Steps = append(slices.Clone(strip), refit...)
	s.Current = -1
	if i, _ := s.step(current); current != "" {
		s.Current = i
	}
}
