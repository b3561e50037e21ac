package intent

import (
	"cmp"
	"slices"
)

// A walk follows all paths of a network at once, byte by byte. Between two
// bytes it only remembers where the words read so far have ended; what can
// begin there is looked at when the next byte is known, and only as far as that
// byte allows.

// placeKind says what kind of place of a text has been reached.
type placeKind uint8

const (
	inWord     placeKind = iota // the id is a node of a trie of spellings
	afterWord                   // the id is the node after the word
	afterPunct                  // after punctuation, a space must come; the id is the node of the next word
	afterGap                    // the next word must begin; the id is its node
	atStart                     // as afterGap, a space may come
	inFree                      // inside free speech; the id is the node before it
	atEnd                       // the sentence is over: punctuation may come
	atEndSpace                  // after that
)

// place is a placeKind, how the last word was written, and the id.
type place uint32

const maxPlaceID = 1<<24 - 1

func makePlace(k placeKind, m mode, id int32) place {
	return place(uint32(k)<<29 | uint32(m)<<24 | uint32(id))
}

func (p place) kind() placeKind { return placeKind(p >> 29) }
func (p place) mode() mode      { return mode(p >> 24 & 31) }
func (p place) id() int32       { return int32(p & maxPlaceID) }

// config is a place with the set of stacks of calls that are pending there.
type config struct {
	at    place
	stack int32
}

// walker computes one step at a time.
type walker struct {
	net    *network
	stacks *stacks

	b     byte
	found []found
	seeds []visit
	seen  map[visit]bool
	todo  []visit
	calls []call
	index map[callKey]int32

	reached []config
	numbers []int32
}

// found is a place that has been reached. A negative stack is −1 − an index
// into calls: the set is complete only when the step is.
type found struct {
	at    place
	stack int32
}

// visit is a node where a word may begin, after a word written as mode says;
// modeStart when the gap is done.
type visit struct {
	node, stack int32
	mode        mode
}

// call is a rule entered in this step.
type call struct {
	from   []frame // its callers; a parent may be negative, like found.stack
	leaves []mode  // the ways its end was reached in this step
	stack  int32   // its number once it is known
	state  uint8   // of finding that out: 1 at it, 2 done
}

type callKey struct {
	in   int32
	mode mode
}

func newWalker(net *network, stacks *stacks) *walker {
	return &walker{net: net, stacks: stacks, seen: map[visit]bool{}, index: map[callKey]int32{}}
}

// step gives the places reached from configs by the byte b, lower case, sorted;
// good until the next step.
func (w *walker) step(configs []config, b byte) []config {
	w.b = b
	w.found, w.seeds, w.calls = w.found[:0], w.seeds[:0], w.calls[:0]
	clear(w.seen)
	clear(w.index)
	for _, c := range configs {
		w.read(c)
	}
	w.todo = append(w.todo[:0], w.seeds...)
	for len(w.todo) > 0 {
		v := w.todo[len(w.todo)-1]
		w.todo = w.todo[:len(w.todo)-1]
		if !w.seen[v] {
			w.seen[v] = true
			w.visit(v)
		}
	}
	return w.gather()
}

// read reads the byte at a place, except where a word would begin with it:
// those places become seeds.
func (w *walker) read(c config) {
	b, id, set := w.b, c.at.id(), &w.stacks.sets[c.stack]
	ahead := &w.net.ahead
	switch c.at.kind() {
	case inWord:
		if to := w.net.tries[id].kid(b); to != 0 {
			w.enter(to, c.stack)
		}
	case afterWord:
		m := c.at.mode()
		if m.complete() {
			more := !ahead.gap[id].empty() || ahead.blank[id] && !set.gap.empty()
			switch {
			case !more:
			case b == ' ' || b == '-':
				w.add(makePlace(afterGap, 0, id), c.stack)
			case isPunct(b):
				w.add(makePlace(afterPunct, 0, id), c.stack)
			}
			if ahead.blank[id] && set.ends {
				w.end(b, true)
			}
		}
		w.seeds = append(w.seeds, visit{id, c.stack, m})
	case afterPunct:
		switch b {
		case ' ':
			w.add(makePlace(afterGap, 0, id), c.stack)
		case '.':
			w.add(c.at, c.stack)
		}
	case atStart:
		if b == ' ' {
			w.add(makePlace(afterGap, 0, id), c.stack)
		}
		w.seeds = append(w.seeds, visit{id, c.stack, modeStart})
	case afterGap:
		w.seeds = append(w.seeds, visit{id, c.stack, modeStart})
	case inFree:
		if b >= ' ' && b != 0x7f {
			w.add(c.at, c.stack)
		}
	case atEnd:
		w.end(b, true)
	case atEndSpace:
		w.end(b, false)
	}
}

// end reads a byte after the last word.
func (w *walker) end(b byte, punct bool) {
	switch {
	case b == ' ':
		w.add(makePlace(atEndSpace, 0, 0), 0)
	case punct && b != ':' && isPunct(b):
		w.add(makePlace(atEnd, 0, 0), 0)
	}
}

func isPunct(b byte) bool {
	switch b {
	case ',', '.', ';', ':', '?', '!':
		return true
	}
	return false
}

func (w *walker) add(at place, stack int32) { w.found = append(w.found, found{at, stack}) }

// enter comes to a node of a trie.
func (w *walker) enter(to, stack int32) {
	t := &w.net.tries[to]
	if len(t.kids) > 0 {
		w.add(makePlace(inWord, 0, to), stack)
	}
	for _, e := range t.ends {
		w.add(makePlace(afterWord, e.mode, e.to), stack)
	}
}

