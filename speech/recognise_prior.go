package speech

import "sync"

// How likely are the words themselves? A model that hears noise prefers
// readings it would find likely with no sound at all: short ones, common
// drinks, a sentence that stops early. What the sound says for a reading is the
// difference between its log-probability given the sound and given silence
// (pointwise mutual information, with a weight, as in density-ratio language
// model integration: McDermott et al., 2019). The likelihood given silence
// depends on the words only, so it is remembered from one utterance to the next.

// priorWeight is the share of the likelihood given silence that is taken off.
// Anything from 0.3 to 0.6 does nearly as well.
const priorWeight = 0.45

// priorNode holds, for one text so far, the log-probability given silence of
// each token that may follow, in the order of continuations.after, and of the end.
type priorNode struct {
	after []float32
	end   float32
	// free is, in free speech, the tokens that after is about: those that the
	// sound makes likeliest.
	free []int32
}

// prior remembers the likelihood of the texts of one language.
type prior struct {
	mu    sync.Mutex
	nodes map[string]priorNode
	held  int
}

// mostPrior bounds what is remembered, in numbers of 4 bytes.
const mostPrior = 4 << 20

func newPrior() *prior { return &prior{nodes: map[string]priorNode{}} }

func (p *prior) get(text string) (priorNode, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	n, ok := p.nodes[text]
	return n, ok
}

func (p *prior) put(text string, n priorNode) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.held > mostPrior {
		clear(p.nodes)
		p.held = 0
	}
	p.nodes[text] = n
	p.held += len(n.after) + 8
}

// textKey names a list of tokens.
func textKey(tokens []int32) string {
	b := make([]byte, 0, 3*len(tokens))
	for _, t := range tokens {
		b = append(b, byte(t), byte(t>>8), byte(t>>16))
	}
	return string(b)
}

// consultPrior fills in what is likely given silence after each hypothesis:
// from memory where the same text was met before, else by the silent state.
func (b *beam) consultPrior(alive []*hypothesis) error {
	if b.priorWeight == 0 {
		return nil
	}
	var unknown []*hypothesis
	for _, h := range alive {
		if b.lex.dictation(h.state) {
			// Of free speech nothing is remembered: it is hardly met twice.
			h.prior = priorNode{free: likeliest(b.model.logits(h.row)[:b.model.end], 2*b.width)}
			unknown = append(unknown, h)
			continue
		}
		n, ok := b.lex.prior.get(textKey(h.tokens))
		if h.prior = n; !ok {
			unknown = append(unknown, h)
		}
	}
	if len(unknown) == 0 {
		return nil
	}
	m := b.model
	if err := m.openSilence(); err != nil {
		return err
	}
	m.swap()
	defer m.swap()
	if !b.silentReady {
		if err := b.decodePrompt(); err != nil {
			return err
		}
		b.silentReady = true
		if len(unknown) == 1 && len(unknown[0].tokens) == 0 {
			b.learnPrior(unknown[0], len(m.prompt)-1)
			return nil
		}
	}
	b.releaseSilent(alive)
	for _, h := range alive {
		if h.silent < 0 && h.silentFrom >= 0 {
			h.silent = b.takeSilent(h.silentFrom)
			h.silentFrom = -1
		}
	}
	rows, err := b.decodeSilent(unknown)
	if err != nil {
		// The cells are too scattered for so many tokens in a row: start over.
		if err := b.decodePrompt(); err != nil {
			return err
		}
		b.unused = b.unused[:0]
		for s := b.sequences(); s >= 1; s-- {
			b.unused = append(b.unused, s)
		}
		for _, h := range alive {
			h.silent, h.silentFrom, h.silentLength = -1, -1, 0
		}
		if rows, err = b.decodeSilent(unknown); err != nil {
			return err
		}
	}
	for i, h := range unknown {
		b.learnPrior(h, rows[i])
	}
	return nil
}

// decodeSilent brings the silent state up to the ends of the hypotheses and
// gives the row of each.
func (b *beam) decodeSilent(unknown []*hypothesis) ([]int, error) {
	m := b.model
	b.rows.clear()
	rows := make([]int, len(unknown))
	for i, h := range unknown {
		if h.silent < 0 {
			h.silent, h.silentLength = b.takeSilent(0), 0
		}
		for k := h.silentLength; k < len(h.tokens); k++ {
			rows[i] = len(b.rows.tokens)
			b.rows.add(h.tokens[k], len(m.prompt)+k, h.silent, k == len(h.tokens)-1)
		}
		h.silentLength = len(h.tokens)
	}
	return rows, m.decode(&b.rows)
}

// takeSilent starts a silent sequence as a copy of another.
func (b *beam) takeSilent(from int) int {
	s := b.unused[len(b.unused)-1]
	b.unused = b.unused[:len(b.unused)-1]
	b.model.copySequence(from, s)
	return s
}

// releaseSilent drops the silent sequences that no hypothesis holds any more.
func (b *beam) releaseSilent(alive []*hypothesis) {
	held := map[int]bool{}
	for _, h := range alive {
		held[h.silent] = true
		held[h.silentFrom] = true
	}
	free := map[int]bool{}
	for _, s := range b.unused {
		free[s] = true
	}
	for s := b.sequences(); s >= 1; s-- {
		if !held[s] && !free[s] {
			b.model.dropSequence(s)
			b.unused = append(b.unused, s)
		}
	}
}

func (b *beam) learnPrior(h *hypothesis, rowIndex int) {
	row := b.model.logits(rowIndex)
	sum := logSum(row)
	if free := h.prior.free; free != nil {
		n := priorNode{after: make([]float32, len(free)), end: float32(b.endScore(row) - sum), free: free}
		for i, t := range free {
			n.after[i] = float32(float64(row[t]) - sum)
		}
		h.prior = n
		return
	}
	steps := b.lex.after(h.state)
	n := priorNode{after: make([]float32, len(steps)), end: float32(b.endScore(row) - sum)}
	for i, s := range steps {
		n.after[i] = float32(float64(row[s.token]) - sum)
	}
	h.prior = n
	b.lex.prior.put(textKey(h.tokens), n)
}
