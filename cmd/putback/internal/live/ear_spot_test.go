package live

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"putback/audio"
	"putback/intent"
	"putback/speech"
)

// heardAs is a recogniser that always hears the same.
type heardAs struct{ speech.Result }

func (h heardAs) Hear(context.Context, []float32, speech.Language) (speech.Result, error) {
	return h.Result, nil
}

func TestAnInterruptionIsFoundInAnySpellingAndAmongOtherWords(t *testing.T) {
	only := []string{"toolbox", "stop", "toolbox stop"}
	act := func(text string) speech.Result {
		return speech.Result{Verdict: speech.Act, Hypotheses: []speech.Hypothesis{{Text: text}}}
	}
	for want, result := range map[string]speech.Result{
		"toolbox":      act("Tool Box"),
		"toolbox stop": act("Toolbox, stop"),
		"stop":         {FreeText: "the two at the bottom. Stop!", FreeConfidence: 0.8},
		"":             {FreeText: "a stopper and a toolboxes"},
	} {
		e := GrammarEar{Recogniser: heardAs{result}}
		h, err := e.Hear(context.Background(), audio.Silence(0), Hint{Only: only})
		require.NoError(t, err)
		require.Equal(t, want, h.Text)
		require.Equal(t, want != "", h.Accepted)
	}
}

// counted counts what it hears.
type counted struct {
	heardAs
	n int
}

func (c *counted) Hear(ctx context.Context, s []float32, l speech.Language) (speech.Result, error) {
	c.n++
	return c.heardAs.Hear(ctx, s, l)
}

func TestPracticeIsDoneOnceForAGrammar(t *testing.T) {
	shop, err := intent.Shop(intent.Vocabulary{CallWord: "toolbox"})
	require.NoError(t, err)
	c := &counted{}
	e := GrammarEar{Recogniser: c, Grammar: func() (*intent.Automaton, error) { return shop, nil }, Practice: make([]audio.Samples, 3)}
	require.NoError(t, e.Prepare(context.Background()))
	require.NoError(t, e.Prepare(context.Background()))
	require.Equal(t, 3, c.n)
	shop, err = intent.Shop(intent.Vocabulary{CallWord: "toolbox", Places: []string{"bilge"}})
	require.NoError(t, err)
	require.NoError(t, e.Prepare(context.Background()))
	require.Equal(t, 6, c.n)
}

func TestWhatIsNotUnderstoodIsGuessedAtFromTheFreeReading(t *testing.T) {
	shop, err := intent.Shop(intent.Vocabulary{CallWord: "toolbox"})
	require.NoError(t, err)
	hear := func(verdict speech.Verdict, free float64) *intent.Unclear {
		e := GrammarEar{
			Recogniser: heardAs{speech.Result{
				Verdict: verdict, Hypotheses: []speech.Hypothesis{{Text: "Toolbox, how many are left"}},
				FreeText: "Toolbox, how many nuts are off?", FreeConfidence: free,
			}},
			CallWord: "toolbox", Grammar: func() (*intent.Automaton, error) { return shop, nil }, Understand: intent.FromReading,
		}
		h, err := e.Hear(context.Background(), audio.Silence(0), Hint{})
		require.NoError(t, err)
		return h.Guess
	}
	require.Equal(t, "Did you mean: how many are off?", hear(speech.Ask, 0.8).Question)
	require.Nil(t, hear(speech.Ask, 0.3), "made up over noise")
	require.Nil(t, hear(speech.Act, 0.8), "understood")
}
