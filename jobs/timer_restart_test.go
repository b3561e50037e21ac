package jobs

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/intent"
)

// A timer runs through restarts: its warning and its end are said once each,
// whatever was closed and opened in between, also when the moment fell into
// the time nobody was there.
func TestATimerSpeaksOnceEachThroughRestarts(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.putback")
	b, err := Open(path, Options{NoCopy: true})
	require.NoError(t, err)
	_, err = b.Do(start, intent.Timer{Name: "soak", For: time.Hour}, Heard{"x", 1})
	require.NoError(t, err)
	var said []string
	for _, minutes := range []int{1, 49, 51, 52, 59, 61, 62, 200} {
		require.NoError(t, b.Close())
		b, err = Open(path, Options{NoCopy: true})
		require.NoError(t, err)
		for range 2 {
			told, err := b.Tick(start.Add(time.Duration(minutes) * time.Minute))
			require.NoError(t, err)
			for _, r := range told {
				said = append(said, r.Text)
			}
		}
	}
	require.NoError(t, b.Close())
	require.Len(t, said, 2, "%q", said)
	require.Contains(t, said[0], "left")
	require.Contains(t, said[1], "time is up")
}
