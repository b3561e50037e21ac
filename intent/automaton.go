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
// What a state is, is kept for good, about 200 bytes each. Where its bytes lead
// is kept for the last few thousand states and found again when asked for.
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

	parses sync.Pool // of *parse

	states atomic.Pointer[[]*state]

	mu     sync.Mutex // guards what follows, and the making of states
	walk   *walker
	index  map[string]int32
	routed []*state // those that have routes, oldest first
	limit  int      // of routed
}

type state struct {
	routes  atomic.Pointer[[]atomic.Int32] // by byte class; nil: none known
	accepts bool
	extends bool
	configs []config
}

const (
	stateUnknown = -2
	stateNone    = -1
)

// maxRouted bounds the states whose routes are kept: some 300 bytes each.
const maxRouted = 16384

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
	return compile(public, nil, nil, nil)
}

func compile(public []*Rule, callWord, opener, closer *Rule) (*Automaton, error) {
	if err := checkRecursion(public); err != nil {
		return nil, err
	}
	net, err := build(public, callWord, opener, closer)
	if err != nil {
		return nil, err
	}
	if len(net.nodes) > maxPlaceID || len(net.tries) > maxPlaceID {
		return nil, fmt.Errorf("compile the grammar: it has %d places and %d spellings, more than can be numbered; leave out some names", len(net.nodes), len(net.tries))
	}
	a := &Automaton{net: net, index: map[string]int32{}, limit: maxRouted}
	a.parses.New = func() any { return newParse(net) }
	a.classify()
	a.walk = newWalker(net, newStacks())
	a.states.Store(&[]*state{})
	a.mu.Lock()
	defer a.mu.Unlock()
	a.intern([]config{{makePlace(atStart, 0, net.start), 0}})
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

// intern gives the number of the state with these places, making it when it is
// new; stateNone when nothing can come of them.
func (a *Automaton) intern(configs []config) int32 {
	if len(configs) == 0 {
		return stateNone
	}
	key := unsafe.String((*byte)(unsafe.Pointer(unsafe.SliceData(configs))), len(configs)*int(unsafe.Sizeof(config{})))
	if i, ok := a.index[key]; ok {
		return i
	}
	s := &state{configs: configs}
	s.accepts = slices.ContainsFunc(configs, a.whole)
	s.extends = slices.ContainsFunc(configs, a.growing) || a.joins(configs)
	if !s.accepts && !s.extends && len(*a.states.Load()) > 0 {
		return stateNone
	}
	states := append(*a.states.Load(), s)
	a.states.Store(&states)
	i := int32(len(states) - 1)
	a.index[key] = i // configs is never written again, so its bytes may serve as the key
	return i
}

// whole reports whether the text may end at a place.
func (a *Automaton) whole(c config) bool {
	ends := a.walk.stacks.sets[c.stack].ends
	switch c.at.kind() {
	case afterWord:
		return c.at.mode().complete() && ends && a.net.ahead.blank[c.at.id()]
	case inFree:
		return ends && a.net.ahead.blank[a.net.nodes[c.at.id()].free]
	case atEnd, atEndSpace:
		return true
	}
	return false
}

// growing reports whether more must or may be said at a place, as far as can be
// told without looking at every byte.
func (a *Automaton) growing(c config) bool {
	switch c.at.kind() {
	case atEnd, atEndSpace:
		return false
	case afterWord:
		id := c.at.id()
		return c.at.mode().complete() && (!a.net.ahead.gap[id].empty() || a.net.ahead.blank[id] && !a.walk.stacks.sets[c.stack].gap.empty())
	}
	return true
}

// joins reports whether a word may follow without a gap.
func (a *Automaton) joins(configs []config) bool {
	var may byteSet
	for _, c := range configs {
		if c.at.kind() != afterWord {
			continue
		}
		id, set := c.at.id(), &a.walk.stacks.sets[c.stack]
		for _, s := range []*byteSet{&a.net.ahead.joined[id], &a.net.ahead.gap[id], &set.joined, &set.gap} {
			may.join(s)
		}
	}
	found := false
	may.each(func(b byte) bool {
		found = slices.ContainsFunc(a.walk.step(configs, b), func(c config) bool { return c.at.kind() != atEnd && c.at.kind() != atEndSpace })
		return !found
	})
	return found
}

// Start is the state before the first byte.
func (a *Automaton) Start() int32 { return 0 }

// Step is the state after one more byte, or -1 when no text of the language
// goes on so.
func (a *Automaton) Step(from int32, b byte) int32 {
	class := a.classOf[b]
	if from < 0 || class == 0 {
		return stateNone
	}
	s := (*a.states.Load())[from]
	if routes := s.routes.Load(); routes != nil {
		if to := (*routes)[class].Load(); to != stateUnknown {
			return to
		}
	}
	return a.learn(s, class, lower(b))
}

func (a *Automaton) learn(s *state, class uint8, b byte) int32 {
	a.mu.Lock()
	defer a.mu.Unlock()
	routes := s.routes.Load()
	if routes == nil {
		r := make([]atomic.Int32, a.classes)
		for i := range r {
			r[i].Store(stateUnknown)
		}
		routes = &r
		a.keep(s, routes)
	}
	if to := (*routes)[class].Load(); to != stateUnknown {
		return to
	}
	to := a.intern(a.walk.step(s.configs, b))
	(*routes)[class].Store(to)
	return to
}

// keep gives a state its routes; when there are too many, the older half of the
// states lose theirs.
func (a *Automaton) keep(s *state, routes *[]atomic.Int32) {
	if len(a.routed) >= a.limit {
		for _, old := range a.routed[:a.limit/2] {
			old.routes.Store(nil)
		}
		a.routed = append(a.routed[:0:0], a.routed[a.limit/2:]...)
	}
	s.routes.Store(routes)
	a.routed = append(a.routed, s)
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
