package intent

// A walk follows all paths of a network at once, byte by byte. The automaton
// walks without outputs and keeps the sets it meets; a parse walks with them.

// config is one place of a walk: what kind of place, where, and the pending
// calls.
type config uint64

type configKind uint8

const (
	atTrie      configKind = iota // inside a word: id is a trie node
	atGap                         // after a word, before the gap: id is the node of the next
	atGapSpace                    // after punctuation: a space must come
	atLead                        // at the very start: a space may come
	atFree                        // before free speech: id is the node
	atFreeInner                   // inside it
	atEnd                         // the sentence is whole: punctuation may come
	atEndSpace                    // after that
)

func makeConfig(k configKind, id, ctx int32) config {
	return config(uint64(k)<<60 | uint64(uint32(id))<<32 | uint64(uint32(ctx)))
}

func (c config) kind() configKind { return configKind(c >> 60) }
func (c config) id() int32        { return int32(uint32(c>>32) & (1<<28 - 1)) }
func (c config) ctx() int32       { return int32(uint32(c)) }

// contexts numbers the stacks of pending calls. Context 0 is the empty stack.
type contexts struct {
	frames []frame
	index  map[frame]int32
}

type frame struct {
	parent, back int32
	depth        int32
}

func newContexts() *contexts {
	return &contexts{frames: make([]frame, 1), index: map[frame]int32{}}
}

// push gives the context with one more call, or -1 when it is too deep.
func (c *contexts) push(parent, back int32) int32 {
	f := frame{parent, back, c.frames[parent].depth + 1}
	if f.depth > maxCallDepth {
		return -1
	}
	if i, ok := c.index[f]; ok {
		return i
	}
	i := int32(len(c.frames))
	c.frames = append(c.frames, f)
	c.index[f] = i
	return i
}

// outputs is the tree of what paths have put out; a path's output is a node,
// read from the leaf to the root. Equal outputs are the same node.
type outputs struct {
	nodes []output
	index map[output]int32
}

type output struct {
	parent, sym int32
	at          int32 // free speech: where it begins in the text
	open        int16 // slots that are open here
	mute        int16 // replaced words that are open here
}

// walker holds the state of one step.
type walker struct {
	net  *network
	ctxs *contexts
	outs *outputs // nil: outputs are of no interest
	pos  int32    // of the byte being read, for free speech

	next  map[configOut]float32 // the places reached, with their least cost
	order []configOut           // the same in the order of arrival
	per   map[config]int        // how many outputs a place has
	seen  map[visit]float32
	path  map[[2]int32]bool // the nodes being expanded, against loops without words
}

type configOut struct {
	c   config
	out int32
}

type visit struct {
	node, ctx, out int32
	mode           mode
}

// maxOutputs bounds how many different outputs are followed at one place, so
// that a grammar with endless ambiguity stays affordable.
const maxOutputs = 48

func newWalker(net *network, ctxs *contexts, outs *outputs) *walker {
	return &walker{
		net: net, ctxs: ctxs, outs: outs,
		next: map[configOut]float32{}, per: map[config]int{},
		seen: map[visit]float32{}, path: map[[2]int32]bool{},
	}
}

func (w *walker) clear() {
	clear(w.next)
	clear(w.per)
	clear(w.seen)
	w.order = w.order[:0]
}

func (w *walker) add(c config, out int32, cost float32) {
	k := configOut{c, out}
	if old, ok := w.next[k]; ok {
		w.next[k] = min(old, cost)
		return
	}
	if w.outs != nil {
		if w.per[c] >= maxOutputs {
			return
		}
		w.per[c]++
	}
	w.next[k] = cost
	w.order = append(w.order, k)
}

// emit appends a symbol to an output. Words count only inside a slot.
func (w *walker) emit(out, sym int32) int32 {
	if w.outs == nil || sym == noSym {
		return out
	}
	s := w.net.syms[sym]
	was := w.outs.nodes[out]
	o := output{parent: out, sym: sym, open: was.open, mute: was.mute}
	switch s.kind {
	case symOpen:
		o.open++
	case symClose:
		o.open--
	case symMute:
		if o.open == 0 {
			return out
		}
		o.mute++
	case symUnmute:
		if o.open == 0 {
			return out
		}
		o.mute--
	case symWord, symGlue:
		if o.open == 0 || o.mute > 0 {
			return out
		}
	}
	return w.outs.intern(o)
}

func (o *outputs) intern(n output) int32 {
	if i, ok := o.index[n]; ok {
		return i
	}
	i := int32(len(o.nodes))
	o.nodes = append(o.nodes, n)
	o.index[n] = i
	return i
}

