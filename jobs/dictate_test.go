package jobs

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/intent"
	"putback/jobs/measure"
)

func TestAFigureThatWouldSnapABoltIsStoredOnlyAfterYes(t *testing.T) {
	b, err := OpenMemory(Options{Sheet: DemoSheet(), Now: time.Unix(1000, 0)})
	require.NoError(t, err)
	defer b.Close()
	// 70 lbf·ft on an M6 8.8 is 4.9 times its breaking load (computed, trade rule 2).
	q, err := measure.Parse("70 lbf·ft")
	require.NoError(t, err)
	set := intent.SetSpec{Name: "front cover short", Torque: &q}
	out, err := b.Do(time.Unix(1001, 0), set, Heard{Text: "front cover short seventy foot pounds"})
	require.NoError(t, err)
	require.Equal(t, ReplyObjection, out.Reply.Kind, out.Reply.Text)
	require.Empty(t, out.Events)
	out, err = b.Do(time.Unix(1002, 0), intent.Yes{}, Heard{Text: "yes"})
	require.NoError(t, err)
	require.NotEmpty(t, out.Events)
}
