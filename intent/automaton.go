package intent

import (
	"fmt"
	"slices"
	"sync"
	"sync/atomic"
	"unsafe"
)

// Automaton is the language of a grammar as a deterministic automaton over
// bytes, and the meanings of its sentences. Its states are made when they are
// first reached. It is safe for concurrent use; a state's number is good for as
// long as the automaton lives, and the same in no two automata.
//
// A text of the language is a sentence of the grammar in any of its written
// forms: any case, a leading space or none, a space, a hyphen or punctuation
// between words, words or digits, and a full stop or the like at the end.
type Automaton struct {
	net *network
	// meaning gives the key of a reading, false to drop it; nil: its rule and slots.
	meaning func(Reading) (string, bool)

	classOf [256]uint8
	classes int

	states atomic.Pointer[[]*state]

	mu    sync.Mutex // guards what follows, and the making of states
	ctxs  *contexts
	walk  *walker
	index map[string]int32
}

type state struct {
	next    []atomic.Int32 // by byte class
	accepts bool
	extends bool
	configs []config
}

const (
	stateUnknown = -2
	stateNone    = -1
)

// Compile makes the automaton of the grammar's public rules. It fails when no
// rule is public or a rule calls itself before a word.
func (g *Grammar) Compile() (*Automaton, error) {
	var public []*Rule
	for _, r := range g.rules {
		if r.Public {
			public = append(public, r)
		}
	}
	if len(public) == 0 {
		return nil, &SyntaxError{Pos{g.File, 1, 1}, "no rule is public, so nothing can be said; write public before one"}
	}
	return compile(public, nil)
}

func compile(public []*Rule, callWord *Rule) (*Automaton, error) {
	if err := checkRecursion(public); err != nil {
		return nil, err
	}
	net, err := build(public, callWord)
	if err != nil {
		return nil, err
	}
	a := &Automaton{net: net, ctxs: newContexts(), index: map[string]int32{}}
	a.classify()
	a.walk = newWalker(net, a.ctxs, nil)
	a.states.Store(&[]*state{})
	a.mu.Lock()
	defer a.mu.Unlock()
	a.walk.enter(net.start, 0, modeStart, 0, 0)
	a.intern()
	return a, nil
}

// classify groups the bytes that the grammar cannot tell apart: all that occur
// in no spelling differ only for free speech, by whether it may start with them.
func (a *Automaton) classify() {
	const dead, other, punct = 0, 1, 2
	n := 3
	for b := 0; b < 256; b++ {
		switch c := lower(byte(b)); {
		case c < ' ' || c == 0x7f:
			a.classOf[b] = dead
		case c != byte(b):
		case a.net.used[b] || slices.Contains([]byte(" -,.;:?!"), byte(b)):
			a.classOf[b] = uint8(n)
			n++
		case startsFree(byte(b)):
			a.classOf[b] = other
		default:
			a.classOf[b] = punct
		}
	}
	for b := 'A'; b <= 'Z'; b++ {
		a.classOf[b] = a.classOf[lower(byte(b))]
	}
	a.classes = n
}

// intern gives the number of the state whose places the walker has just
// gathered, making it when it is new.
func (a *Automaton) intern() int32 {
	configs := make([]config, len(a.walk.order))
	for i, k := range a.walk.order {
		configs[i] = k.c
	}
	a.walk.clear()
	first := len(*a.states.Load()) == 0
	if len(configs) == 0 && !first {
		return stateNone
	}
	slices.Sort(configs)
	key := unsafe.String((*byte)(unsafe.Pointer(unsafe.SliceData(configs))), len(configs)*8)
	if i, ok := a.index[key]; ok {
		return i
	}
	s := &state{next: make([]atomic.Int32, a.classes), configs: configs}
	for i := range s.next {
		s.next[i].Store(stateUnknown)
	}
	s.next[0].Store(stateNone)
	for _, c := range configs {
		if k := c.kind(); k == atEnd || k == atEndSpace {
			s.accepts = true
		} else {
			s.extends = true
		}
	}
	states := append(*a.states.Load(), s)
	a.states.Store(&states)
	i := int32(len(states) - 1)
	a.index[key] = i // configs is never written again, so its bytes may serve as the key
	return i
}

// Start is the state before the first byte.
func (a *Automaton) Start() int32 { return 0 }

// Step is the state after one more byte, or -1 when no text of the language
// goes on so.
func (a *Automaton) Step(from int32, b byte) int32 {
	if from < 0 {
		return stateNone
	}
	class := a.classOf[b]
	s := (*a.states.Load())[from]
	if to := s.next[class].Load(); to != stateUnknown {
		return to
	}
	return a.learn(s, class, lower(b))
}

func (a *Automaton) learn(s *state, class uint8, b byte) int32 {
	a.mu.Lock()
	defer a.mu.Unlock()
	if to := s.next[class].Load(); to != stateUnknown {
		return to
	}
	for _, c := range s.configs {
		a.walk.step(c, b, 0, 0)
	}
	to := a.intern()
	s.next[class].Store(to)
	return to
}

// Accepts reports whether the text so far is a whole text of the language.
func (a *Automaton) Accepts(at int32) bool {
	return at >= 0 && (*a.states.Load())[at].accepts
}

// Extends reports whether more words can follow; closing punctuation alone,
// which may follow every whole text, does not count.
func (a *Automaton) Extends(at int32) bool {
	return at >= 0 && (*a.states.Load())[at].extends
}

// States is the number of states made so far.
func (a *Automaton) States() int { return len(*a.states.Load()) }

// String says how large the automaton is.
func (a *Automaton) String() string {
	return fmt.Sprintf("automaton of %d nodes, %d spellings, %d states so far", len(a.net.nodes), len(a.net.tries), a.States())
}
