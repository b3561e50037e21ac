package intent

import (
	"fmt"
	"math"
	"strings"
)

// network is a grammar as word graphs, one per rule, that call each other.
// Rules are not copied to where they are used: a call remembers the node to
// come back to, so that two thousand names are stored once however many
// sentences take a name.
type network struct {
	nodes []netNode
	syms  []symbol
	rules map[*Rule]fragment
	tries []trieNode
	// roots finds the spellings that leave a node, by the way the word before
	// them was written.
	roots   map[rootKey]int32
	start   int32
	called  int32 // as start, but the call word must come first; 0: there is none
	ahead   lookahead
	lexicon lexicon

	symIndex map[symbol]int32
	used     [256]bool // bytes that some spelling contains
}

type rootKey struct {
	node int32
	mode mode
}

// fragment is a piece of a word graph between two nodes.
type fragment struct{ in, out int32 }

type netNode struct {
	eps   []epsEdge
	words []wordEdge
	calls []callEdge
	end   bool   // of its rule
	loop  bool   // a repetition begins here
	free  int32  // where free speech from here leads; 0: none (node 0 is never a target)
	modes uint32 // the ways the word before may be written
	// unwritten are the nodes after words that need no byte: "and" in "135".
	unwritten []int32
}

type epsEdge struct {
	to   int32
	sym  int32 // what the passage puts out; noSym: nothing
	cost float32
}

type wordEdge struct {
	to     int32
	sym    int32
	spells []spelling
}

type callEdge struct {
	in, back int32
	tail     bool // nothing is left to do after coming back
}

// symbol is one thing a path puts out.
type symbol struct {
	kind symKind
	text string // the rule, the slot, the word
	more string // symValue: the value
}

type symKind uint8

const (
	symRule symKind = iota
	symOpen
	symClose
	symValue
	symWord
	symGlue // a piece that joins the one before it without a space
	symFree // free speech; the text is taken from the utterance
	symMute // the words up to symUnmute are replaced by a value
	symUnmute
	symAddressed // the call word was said
)

const noSym = -1

// builder makes a network out of rules.
type builder struct {
	net       *network
	todo      []*Rule
	wordIndex map[string]int32
}

func (b *builder) node() int32 {
	b.net.nodes = append(b.net.nodes, netNode{})
	return int32(len(b.net.nodes) - 1)
}

func (b *builder) sym(s symbol) int32 {
	if i, ok := b.net.symIndex[s]; ok {
		return i
	}
	i := int32(len(b.net.syms))
	b.net.syms = append(b.net.syms, s)
	b.net.symIndex[s] = i
	return i
}

func (b *builder) link(from, to, sym int32, cost float64) {
	n := &b.net.nodes[from]
	n.eps = append(n.eps, epsEdge{to, sym, float32(cost)})
}

// word adds one word between two nodes. The spellings say how it is written;
// emit is what it puts out. Words of one key have the same spellings.
func (b *builder) word(from, to int32, emit symbol, key string, spells func() []spelling) {
	i, ok := b.wordIndex[key]
	if !ok {
		i = int32(len(b.net.lexicon.words))
		b.wordIndex[key] = i
		b.net.lexicon.words = append(b.net.lexicon.words, lexiconWord{spells: spells()})
	}
	w := &b.net.lexicon.words[i]
	w.nodes = append(w.nodes, from)
	n := &b.net.nodes[from]
	n.words = append(n.words, wordEdge{to, b.sym(emit), w.spells})
}

// rule gives the fragment of a rule, to be filled in later when it is new.
func (b *builder) rule(r *Rule) fragment {
	if f, ok := b.net.rules[r]; ok {
		return f
	}
	f := fragment{b.node(), b.node()}
	b.net.nodes[f.out].end = true
	b.net.rules[r] = f
	b.todo = append(b.todo, r)
	return f
}

func (b *builder) call(from, to int32, r *Rule) {
	f := b.rule(r)
	n := &b.net.nodes[from]
	n.calls = append(n.calls, callEdge{in: f.in, back: to})
}

