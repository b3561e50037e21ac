package speech

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestAnEchoResemblesWhatWasSpoken(t *testing.T) {
	const spoken = "Four tens off the front cover. Eight still to come."
	for _, heard := range []string{
		spoken,
		"four tens off the front cover",
		"4 10s off the front cover",
		"tens of the front cover eight",
		"front cover, eight still to come",
		"for tens off the front cover",
	} {
		require.True(t, Resembles(heard, spoken), "%q", heard)
	}
	require.True(t, Resembles("40 newton meters plus 90 degrees", "Torque for the tensioner bolt: 40 N·m + 90°."))
	require.True(t, Resembles("say again", "Say again?"))
	require.True(t, Resembles("Struck.", "Struck. Four tens are back on the record."))
	require.True(t, Resembles("foot pounds or inch pounds", "Foot pounds or inch pounds?"))
}

func TestAPersonSpeakingDoesNotResembleTheVoice(t *testing.T) {
	for _, c := range []struct{ heard, spoken string }{
		{"", "Four tens off the front cover."},
		{"...", "Four tens off the front cover."},
		{"took six tens off the pump", "Four tens off the front cover. Eight still to come."},
		{"what's left", "Eight still to come."},
		{"stop", "Set your wrench to 44 N·m and stop at the click."},
		{"inch pounds", "Foot pounds or inch pounds?"},
		{"yes", "That would break it. Yes or no?"},
		{"torque for the tensioner bolt", "Next: take off the tensioner. 40 N·m + 90°."},
		{"toolbox, next step", "Bolt one of twelve. Opposite side next."},
		{"four tens off the front cover", ""},
	} {
		require.False(t, Resembles(c.heard, c.spoken), "%q after %q", c.heard, c.spoken)
	}
}

func TestLetterDistanceIsThatOfDamerauAndLevenshtein(t *testing.T) {
	// Worked examples of the distance with swaps of neighbours (optimal string
	// alignment), from memory: "ca" to "abc" is 3, "kitten" to "sitting" 3.
	for _, c := range []struct {
		a, b string
		want int
	}{{"ca", "abc", 3}, {"kitten", "sitting", 3}, {"metre", "meter", 1}, {"", "abc", 3}, {"same", "same", 0}} {
		require.Equal(t, c.want, letterDistance([]rune(c.a), []rune(c.b)), "%q %q", c.a, c.b)
	}
}
