package speech

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestWordsAreRememberedForEveryLanguage(t *testing.T) {
	p := newWordPrior()
	_, ok := p.of("ab", []step{{token: 3}})
	require.False(t, ok)
	p.learn("ab", []step{{token: 9}, {token: 3}}, priorNode{after: []float32{-9, -3}, end: -1})

	n, ok := p.of("ab", []step{{token: 3}, {token: 9}})
	require.True(t, ok)
	require.Equal(t, priorNode{after: []float32{-3, -9}, end: -1}, n)
	_, ok = p.of("ab", []step{{token: 3}, {token: 5}})
	require.False(t, ok, "a token that was never asked for")

	p.learn("ab", []step{{token: 5}}, priorNode{after: []float32{-5}, end: -1})
	n, ok = p.of("ab", []step{{token: 5}, {token: 3}})
	require.True(t, ok, "one language's steps do not put out another's")
	require.Equal(t, []float32{-5, -3}, n.after)

	p.held = mostPrior + 1
	p.learn("cd", []step{{token: 1}}, priorNode{after: []float32{-1}})
	_, ok = p.of("ab", []step{{token: 3}})
	require.True(t, ok, "what was used lately is kept over the turn")
	p.held = mostPrior + 1
	p.learn("ef", nil, priorNode{})
	p.held = mostPrior + 1
	p.learn("gh", nil, priorNode{})
	_, ok = p.of("cd", []step{{token: 1}})
	require.False(t, ok, "what nobody used is forgotten")
}