// enter follows everything that needs no byte from a node, after a word written
// as m says, and adds the places where bytes go on.
func (w *walker) enter(node, ctx int32, m mode, out int32, cost float32) {
	v := visit{node, ctx, out, m}
	if old, ok := w.seen[v]; ok && old <= cost {
		return
	}
	w.seen[v] = cost
	// Coming back to a node within one closure would only repeat empty output.
	key := [2]int32{node, ctx}
	if w.path[key] {
		return
	}
	w.path[key] = true
	defer delete(w.path, key)

	n := &w.net.nodes[node]
	if m != modeFree {
		w.places(n, node, ctx, m, out, cost)
	}
	for _, e := range n.eps {
		w.enter(e.to, ctx, m, w.emit(out, e.sym), cost+e.cost)
	}
	for _, c := range n.calls {
		inner := ctx
		if !c.tail {
			if inner = w.ctxs.push(ctx, c.back); inner < 0 {
				continue
			}
		}
		w.enter(c.in, inner, m, out, cost)
	}
	if n.end {
		switch {
		case ctx != 0:
			f := w.ctxs.frames[ctx]
			w.enter(f.back, f.parent, m, out, cost)
		case m.complete() && m != modeStart:
			w.add(makeConfig(atEnd, 0, 0), out, cost)
		}
	}
}

// places adds where the next word may begin, given how the last one was written.
func (w *walker) places(n *netNode, node, ctx int32, m mode, out int32, cost float32) {
	if len(n.words) == 0 && n.free == 0 {
		return
	}
	switch {
	case m == modeStart:
		w.add(makeConfig(atLead, node, ctx), out, cost)
		w.ready(n, node, ctx, out, cost)
	case m == modeTight:
		w.ready(n, node, ctx, out, cost)
	case m == modeEither:
		w.add(makeConfig(atGap, node, ctx), out, cost)
		if len(n.words) > 0 {
			w.ready(n, node, ctx, out, cost)
		}
	case m.complete():
		w.add(makeConfig(atGap, node, ctx), out, cost)
	}
	if m == modeGap || m == modeStart || n.modes&(1<<m) == 0 {
		return
	}
	root := w.net.roots[rootKey{node, m}]
	if len(w.net.tries[root].kids) > 0 {
		w.add(makeConfig(atTrie, root, ctx), out, cost)
	}
	for _, e := range w.net.tries[root].ends { // words that are not written at all
		w.enter(e.to, ctx, e.mode, w.emit(out, e.sym), cost)
	}
}

// ready adds the places where a word begins right here.
func (w *walker) ready(n *netNode, node, ctx, out int32, cost float32) {
	if n.modes&(1<<modeGap) != 0 {
		w.add(makeConfig(atTrie, w.net.roots[rootKey{node, modeGap}], ctx), out, cost)
	}
	if n.free != 0 {
		w.add(makeConfig(atFree, node, ctx), out, cost)
	}
}

// freeCost is what entering free speech costs against words of the grammar, so
// that "note that" read as a command comes before "that" as a note.
const freeCost = 3

// step reads one byte, lower case, at a place.
func (w *walker) step(c config, b byte, out int32, cost float32) {
	id, ctx := c.id(), c.ctx()
	switch c.kind() {
	case atTrie:
		to := w.net.tries[id].kid(b)
		if to == 0 {
			return
		}
		t := &w.net.tries[to]
		if len(t.kids) > 0 {
			w.add(makeConfig(atTrie, to, ctx), out, cost)
		}
		for _, e := range t.ends {
			w.enter(e.to, ctx, e.mode, w.emit(out, e.sym), cost)
		}
	case atGap:
		switch b {
		case ' ', '-':
			w.ready(&w.net.nodes[id], id, ctx, out, cost)
		case ',', '.', ';', ':', '?', '!':
			w.add(makeConfig(atGapSpace, id, ctx), out, cost)
		}
	case atGapSpace:
		switch b {
		case ' ':
			w.ready(&w.net.nodes[id], id, ctx, out, cost)
		case '.':
			w.add(c, out, cost)
		}
	case atLead:
		if b == ' ' {
			w.ready(&w.net.nodes[id], id, ctx, out, cost)
		}
	case atFree:
		if !startsFree(b) {
			return
		}
		if w.outs != nil {
			o := w.outs.nodes[out]
			out = w.outs.intern(output{parent: out, sym: w.net.symIndex[symbol{kind: symFree}], at: w.pos, open: o.open, mute: o.mute})
		}
		w.free(id, ctx, out, cost+freeCost)
	case atFreeInner:
		if b >= ' ' && b != 0x7f {
			w.free(id, ctx, out, cost)
		}
	case atEnd, atEndSpace:
		switch b {
		case ' ':
			w.add(makeConfig(atEndSpace, 0, 0), out, cost)
		case '.', '?', '!', ',', ';':
			if c.kind() == atEnd {
				w.add(c, out, cost)
			}
		}
	}
}

func (w *walker) free(node, ctx, out int32, cost float32) {
	w.add(makeConfig(atFreeInner, node, ctx), out, cost)
	w.enter(w.net.nodes[node].free, ctx, modeFree, out, cost)
}

// startsFree reports whether free speech may begin with b: not with a space or
// with punctuation, which belong to the gap before it.
func startsFree(b byte) bool {
	switch {
	case b <= ' ', b == 0x7f:
		return false
	case b == ',' || b == '.' || b == ';' || b == ':' || b == '?' || b == '!' || b == '-':
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
