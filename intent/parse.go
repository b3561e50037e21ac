package intent

// Parse gives the distinct readings of a whole text, likeliest first; none when
// the text is not of the language. White space may be of any kind and length.
func (a *Automaton) Parse(text string) []Reading {
	norm := tidy(text)
	if norm == "" || len(norm) > maxText {
		return nil
	}
	p := a.parses.Get().(*parse)
	defer a.parses.Put(p)
	p.reset(norm)
	p.at[0] = append(p.at[0], arrival{parseVisit{a.net.start, 0, 0, modeStart}, 0})
	for i := range p.at {
		if len(p.at[i]) == 0 {
			continue
		}
		clear(p.seen)
		clear(p.per)
		p.here(int32(i))
		for _, v := range p.at[i] {
			p.visit(v.parseVisit, v.cost)
		}
	}
	var readings []Reading
	for _, l := range p.done {
		r := a.net.render(&p.outs, l.out, norm)
		r.Text, r.Cost, r.free = text, float64(l.cost), float64(p.freeSpeech(l.out))
		readings = append(readings, r)
	}
	return a.distinct(readings)
}

// parse follows all ways to read a text, word by word: at each place it looks
// which whole words of the text can begin there, and goes on at their ends.
type parse struct {
	net  *network
	text string

	stacks     []parseStack // of pending calls; 0 is the empty one
	stackIndex map[parseStack]int32
	outs       outputs

	at   [][]arrival // by the byte where a word has ended
	done []leaf      // whole readings
	seen map[parseVisit]float32
	path map[crossing]bool // the loops being expanded
	per  map[crossing]int  // how many outputs a node has

	atPos, atGap reach

	pos     int32
	gap     int32 // where a word would begin after the gap at pos; -1: there is none
	closing int32 // from here on only closing punctuation is left
}

func newParse(net *network) *parse {
	return &parse{net: net, stackIndex: map[parseStack]int32{}, outs: outputs{index: map[output]int32{}},
		seen: map[parseVisit]float32{}, path: map[crossing]bool{}, per: map[crossing]int{},
		atPos: reach{marked: make([]uint32, len(net.nodes))}, atGap: reach{marked: make([]uint32, len(net.nodes))}}
}

// reset makes a parse ready for another text.
func (p *parse) reset(text string) {
	p.text, p.closing = text, closingPunctuation(text)
	p.stacks = append(p.stacks[:0], parseStack{})
	clear(p.stackIndex)
	p.outs.nodes = append(p.outs.nodes[:0], output{})
	clear(p.outs.index)
	for len(p.at) <= len(text) {
		p.at = append(p.at, nil)
	}
	p.at = p.at[:len(text)+1]
	for i := range p.at {
		p.at[i] = p.at[i][:0]
	}
	p.done = p.done[:0]
	p.atPos.at, p.atGap.at = -1, -1
}

type parseStack struct{ parent, back, depth int32 }

type parseVisit struct {
	node, stack, out int32
	mode             mode
}

type crossing struct {
	node, stack int32
	mode        mode
}

type arrival struct {
	parseVisit
	cost float32
}

type leaf struct {
	out  int32
	cost float32
}

// maxOutputs bounds how many different outputs are followed at one place, so
// that a grammar with endless ambiguity stays affordable.
const maxOutputs = 48

// freeCost is what entering free speech costs against words of the grammar, so
// that "note that" read as a command comes before "that" as a note. Each byte
// costs a little more, so that the words before it are read as far as they go.
const (
	freeCost     = 3
	freeByteCost = 0.15
)

// closingPunctuation finds where the marks that may close a sentence begin.
func closingPunctuation(text string) int32 {
	i := len(text)
	for i > 0 && text[i-1] != ':' && isPunct(text[i-1]) {
		i--
	}
	return int32(i)
}

