package jobs

import (
	"testing"
	"time"

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
		s.expect(intent.Choice{Text: said}, "Pump bolts, 16 lbf·ft instead of 22 N·m.")
	}
	s := newSession(t, DemoSheet())
	s.do(ask)
	s.expect(intent.Choice{Text: "pounds"}, "Say foot-pounds or inch-pounds.")
	s.expect(intent.No{}, "Nothing written down.")
	s.expect(intent.Choice{Text: "foot-pounds"}, "I had asked nothing.")
}

func TestAFigureThatSoundsLikeAnotherIsAskedAbout(t *testing.T) {
	torque := func(n float64) intent.Intent {
		return intent.SetSpec{Name: "pump bolts", Torque: &measure.Quantity{Amount: n, Unit: measure.NewtonMetre}}
	}
	ask := intent.Unclear{Question: "13 or 30?", Choices: []string{"13", "30"}, Then: []intent.Intent{torque(13), torque(30)}}
	for _, said := range []intent.Choice{
		{Text: "thirteen", Quantity: &measure.Quantity{Amount: 13}},
		{Text: "13 newton metres", Quantity: &measure.Quantity{Amount: 13, Unit: measure.NewtonMetre}},
		{Text: "13"},
	} {
		s := newSession(t, DemoSheet())
		r := s.do(ask)
		require.Equal(t, "13 or 30?", r.Text)
		require.True(t, r.Digits, "the voice tells them apart digit by digit")
		s.expect(said, "Pump bolts, 13 N·m instead of 22 N·m.")
	}
	s := newSession(t, DemoSheet())
	s.do(ask)
	s.expect(intent.Choice{Text: "fourteen", Quantity: &measure.Quantity{Amount: 14}}, "Say 13 or 30.")
	s.expect(intent.No{}, "Nothing written down.")
}

func TestASentenceThatWasLikelyMeantIsAskedAbout(t *testing.T) {
	likely := func(in intent.Intent) intent.Unclear {
		return intent.Unclear{Question: "Say again?", Then: []intent.Intent{in}}
	}
	off := intent.Removed{Items: []intent.Fastener{tenMil(2)}, Where: "front cover short"}
	s := newSession(t, DemoSheet())
	r := s.do(likely(off))
	require.Equal(t, "Two bolts off the front cover short, right?", r.Text)
	require.Equal(t, ReplyQuestion, r.Kind)
	require.Empty(t, s.b.state.Last, "nothing is written before the yes")
	s.expect(intent.Yes{}, "Two bolts off the front cover short. Ten still to come.")

	s = newSession(t, DemoSheet())
	s.do(likely(off))
	s.expect(intent.No{}, "Then say it again.")
	s.expect(off, "Two bolts off the front cover short. Ten still to come.")

	// The sentence itself, or another, takes the question's place without a word about it.
	s.do(likely(off))
	s.expect(off, "Two bolts off the front cover short. Eight still to come.")
	s.do(likely(off))
	s.expect(intent.Strike{}, "Nothing written down.")

	// An answer that was not heard surely is none, and the question stays open.
	s.do(intent.Unclear{Question: "13 or 30?", Choices: []string{"13", "30"}, Then: []intent.Intent{off, off}})
	s.expect(likely(intent.Choice{Text: "13"}), "Say again?")
	s.expect(likely(intent.No{}), "Say again?")
	s.expect(intent.No{}, "Nothing written down.")

	// What changes nothing, or would be asked about anyway, is to be said again.
	for _, in := range []intent.Intent{intent.AskLeft{}, intent.Removed{Items: []intent.Fastener{tenMil(30)}, Where: "front cover short"}} {
		s.expect(likely(in), "Say again?")
	}
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

func TestNothingEndsBehindTheBackOfAnOpenQuestion(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.GoStep{Name: "cover off"})
	s.expect(intent.Removed{Items: bolts(2), Where: "front cover"}, "Short or long?")
	s.expect(intent.Done{}, "First: short or long?")
	s.expect(intent.Choice{Text: "long"}, "Two bolts off the front cover long. Two still to come.")
	s.do(intent.Removed{Items: bolts(2), Where: "front cover"})
	s.expect(intent.Strike{}, "Nothing written down.")
	require.Equal(t, 2, s.b.View(s.now).Groups[1].Out, "what was recorded before stays")
	s.expect(intent.Yes{}, "I had asked nothing.")
	s.do(intent.Removed{Items: bolts(2), Where: "front cover"})
	s.expect(intent.Note{Text: "a bolt is bent"}, "Noted: a bolt is bent. What I asked about before is not written down.")
}

