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
	s.expect(intent.SetSpec{Name: "pump bolts", Torque: nm(21)}, "Pump bolts, 21 N·m instead of 22 N·m.")
	s.expect(intent.Choice{Text: "24", Quantity: &measure.Quantity{Amount: 24}}, "Pump bolts, 24 N·m instead of 22 N·m.")
	s.expect(intent.AskTorque{Name: "pump bolts"}, "Pump bolts: 24 N·m, dictated just now.")
	s.expect(intent.Measure{Name: "cover flatness", Value: mm(0.04)}, "Cover flatness 0.04 mm, within the limit.")
	s.expect(intent.Choice{Text: "0.06 mm", Quantity: &measure.Quantity{Amount: 0.06, Unit: measure.Millimetre}},
		"Cover flatness 0.06 mm, 0.01 mm over the limit of 0.05 mm.")
	s.expect(intent.Strike{}, "Struck: cover flatness: 0.06 mm. Back to: cover flatness: 0.04 mm.")
	require.Equal(t, "0.04 mm", s.b.View(s.now).Limits[3].Value)
	s.expect(intent.Strike{}, "Struck: cover flatness: 0.04 mm.")
	require.Empty(t, s.b.View(s.now).Limits[3].Value)
}

func heard(s *session, text string, n float64) string {
	s.t.Helper()
	s.now = s.now.Add(2 * time.Second)
	out, err := s.b.Do(s.now, intent.Choice{Text: text, Quantity: &measure.Quantity{Amount: n}}, Heard{Text: text, Confidence: 1})
	require.NoError(s.t, err)
	return out.Reply.Text
}

func TestAStruckCorrectionBringsBackWhatWasBefore(t *testing.T) {
	s := newSession(t, DemoSheet())
	empty := bareState(t, s.b)
	out := func() int { return s.b.View(s.now).Groups[0].Out }
	s.do(intent.Removed{Items: bolts(4), Where: "front cover short"})
	four := bareState(t, s.b)
	heard(s, "make that five", 5)
	five := bareState(t, s.b)
	s.expect(intent.AskLast{}, "5 off the front cover short, just now.")
	heard(s, "make that six", 6)
	require.Equal(t, 6, out())
	s.expect(intent.Strike{}, "Struck: 6 off the front cover short. Back to: 5 off the front cover short.")
	require.Equal(t, five, bareState(t, s.b))
	s.restart()
	require.Equal(t, five, bareState(t, s.b), "and folded anew from the file")
	s.expect(intent.Strike{}, "Struck: 5 off the front cover short. Back to: 4 off the front cover short.")
	require.Equal(t, four, bareState(t, s.b))
	s.expect(intent.Strike{}, "Struck: 4 off the front cover short.")
	require.Equal(t, empty, bareState(t, s.b))
	s.expect(intent.Strike{}, "Nothing to strike.")
	s.restart()
	require.Equal(t, empty, bareState(t, s.b))
}

func TestACorrectionReachesOverANote(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.Removed{Items: bolts(4), Where: "front cover short"})
	s.do(intent.Note{Text: "the gasket is torn"})
	s.expect(intent.Choice{Text: "five", Quantity: &measure.Quantity{Amount: 5}}, "I had asked nothing.") // no word of changing
	require.Equal(t, "Five bolts off the front cover short. Seven still to come.", heard(s, "make that five", 5))
	v := s.b.View(s.now)
	require.Equal(t, 5, v.Groups[0].Out)
	require.Len(t, v.Notes, 1, "the note stays")
	s.expect(intent.Strike{}, "Struck: 5 off the front cover short. Back to: 4 off the front cover short.")
	s.wait(2 * time.Minute)
	require.Equal(t, "I find no figure of the last minute to change. Say it anew, or strike that.", heard(s, "make that five", 5))
	s.restart()
	require.Equal(t, 4, s.b.View(s.now).Groups[0].Out)
}

