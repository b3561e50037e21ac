package speech

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestWordsAreRememberedForEveryLanguage(t *testing.T) {
	p := newWordPrior()
	_, ok := p.of("ab", []step{{token: 3}})
	require.False(t, ok)
	p.learn("ab", []step{{token: 3}, {token: 9}}, []roughly{3 << 10, 9 << 10}, -1)

	n, ok := p.of("ab", []step{{token: 3}, {token: 9}})
	require.True(t, ok)
	require.Equal(t, priorNode{after: []float32{-3, -9}, end: -1}, n)
	_, ok = p.of("ab", []step{{token: 3}, {token: 5}})
	require.False(t, ok, "a token that was never asked for")

	p.learn("ab", []step{{token: 1}, {token: 5}, {token: 9}}, []roughly{1 << 10, 5 << 10, 9 << 10}, -1)
	n, ok = p.of("ab", []step{{token: 1}, {token: 3}, {token: 5}, {token: 9}})
	require.True(t, ok, "one language's steps do not put out another's")
	require.Equal(t, []float32{-1, -3, -5, -9}, n.after)

	p.held = mostPrior + 1
	p.learn("cd", []step{{token: 1}}, []roughly{1 << 10}, 0)
	_, ok = p.of("ab", []step{{token: 3}})
	require.True(t, ok, "what was used lately is kept over the turn")
	p.held = mostPrior + 1
	p.learn("ef", nil, nil, 0)
	p.held = mostPrior + 1
	p.learn("gh", nil, nil, 0)
	_, ok = p.of("cd", []step{{token: 1}})
	require.False(t, ok, "what nobody used is forgotten")
}

func TestARememberedLogProbabilityIsCloseEnough(t *testing.T) {
	for _, p := range []float64{0, -0.03, -1, -7.7, -63.9} {
		require.InDelta(t, p, roughlyOf(p).logProb(), 1.0/2048+1e-5)
	}
	require.Equal(t, float32(-65535.0/1024), roughlyOf(math.Inf(-1)).logProb(), "what cannot be")
}
