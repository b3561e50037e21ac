package intent

// lookahead says, for every node, how the text may go on from there before its
// rule has been left. A walk asks it before it follows an edge, and so follows
// only those few of ten thousand that the next byte allows.
type lookahead struct {
	// blank: the end of the rule can be reached without a byte, and blankJoined
	// the same when words that are not written at all are counted as well.
	blank, blankJoined []bool
	// gap holds the bytes a word after a gap, or free speech, may begin with.
	gap []byteSet
	// joined holds the bytes that a word written without a gap may begin with.
	joined []byteSet
}

// lookAhead computes the table: the least solution of its own definition, found
// by going over all nodes until nothing changes. Most edges lead to younger
// nodes, so the oldest are visited last.
func (n *network) lookAhead() {
	count := len(n.nodes)
	l := lookahead{
		blank: make([]bool, count), blankJoined: make([]bool, count),
		gap: make([]byteSet, count), joined: make([]byteSet, count),
	}
	for key, root := range n.roots {
		n.begin(&l, key, root)
	}
	for i := range n.nodes {
		if n.nodes[i].end {
			l.blank[i], l.blankJoined[i] = true, true
		}
		if n.nodes[i].free != 0 {
			l.gap[i].join(&freeStarts)
		}
	}
	for changed := true; changed; {
		changed = false
		for i := count - 1; i >= 0; i-- {
			if l.update(n, int32(i)) {
				changed = true
			}
		}
	}
	n.ahead = l
}

// begin enters the words that leave a node.
func (n *network) begin(l *lookahead, key rootKey, root int32) {
	for _, k := range n.tries[root].kids {
		if key.mode != modeGap {
			l.joined[key.node].add(k.b)
			continue
		}
		l.gap[key.node].add(k.b)
	}
}

func (l *lookahead) update(n *network, at int32) bool {
	node := &n.nodes[at]
	changed := false
	set := func(p *bool, v bool) {
		if v && !*p {
			*p, changed = true, true
		}
	}
	words := func(to int32) {
		for _, s := range []*[]byteSet{&l.gap, &l.joined} {
			if (*s)[at].join(&(*s)[to]) {
				changed = true
			}
		}
	}
	for _, e := range node.eps {
		words(e.to)
		set(&l.blank[at], l.blank[e.to])
		set(&l.blankJoined[at], l.blankJoined[e.to])
	}
	for _, c := range node.calls {
		words(c.in)
		if l.blank[c.in] {
			words(c.back)
			set(&l.blank[at], l.blank[c.back])
		}
		if l.blankJoined[c.in] {
			if l.joined[at].join(&l.joined[c.back]) {
				changed = true
			}
			set(&l.blankJoined[at], l.blankJoined[c.back])
		}
	}
	if node.unwritten != nil {
		for _, to := range node.unwritten {
			if l.joined[at].join(&l.joined[to]) {
				changed = true
			}
			set(&l.blankJoined[at], l.blankJoined[to])
		}
	}
	return changed
}
