package jobs

import (
	"testing"

	"github.com/stretchr/testify/require"

	"putback/intent"
	"putback/jobs/measure"
)

func TestAnAnswerIsTakenHoweverItIsSpelled(t *testing.T) {
	pounds := func(u measure.Unit) intent.Intent {
		return intent.SetSpec{Name: "pump bolts", Torque: &measure.Quantity{Amount: 16, Unit: u}}
	}
	ask := intent.Unclear{Question: "Foot-pounds or inch-pounds?", Choices: []string{"foot-pounds", "inch-pounds"},
		Then: []intent.Intent{pounds(measure.FootPound), pounds(measure.InchPound)}}
	for _, said := range []string{"foot-pounds", "foot pounds", "lbf·ft", "ft-lb", "foot"} {
		s := newSession(t, DemoSheet())
		s.do(ask)
		s.expect(intent.Choice{Text: said}, "Pump bolts, 16 lbf·ft.")
	}
	s := newSession(t, DemoSheet())
	s.do(ask)
	s.expect(intent.Choice{Text: "pounds"}, "Say foot-pounds or inch-pounds.")
	s.expect(intent.No{}, "Nothing written down.")
	s.expect(intent.Choice{Text: "foot-pounds"}, "I had asked nothing.")
}

func TestAReasonIsTakenInAnyWords(t *testing.T) {
	s := newSession(t, DemoSheet())
	r := s.do(intent.SkipStep{Name: "belt marks"})
	require.Equal(t, "Why skip belt marks?", r.Text)
	require.True(t, r.Free)
	s.expect(intent.Choice{Text: "there is no belt"}, "Skipped belt marks: there is no belt. Next: battery negative off. Take the battery's negative off before any wiring or the starter; your manual and local rules decide.")
}

func TestAQuestionExpiresAndChangesNothing(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.Removed{Items: bolts(14), Where: "front cover short"})
	s.wait(QuestionTime + 1)
	require.Equal(t, []string{"No answer, so nothing is written down."}, s.tick())
	s.expect(intent.Yes{}, "I had asked nothing.")
	require.Zero(t, s.b.View(s.now).Groups[0].Removed)
}
