package jobs

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The order is the written one, moved only as far as the constraints ask:
// again and again the first step that waits for nothing more. A ring is told
// by its members, each waiting for the next.
func TestTheOrderIsTheFirstFreeStepAgainAndAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "steps")
		s := newState()
		after := make([][]int, n)
		for i := range n {
			st := &step{Phase: "refit", State: "waiting", SheetStep: SheetStep{Name: fmt.Sprint("s", i)}}
			for range rapid.IntRange(0, 2).Draw(t, "constraints") {
				j := rapid.IntRange(0, n-1).Draw(t, "after")
				after[i] = append(after[i], j)
				if rapid.Bool().Draw(t, "by voice") {
					s.After = append(s.After, stepAfter{st.Name, fmt.Sprint("s", j)})
				} else {
					st.After = append(st.After, fmt.Sprint("s", j))
				}
			}
			s.Steps = append(s.Steps, st)
		}
		var want []int
		for found := true; found; {
			found = false
			for i := range n {
				if slices.Contains(want, i) || slices.ContainsFunc(after[i], func(j int) bool { return !slices.Contains(want, j) }) {
					continue
				}
				want, found = append(want, i), true
				break
			}
		}
		got, err := s.order("refit")
		if len(want) == n {
			require.NoError(t, err)
			require.Equal(t, want, got)
			return
		}
		var ring *CycleError
		require.ErrorAs(t, err, &ring)
		for k, name := range ring.Members {
			next := ring.Members[(k+1)%len(ring.Members)]
			_, st := s.step(name)
			require.Contains(t, s.constraints(st), next)
		}
	})
}