// expand adds e between two nodes.
func (b *builder) expand(e *expansion, from, to int32) {
	switch e.op {
	case opNull:
		b.link(from, to, noSym, 0)
	case opVoid:
	case opDictate:
		b.sym(symbol{kind: symFree})
		inner := b.node()
		n := b.node()
		b.link(from, n, noSym, 0)
		b.net.nodes[n].free = inner
		b.link(inner, to, noSym, 0)
	case opWord:
		b.token(e.word, from, to)
	case opRef:
		b.call(from, to, e.rule)
	case opSequence:
		b.sequence(e.kids, from, to)
	case opChoice:
		sum := 0.0
		for _, w := range e.weights {
			sum += w
		}
		for i, k := range e.kids {
			if e.weights == nil {
				b.expand(k, from, to)
				continue
			}
			if w := e.weights[i]; w > 0 {
				n := b.node()
				b.link(from, n, noSym, -math.Log(w/sum))
				b.expand(k, n, to)
			}
		}
	case opOptional:
		b.expand(e.kids[0], from, to)
		b.link(from, to, noSym, 0)
	case opStar, opPlus:
		// Own nodes on both sides, so that the loop cannot be entered from a neighbour.
		in, out := b.node(), b.node()
		b.net.nodes[in].loop = true
		b.link(from, in, noSym, 0)
		b.expand(e.kids[0], in, out)
		b.link(out, in, noSym, 0)
		b.link(out, to, noSym, 0)
		if e.op == opStar {
			b.link(from, to, noSym, 0)
		}
	case opTag:
		b.tag(e, from, to)
	}
}

func (b *builder) tag(e *expansion, from, to int32) {
	name, value, constant := strings.Cut(e.word, "=")
	name, value = strings.TrimSpace(name), strings.TrimSpace(value)
	if !constant {
		in, out := b.node(), b.node()
		b.link(from, in, b.sym(symbol{kind: symOpen, text: name}), 0)
		b.expand(e.kids[0], in, out)
		b.link(out, to, b.sym(symbol{kind: symClose, text: name}), 0)
		return
	}
	if n := len(value); n >= 2 && (value[0] == '"' || value[0] == '\'') && value[n-1] == value[0] {
		value = value[1 : n-1]
	}
	if name == "" {
		b.replace(e.kids[0], value, from, to)
		return
	}
	out := b.node()
	b.expand(e.kids[0], from, out)
	b.link(out, to, b.sym(symbol{kind: symValue, text: name, more: value}), 0)
}

// replace puts a value in the slot around e in place of e's words; a value that
// begins with ~ joins what is before it, one that is ~ alone begins a number.
func (b *builder) replace(e *expansion, value string, from, to int32) {
	s := symbol{kind: symWord, text: value}
	if glued, ok := strings.CutPrefix(value, "~"); ok {
		s = symbol{kind: symGlue, text: glued}
	}
	in, out, last := b.node(), b.node(), b.node()
	b.link(from, in, b.sym(symbol{kind: symMute}), 0)
	b.expand(e, in, out)
	b.link(out, last, b.sym(symbol{kind: symUnmute}), 0)
	if value == "" {
		b.link(last, to, noSym, 0)
		return
	}
	b.link(last, to, b.sym(s), 0)
}

// sequence chains kids; two neighbouring words that are also written as one
// ("fly wheel") get that spelling as well.
func (b *builder) sequence(kids []*expansion, from, to int32) {
	at := make([]int32, len(kids)+1)
	at[0], at[len(kids)] = from, to
	for i := 1; i < len(kids); i++ {
		at[i] = b.node()
	}
	for i, k := range kids {
		b.expand(k, at[i], at[i+1])
		if i+1 < len(kids) && k.op == opWord && kids[i+1].op == opWord {
			b.joined(k.word, kids[i+1].word, at[i], at[i+2])
		}
	}
}

func (b *builder) joined(first, second string, from, to int32) {
	one, two := strings.ToLower(first), strings.ToLower(second)
	if compounds[one+two] == "" {
		return
	}
	b.word(from, to, symbol{kind: symWord, text: one + " " + two}, "+"+one+two, func() []spelling { return []spelling{{modeGap, one + two, modeGap}} })
}

// token adds a token, which in quotes may be several words.
func (b *builder) token(token string, from, to int32) {
	words := strings.Fields(token)
	for i, w := range words {
		next := to
		if i+1 < len(words) {
			next = b.node()
			b.spoken(w, from, next)
		} else {
			b.spoken(w, from, to)
		}
		from = next
	}
}

func (b *builder) spoken(word string, from, to int32) { b.spokenFor(word, word, from, to) }

// spokenFor adds a word that puts out another in its place.
func (b *builder) spokenFor(word, means string, from, to int32) {
	w := strings.ToLower(word)
	b.word(from, to, symbol{kind: symWord, text: strings.ToLower(means)}, w, func() []spelling { return spellings(w) })
}

// asideCost is what an opener or a closer costs: it comes once in five times.
const asideCost = 1.4

