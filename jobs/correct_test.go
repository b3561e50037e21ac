package jobs

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/intent"
	"putback/jobs/measure"
)

func TestTheLastEntryIsCorrectedByWhatWasWrongInIt(t *testing.T) {
	five := measure.Quantity{Amount: 5}
	for _, c := range []struct {
		name  string
		first intent.Intent
		fix   intent.Choice
		want  string
		out   map[string]int
	}{
		{"the number", intent.Removed{Items: bolts(4), Where: "front cover short"}, intent.Choice{Text: "five", Quantity: &five},
			"Five bolts off the front cover short. Seven still to come.", map[string]int{"front cover short": 5}},
		{"the place", intent.Removed{Items: bolts(4), Where: "pump bolts"}, intent.Choice{Text: "sump front"},
			"Four sump front bolts off. That's all of them.", map[string]int{"sump front bolts": 4, "pump bolts": 0}},
		{"the length", intent.Removed{Items: []intent.Fastener{{Count: 2, Length: "short"}}, Where: "front cover"}, intent.Choice{Text: "long"},
			"Two long ones off the front cover. Two still to come.", map[string]int{"front cover short": 0, "front cover long": 2}},
		{"nothing known", intent.Removed{Items: bolts(4), Where: "pump bolts"}, intent.Choice{Text: "banana"},
			"I had asked nothing.", map[string]int{"pump bolts": 4}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newSession(t, DemoSheet())
			s.do(c.first)
			s.expect(c.fix, c.want)
			for _, g := range s.b.View(s.now).Groups {
				if n, ok := c.out[g.Name]; ok {
					require.Equal(t, n, g.Out, g.Name)
				}
			}
		})
	}
}

func TestADictatedFigureIsCorrected(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.expect(intent.SetSpec{Name: "pump bolts", Torque: nm(21)}, "Pump bolts, 21 N·m.")
	s.expect(intent.Choice{Text: "24", Quantity: &measure.Quantity{Amount: 24}}, "Pump bolts, 24 N·m.")
	s.expect(intent.AskTorque{Name: "pump bolts"}, "Pump bolts: 24 N·m, dictated just now.")
	s.expect(intent.Measure{Name: "cover flatness", Value: mm(0.04)}, "Cover flatness 0.04 mm, within the limit.")
	s.expect(intent.Choice{Text: "0.06 mm", Quantity: &measure.Quantity{Amount: 0.06, Unit: measure.Millimetre}},
		"Cover flatness 0.06 mm, 0.01 mm over the limit of 0.05 mm.")
	s.expect(intent.Strike{}, "Struck: cover flatness: 0.06 mm.")
	require.Empty(t, s.b.View(s.now).Limits[3].Value, "both are gone, the wrong one by the correction")
}

func TestACorrectionIsOnlyTakenAtOnce(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.Removed{Items: bolts(4), Where: "pump bolts"})
	s.wait(2 * time.Minute)
	s.expect(intent.Choice{Text: "five", Quantity: &measure.Quantity{Amount: 5}}, "I had asked nothing.")
	require.Equal(t, 4, s.b.View(s.now).Groups[3].Out)
}

// A correction takes the entry back and says it anew. When the new one cannot
// be written, the old one stands: the two go to the disk in one.
func TestACorrectionThatCannotBeWrittenLeavesTheEntry(t *testing.T) {
	b, err := OpenMemory(Options{Sheet: DemoSheet(), Now: start})
	require.NoError(t, err)
	defer b.Close()
	_, err = b.Do(start, intent.Removed{Items: bolts(4), Where: "pump bolts"}, Heard{})
	require.NoError(t, err)
	before, events := wholeState(t, b.state), b.state.Seq
	_, err = b.journal.db.Exec("CREATE TEMP TRIGGER full BEFORE INSERT ON events WHEN NEW.kind = 'removed' BEGIN SELECT RAISE(ABORT, 'no more'); END")
	require.NoError(t, err)
	three := measure.Quantity{Amount: 3}
	_, err = b.Do(start.Add(time.Second), intent.Choice{Text: "three", Quantity: &three}, Heard{})
	require.ErrorContains(t, err, "no more")
	require.Equal(t, before, wholeState(t, b.state))
	list, err := b.History(0, 0)
	require.NoError(t, err)
	require.Len(t, list, int(events))
	_, err = b.journal.db.Exec("DROP TRIGGER full")
	require.NoError(t, err)
	out, err := b.Do(start.Add(2*time.Second), intent.Choice{Text: "three", Quantity: &three}, Heard{Text: "make that \xff three", Confidence: math.NaN()})
	require.NoError(t, err)
	require.Equal(t, []string{KindStrike, KindRemoved}, []string{out.Events[0].Kind, out.Events[1].Kind})
	require.Equal(t, 3, b.state.group("pump bolts").out())
	list, err = b.History(0, 0)
	require.NoError(t, err)
	require.Equal(t, out.Events, list[len(list)-2:], "what was not text or no number is not written")
}
