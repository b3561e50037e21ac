package intent

// lexicon finds the words of a text, and from them the nodes where a sentence
// may go on.
type lexicon struct {
	words []lexiconWord
	tries []lexiconNode
	// before lists, for every node, the nodes from which it is reached without a
	// byte: those of node i are list[from[i]:from[i+1]].
	list []int32
	from []int32
	free []int32 // the nodes of free speech
}

type lexiconWord struct {
	spells []spelling
	nodes  []int32
}

type lexiconNode struct {
	kids []trieKid
	ends []lexiconEnd
}

type lexiconEnd struct {
	word   int32
	leaves mode
}

// index builds the lexicon once the network is complete.
func (n *network) index() {
	l := &n.lexicon
	l.tries = make([]lexiconNode, 1, 4096)
	for i := range l.words {
		for _, s := range l.words[i].spells {
			if s.after == modeGap && s.text != "" {
				l.insert(s, int32(i))
			}
		}
	}
	l.from = make([]int32, len(n.nodes)+1)
	n.edges(func(to, from int32) { l.from[to+1]++ })
	for i := 1; i < len(l.from); i++ {
		l.from[i] += l.from[i-1]
	}
	l.list = make([]int32, l.from[len(n.nodes)])
	next := append([]int32(nil), l.from...)
	n.edges(func(to, from int32) {
		l.list[next[to]] = from
		next[to]++
	})
	for i := range n.nodes {
		if n.nodes[i].free != 0 {
			l.free = append(l.free, int32(i))
		}
	}
}

// edges calls f for every step that needs no byte.
func (n *network) edges(f func(to, from int32)) {
	for i := range n.nodes {
		at := int32(i)
		for _, e := range n.nodes[i].eps {
			f(e.to, at)
		}
		for _, c := range n.nodes[i].calls {
			f(c.in, at)
			if n.ahead.blank[c.in] {
				f(c.back, at)
			}
		}
	}
}

func (l *lexicon) insert(s spelling, word int32) {
	at := int32(0)
	for i := 0; i < len(s.text); i++ {
		to := int32(0)
		for _, k := range l.tries[at].kids {
			if k.b == s.text[i] {
				to = k.to
			}
		}
		if to == 0 {
			to = int32(len(l.tries))
			l.tries = append(l.tries, lexiconNode{})
			l.tries[at].kids = append(l.tries[at].kids, trieKid{s.text[i], to})
		}
		at = to
	}
	l.tries[at].ends = append(l.tries[at].ends, lexiconEnd{word, s.leaves})
}

// reach is the set of nodes at or after which a word of the text begins.
type reach struct {
	at     int32 // where in the text; −1: not known yet
	marked []uint32
	turn   uint32
	todo   []int32
}

// reach marks the nodes from which the beginning of a text can be read, as far
// as its first word goes.
func (n *network) reach(r *reach, text string) {
	r.turn++
	if r.turn == 0 {
		clear(r.marked)
		r.turn = 1
	}
	l := &n.lexicon
	at := int32(0)
	for i := 0; i < len(text); i++ {
		b, to := lower(text[i]), int32(0)
		for _, k := range l.tries[at].kids {
			if k.b == b {
				to = k.to
				break
			}
		}
		if to == 0 {
			break
		}
		at = to
		for _, e := range l.tries[at].ends {
			if e.leaves == modeGap && i+1 < len(text) && isLetter(text[i+1]) {
				continue
			}
			for _, node := range l.words[e.word].nodes {
				r.mark(node)
			}
		}
	}
	if startsFree(text[0]) {
		for _, node := range l.free {
			r.mark(node)
		}
	}
	for len(r.todo) > 0 {
		node := r.todo[len(r.todo)-1]
		r.todo = r.todo[:len(r.todo)-1]
		for _, before := range l.list[l.from[node]:l.from[node+1]] {
			r.mark(before)
		}
	}
}

func (r *reach) mark(node int32) {
	if r.marked[node] != r.turn {
		r.marked[node] = r.turn
		r.todo = append(r.todo, node)
	}
}

// isLetter reports whether a byte continues a word of letters.
func isLetter(b byte) bool {
	return b >= 'a' && b <= 'z' || b >= 'A' && b <= 'Z'
}
