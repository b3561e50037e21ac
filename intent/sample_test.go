package intent

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestEverySampleParsesToItself(t *testing.T) {
	shop, err := Shop(demoVocabulary)
	require.NoError(t, err)
	for name, a := range map[string]*Automaton{
		"the shop": shop,
		"numbers":  compiled(t, cardinal+`public <n> = (<below> | <hundreds> | <short> | <thousands>) {n}; public <m> = (<below> point <unit>+) {n} [mm | inch {=in}] {u};`),
		"loops":    compiled(t, `public <x> = /1/ go (left {d} | right {d})+ | /3/ note <dictation> {text} | /1/ go <x> home;`),
	} {
		list := Sample(a, 700, 1)
		require.Len(t, list, 700, name)
		rules := map[string]int{}
		for _, r := range list {
			rules[r.Rule]++
			key, ok := a.keyOf(r)
			if !ok {
				if _, err := FromReading(r); err != errHalf {
					t.Errorf("%s: %q makes no intent of %v: %v", name, r.Text, r.Slots, err)
				}
				continue
			}
			require.True(t, a.contains(r.Text), "%s: %q", name, r.Text)
			if !slices.Contains(a.Meanings(r.Text), key) {
				t.Errorf("%s: %q does not mean %s but %v", name, r.Text, key, a.Meanings(r.Text))
			}
		}
		if name == "the shop" {
			all := len(decoders) + len(plainIntents) + len(namedIntents)
			require.Greater(t, len(rules), all*9/10, "nearly every rule of the shop is drawn")
		}
	}
}

func TestASeedGivesTheSameSentencesAgain(t *testing.T) {
	a := compiled(t, `public <x> = /3/ one {n=1} | /1/ two {n=2};`)
	require.Equal(t, Sample(a, 50, 7), Sample(a, 50, 7))
	require.NotEqual(t, Sample(a, 50, 7), Sample(a, 50, 8))
	ones := 0
	for _, r := range Sample(a, 4000, 3) {
		if r.Text == "one" {
			ones++
		}
	}
	require.InDelta(t, 3000, ones, 150, "three quarters by weight; five standard deviations")
	require.Empty(t, Sample(compiled(t, `public <x> = go <x>;`), 5, 1), "no sentence ever ends")
}