// Sizes: ISO 4014 (M10: 16 mm), DIN 931 (17 mm), JIS B 1180 (14 mm) and ISO 4762 (key 8 mm), as in fastening.
func TestQuestionsOfFasteningWaitForTheirAnswer(t *testing.T) {
	s := newSession(t, DemoSheet())
	ten := measure.Quantity{Amount: 10, Said: "10"}
	s.expect(intent.AskHead{}, "Which thread?")
	head := "M10: 16 mm ISO hexagon or flange nut, 17 mm old DIN hexagon, 14 mm small JIS hexagon"
	require.Contains(t, s.do(intent.Choice{Text: "M10"}).Text, head)
	s.do(intent.AskHead{})
	require.Contains(t, s.do(intent.Choice{Text: "10", Quantity: &ten}).Text, head)
	s.expect(intent.Choice{Text: "M10"}, "I had asked nothing.")
	s.expect(intent.AskThread{}, "Which wrench size?")
	s.expect(intent.Choice{Text: "banana"}, "Which wrench size?")
	require.Contains(t, s.do(intent.Choice{Text: "10", Quantity: &ten}).Text, "A 10 mm head can be ")
	s.expect(intent.AskEngage{Turns: 7, Material: "aluminium"}, "Which thread?")
	// 7 turns of 1.25 mm. Source: ISO 261, M8 coarse.
	require.Contains(t, s.do(intent.Choice{Text: "M8"}).Text, "7 turns are 8.75 mm of M8")
	s.do(intent.AskEngage{Turns: 7, Material: "aluminium"})
	s.wait(QuestionTime + 1)
	require.Empty(t, s.tick(), "nothing hangs on it")
	s.expect(intent.Choice{Text: "M8"}, "I had asked nothing.")
}

func TestCrackedIsAskedAboutAndNotGuessed(t *testing.T) {
	s := newSession(t, DemoSheet())
	say := func(in intent.Intent, text string) string {
		s.now = s.now.Add(2 * time.Second)
		out, err := s.b.Do(s.now, in, Heard{Text: text, Confidence: 1})
		require.NoError(t, err)
		return out.Reply.Text
	}
	cracked := intent.Condition{Where: "pump bolts", What: "cracked"}
	require.Equal(t, "Cracked loose, or cracked through?", say(cracked, "the pump bolts are cracked"))
	require.Equal(t, "Four pump bolts loosened.", say(intent.Choice{Text: "loose"}, "loose"))
	say(cracked, "pump bolts are all cracked")
	require.Equal(t, "Noted, pump bolts: cracked.", say(intent.Choice{Text: "through"}, "through"))
	require.Equal(t, "Noted, pump bolts: cracked.", say(cracked, "there's a crack in the pump bolts"))
}

func TestAStepThatIsNotEndedJustStaysOpen(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.GoStep{Name: "alternator loose"})
	s.expect(intent.Done{}, "Not counted yet: two alternator bolts. Loose, not out?")
	s.expect(intent.Note{Text: "the bracket is bent"}, "Noted: the bracket is bent.")
	s.expect(intent.Done{}, "Not counted yet: two alternator bolts. Loose, not out?")
}

func TestASecondFillIsAddedToTheFirst(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.expect(intent.Filled{Fluid: "engine oil", Amount: litres(3.2)}, "Engine oil filled, 3.2 L.")
	s.expect(intent.Filled{Fluid: "engine oil", Amount: litres(3)}, "That makes 6.2 L, the sheet says 3.2 L. Write it down all the same?")
}

func TestInchSizesAreSaidAsTheShopSaysThem(t *testing.T) {
	for said, want := range map[string]string{
		"took two quarter inch off the engine mount":       "Two quarters off the engine mount.",
		"took three half inch off the engine mount":        "Three halves off the engine mount.",
		"took one half inch off the engine mount":          "One half off the engine mount.",
		"took five nine sixteenths off the engine mount":   "Five nine sixteenths off the engine mount.",
		"took two three quarter inch off the engine mount": "Two three quarters off the engine mount.",
	} {
		s := newSession(t, DemoSheet())
		grammar, err := intent.Shop(s.b.Vocabulary())
		require.NoError(t, err)
		readings := grammar.Parse(said)
		require.NotEmpty(t, readings, said)
		in, err := intent.FromReading(readings[0])
		require.NoError(t, err, said)
		s.expect(in, want)
	}
}
