package intent

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Sentences in an order of their own, and what their words add up to; "" for those that must not be taken for anything.
func TestWordsInAnyOrderAddUpToOneThing(t *testing.T) {
	loose, err := Loose(demoVocabulary)
	require.NoError(t, err)
	for text, want := range map[string]string{
		"the exchanger's off now, six nuts came off with it":   "Removed items=6 nut; where=exchanger",
		"the anode plug's gone back in with a new one":         "Refitted items=all; where=anode plug; new",
		"the old hose clips went in the skip":                  "Discarded items=all; where=hose clips",
		"can you remind me how tight the anode plug goes":      "AskTorque name=anode plug",
		"and what about the lid screws, what torque":           "AskTorque name=lid screws",
		"I can't remember where I put the anode":               "AskPlace name=anode",
		"which bolts are still in the front cover":             "AskLeft name=front cover",
		"is it all right to use the old o-rings":               "AskRenew name=o-rings",
		"the exchanger isn't off now, six nuts came off":       "",
		"the exchanger will be off now, six nuts came off it":  "",
		"he said the exchanger's off now, six nuts came off":   "",
		"if the exchanger's off now six nuts came off with it": "",
		"three of his exchanger nuts are off":                  "",
		"the exchanger's off now and back on, six nuts":        "",
		"took the hose clips off and two of them bent":         "",
		"the bolts off the pump are the long ones":             "",
	} {
		got := ""
		if in := UnderstandLoosely(loose, text); in != nil {
			name, slots := describe(in)
			got = name + " " + slots
		}
		require.Equal(t, want, got, text)
	}
}

func TestTalkIsNotTakenLooselyEither(t *testing.T) {
	loose, err := Loose(demoVocabulary)
	require.NoError(t, err)
	for _, u := range corpus(t) {
		if u.intent == "" {
			require.Nil(t, UnderstandLoosely(loose, u.text), "corpus.txt:%d: %q", u.line, u.text)
		}
	}
}

// What both read, they read alike: a report is never taken loosely for a report
// of another kind. The job makes a part's of what is said of one.
func TestTheLooseReadingOfTheCorpusIsOfTheSameKind(t *testing.T) {
	loose, err := Loose(demoVocabulary)
	require.NoError(t, err)
	alike := map[string]string{"PartAside": "Stowed", "PartFitted": "Refitted", "Culprit": "Condition"}
	same, other := 0, 0
	for _, u := range corpus(t) {
		in := UnderstandLoosely(loose, u.text)
		if in == nil || u.intent == "" {
			continue
		}
		name, slots := describe(in)
		if name == u.intent || name == alike[u.intent] {
			same++
			continue
		}
		other++
		t.Logf("corpus.txt:%d: %q is %s, loosely %s %s", u.line, u.text, u.intent, name, slots)
		require.True(t, strings.HasPrefix(name, "Ask"), "corpus.txt:%d: %q is %s, loosely %s %s", u.line, u.text, u.intent, name, slots)
	}
	t.Logf("alike %d, another question %d", same, other)
	require.Greater(t, same, 10*other)
}
