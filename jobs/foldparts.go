package jobs

import (
	"fmt"
	"slices"
	"time"

	"putback/jobs/measure"
)

func (g *group) specify(v groupSpec, at time.Time) {
	if v.Torque.Given() {
		g.Torque, g.Stages, g.Angles = v.Torque, nil, angles(v.Angle)
		g.Source, g.SourceAt, g.Objection = "dictated", at, v.Objection
	} else if v.Angle.Given() {
		g.Angles, g.Source, g.SourceAt = angles(v.Angle), "dictated", at
	}
	g.take(v)
	if v.Count > 0 {
		g.Count, g.CountAt = v.Count, at
	}
	if len(v.Sequence) > 0 {
		g.Sequence = v.Sequence
		if g.Count == 0 {
			g.Count, g.CountAt = len(v.Sequence), at
		}
	}
	if len(v.Stages) > 0 {
		g.Torque, g.Stages, g.Angles = measure.Quantity{}, v.Stages, nil
		g.Source, g.SourceAt, g.Objection = "dictated", at, v.Objection
	}
}

// take takes the dictated facts of a group and remembers that they were said.
func (g *group) take(v groupSpec) {
	said := func(what string, given bool) bool {
		if given {
			g.Said = with1(g.Said, what)
		}
		return given
	}
	if said("oiled", v.Oiled) {
		g.Oiled = true
	}
	if said("thread", v.Thread != "") {
		g.Thread = v.Thread
	}
	if said("class", v.Class != "") {
		g.Class = v.Class
	}
	if said("renew", v.Renew != "") {
		g.Renew = v.Renew
	}
	if said("wrench", v.Wrench.Given()) {
		g.Wrench = v.Wrench
	}
	if said("length", v.Length.Given()) {
		g.Length = v.Length
	}
	if said("into", v.Into != "") {
		g.Into = v.Into
	}
	if said("locker", v.Locker != "") {
		g.Locker = v.Locker
	}
	if said("again", v.Again) {
		g.Again = true
	}
	if said("order", v.Order != "" || v.Rows > 0) {
		g.Sequence = nil
	}
	if v.Order != "" {
		g.Order = v.Order
	}
	if v.Rows > 0 {
		g.Rows = v.Rows
	}
	said("order", len(v.Sequence) > 0)
}

// said gives the dictated facts in words, for the screen.
func (g *group) said() []string {
	var w []string
	for _, what := range g.Said {
		switch what {
		case "oiled":
			w = append(w, "oiled")
		case "thread":
			w = append(w, g.Thread)
		case "class":
			w = append(w, g.Class)
		case "renew":
			w = append(w, "renew "+g.Renew)
		case "wrench":
			w = append(w, g.Wrench.String()+" head")
		case "length":
			w = append(w, g.Length.String()+" long")
		case "into":
			w = append(w, "into "+g.Into)
		case "locker":
			w = append(w, g.Locker)
		case "again":
			w = append(w, "a last pass")
		case "order":
			w = append(w, g.pattern()...)
		}
	}
	return w
}

func angles(q measure.Quantity) []measure.Quantity {
	if !q.Given() {
		return nil
	}
	return []measure.Quantity{q}
}

func (s *State) editPart(name string) *part {
	if i, _ := s.part(name); i >= 0 {
		return edit(s.Parts, i)
	}
	p := &part{Name: name}
	s.Parts = append(s.Parts, p)
	return p
}

func (s *State) editFluid(name string) *fluid {
	if i, _ := s.fluid(name); i >= 0 {
		return edit(s.Fluids, i)
	}
	f := &fluid{Name: name}
	s.Fluids = append(s.Fluids, f)
	return f
}

func (s *State) editSuspect(name string) *suspect {
	if i, _ := s.suspect(name); i >= 0 {
		return edit(s.Suspects, i)
	}
	u := &suspect{Name: name, State: "open"}
	s.Suspects = append(s.Suspects, u)
	return u
}

