package jobs

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/intent"
	"putback/jobs/measure"
)

var start = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

func tenMil(n int) intent.Fastener {
	return intent.Fastener{Count: n, Size: &intent.Size{Said: "tens", Kind: intent.SizeWrench, Across: measure.Quantity{Amount: 10, Unit: measure.Millimetre}}}
}

func TestWhatWasTakenOffIsReadBackAndKept(t *testing.T) {
	path := t.TempDir() + "/job.putback"
	b, err := Open(path, Options{})
	require.NoError(t, err)
	out, err := b.Do(start, intent.Removed{Items: []intent.Fastener{tenMil(4)}, Where: "front cover"}, Heard{"four tens off the front cover", 1})
	require.NoError(t, err)
	require.Equal(t, "Four tens off the front cover.", out.Reply.Text)
	out, err = b.Do(start, intent.Removed{Items: []intent.Fastener{tenMil(2)}, Where: "front cover"}, Heard{"two more", 1})
	require.NoError(t, err)
	require.Equal(t, "Two tens off the front cover. Six out now.", out.Reply.Text)
	out, err = b.Do(start, intent.Strike{}, Heard{"strike that", 1})
	require.NoError(t, err)
	require.Contains(t, out.Reply.Text, "Struck: 2 off the front cover tens")
	_, err = Open(path, Options{})
	require.ErrorIs(t, err, ErrLocked)
	require.NoError(t, b.Close())
	b, err = Open(path, Options{})
	require.NoError(t, err)
	require.Equal(t, 4, b.View(start).Groups[0].Out)
	require.NoError(t, b.Close())
}
