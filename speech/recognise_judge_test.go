package speech

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestConfidenceFallsWithEverythingThatSpeaksAgainstAReading(t *testing.T) {
	sure := evidence{likelihood: likelihood{sound: -2, silence: -80}, tokens: 10, held: 10}
	base := confidence(sure, 0.999, -2, 10)
	require.Equal(t, Act, verdict(base))

	for name, worse := range map[string]float64{
		"another meaning is nearly as likely":       confidence(sure, 0.55, -2, 10),
		"the unrestricted reading fits better":      confidence(evidence{likelihood{-22, -100}, 10, 10}, 0.999, -2, 10),
		"the words are unlikely given the sound":    confidence(evidence{likelihood{-22, -100}, 10, 10}, 0.999, -22, 10),
		"the words are as likely without a sound":   confidence(evidence{likelihood{-2, -10}, 10, 10}, 0.999, -2, 10),
		"most of what was said is left unexplained": confidence(sure, 0.999, -2, 50),
	} {
		require.Less(t, worse, base-0.02, name)
	}
}

func TestFreeWordsDoNotDiluteTheGap(t *testing.T) {
	// "Write off, I observed a cluster …" for "Right off, …": two tokens of the
	// language, twenty of free speech, and 7 nats lost in the first two.
	note := evidence{likelihood{-15, -160}, 22, 2}
	whole := evidence{likelihood{-15, -160}, 22, 22}
	require.Less(t, confidence(note, 0.9, -8, 24), confidence(whole, 0.9, -8, 24)-0.1)
}

func TestConfidenceIsAProbability(t *testing.T) {
	for _, p := range []float64{0, 1, 0.5} {
		for _, free := range []float64{0, -500} {
			c := confidence(evidence{likelihood{-300, -1}, 1, 0}, p, free, 90)
			require.False(t, math.IsNaN(c))
			require.True(t, c >= 0 && c <= 1)
		}
	}
}

func TestTheLinesBetweenActingAskingAndIgnoring(t *testing.T) {
	require.Equal(t, Act, verdict(actConfidence))
	require.Equal(t, Ask, verdict(math.Nextafter(actConfidence, 0)))
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
