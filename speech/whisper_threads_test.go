package speech

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestRunningThreadsAreReadFromTheLoad(t *testing.T) {
	// The example of proc(5) for /proc/loadavg has these five fields.
	n, ok := runnable([]byte("0.20 0.18 0.12 3/80 11206\n"))
	require.True(t, ok)
	require.Equal(t, 3, n)
	for _, bad := range []string{"", "0.20 0.18 0.12", "0.20 0.18 0.12 three/80 11206", "0.20 0.18 0.12 3 11206"} {
		_, ok := runnable([]byte(bad))
		require.False(t, ok, bad)
	}
}

func TestThereIsAlwaysAThreadAndNeverMoreThanAsked(t *testing.T) {
	for most := range 9 {
		n := idleThreads(most)
		require.GreaterOrEqual(t, n, 1)
		require.LessOrEqual(t, n, max(1, most))
	}
}