// build makes the network whose sentences are those of the public rules.
// callWord, opener and closer, when given, are rules that may be said first and
// last.
func build(public []*Rule, callWord, opener, closer *Rule) (*network, error) {
	b := &builder{wordIndex: map[string]int32{}, net: &network{
		rules:    map[*Rule]fragment{},
		roots:    map[rootKey]int32{},
		symIndex: map[symbol]int32{},
	}}
	b.node() // node 0 stays unused, so that 0 can mean none
	start, end := b.node(), b.node()
	b.net.start = start
	b.net.nodes[end].end = true
	sentence := start
	if callWord != nil {
		sentence = b.node()
		called := b.node()
		b.link(start, sentence, noSym, 0)
		b.call(start, called, callWord)
		b.link(called, sentence, b.sym(symbol{kind: symAddressed}), 0)
		b.net.called = b.node()
		b.call(b.net.called, called, callWord)
		b.call(b.net.called, end, callWord) // it may stand alone
	}
	// What means nothing may come before and after, and makes it a little less
	// likely that this is what was said.
	if opener != nil {
		opened := b.node()
		b.link(sentence, opened, noSym, 0)
		asides := b.node()
		b.link(sentence, asides, noSym, asideCost)
		b.call(asides, opened, opener)
		sentence = opened
	}
	last := end
	if closer != nil {
		last = b.node()
		b.link(last, end, noSym, 0)
		asides := b.node()
		b.link(last, asides, noSym, asideCost)
		b.call(asides, end, closer)
	}
	for _, r := range public {
		n := b.node()
		b.link(sentence, n, b.sym(symbol{kind: symRule, text: r.Name}), 0)
		b.call(n, last, r)
	}
	for len(b.todo) > 0 {
		r := b.todo[0]
		b.todo = b.todo[1:]
		f := b.net.rules[r]
		if r.native != nil {
			inner := r.native(b)
			b.link(f.in, inner.in, noSym, 0)
			b.link(inner.out, f.out, noSym, 0)
			continue
		}
		b.expand(r.body, f.in, f.out)
	}
	if len(b.net.nodes) >= 1<<28 {
		return nil, fmt.Errorf("compile the grammar: it has %d places, more than can be numbered", len(b.net.nodes))
	}
	b.net.markTails()
	b.net.spellOut()
	b.net.lookAhead()
	b.net.index()
	return b.net, nil
}

// markTails finds the calls after which nothing is left to do but return. They
// need no memory, so a rule that refers to itself at its end may go on forever.
func (n *network) markTails() {
	for i := range n.nodes {
		for j := range n.nodes[i].calls {
			c := &n.nodes[i].calls[j]
			at := c.back
			for hops := 0; hops < 1000; hops++ {
				x := &n.nodes[at]
				if len(x.words) > 0 || len(x.calls) > 0 || x.free != 0 {
					break
				}
				if x.end {
					c.tail = len(x.eps) == 0
					break
				}
				if len(x.eps) != 1 || x.eps[0].sym != noSym || x.eps[0].cost != 0 {
					break
				}
				at = x.eps[0].to
			}
		}
	}
}

// trieNode is one place within the spellings that leave a node.
type trieNode struct {
	kids []trieKid
	ends []trieEnd
}

type trieKid struct {
	b  byte
	to int32
}

// trieEnd is a word that is complete here.
type trieEnd struct {
	to   int32 // the node after the word
	sym  int32
	mode mode // how the word ended in writing
}

// spellOut makes the tries of all nodes.
func (n *network) spellOut() {
	n.tries = make([]trieNode, 1, 4*len(n.nodes))
	for i := range n.nodes {
		node := &n.nodes[i]
		for _, w := range node.words {
			for _, s := range w.spells {
				n.insert(int32(i), w, s)
				node.modes |= 1 << s.after
			}
		}
	}
}

func (n *network) insert(node int32, w wordEdge, s spelling) {
	key := rootKey{node, s.after}
	at, ok := n.roots[key]
	if !ok {
		at = n.newTrie()
		n.roots[key] = at
	}
	if s.text == "" {
		n.nodes[node].unwritten = append(n.nodes[node].unwritten, w.to)
	}
	for i := 0; i < len(s.text); i++ {
		c := s.text[i]
		n.used[c] = true
		next := n.tries[at].kid(c)
		if next == 0 {
			next = n.newTrie()
			t := &n.tries[at]
			t.kids = append(t.kids, trieKid{c, next})
		}
		at = next
	}
	t := &n.tries[at]
	t.ends = append(t.ends, trieEnd{w.to, w.sym, s.leaves})
}

func (n *network) newTrie() int32 {
	n.tries = append(n.tries, trieNode{})
	return int32(len(n.tries) - 1)
}

func (t *trieNode) kid(c byte) int32 {
	for _, k := range t.kids {
		if k.b == c {
			return k.to
		}
	}
	return 0
}