// useful reports whether the byte can begin a word at or after a node.
func (w *walker) useful(node int32, m mode) bool {
	ahead := &w.net.ahead
	switch m {
	case modeStart:
		return ahead.blank[node] || ahead.gap[node].has(w.b)
	case modeTight, modeEither:
		return ahead.blank[node] || ahead.gap[node].has(w.b) || ahead.joined[node].has(w.b) || ahead.blankJoined[node]
	}
	return ahead.joined[node].has(w.b) || ahead.blankJoined[node]
}

func (w *walker) push(node, stack int32, m mode) {
	if w.useful(node, m) {
		w.todo = append(w.todo, visit{node, stack, m})
	}
}

// visit begins the words at a node and follows what needs no byte.
func (w *walker) visit(v visit) {
	n := &w.net.nodes[v.node]
	if v.mode == modeStart || v.mode == modeTight || v.mode == modeEither {
		w.begin(n, v, modeGap)
		if n.free != 0 && v.mode != modeEither && startsFree(w.b) {
			w.add(makePlace(inFree, 0, v.node), v.stack)
		}
	}
	if m := v.mode.joining(); m != modeStart && n.modes&(1<<m) != 0 {
		w.begin(n, v, m)
		for _, e := range w.net.tries[w.net.roots[rootKey{v.node, m}]].ends { // words that are not written at all
			w.push(e.to, v.stack, e.mode)
		}
	}
	for _, e := range n.eps {
		w.push(e.to, v.stack, v.mode)
	}
	for _, c := range n.calls {
		if c.tail {
			w.push(c.in, v.stack, v.mode)
		} else {
			w.call(c, v)
		}
	}
	if n.end {
		w.leave(v)
	}
}

func (w *walker) begin(n *netNode, v visit, m mode) {
	if n.modes&(1<<m) == 0 {
		return
	}
	if to := w.net.tries[w.net.roots[rootKey{v.node, m}]].kid(w.b); to != 0 {
		w.enter(to, v.stack)
	}
}

// call enters a rule, once for all its callers.
func (w *walker) call(c callEdge, v visit) {
	if !w.useful(c.in, v.mode) {
		return
	}
	key := callKey{c.in, v.mode}
	i, known := w.index[key]
	if !known {
		i = int32(len(w.calls))
		w.index[key] = i
		if cap(w.calls) > len(w.calls) { // keep the slices of an earlier step
			w.calls = w.calls[:i+1]
			old := &w.calls[i]
			*old = call{from: old.from[:0], leaves: old.leaves[:0]}
		} else {
			w.calls = append(w.calls, call{})
		}
		w.push(c.in, -1-i, v.mode)
	}
	k := &w.calls[i]
	k.from = append(k.from, frame{c.back, v.stack})
	for _, m := range k.leaves {
		w.push(c.back, v.stack, m)
	}
}

// leave comes back from a rule.
func (w *walker) leave(v visit) {
	if v.stack >= 0 {
		for _, f := range w.stacks.sets[v.stack].frames {
			w.push(f.back, f.parent, v.mode)
		}
		return
	}
	k := &w.calls[-1-v.stack]
	if slices.Contains(k.leaves, v.mode) {
		return
	}
	k.leaves = append(k.leaves, v.mode)
	for _, f := range k.from {
		w.push(f.back, f.parent, v.mode)
	}
}

// settle gives the number of a set once the step is over.
func (w *walker) settle(stack int32) int32 {
	if stack >= 0 {
		return stack
	}
	k := &w.calls[-1-stack]
	if k.state != 0 {
		return k.stack
	}
	// A rule that calls itself without a byte between, through words that are
	// not written, would be pending in itself: such a call is dropped.
	k.state, k.stack = 1, -1
	var frames []frame
	for _, f := range k.from {
		if p := w.settle(f.parent); p >= 0 {
			frames = append(frames, frame{f.back, p})
		}
	}
	k.state, k.stack = 2, w.stacks.intern(w.net, frames, false)
	return k.stack
}

// gather joins what was found into one set of stacks for each place. What it gives
// is good until the next step.
func (w *walker) gather() []config {
	slices.SortFunc(w.found, func(a, b found) int {
		if c := cmp.Compare(a.at, b.at); c != 0 {
			return c
		}
		return cmp.Compare(a.stack, b.stack)
	})
	w.found = slices.Compact(w.found)
	configs, numbers := w.reached[:0], w.numbers[:0]
	for i := 0; i < len(w.found); {
		at := w.found[i].at
		numbers = numbers[:0]
		for ; i < len(w.found) && w.found[i].at == at; i++ {
			if s := w.settle(w.found[i].stack); s == 0 || s > 0 && len(w.stacks.sets[s].frames) > 0 {
				numbers = append(numbers, s)
			}
		}
		if len(numbers) > 0 {
			configs = append(configs, config{at, w.stacks.union(w.net, numbers)})
		}
	}
	w.reached, w.numbers = configs, numbers
	return configs
}

// startsFree reports whether free speech may begin with b: not with a space or
// with punctuation, which belong to the gap before it.
func startsFree(b byte) bool {
	switch {
	case b <= ' ', b == 0x7f:
		return false
	case isPunct(b) || b == '-':
		return false
	}
	return true
}

func lower(b byte) byte {
	if b >= 'A' && b <= 'Z' {
		return b + 'a' - 'A'
	}
	return b
}
