package speech

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestTheForemostCandidatesStayInOrder(t *testing.T) {
	b := &beam{priorWeight: 0.5}
	at := func(sound, silence float64) candidate { return candidate{likelihood: likelihood{sound, silence}} }
	all := []candidate{at(-1, 0), at(-9, 0), at(-3, -10), at(-5, 0), at(-1, 0)}
	require.Equal(t, []candidate{all[0], all[2], all[4]}, b.foremost(all, 3), "what silence makes unlikely counts for more")
	require.Equal(t, []candidate{all[0], all[2], all[4]}, b.foremost(all, 2), "equals stay together")
	require.Equal(t, all, b.foremost(all, 5))
}