func (s *State) movePart(kind string, v partCount, at time.Time) error {
	if v.Part == "" || v.N < 0 || v.N > 100_000 {
		return fmt.Errorf("%d of part %q is no count", v.N, v.Part)
	}
	p := s.editPart(v.Part)
	n := max(v.N, 1)
	switch kind {
	case KindPartAside:
		p.Aside = true
		if v.Where != "" {
			p.Where, p.WhereAt = v.Where, at
		}
		if p.Fitted > 0 {
			p.Fitted, p.New = 0, 0
		}
	case KindPartHave:
		p.Have, p.HaveAt = v.N, at
	case KindPartNeed:
		p.Need, p.Asked = v.N, true
	case KindPartFitted:
		p.Fitted += n
		p.Aside = false
		if v.New {
			p.New += n
			p.Have = max(p.Have-n, 0)
		}
	}
	return nil
}

func (s *State) moveStep(v stepState, e Event) error {
	i, _ := s.step(v.Step)
	if i < 0 {
		return fmt.Errorf("there is no step %q", v.Step)
	}
	st := edit(s.Steps, i)
	st.State, st.Reason = v.State, v.Reason
	if v.Caution && !slices.Contains(s.Cautions, st.Caution) {
		s.Cautions = append(s.Cautions, st.Caution)
	}
	for _, name := range v.Tips {
		if k, ok := s.index[name]; ok {
			edit(s.Groups, k).TipSaid = true
		}
	}
	switch v.State {
	case "open":
		if c := s.open(); c != nil && s.Current != i && c.State == "open" {
			edit(s.Steps, s.Current).State = "waiting"
		}
		s.Current = i
		if s.Phase != "start" || st.Phase != "refit" {
			s.Phase = st.Phase
		}
		st.DoneSeq = 0
	case "done", "skipped":
		st.DoneAt, st.DoneSeq = e.At, e.Seq
		if v.State == "done" {
			s.LastDone = st.Name
		}
		if s.Current == i {
			s.Current = -1
		}
	case "waiting":
		st.DoneSeq = 0
		if s.Current == i {
			s.Current = -1
		}
	default:
		return fmt.Errorf("a step cannot be %q", v.State)
	}
	return nil
}

func (s *State) insertStep(v stepInserted) error {
	if v.Name == "" {
		return fmt.Errorf("the step has no name")
	}
	if i, _ := s.step(v.Name); i >= 0 {
		return fmt.Errorf("there is a step %q already", v.Name)
	}
	st := &step{SheetStep: SheetStep{Name: v.Name, Do: v.Do}, Phase: v.Phase, State: "waiting", Inserted: true}
	at := 0
	if i, _ := s.step(v.After); i >= 0 {
		at = i + 1
	} else if v.Phase == "refit" {
		for at < len(s.Steps) && s.Steps[at].Phase == "strip" {
			at++
		}
	}
	s.Steps = slices.Insert(s.Steps, at, st)
	if s.Current >= at {
		s.Current++
	}
	return nil
}

func (s *State) foldTimer(e Event) error {
	switch e.Kind {
	case KindTimer:
		return with(e, func(v timerSet) error {
			t := &timer{timerSet: v, Set: e.At}
			for i, old := range s.Timers {
				if old.Name == v.Name {
					s.Timers[i] = t
					return nil
				}
			}
			s.Timers = append(s.Timers, t)
			return nil
		})
	case KindTimerSaid:
		return with(e, func(v timerSaid) error {
			// Its timer may have been struck since: then there is nothing to mark.
			for i, t := range s.Timers {
				if t.Name == v.Name {
					t = edit(s.Timers, i)
					if v.Due {
						t.Over = true
					} else {
						t.Told = true
					}
				}
			}
			return nil
		})
	}
	return with(e, func(v named) error {
		for i, t := range s.Timers {
			if t.Name == v.Name {
				edit(s.Timers, i).Ended = true
			}
		}
		return nil
	})
}

