package jobs

import (
	"container/heap"
	"fmt"
	"slices"
	"strings"
)

// CycleError tells that steps wait for each other; Members are in waiting order.
type CycleError struct{ Members []string }

func (e *CycleError) Error() string {
	return "these steps wait for each other in a ring: " + strings.Join(append(slices.Clone(e.Members), e.Members[0]), " waits for ")
}

// makeRefit adds the refit steps nobody wrote: what was taken off and is in no
// refit step of the sheet goes back in the reverse order of its coming off.
func (s *State) makeRefit() {
	covered := map[string]bool{}
	undone := map[string]bool{}
	for _, st := range s.Steps {
		if st.Phase != "refit" {
			continue
		}
		undone[st.Undoes] = true
		for _, g := range st.Fasteners {
			covered["g "+g] = true
		}
		for _, p := range st.Parts {
			covered["p "+p] = true
		}
	}
	type made struct {
		st  *step
		off int64
	}
	var list []made
	for _, st := range s.Steps {
		if st.Phase != "strip" || undone[st.Name] || st.State != "done" {
			continue
		}
		m := made{st: &step{Phase: "refit", State: "waiting", Made: true}, off: st.DoneSeq}
		for _, name := range st.Fasteners {
			if g := s.group(name); g != nil && !covered["g "+name] && g.Removed+g.Loose > 0 {
				covered["g "+name] = true
				m.st.Fasteners = append(m.st.Fasteners, name)
			}
		}
		for _, name := range st.Parts {
			if !covered["p "+name] {
				covered["p "+name] = true
				m.st.Parts = append(m.st.Parts, name)
			}
		}
		if len(m.st.Fasteners)+len(m.st.Parts) == 0 {
			continue
		}
		m.st.Undoes = st.Name
		things := append(slices.Clone(m.st.Parts), m.st.Fasteners...)
		m.st.Name = s.freeStep(things[0] + " back")
		m.st.Do = "put back the " + andList(things)
		list = append(list, m)
	}
	for _, g := range s.Groups {
		if covered["g "+g.Name] || g.holes()+g.Loose == 0 {
			continue
		}
		list = append(list, made{off: g.OffSeq, st: &step{Phase: "refit", State: "waiting", Made: true, SheetStep: SheetStep{
			Name: s.freeStep(g.Name + " back"), Do: "put back the " + g.Name, Fasteners: []string{g.Name}}}})
	}
	slices.SortStableFunc(list, func(a, b made) int { return int(b.off - a.off) })
	// Each goes before the first refit step for something that came off earlier.
	for _, m := range list {
		at := len(s.Steps)
		for i, st := range s.Steps {
			if st.Phase == "refit" && s.offSeq(st) > 0 && s.offSeq(st) < m.off {
				at = i
				break
			}
		}
		s.Steps = slices.Insert(s.Steps, at, m.st)
	}
}

// offSeq is when the first of a refit step's groups came off.
func (s *State) offSeq(st *step) int64 {
	var seq int64
	if _, u := s.step(st.Undoes); u != nil {
		seq = u.DoneSeq
	}
	for _, name := range st.Fasteners {
		if g := s.group(name); g != nil && g.OffSeq > 0 && (seq == 0 || g.OffSeq < seq) {
			seq = g.OffSeq
		}
	}
	return seq
}

func (s *State) freeStep(name string) string {
	base := name
	for n := 2; ; n++ {
		if _, st := s.step(name); st == nil {
			return name
		}
		name = fmt.Sprintf("%s %d", base, n)
	}
}

// waits names the steps a step waits for: its constraints not yet met.
func (s *State) waits(st *step) []string {
	var list []string
	for _, name := range s.constraints(st) {
		if _, a := s.step(name); a != nil && a.State != "done" && a.State != "skipped" {
			list = append(list, name)
		}
	}
	return list
}

func (s *State) constraints(st *step) []string {
	list := slices.Clone(st.After)
	for _, a := range s.After {
		if a.Step == st.Name {
			list = append(list, a.After)
		}
	}
	return list
}

// order gives the places in Steps of a phase in the order they are to be
// done: the written order, moved only as far as the constraints ask.
func (s *State) order(phase string) ([]int, error) {
	var todo []int
	for i, st := range s.Steps {
		if st.Phase == phase {
			todo = append(todo, i)
		}
	}
	byName := map[string]int{}
	for _, i := range todo {
		byName[s.Steps[i].Name] = i
	}
	// Of the steps that wait for nothing more, the one written first is next.
	waits := map[int]int{}
	frees := map[int][]int{}
	var free written
	for _, i := range todo {
		for _, a := range s.constraints(s.Steps[i]) {
			if j, ok := byName[a]; ok {
				waits[i]++
				frees[j] = append(frees[j], i)
			}
		}
		if waits[i] == 0 {
			free = append(free, i) // in ascending order, which is a heap
		}
	}
	var list []int
	placed := map[int]bool{}
	for len(free) > 0 {
		i := heap.Pop(&free).(int)
		placed[i] = true
		list = append(list, i)
		for _, k := range frees[i] {
			if waits[k]--; waits[k] == 0 {
				heap.Push(&free, k)
			}
		}
	}
	if len(list) < len(todo) {
		return nil, s.cycle(todo, placed, byName)
	}
	return list, nil
}

// written is a heap of places in Steps, the first written on top.
type written []int

func (w written) Len() int           { return len(w) }
func (w written) Less(i, j int) bool { return w[i] < w[j] }
func (w written) Swap(i, j int)      { w[i], w[j] = w[j], w[i] }
func (w *written) Push(x any)        { *w = append(*w, x.(int)) }
func (w *written) Pop() any {
	old := *w
	x := old[len(old)-1]
	*w = old[:len(old)-1]
	return x
}

// cycle names one ring among the steps that could not be placed.
func (s *State) cycle(todo []int, placed map[int]bool, byName map[string]int) error {
	var path []string
	at := map[string]int{}
	var cur int
	for _, i := range todo {
		if !placed[i] {
			cur = i
			break
		}
	}
	for {
		name := s.Steps[cur].Name
		if from, ok := at[name]; ok {
			return &CycleError{Members: path[from:]}
		}
		at[name] = len(path)
		path = append(path, name)
		for _, a := range s.constraints(s.Steps[cur]) {
			if j, ok := byName[a]; ok && !placed[j] {
				cur = j
				break
			}
		}
	}
}

// next gives the step to do after the current one: the first in order that is
// still waiting, nil when the phase is through. When every step that is left
// waits for something, the first of them comes with what it waits for.
func (s *State) next() (*step, []string) {
	list, err := s.order(s.stepPhase())
	if err != nil {
		return nil, nil
	}
	from := 0
	if c := s.open(); c != nil {
		for k, i := range list {
			if s.Steps[i] == c {
				from = k + 1
			}
		}
	}
	var blocked *step
	for _, part := range [][]int{list[from:], list[:from]} {
		for _, i := range part {
			st := s.Steps[i]
			if st.State != "waiting" || s.covered(st) {
				continue
			}
			w := s.waits(st)
			if len(w) == 0 || len(w) == 1 && s.open() != nil && w[0] == s.open().Name {
				return st, nil
			}
			if blocked == nil {
				blocked = st
			}
		}
	}
	if blocked != nil {
		return blocked, s.waits(blocked)
	}
	return nil, nil
}

// stepPhase is the phase whose steps are being walked.
func (s *State) stepPhase() string {
	if s.Phase == "refit" || s.Phase == "start" {
		return "refit"
	}
	return "strip"
}
