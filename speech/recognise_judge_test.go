package speech

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestConfidenceFallsWithEverythingThatSpeaksAgainstAReading(t *testing.T) {
	command := func(sound, silence float64) evidence {
		return evidence{sound: sound, tokens: 10, held: 10, sure: likelihood{sound, silence}}
	}
	sure := command(-2, -80)
	base := confidence(sure, 0.999, -2, 10)
	require.Equal(t, Act, verdict(base))

	for name, worse := range map[string]float64{
		"another meaning is nearly as likely":       confidence(sure, 0.55, -2, 10),
		"the unrestricted reading fits better":      confidence(command(-22, -100), 0.999, -2, 10),
		"the words are unlikely given the sound":    confidence(command(-22, -100), 0.999, -22, 10),
		"the words are as likely without a sound":   confidence(command(-2, -10), 0.999, -2, 10),
		"most of what was said is left unexplained": confidence(sure, 0.999, -2, 50),
	} {
		require.Less(t, worse, base-0.02, name)
	}
}

func TestFreeWordsDoNotMakeUpForTheOnesBeforeThem(t *testing.T) {
	// "Write off, I observed a cluster …" for "Right off, …" in the talk: two
	// tokens of the language, which lose 7 nats, and 21 of free speech, which fit.
	talk := evidence{sound: -9.3, tokens: 23, held: 2, sure: likelihood{-6.5, -14}}
	require.Less(t, confidence(talk, 0.999, -1.9, 24), ActConfidence)
	note := evidence{sound: -3, tokens: 23, held: 2, sure: likelihood{-0.4, -14}}
	require.Greater(t, confidence(note, 0.999, -2.5, 23), ActConfidence)
}

func TestConfidenceIsAProbability(t *testing.T) {
	for _, p := range []float64{0, 1, 0.5} {
		for _, free := range []float64{0, -500} {
			c := confidence(evidence{sound: -300, tokens: 1, sure: likelihood{-300, -1}}, p, free, 90)
			require.False(t, math.IsNaN(c))
			require.True(t, c >= 0 && c <= 1)
		}
	}
}

func TestTheLinesBetweenActingAskingAndIgnoring(t *testing.T) {
	require.Equal(t, Act, verdict(ActConfidence))
	require.Equal(t, Ask, verdict(math.Nextafter(ActConfidence, 0)))
	require.Equal(t, Ask, verdict(askConfidence))
	require.Equal(t, Ignore, verdict(math.Nextafter(askConfidence, 0)))
}

func TestOnlyWhatIsUncertainIsSearchedForAgain(t *testing.T) {
	some := []Hypothesis{{Text: "six tens"}}
	require.False(t, uncertain(Result{Hypotheses: some, Verdict: Act, Confidence: 0.9}))
	require.True(t, uncertain(Result{Hypotheses: some, Verdict: Ask, Confidence: 0.6}))
	require.True(t, uncertain(Result{Hypotheses: some, Verdict: Ignore, Confidence: 0.2}))
	require.True(t, uncertain(Result{Verdict: Ignore}), "nothing found by the narrow search")
	require.False(t, uncertain(Result{Hypotheses: some, Verdict: Ignore, Confidence: 0.01}), "talk")
}

// Both found by scripts/soak, acted on at nearly 0.9.
func TestFreeSpeechNeedsItsOpeningWordInTheUnrestrictedReading(t *testing.T) {
	require.True(t, opened("", "", "anything"))
	require.True(t, opened("note", "", "Told box, noted the drain flood was very tight"))
	require.True(t, opened("it's", "", "Its the seal."))
	require.False(t, opened("tip", "", "took four thirteens off the front cover"))
	require.False(t, opened("note", "Note the other side, next to the toolbox", "No, the other side, next to the toolbox"))
	require.True(t, opened("flag", "", "Tilt box, flab not sure the housing sits flush"))
	require.False(t, opened("flag", "Flag not share the housing six flush", "Fly a gnot, sure the housing sits flush"))
	require.False(t, opened("tip", "", "tie two tens"), "too short")
	require.True(t, opened("flag", "Flag not sure the housing sits flush", "Fly a gnot, sure the housing sits flush"))
	require.False(t, opened("note", "Note the other side", "Not the other side"))
	require.True(t, nearlySame("Flag not sure the housing sits flush", "Fly a gnot, sure the housing sits flush."))
	require.False(t, nearlySame("Note the other side", "No, the other side"))
	require.True(t, nearlySame("", ""))
	require.True(t, nearlySame("Tip: it's tight", "Tips its tight"))
	require.False(t, nearlySame("Tip two tens off", "Took two tens off"))
}

func TestWhereTheModelReadsTheSameRivalsWeighByTheirSound(t *testing.T) {
	require.True(t, plainly(Result{FreeText: "Took two tens off.", Hypotheses: []Hypothesis{{Text: "took two tens off"}}}))
	require.False(t, plainly(Result{FreeText: "Took two tenths off.", Hypotheses: []Hypothesis{{Text: "took two tens off"}}}))
	require.False(t, plainly(Result{FreeText: "Took two tens off."}))

	tens := Hypothesis{Text: "took two tens", LogProb: -1.2, Score: 20.8, Posterior: 0.75}
	pins := Hypothesis{Text: "took two pins", LogProb: -3.8, Score: 19.7, Posterior: 0.25}
	require.False(t, rivalFigure([]Hypothesis{tens, pins}))
	list := []Hypothesis{tens, pins}
	shareBySound(list)
	require.InDelta(t, 0.93, list[0].Posterior, 0.01)
	require.InDelta(t, 0.07, list[1].Posterior, 0.01)

	// A text that stops early is likely by its sound.
	list = []Hypothesis{{Text: "strike that", LogProb: -1.6, Posterior: 0.99}, {LogProb: -1.9, Posterior: 0.01}}
	shareBySound(list)
	require.Equal(t, 0.99, list[0].Posterior)

	// Which figure it was is not for the sound alone to say.
	require.True(t, rivalFigure([]Hypothesis{tens, {Text: "took three tens", Posterior: 0.03}}))
	require.False(t, rivalFigure([]Hypothesis{tens, {Text: "took three tens", Posterior: 0.01}}))
	require.False(t, rivalFigure(nil))
}

func TestASecondHearingThatDiffersIsAskedAbout(t *testing.T) {
	hearing := func(text string, confidence float64) Result {
		return Result{Hypotheses: []Hypothesis{{Text: text, Meaning: text}}, Confidence: confidence, Verdict: verdict(confidence)}
	}
	first := func() Result { return hearing("torque is 115 newton metres", 0.88) }
	for name, c := range map[string]struct {
		again   Result
		verdict Verdict
		other   string
	}{
		"the same":         {first(), Act, ""},
		"another figure":   {hearing("torque is 150 newton metres", 0.8), Ask, "150"},
		"another sentence": {hearing("talk is cheap", 0.5), Ask, ""},
		"nothing clear":    {hearing("talk is cheap", 0.1), Act, ""},
		"nothing at all":   {Result{}, Act, ""},
	} {
		res := first()
		res.compare(c.again)
		require.Equal(t, c.verdict, res.Verdict, name)
		if c.other != "" {
			require.Equal(t, &Doubt{Text: "torque is 150 newton metres", Best: "115", Other: "150"}, res.Doubt, name)
		} else {
			require.Nil(t, res.Doubt, name)
		}
	}
}
