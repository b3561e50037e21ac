package intent

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// sameWeight is the difference of cost below which two readings count as
// equally likely; the smallest step the grammar makes on purpose is 0.18 (20
// against 24 parts).
const sameWeight = 0.05

func TestNoSentenceOfTheCorpusHasTwoMeaningsOfEqualWeight(t *testing.T) {
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	for _, u := range corpus(t) {
		readings := a.Parse(u.text)
		for i := 1; i < len(readings) && readings[i].Cost-readings[0].Cost < sameWeight; i++ {
			first, err := FromReading(readings[0])
			require.NoError(t, err)
			other, err := FromReading(readings[i])
			require.NoError(t, err)
			n1, s1 := describe(first)
			n2, s2 := describe(other)
			t.Errorf("corpus.txt:%d: %q means equally (%.2f, %.2f)\n  %s %s\n  %s %s", u.line, u.text, readings[0].Cost, readings[i].Cost, n1, s1, n2, s2)
		}
	}
}
