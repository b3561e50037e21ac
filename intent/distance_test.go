package intent

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// The first two are the usual textbook examples of Levenshtein's distance.
func TestTheDistanceOfTwoWords(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"kitten", "sitting", 3}, {"saturday", "sunday", 3}, {"", "", 0}, {"", "abc", 3}, {"½ litre", "¼ litre", 1}, {"same", "same", 0}} {
		require.Equal(t, c.want, Distance(c.a, c.b), c.a+" "+c.b)
		require.Equal(t, c.want, Distance(c.b, c.a), c.b+" "+c.a)
	}
}
