package jobs

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/intent"
)

func TestStatusShowsAllThatIsOnRecord(t *testing.T) {
	s := newSession(t, DemoSheet())
	for _, in := range []intent.Intent{
		intent.Suspect{Name: "worn impeller"},
		intent.Evidence{Name: "worn impeller", For: true, Text: "low flow"},
		intent.RuleOut{Name: "worn impeller", Reason: "all vanes are there"},
		intent.Removed{Items: all(), Where: "pump bolts", Stow: "cup four"},
		intent.Tip{Name: "pump bolts", Text: "the back one by hand"},
		intent.Condition{Items: bolts(1), Where: "pump bolts", What: "stretched"},
		intent.Loosened{Items: all(), Where: "alternator bolts"},
		intent.Removed{Items: all(), Where: "exchanger nuts"},
		intent.Refitted{Items: all(), Where: "exchanger nuts", Snug: true},
		intent.Excuse{Where: "pump bolts", Reason: "new ones on order"},
		intent.PartAside{Name: "raw-water pump", Where: "top shelf"},
		intent.PartNeeded{Name: "drive belt", Count: 1},
		intent.Drained{Fluid: "coolant", Amount: litres(4)},
		intent.Note{Text: "the lower hose is cracked"},
		intent.Mark{Label: "crack"},
		intent.Flag{Text: "not sure the pump sits flush"},
		intent.Measure{Name: "impeller clearance", Value: mm(0.35)},
		intent.Timer{Name: "soak", For: 20 * time.Minute},
		intent.Wrench{Name: "small click"},
		intent.InsertStep{Text: "photograph the hoses"},
		intent.SkipStep{Name: "belt marks", Reason: "no belt"},
		intent.Next{},
		intent.Tighten{Name: "exchanger nuts"},
		intent.Done{},
		intent.Pause{},
	} {
		r := s.do(in)
		require.NotEqual(t, ReplyQuestion, r.Kind, "%#v: %s", in, r.Text)
	}
	s.do(intent.AskGuide{Size: *tenMil(1).Size})
	var out strings.Builder
	require.NoError(t, WriteStatus(&out, s.b.View(s.now)))
	text := strings.Join(strings.Fields(out.String()), " ")
	for _, want := range []string{
		"Front cover and raw-water pump, three-cylinder marine diesel (demo)",
		"stage: strip",
		"step: photograph the hoses, photograph the hoses",
		"next: power off",
		"in hand: small click",
		"asked: Is the thread",
		"strip steps: 3 of 26 done",
		"skipped: belt marks (no belt)",
		"inserted: photograph the hoses, open",
		"pump bolts 4 4 0 0 0 4 0 0 0 0 cup four, 22 N·m from your sheet, 1 stretched, new ones on order",
		"tip: the back one by hand",
		"alternator bolts 2 0 0 0 0 0 2 0 0 0",
		"exchanger nuts 6 6 6 0 0 0 0 6 0 0 18 N·m from your sheet",
		"tightening exchanger nuts: pass 1 of 4 at 5.5 N·m, 1 of 6 bolts done, bolt 4 next, paused",
		"part raw-water pump: set aside, top shelf",
		"part drive belt: 1 needed, 0 at hand, renew if damaged",
		"fluid coolant: out 4 L; wants 4.5 L",
		"timer soak: until 2 Mar 09:20:",
		"doubt: not sure the pump sits flush (pump off)",
		"suspect worn impeller: ruled out (all vanes are there)",
		"for: low flow",
		"impeller clearance: 0.35 mm, over (at most 0.3 mm)",
		"note 2 Mar 09:00:28: the lower hose is cracked",
		"mark 2 Mar 09:00:30: crack",
	} {
		require.Contains(t, text, want)
	}
}
