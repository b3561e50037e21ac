package intent

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestWhatAStepAsksForIsUnderstoodClauseByClause(t *testing.T) {
	keys := func(name, do string) map[string]bool {
		m := map[string]bool{}
		for _, d := range Deeds(name, do) {
			m[d.Key] = d.Whole
		}
		return m
	}
	require.Equal(t, map[string]bool{"mark belt's running direction": false, "photograph it": true},
		keys("belt marks", "mark the belt's running direction and photograph it"))
	require.Equal(t, map[string]bool{"shut sea cock": true, "hang tag": true}, keys("sea cock shut", "shut the sea cock and hang the tag on the key"))
	require.Equal(t, map[string]bool{"check oil and coolant": true}, keys("levels again", "check oil and coolant again"), "and joins two things here")
	require.Equal(t, map[string]bool{"off battery negative": true, "off power": true}, keys("power off", "battery negative off"))
	require.Empty(t, keys("the usual", "as in the manual"))
	require.Empty(t, keys("", ""))
}

func TestADeedIsToldInManyWays(t *testing.T) {
	a, err := Shop(Vocabulary{Deeds: Deeds("caps off", "take the end caps off the exchanger")})
	require.NoError(t, err)
	for _, said := range []string{
		"took the end caps off the exchanger", "took the end caps off", "took the caps off", "took off the end caps", "I've took the caps off",
		"the end caps are off the exchanger", "end caps are off", "caps off",
	} {
		found := false
		for _, r := range a.Parse(said) {
			in, err := FromReading(r)
			require.NoError(t, err)
			if d, ok := in.(Done); ok {
				found = found || d.Step == "take end caps off"
			}
		}
		require.True(t, found, said)
	}
	for _, said := range []string{"took the end caps", "take the end caps off", "the end caps aren't off", "end caps not off", "he took the end caps off"} {
		for _, r := range a.Parse(said) {
			require.NotEqual(t, "done", r.Rule, said)
		}
	}
}
