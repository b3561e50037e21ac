package live

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"putback/audio"
	"putback/intent"
	"putback/speech"
)

// heard is a recogniser that always hears the same.
type heard speech.Result

func (r heard) Hear(context.Context, []float32, speech.Language) (speech.Result, error) {
	return speech.Result(r), nil
}

func earThatHears(t *testing.T, r speech.Result) *GrammarEar {
	shop, err := intent.Shop(intent.Vocabulary{CallWord: "toolbox"})
	require.NoError(t, err)
	return &GrammarEar{
		Recogniser: heard(r),
		Grammar:    func() (*intent.Automaton, error) { return shop, nil },
		Understand: intent.FromReading,
	}
}

func certain(text string) speech.Result {
	return speech.Result{Hypotheses: []speech.Hypothesis{{Text: text}}, Verdict: speech.Act, Confidence: 0.9, Complete: true}
}

func TestWithoutTheNeededCallWordNothingIsAccepted(t *testing.T) {
	for _, c := range []struct {
		text     string
		needed   bool
		accepted bool
	}{
		{"what's left", true, false},
		{"what's left", false, true},
		{"toolbox, what's left", true, true},
	} {
		h, err := earThatHears(t, certain(c.text)).Hear(context.Background(), audio.Samples{}, Hint{CallNeeded: c.needed})
		require.NoError(t, err)
		require.Equal(t, c.accepted, h.Accepted, "%q, call word needed: %t", c.text, c.needed)
		require.False(t, h.Unsure)
		require.Equal(t, c.text, h.Text)
	}
}

func TestAPhraseInAFreeReadingCountsOnlyWhereTheModelIsSureOfIt(t *testing.T) {
	only := Hint{Only: []string{"toolbox", "stop"}}
	r := speech.Result{FreeText: "Four tens, stop.", FreeConfidence: 0.8}
	h, err := earThatHears(t, r).Hear(context.Background(), nil, only)
	require.NoError(t, err)
	require.True(t, h.Accepted)
	require.Equal(t, "stop", h.Text)

	r.FreeConfidence = 0.3
	h, err = earThatHears(t, r).Hear(context.Background(), nil, only)
	require.NoError(t, err)
	require.False(t, h.Accepted)
	require.True(t, h.Unsure)

	h, err = earThatHears(t, speech.Result{FreeText: "Nonstop work.", FreeConfidence: 0.9}).Hear(context.Background(), nil, only)
	require.NoError(t, err)
	require.False(t, h.Accepted || h.Unsure)
}

func TestAFigureThatMayBeAnotherIsAskedAboutByItsTwoReadings(t *testing.T) {
	r := certain("torqued the pump bolts to 17 newton metres")
	r.Verdict = speech.Ask
	r.Doubt = &speech.Doubt{Text: "torqued the pump bolts to 70 newton metres", Best: "17", Other: "70"}
	h, err := earThatHears(t, r).Hear(context.Background(), nil, Hint{})
	require.NoError(t, err)
	require.True(t, h.Accepted && h.Complete)
	u, ok := h.Intent.(intent.Unclear)
	require.True(t, ok)
	require.Equal(t, "17 or 70?", u.Question)
	require.Equal(t, []string{"17", "70"}, u.Choices)
	for i, n := range []float64{17, 70} {
		require.Equal(t, n, u.Then[i].(intent.Torqued).Torque.Amount)
	}

	// Without the call word it is still nobody's business.
	h, err = earThatHears(t, r).Hear(context.Background(), nil, Hint{CallNeeded: true})
	require.NoError(t, err)
	require.False(t, h.Accepted || h.Unsure)

	// Where no two figures stand against each other there is nothing to choose from.
	r.Doubt = &speech.Doubt{Text: "torqued ten pump bolts to 7"}
	h, err = earThatHears(t, r).Hear(context.Background(), nil, Hint{})
	require.NoError(t, err)
	require.False(t, h.Accepted)
	require.True(t, h.Unsure)
}
