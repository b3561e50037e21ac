package intent

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestTheNearestSentenceLeavesOutWhatDoesNotMatter(t *testing.T) {
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	for text, want := range map[string]string{
		"how many nuts are off":                                   "how many are off",
		"I'd like you to note the belt is frayed":                 "note the belt is frayed",
		"so I've just taken, what, four tens off the front cover": "so I've just taken four tens off the front cover",
		"whoa, bloody thing, took four tens off the front cover":  "took four tens off the front cover",
		"took four tens off the front cover":                      "", // of the language already
		"don't tell me you took four tens off the front cover":    "",
		"tomorrow I took four tens off the front cover":           "",
		"if only he took four tens off the front cover":           "",
		"took four hundred tens off the front cover":              "", // a number is not left out
		"the weather is lovely over there":                        "",
		"what's next for the government":                          "",
	} {
		require.Equal(t, want, a.Nearest(text), text)
	}
}

func TestAGuessIsAskedAboutWithoutTheCallWord(t *testing.T) {
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	g := Guess(a, "Toolbox, how many nuts are off?")
	require.NotNil(t, g)
	require.Equal(t, "Did you mean: how many are off?", g.Question)
	require.Equal(t, []Intent{AskOut{}}, g.Then)
	require.Nil(t, Guess(a, "well, lovely, torqued the pump bolts to ten newton metres"), "no torque is guessed at")
	require.Nil(t, Guess(a, "toolbox, the weather is lovely over there"))
}

// A question is offered as another question or not at all.
func TestAQuestionIsNeverGuessedToBeAChange(t *testing.T) {
	for _, said := range []string{"when can the lid go back on", "so do the pump bolts get oiled", "is the lid off", "what did I put in cup two?", "how do I undo it"} {
		require.True(t, asksFor(said), said)
	}
	for _, said := range []string{"did up the pump bolts", "have taken four off", "four tens off the front cover", "do up the sump bolts"} {
		require.False(t, asksFor(said), said)
	}
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	require.Nil(t, Guess(a, "when can the lid go back on"))
}

func TestAGuessMayBeOfSeveralThings(t *testing.T) {
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	g := Guess(a, "Toolbox, drained the coolant, what's next?")
	require.NotNil(t, g)
	require.Equal(t, "Did you mean: drained the coolant, and what's next?", g.Question)
	row, ok := g.Then[0].(Row)
	require.True(t, ok)
	require.Equal(t, []Intent{Drained{Fluid: "coolant"}, Next{}}, row.Of)
	require.Nil(t, Guess(a, "toolbox, the seal is out and torqued the pump bolts to 22 newton metres"), "no torque is guessed at")
	require.Nil(t, Guess(a, "toolbox, the seal is out and it is raining"), "no remark is guessed at")
}

func TestAGuessIsNoMereAnswer(t *testing.T) {
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	require.Nil(t, Guess(a, "refit the tensioner bolt"), "what is left of it only answers a question")
}
