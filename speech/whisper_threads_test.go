package speech

import (
	"testing"
	"time"

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

func TestAThreadsStateStandsBehindItsName(t *testing.T) {
	// The fields are those of proc(5) for /proc/pid/stat; a name may hold brackets.
	require.True(t, running([]byte("7 (putback) R 1 7 7 0")))
	require.True(t, running([]byte("7 (a) S (b)) R 1 7 7 0")))
	require.False(t, running([]byte("7 (R) S 1 7 7 0")))
	require.False(t, running([]byte("7 putback R")))
	require.False(t, running(nil))
}

func TestTheCountOfOtherProgramsIsKeptForAMoment(t *testing.T) {
	start := time.Unix(1000, 0)
	c := &crowd{at: start, count: 7}
	require.Equal(t, 7, c.now(start.Add(crowdKept-1)))
	c.now(start.Add(crowdKept))
	require.Equal(t, start.Add(crowdKept), c.at, "counted anew")
	c = &crowd{at: start, count: 7}
	c.now(start.Add(-time.Hour))
	require.Equal(t, start.Add(-time.Hour), c.at, "a clock set back does not keep an old count")
}

func TestThereIsAlwaysAThreadAndNeverMoreThanAsked(t *testing.T) {
	for most := range 9 {
		n := idleThreads(most)
		require.GreaterOrEqual(t, n, 1)
		require.LessOrEqual(t, n, max(1, most))
	}
}