// here moves to a place in the text.
func (p *parse) here(pos int32) {
	p.pos, p.gap = pos, -1
	if int(pos) >= len(p.text) {
		return
	}
	switch b := p.text[pos]; {
	case b == ' ' || b == '-':
		p.gap = pos + 1
	case isPunct(b):
		i := int(pos) + 1
		for i < len(p.text) && p.text[i] == '.' {
			i++
		}
		if i < len(p.text) && p.text[i] == ' ' {
			p.gap = int32(i + 1)
		}
	}
}

// byteAt gives the byte at a place, lower case; 0 at the end.
func (p *parse) byteAt(i int32) byte {
	if i < 0 || int(i) >= len(p.text) {
		return 0
	}
	return lower(p.text[i])
}

// useful reports whether the text can go on at or after a node.
func (p *parse) useful(node int32, m mode) bool {
	ahead := &p.net.ahead
	if ahead.blank[node] {
		return true
	}
	switch m {
	case modeFree:
		return false
	case modeStart:
		return p.begins(&p.atPos, p.pos, node)
	}
	if ahead.joined[node].has(p.byteAt(p.pos)) || m != modeGap && ahead.blankJoined[node] {
		return true
	}
	if m.complete() && p.begins(&p.atGap, p.gap, node) {
		return true
	}
	return (m == modeTight || m == modeEither) && p.begins(&p.atPos, p.pos, node)
}

// begins reports whether some word of the text begins at a place, gaps done, at
// a node or after it.
func (p *parse) begins(r *reach, at, node int32) bool {
	if at < 0 || int(at) >= len(p.text) {
		return false
	}
	if r.at != at {
		r.at = at
		p.net.reach(r, p.text[at:])
	}
	return r.marked[node] == r.turn
}

// visit follows everything that needs no byte from a node, after a word written
// as mode says, and reads the words that come next.
func (p *parse) visit(v parseVisit, cost float32) {
	if old, ok := p.seen[v]; ok && old <= cost {
		return
	} else if !ok {
		k := crossing{v.node, v.stack, v.mode}
		if p.per[k] >= maxOutputs {
			return
		}
		p.per[k]++
	}
	p.seen[v] = cost
	n := &p.net.nodes[v.node]
	if n.loop {
		// Coming back without a word would only repeat empty output.
		key := crossing{v.node, v.stack, v.mode}
		if p.path[key] {
			return
		}
		p.path[key] = true
		defer delete(p.path, key)
	}
	if v.mode != modeFree && (len(n.words) > 0 || n.free != 0) {
		p.words(n, v, cost)
	}
	for _, e := range n.eps {
		if p.useful(e.to, v.mode) {
			p.visit(parseVisit{e.to, v.stack, p.emit(v.out, e.sym), v.mode}, cost+e.cost)
		}
	}
	for _, c := range n.calls {
		if !p.useful(c.in, v.mode) {
			continue
		}
		inner := v.stack
		if !c.tail {
			if inner = p.push(v.stack, c.back); inner < 0 {
				continue
			}
		}
		p.visit(parseVisit{c.in, inner, v.out, v.mode}, cost)
	}
	if !n.end {
		return
	}
	if v.stack != 0 {
		if f := p.stacks[v.stack]; p.useful(f.back, v.mode) {
			p.visit(parseVisit{f.back, f.parent, v.out, v.mode}, cost)
		}
		return
	}
	if p.pos >= p.closing && v.mode.complete() && v.mode != modeStart {
		p.done = append(p.done, leaf{v.out, cost})
	}
}

// words reads every word of a node that the text has here.
func (p *parse) words(n *netNode, v parseVisit, cost float32) {
	switch m := v.mode; {
	case m == modeStart:
		p.begin(n, v, cost, p.pos)
	case m == modeTight:
		p.begin(n, v, cost, p.pos)
	case m == modeEither:
		p.begin(n, v, cost, p.gap)
		if len(n.words) > 0 {
			p.begin(n, v, cost, p.pos)
		}
	case m.complete():
		p.begin(n, v, cost, p.gap)
	}
	m := v.mode.joining()
	if m == modeStart || n.modes&(1<<m) == 0 {
		return
	}
	root := p.net.roots[rootKey{v.node, m}]
	for _, e := range p.net.tries[root].ends { // words that are not written at all
		p.visit(parseVisit{e.to, v.stack, p.emit(v.out, e.sym), e.mode}, cost)
	}
	p.spell(root, v, cost, p.pos)
}

