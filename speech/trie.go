package speech

import (
	"slices"
	"strings"
	"sync"
	"unicode"
)

// vocabulary is the model's tokens as a trie of their bytes, so that the
// tokens which keep a text inside a language are found by walking both
// together, not by trying 50 000 strings.
type vocabulary struct {
	words [][]byte
	nodes []trieNode
}

type trieNode struct {
	token    int32 // -1: no token ends here
	first    int32 // first child, -1 none
	sibling  int32 // next child of the same parent, -1 none
	byteHere byte
}

// newVocabulary builds the trie of words; the index of a word is its token.
// Empty words are left out. Where two tokens have the same bytes, the first stays.
func newVocabulary(words [][]byte) *vocabulary {
	v := &vocabulary{words: words, nodes: []trieNode{{token: -1, first: -1, sibling: -1}}}
	for token, word := range words {
		if len(word) == 0 {
			continue
		}
		at := int32(0)
		for _, b := range word {
			at = v.child(at, b)
		}
		if v.nodes[at].token < 0 {
			v.nodes[at].token = int32(token)
		}
	}
	return v
}

func (v *vocabulary) child(parent int32, b byte) int32 {
	for c := v.nodes[parent].first; c >= 0; c = v.nodes[c].sibling {
		if v.nodes[c].byteHere == b {
			return c
		}
	}
	made := int32(len(v.nodes))
	v.nodes = append(v.nodes, trieNode{token: -1, first: -1, sibling: v.nodes[parent].first, byteHere: b})
	v.nodes[parent].first = made
	return made
}

// step is a token that may follow and the state of the language after it.
type step struct {
	token int32
	state int32
}

// paths lists the tokens that keep a text inside the language from state on.
func (v *vocabulary) paths(lang Language, state int32) []step {
	return v.walk(lang, 0, state, nil)
}

func (v *vocabulary) walk(lang Language, node, state int32, found []step) []step {
	for c := v.nodes[node].first; c >= 0; c = v.nodes[c].sibling {
		next := lang.Step(state, v.nodes[c].byteHere)
		if next < 0 {
			continue
		}
		if t := v.nodes[c].token; t >= 0 {
			found = append(found, step{t, next})
		}
		found = v.walk(lang, c, next, found)
	}
	return found
}

// openings lists the tokens that may begin a text: as paths from the start of
// the language, and with the space in front that the model writes there.
func (v *vocabulary) openings(lang Language) []step {
	found := v.paths(lang, lang.Start())
	for c := v.nodes[0].first; c >= 0; c = v.nodes[c].sibling {
		if v.nodes[c].byteHere == ' ' && lang.Step(lang.Start(), ' ') < 0 {
			if t := v.nodes[c].token; t >= 0 {
				found = append(found, step{t, lang.Start()})
			}
			found = v.walk(lang, c, lang.Start(), found)
		}
	}
	return found
}

// continuations remembers, for one language, which tokens may follow which state.
// It is safe for concurrent use.
type continuations struct {
	words *vocabulary
	lang  Language

	mu    sync.Mutex
	known map[int32][]step
	free  map[int32]bool
	prior *wordPrior
}

// It forgets when it has seen this many steps, so that a long day with
// a large grammar stays within bounds: 8 bytes each.
const mostSteps = 1 << 20

func newContinuations(words *vocabulary, lang Language, prior *wordPrior) *continuations {
	return &continuations{words: words, lang: lang, known: map[int32][]step{}, free: map[int32]bool{}, prior: prior}
}

// opening is the pseudo-state before the first token.
const opening = -2

// after lists the tokens that may follow state, in ascending order.
func (l *continuations) after(state int32) []step {
	l.mu.Lock()
	defer l.mu.Unlock()
	if s, ok := l.known[state]; ok {
		return s
	}
	total := 0
	for _, s := range l.known {
		total += len(s)
	}
	if total > mostSteps {
		clear(l.known)
	}
	var s []step
	if state == opening {
		s = l.words.openings(l.lang)
	} else {
		s = l.words.paths(l.lang, state)
	}
	// A copy of its own length: these are kept, and there are very many.
	s = slices.Clone(slices.DeleteFunc(s, func(s step) bool { return l.idle(state, s) }))
	slices.SortFunc(s, func(a, b step) int { return int(a.token - b.token) })
	l.known[state] = s
	return s
}

// idle reports whether a token says nothing: marks after the last word, which
// count as the end, or more marks where one stands already. A language may allow
// any number of them, and a row of commas is likelier than it should be.
func (l *continuations) idle(state int32, s step) bool {
	marks := 0
	for _, b := range l.words.words[s.token] {
		switch b {
		case ',', '.', ';', ':', '?', '!':
			marks++
		case ' ':
		default:
			return false
		}
	}
	return marks > 1 || marks == 1 && (s.state == state || !l.lang.Extends(s.state))
}

// dictation reports whether anything at all may follow state: free speech.
func (l *continuations) dictation(state int32) bool {
	if state == opening {
		state = l.lang.Start()
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if f, ok := l.free[state]; ok {
		return f
	}
	f := true
	for _, b := range []byte("qzjx QZ7,") {
		if l.lang.Step(state, b) < 0 {
			f = false
			break
		}
	}
	l.free[state] = f
	return f
}

// opener is the word of text before which the language chooses, and behind which
// all else may be free speech: "note" of "toolbox, note that …". It is empty for a
// text without free speech, and where more than mostOpeners words stand before it.
func (l *continuations) opener(text string) string {
	state := l.lang.Start()
	for i := range len(text) {
		if state = l.lang.Step(state, text[i]); state < 0 {
			return ""
		}
		if !l.dictation(state) {
			continue
		}
		words := strings.FieldsFunc(text[:i], notOfWords) // the byte at i is the first of free speech
		if len(words) == 0 || len(words) > mostOpeners {
			return ""
		}
		return words[len(words)-1]
	}
	return ""
}

// mostOpeners is the number of words that must be read before free speech so that
// they tell it from any other sentence by themselves.
const mostOpeners = 3

// notOfWords reports whether a rune parts words.
func notOfWords(r rune) bool {
	return r != '\'' && r != '’' && !unicode.IsLetter(r) && !unicode.IsDigit(r)
}

// follow is the state after a whole token, or -1.
func (l *continuations) follow(state, token int32) int32 {
	word := l.words.words[token]
	if state == opening {
		state = l.lang.Start()
		if len(word) > 0 && word[0] == ' ' && l.lang.Step(state, ' ') < 0 {
			word = word[1:]
		}
	}
	for _, b := range word {
		if state = l.lang.Step(state, b); state < 0 {
			return -1
		}
	}
	return state
}