func (s *State) foldRun(e Event) error {
	if e.Kind == KindRun {
		return with(e, func(v runStarted) error {
			if s.group(v.Group) == nil || len(v.Passes) == 0 || len(v.Order) == 0 {
				return fmt.Errorf("a tightening run of %q has no bolts or no passes", v.Group)
			}
			if s.Run != nil && s.Run.Group != v.Group {
				s.Paused = append(s.Paused, s.Run)
			}
			s.Paused = slices.DeleteFunc(s.Paused, func(r *run) bool { return r.Group == v.Group })
			s.Run = &run{Group: v.Group, Check: v.Check, Passes: v.Passes, Order: v.Order, Tool: v.Tool}
			s.speakOf(v.Group)
			return nil
		})
	}
	if e.Kind == KindRunResume {
		return with(e, func(v named) error { return s.resumeRun(v.Name) })
	}
	if s.Run == nil {
		return fmt.Errorf("no tightening run is on")
	}
	r := *s.Run
	s.Run = &r
	switch e.Kind {
	case KindRunBolt:
		return with(e, func(v runBolt) error { return r.bolt(v.Bolt) })
	case KindRunBack:
		return r.back()
	case KindRunPause:
		r.Paused = true
	case KindRunEnd:
		s.Run = nil
	}
	return nil
}

// resumeRun takes the run of a group up again; "" the one in hand.
func (s *State) resumeRun(group string) error {
	if s.Run == nil || group != "" && s.Run.Group != group {
		i := slices.IndexFunc(s.Paused, func(r *run) bool { return group == "" || r.Group == group })
		if i < 0 {
			return fmt.Errorf("no tightening run of %q was left", group)
		}
		r := s.Paused[i]
		s.Paused = slices.Delete(s.Paused, i, i+1)
		if s.Run != nil {
			s.Paused = append(s.Paused, s.Run)
		}
		s.Run = r
	}
	r := *s.Run
	r.Paused = false
	s.Run = &r
	s.speakOf(r.Group)
	return nil
}

// bolts are the numbers of a pass in tightening order.
func (r *run) bolts(pass int) []int {
	p := r.Passes[pass]
	if len(p.Order) > 0 {
		return p.Order
	}
	if len(p.Bolts) > 0 {
		var list []int
		for _, b := range r.Order {
			if slices.Contains(p.Bolts, b) {
				list = append(list, b)
			}
		}
		return list
	}
	return r.Order
}

// current is the bolt to do now, 0 when the run is through.
func (r *run) current() int {
	if r.Pass >= len(r.Passes) {
		return 0
	}
	for _, b := range r.bolts(r.Pass) {
		if !slices.Contains(r.Done, b) {
			return b
		}
	}
	return 0
}

// bolt counts bolt b of this pass as done, 0 all that are left; nothing is counted twice.
func (r *run) bolt(b int) error {
	if r.Pass >= len(r.Passes) {
		return fmt.Errorf("the run is through")
	}
	list := r.bolts(r.Pass)
	switch {
	case b == 0:
		r.Done = slices.Clone(list)
	case !slices.Contains(list, b):
		return fmt.Errorf("this pass has no bolt %d", b)
	case slices.Contains(r.Done, b):
		return fmt.Errorf("bolt %d is done in this pass already", b)
	default:
		r.Done = append(slices.Clip(r.Done), b)
	}
	if len(r.Done) == len(list) {
		r.Pass, r.Done = r.Pass+1, nil
	}
	return nil
}

// back takes the last bolt back, over the border of a pass where need be.
func (r *run) back() error {
	if len(r.Done) == 0 {
		if r.Pass == 0 {
			return fmt.Errorf("the run stands at its first bolt")
		}
		r.Pass--
		r.Done = slices.Clone(r.bolts(r.Pass))
	}
	r.Done = slices.Clone(r.Done[:len(r.Done)-1])
	return nil
}