// begin reads the words that begin at a place, gaps done, and free speech.
func (p *parse) begin(n *netNode, v parseVisit, cost float32, from int32) {
	if from < 0 || int(from) >= len(p.text) {
		return
	}
	if n.modes&(1<<modeGap) != 0 {
		p.spell(p.net.roots[rootKey{v.node, modeGap}], v, cost, from)
	}
	if n.free != 0 && startsFree(p.text[from]) && p.speakable(from) {
		o := p.outs.nodes[v.out]
		out := p.outs.intern(output{parent: v.out, sym: p.net.symIndex[symbol{kind: symFree}], at: from, open: o.open, mute: o.mute, inner: o.inner})
		p.arrive(int32(len(p.text)), parseVisit{n.free, v.stack, out, modeFree}, cost+p.freeFrom(from))
	}
}

// freeFrom is what free speech costs that begins at a place: it ends the text.
func (p *parse) freeFrom(at int32) float32 {
	return freeCost + freeByteCost*float32(len(p.text)-int(at))
}

// freeSpeech is what the free speech in an output has cost.
func (p *parse) freeSpeech(out int32) float32 {
	for ; out != 0; out = p.outs.nodes[out].parent {
		if o := p.outs.nodes[out]; p.net.syms[o.sym].kind == symFree {
			return p.freeFrom(o.at)
		}
	}
	return 0
}

// speakable reports whether all that is left may be free speech.
func (p *parse) speakable(from int32) bool {
	for i := int(from); i < len(p.text); i++ {
		if p.text[i] < ' ' || p.text[i] == 0x7f {
			return false
		}
	}
	return true
}

// spell follows the spellings of a trie along the text.
func (p *parse) spell(root int32, v parseVisit, cost float32, from int32) {
	for i := from; int(i) < len(p.text); i++ {
		if root = p.net.tries[root].kid(lower(p.text[i])); root == 0 {
			return
		}
		for _, e := range p.net.tries[root].ends {
			if e.mode == modeGap && int(i)+1 < len(p.text) && isLetter(p.text[i+1]) {
				continue // a word of letters ends where letters end
			}
			p.arrive(i+1, parseVisit{e.to, v.stack, p.emit(v.out, e.sym), e.mode}, cost)
		}
	}
}

func (p *parse) arrive(at int32, v parseVisit, cost float32) {
	p.at[at] = append(p.at[at], arrival{v, cost})
}

// push gives the stack with one more call, or -1 when it is too deep.
func (p *parse) push(parent, back int32) int32 {
	s := parseStack{parent, back, p.stacks[parent].depth + 1}
	if s.depth > maxCallDepth {
		return -1
	}
	if i, ok := p.stackIndex[s]; ok {
		return i
	}
	i := int32(len(p.stacks))
	p.stacks = append(p.stacks, s)
	p.stackIndex[s] = i
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
	inner       int16 // slots that were opened inside those
}

// emit appends a symbol to an output. Words count only inside a slot.
func (p *parse) emit(out, sym int32) int32 {
	if sym == noSym {
		return out
	}
	s := p.net.syms[sym]
	was := p.outs.nodes[out]
	o := output{parent: out, sym: sym, open: was.open, mute: was.mute, inner: was.inner}
	switch s.kind {
	case symOpen:
		o.open++
		if o.mute > 0 {
			o.inner++
		}
	case symClose:
		o.open--
		if o.inner > 0 {
			o.inner--
		}
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
		if o.open == 0 || o.mute > 0 && o.inner == 0 {
			return out
		}
	}
	return p.outs.intern(o)
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