func TestACorrectionThatOthersBuildOnIsRefused(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.Removed{Items: bolts(3), Where: "pump pulley bolts"})
	s.do(intent.Refitted{Items: bolts(3), Where: "pump pulley bolts"})
	s.do(intent.Tighten{Name: "pump pulley bolts"})
	s.do(intent.Done{Pass: true})
	all := bareState(t, s.b)
	require.Equal(t, "What you said since builds on it. Strike that first.", heard(s, "make that two", 2))
	require.Equal(t, all, bareState(t, s.b))
}

func TestACorrectionThatMustBeAskedAboutLeavesTheEntryUntilTheAnswer(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.Removed{Items: bolts(4), Where: "front cover short"})
	four := bareState(t, s.b)
	require.Equal(t, "The sheet has twelve, that makes fourteen: where were the two?", heard(s, "make that fourteen", 14))
	require.Equal(t, four, bareState(t, s.b))
	s.expect(intent.No{}, "It stays as it was.")
	require.Equal(t, four, bareState(t, s.b))
	heard(s, "make that fourteen", 14)
	s.do(intent.Yes{})
	require.Equal(t, 14, s.b.View(s.now).Groups[0].Out)
	require.Contains(t, s.do(intent.Strike{}).Text, "Back to: 4 off the front cover short.")
	require.Equal(t, four, bareState(t, s.b))
}

func TestACorrectionIsOnlyTakenAtOnce(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.Removed{Items: bolts(4), Where: "pump bolts"})
	s.wait(2 * time.Minute)
	s.expect(intent.Choice{Text: "five", Quantity: &measure.Quantity{Amount: 5}}, "I had asked nothing.")
	require.Equal(t, 4, s.b.View(s.now).Groups[3].Out)
}

// When a correction cannot be written, the entry stands.
func TestACorrectionThatCannotBeWrittenLeavesTheEntry(t *testing.T) {
	b, err := OpenMemory(Options{Sheet: DemoSheet(), Now: start})
	require.NoError(t, err)
	defer b.Close()
	_, err = b.Do(start, intent.Removed{Items: bolts(4), Where: "pump bolts"}, Heard{})
	require.NoError(t, err)
	before, events := wholeState(t, b.state), b.state.Seq
	_, err = b.journal.db.Exec("CREATE TEMP TRIGGER full BEFORE INSERT ON events WHEN NEW.kind = 'amend' BEGIN SELECT RAISE(ABORT, 'no more'); END")
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
	require.Len(t, out.Events, 1)
	require.Equal(t, KindAmend, out.Events[0].Kind)
	require.Equal(t, 3, b.state.group("pump bolts").out())
	list, err = b.History(0, 0)
	require.NoError(t, err)
	require.Equal(t, out.Events, list[len(list)-1:], "what was not text or no number is not written")
}

// 22 lbf·ft × 1.3558 = 29.83 N·m. Source: NIST SP 811.
func TestATorqueThatIsNotTheOneWantedIsAskedAbout(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.Removed{Items: all(), Where: "pump bolts"})
	s.do(intent.Refitted{Items: all(), Where: "pump bolts"})
	feet := &measure.Quantity{Amount: 22, Unit: measure.FootPound}
	s.expect(intent.Torqued{Items: all(), Where: "pump bolts", Torque: feet, How: "wrench"},
		"22 lbf·ft is 29.8 N·m, wanted is 22 N·m. Say newton metres if you meant that, or yes to keep 22 lbf·ft.")
	s.expect(intent.Choice{Text: "newton metres"}, "Four pump bolts torqued, 22 N·m. That's all of them.")
	s.do(intent.Strike{})
	s.expect(intent.Torqued{Items: all(), Where: "pump bolts", Torque: nm(15), How: "wrench"}, "Wanted is 22 N·m. Was it 15 N·m?")
	s.expect(intent.No{}, "Nothing written down.")
	s.expect(intent.Torqued{Items: all(), Where: "pump bolts", Torque: nm(23), How: "wrench"}, "Four pump bolts torqued, 23 N·m. That's all of them.")
}
