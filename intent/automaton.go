package intent

import (
	"fmt"
	"hash/maphash"
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
// What a state is, is kept for good, about 80 bytes each. Where its bytes lead
// is kept for the last few thousand states and found again when asked for.
//
// A text of the language is a sentence of the grammar in any of its written
// forms: any case, a leading space or none, a space, a hyphen or punctuation
// between words, words or digits, and a full stop or the like at the end.
type Automaton struct {
	net *network
	// meaning gives the key of a reading, false to drop it; nil: its rule and slots.
	meaning func(Reading) (string, bool)

	called *Called

	classOf [256]uint8
	classes int

	parses sync.Pool // of *parse

	states atomic.Pointer[[]*stateChunk]

	mu     sync.Mutex // guards what follows, and the making of states
	walk   *walker
	made   int        // states
	places [][]config // of the states, in chunks
	seed   maphash.Seed
	index  map[uint64]int32 // states by the hash of their places, or the next free number
	routed []*state         // those that have routes, oldest first
	limit  int              // of routed
}

// state is kept small: an hour of speech makes hundreds of thousands.
type state struct {
	routes atomic.Pointer[[]atomic.Int32] // by byte class; nil: none known
	first  uint32                         // chunk of its places and number in that
	count  uint32                         // of its places, and the flags
}

const (
	stateAccepts = 1 << 31
	stateExtends = 1 << 30

	stateBits = 10
	placeBits = 14
)

type stateChunk [1 << stateBits]state

func (s *state) accepts() bool { return s.count&stateAccepts != 0 }
func (s *state) extends() bool { return s.count&stateExtends != 0 }

// at is a state by its number.
func (a *Automaton) at(number int32) *state {
	return &(*a.states.Load())[number>>stateBits][number&(1<<stateBits-1)]
}

// placesOf lists the places of a state. The caller holds the lock.
func (a *Automaton) placesOf(s *state) []config {
	n := s.count &^ (stateAccepts | stateExtends)
	return a.places[s.first>>placeBits][s.first&(1<<placeBits-1):][:n]
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
	a := &Automaton{net: net, seed: maphash.MakeSeed(), index: map[uint64]int32{}, limit: maxRouted}
	a.parses.New = func() any { return newParse(net) }
	a.classify()
	a.walk = newWalker(net, newStacks())
	a.states.Store(&[]*stateChunk{})
	a.mu.Lock()
	defer a.mu.Unlock()
	a.intern([]config{{makePlace(atStart, 0, net.start), 0}})
	if net.called != 0 {
		a.called = &Called{a, a.intern([]config{{makePlace(atStart, 0, net.called), 0}})}
	}
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
	key := maphash.Bytes(a.seed, unsafe.Slice((*byte)(unsafe.Pointer(unsafe.SliceData(configs))), len(configs)*int(unsafe.Sizeof(config{}))))
	for ; ; key++ {
		i, ok := a.index[key]
		if !ok {
			break
		}
		if slices.Equal(a.placesOf(a.at(i)), configs) {
			return i
		}
	}
	first := a.store(configs)
	configs = a.places[first>>placeBits][first&(1<<placeBits-1):][:len(configs)]
	flags := uint32(0)
	if slices.ContainsFunc(configs, a.whole) {
		flags |= stateAccepts
	}
	if slices.ContainsFunc(configs, a.growing) || a.joins(configs) {
		flags |= stateExtends
	}
	if flags == 0 && a.made > 0 {
		last := len(a.places) - 1
		a.places[last] = a.places[last][:first&(1<<placeBits-1)]
		return stateNone
	}
	if a.made>>stateBits == len(*a.states.Load()) {
		chunks := append(*a.states.Load(), new(stateChunk))
		a.states.Store(&chunks)
	}
	i := int32(a.made)
	a.made++
	s := a.at(i)
	s.first, s.count = first, uint32(len(configs))|flags
	a.index[key] = i
	return i
}

// store keeps places behind those of the last state and says where they lie.
func (a *Automaton) store(configs []config) (first uint32) {
	last := len(a.places) - 1
	if last < 0 || len(a.places[last])+len(configs) > cap(a.places[last]) {
		a.places = append(a.places, make([]config, 0, max(len(configs), 1<<placeBits)))
		last++
	}
	first = uint32(last<<placeBits | len(a.places[last]))
	a.places[last] = append(a.places[last], configs...)
	return first
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

// Called is the part of the language that begins with the call word, nil when it
// has none. It shares the states of the whole.
func (a *Automaton) Called() *Called { return a.called }

// Called is a language in which the call word must come first.
type Called struct {
	*Automaton
	start int32
}

// Start is the state before the first byte.
func (c *Called) Start() int32 { return c.start }

// Start is the state before the first byte.
func (a *Automaton) Start() int32 { return 0 }

// Step is the state after one more byte, or -1 when no text of the language
// goes on so.
func (a *Automaton) Step(from int32, b byte) int32 {
	class := a.classOf[b]
	if from < 0 || class == 0 {
		return stateNone
	}
	s := a.at(from)
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
	to := a.intern(a.walk.step(a.placesOf(s), b))
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
	return at >= 0 && a.at(at).accepts()
}

// Extends reports whether more words can follow; closing punctuation alone,
// which may follow every whole text, does not count.
func (a *Automaton) Extends(at int32) bool {
	return at >= 0 && a.at(at).extends()
}

// States is the number of states made so far.
func (a *Automaton) States() int {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.made
}

// String says how large the automaton is.
func (a *Automaton) String() string {
	return fmt.Sprintf("automaton of %d nodes, %d spellings, %d states so far", len(a.net.nodes), len(a.net.tries), a.States())
}
