package intent

import (
	"math"
	"math/rand/v2"
	"strings"
)

// Sample gives n random sentences of a compiled grammar, each with what it
// means. Heavier alternatives come oftener, in the proportion of their weights;
// alternatives without weights, optional pieces and one more round of a
// repetition are as likely as not. The public rules come equally often. The
// same seed gives the same sentences. Free speech is one of a few remarks of the
// trade. Words are in letters and lower case, parted by single spaces.
//
// Fewer than n come back when hardly any walk through the grammar ends.
func Sample(a *Automaton, n int, seed uint64) []Reading {
	s := &sampler{net: a.net, draw: rand.New(rand.NewPCG(seed, 0x5eed))}
	var list []Reading
	for tries := 0; len(list) < n && tries < 50*n+100; tries++ {
		if r, ok := s.sentence(); ok {
			list = append(list, r)
		}
	}
	return list
}

type sampler struct {
	net  *network
	draw *rand.Rand

	p     *parse // for its outputs
	text  strings.Builder
	out   int32
	steps int
	free  bool // free speech has begun, so no word can follow
}

// The bounds of one sentence: most grammars stay far below, and a walk that
// does not is begun anew.
const (
	sampleSteps = 4000
	sampleBytes = 300
)

var remarks = []string{
	"the lower hose is cracked at the clamp", "it sits a little proud", "there's a washer behind it", "the paint is chipped",
	"I had to tap it twice", "use the short extension", "the arrow points forward", "it was dry inside",
}

// sentence walks once from the start to the end of a sentence.
func (s *sampler) sentence() (Reading, bool) {
	s.p = &parse{net: s.net, outs: outputs{nodes: make([]output, 1), index: map[output]int32{}}}
	s.text.Reset()
	s.out, s.steps, s.free = 0, 0, false
	if !s.walk(s.net.start) || s.text.Len() == 0 {
		return Reading{}, false
	}
	text := s.text.String()
	r := s.net.render(&s.p.outs, s.out, text)
	r.Text = text
	return r, true
}

// walk goes from a node to the end of its rule.
func (s *sampler) walk(at int32) bool {
	for {
		if s.steps++; s.steps > sampleSteps || s.text.Len() > sampleBytes {
			return false
		}
		n := &s.net.nodes[at]
		kind, i := s.way(n)
		if s.free && (kind == wayWord || kind == wayFree) {
			return false
		}
		switch kind {
		case wayEnd:
			return true
		case wayEps:
			s.out = s.p.emit(s.out, n.eps[i].sym)
			at = n.eps[i].to
		case wayWord:
			w := n.words[i]
			if s.text.Len() > 0 && w.spells[0].after != modeClitic {
				s.text.WriteByte(' ')
			}
			s.text.WriteString(w.spells[0].text)
			s.out = s.p.emit(s.out, w.sym)
			at = w.to
		case wayCall:
			if !s.walk(n.calls[i].in) {
				return false
			}
			at = n.calls[i].back
		case wayFree:
			if s.text.Len() > 0 {
				s.text.WriteByte(' ')
			}
			o := s.p.outs.nodes[s.out]
			s.out = s.p.outs.intern(output{parent: s.out, sym: s.net.symIndex[symbol{kind: symFree}], at: int32(s.text.Len()), open: o.open, mute: o.mute, inner: o.inner})
			s.text.WriteString(remarks[s.draw.IntN(len(remarks))])
			at, s.free = n.free, true
		default:
			return false
		}
	}
}

type way uint8

const (
	wayNone way = iota
	wayEnd
	wayEps
	wayWord
	wayCall
	wayFree
)

// way draws one of the ways that leave a node.
func (s *sampler) way(n *netNode) (way, int) {
	total, chosen, index := 0.0, wayNone, 0
	offer := func(w way, i int, weight float64) {
		total += weight
		if s.draw.Float64()*total < weight {
			chosen, index = w, i
		}
	}
	for i, e := range n.eps {
		offer(wayEps, i, math.Exp(-float64(e.cost)))
	}
	for i := range n.words {
		offer(wayWord, i, 1)
	}
	for i := range n.calls {
		offer(wayCall, i, 1)
	}
	if n.free != 0 {
		offer(wayFree, 0, 1)
	}
	if n.end {
		offer(wayEnd, 0, 1)
	}
	return chosen, index
}
