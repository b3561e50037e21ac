package speech

import (
	"math/rand"
	"testing"

	"github.com/stretchr/testify/require"

	"putback/intent"
)

// wordList is a language of a few words, as a plain trie of its own: the state
// is the index of a prefix.
type wordList struct {
	prefixes []string
	words    map[string]bool
}

func newWordList(words []string) *wordList {
	l := &wordList{prefixes: []string{""}, words: map[string]bool{}}
	seen := map[string]bool{"": true}
	for _, w := range words {
		l.words[w] = true
		for i := 1; i <= len(w); i++ {
			if !seen[w[:i]] {
				seen[w[:i]] = true
				l.prefixes = append(l.prefixes, w[:i])
			}
		}
	}
	return l
}

func (l *wordList) find(prefix string) int32 {
	for i, p := range l.prefixes {
		if p == prefix {
			return int32(i)
		}
	}
	return -1
}
func (l *wordList) Start() int32                                { return 0 }
func (l *wordList) Step(s int32, b byte) int32                  { return l.find(l.prefixes[s] + string(rune(b))) }
func (l *wordList) Accepts(s int32) bool                        { return l.words[l.prefixes[s]] }
func (l *wordList) Extends(s int32) bool                        { return len(l.prefixes) > int(s) }
func (l *wordList) Meaning(text string) (string, float64, bool) { return text, 0, true }

func randomWord(r *rand.Rand, longest int) string {
	b := make([]byte, 1+r.Intn(longest))
	for i := range b {
		b[i] = "abc "[r.Intn(4)]
	}
	return string(b)
}

func TestTokensThatMayFollowAreThoseThatTryingEveryTokenFinds(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	for round := 0; round < 200; round++ {
		var tokens [][]byte
		seen := map[string]bool{}
		for range 40 {
			if w := randomWord(r, 3); !seen[w] {
				seen[w] = true
				tokens = append(tokens, []byte(w))
			}
		}
		var texts []string
		for range 6 {
			texts = append(texts, randomWord(r, 8))
		}
		lang, v := newWordList(texts), newVocabulary(tokens)
		for s := range lang.prefixes {
			want := map[int32]int32{}
			for id, w := range tokens {
				if next := lang.find(lang.prefixes[s] + string(w)); next >= 0 {
					want[int32(id)] = next
				}
			}
			got := map[int32]int32{}
			for _, p := range v.paths(lang, int32(s)) {
				got[p.token] = p.state
			}
			require.Equal(t, want, got, "after %q in %q", lang.prefixes[s], texts)
		}
	}
}

func TestAFollowedTokenEndsWhereItsBytesLead(t *testing.T) {
	lang := newWordList([]string{"abc", "ab ca"})
	c := newContinuations(newVocabulary([][]byte{[]byte("ab"), []byte(" ab"), []byte("c"), []byte("x")}), lang, newWordPrior())
	require.Equal(t, lang.find("ab"), c.follow(opening, 0))
	require.Equal(t, lang.find("ab"), c.follow(opening, 1), "the model's leading space")
	require.Equal(t, lang.find("abc"), c.follow(lang.find("ab"), 2))
	require.Equal(t, int32(-1), c.follow(opening, 3))
}

func TestLikeliestAreTheGreatestInOrder(t *testing.T) {
	require.Equal(t, []int32{3, 1, 0}, likeliest([]float32{1, 2, -1, 5, 0}, 3))
}

func TestMarksThatSayNothingAreNotFollowed(t *testing.T) {
	g, err := intent.ParseGrammar("marks.jsgf", []byte("#JSGF V1.0;\ngrammar marks;\npublic <a> = done [now];\n"), nil)
	require.NoError(t, err)
	lang, err := g.Compile()
	require.NoError(t, err)
	words := [][]byte{[]byte(" done"), []byte(","), []byte(",."), []byte("..."), []byte(" now"), []byte(".")}
	c := newContinuations(newVocabulary(words), lang, newWordPrior())
	tokens := func(state int32) (out []int32) {
		for _, s := range c.after(state) {
			out = append(out, s.token)
		}
		return out
	}
	done := c.follow(opening, 0)
	require.ElementsMatch(t, []int32{1, 4, 5}, tokens(done), "a mark before the next word, once")
	require.ElementsMatch(t, []int32{4}, tokens(c.follow(done, 1)))
	require.Empty(t, tokens(c.follow(done, 4)), "behind the last word marks are the end")
}

func TestTheOpenerIsTheWordBeforeFreeSpeech(t *testing.T) {
	g, err := intent.ParseGrammar("opener.jsgf", []byte("#JSGF V1.0;\ngrammar opener;\npublic <a> = [toolbox] (note [that] | it's) <dictation> | took [the] (bolts | nuts) out because <dictation>;\n"), nil)
	require.NoError(t, err)
	lang, err := g.Compile()
	require.NoError(t, err)
	c := newContinuations(newVocabulary([][]byte{[]byte(" a")}), lang, newWordPrior())
	for text, want := range map[string]string{
		"Toolbox, note that the hose is cracked": "note",
		"note hose":                              "note",
		"it's the seal":                          "it's",
		"took the bolts out because they leak":   "", // "took", "bolts" and "out" tell it as well
		"nonsense":                               "",
	} {
		require.Equal(t, want, c.opener(text), text)
	}
}
