package intent

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestForgettingWhereBytesLeadChangesNoState(t *testing.T) {
	known := map[string][]int32{}
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	a.limit = 8
	for range 3 {
		for _, s := range benchSentences {
			at := a.Start()
			path := []int32{}
			for i := range len(s) {
				at = a.Step(at, s[i])
				path = append(path, at)
			}
			require.True(t, a.Accepts(at), s)
			if old := known[s]; old != nil {
				require.Equal(t, old, path, s)
			}
			known[s] = path
		}
		require.LessOrEqual(t, len(a.routed), a.limit)
	}
	routed := 0
	for i := range int32(a.States()) {
		if a.at(i).routes.Load() != nil {
			routed++
		}
	}
	require.Equal(t, len(a.routed), routed, "what is dropped must be let go")
}

func TestAStateIsNeverADeadEnd(t *testing.T) {
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	walkAll(a)
	// From every state met some byte leads on, or the text is whole.
	for i := range int32(a.States()) {
		if a.Accepts(i) {
			continue
		}
		alive := false
		for c := 0; c < 256 && !alive; c++ {
			alive = a.Step(i, byte(c)) >= 0
		}
		require.True(t, alive, "state %d is neither whole nor goes on", i)
	}
}

func TestTheNamesOfOneJobAreNotThoseOfAnother(t *testing.T) {
	one, err := Shop(Vocabulary{Groups: []string{"quince bolts"}, CallWord: "workmate"})
	require.NoError(t, err)
	two, err := Shop(Vocabulary{Groups: []string{"damson bolts"}})
	require.NoError(t, err)
	require.NotEmpty(t, one.Parse("torque for the quince bolts"))
	require.Empty(t, one.Parse("torque for the damson bolts"))
	require.NotEmpty(t, two.Parse("torque for the damson bolts"))
	require.Empty(t, two.Parse("torque for the quince bolts"))
	require.NotEmpty(t, one.Parse("workmate, next"))
	require.Empty(t, two.Parse("workmate, next"))
}

func TestTheCalledPartOfALanguageNeedsItsCallWord(t *testing.T) {
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	accepts := func(start int32, text string) bool {
		for _, b := range []byte(text) {
			if start = a.Step(start, b); start < 0 {
				return false
			}
		}
		return a.Accepts(start)
	}
	for _, text := range []string{"toolbox, what's next", "hey toolbox, took four tens off the front cover", "Tool box what's left", "toolbox"} {
		require.True(t, accepts(a.Start(), text), text)
		require.True(t, accepts(a.Called().Start(), text), text)
	}
	require.True(t, accepts(a.Start(), "what's next"))
	require.False(t, accepts(a.Called().Start(), "what's next"))
	g, err := ParseGrammar("x.jsgf", []byte("#JSGF V1.0; grammar x; public <a> = one;"), nil)
	require.NoError(t, err)
	plain, err := g.Compile()
	require.NoError(t, err)
	require.Nil(t, plain.Called(), "a grammar without a call word has no such part")
}
