package speech

import (
	"fmt"
	"math"
	"slices"
	"sync"
)

// How likely are the words themselves? A model that hears noise prefers
// readings it would find likely with no sound at all: short ones, common
// drinks, a sentence that stops early. What the sound says for a reading is the
// difference between its log-probability given the sound and given silence
// (pointwise mutual information, with a weight, as in density-ratio language
// model integration: McDermott et al., 2019).
//
// The likelihood given silence depends on the words only, so it is remembered
// from one utterance to the next. What is remembered must not depend on which
// utterance asked first: each text is scored from its own tokens alone
// after the prompt, by the same kernels whatever else is in the batch.

// priorWeight is the share of the likelihood given silence that is taken off.
// Anything from 0.3 to 0.6 does nearly as well.
const priorWeight = 0.3

// priorMemory is how many tokens back the likelihood given silence looks: what
// was said earlier changes it little, and texts that end alike share the work. Of
// 120 orders at 6 dB and 128 shop commands at 12 dB, as many are heard right with
// 2 as with 4, in four fifths of the time.
const priorMemory = 2

// priorNode holds, for one text so far, the log-probability given silence of
// each token that may follow, in the order of continuations.after, and of the end.
type priorNode struct {
	after []float32
	end   float32
	// free is, in free speech, the tokens that after is about: those that the
	// sound makes likeliest.
	free []int32
}

// wordPrior remembers the likelihood given silence by the words alone, for every
// language: when the names of a job change the language is made anew, its words
// hardly are. What was used lately is kept at least: when young is full it becomes
// old, and the old are forgotten. It is safe for concurrent use.
type wordPrior struct {
	mu         sync.Mutex
	young, old map[string]tokenPriors
	held       int // bytes in young
}

// tokenPriors are the log-probabilities given silence of some tokens after a
// text, in ascending order of the tokens, and of its end.
type tokenPriors struct {
	tokens []uint16
	after  []roughly
	end    float32
}

// roughly is a log-probability in parts of 1024 below zero, down to -64: there are
// very many of them.
type roughly uint16

func roughlyOf(logProb float64) roughly {
	return roughly(min(math.Round(-1024*logProb), math.MaxUint16))
}

func (r roughly) logProb() float32 { return -float32(r) / 1024 }

// mostPrior bounds what young and old each hold, in bytes. Forty shop commands
// asked for 3000 texts that 540 tokens may follow, and with room for a tenth of
// them a third of the time of hearing was spent on finding them again.
const mostPrior = 8 << 20

func newWordPrior() *wordPrior { return &wordPrior{young: map[string]tokenPriors{}} }

// get gives what is remembered of the words; false when nothing is.
func (p *wordPrior) get(words string) (tokenPriors, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	have, ok := p.young[words]
	if !ok {
		if have, ok = p.old[words]; ok {
			p.keep(words, have)
		}
	}
	return have, ok
}

// of gives what is remembered for the steps; false when one of them is not.
func (p *wordPrior) of(words string, steps []step) (priorNode, bool) {
	have, ok := p.get(words)
	if !ok {
		return priorNode{}, false
	}
	n := priorNode{after: make([]float32, len(steps)), end: have.end}
	at := 0
	for i, s := range steps {
		for at < len(have.tokens) && int32(have.tokens[at]) < s.token {
			at++
		}
		if at == len(have.tokens) || int32(have.tokens[at]) != s.token {
			return priorNode{}, false
		}
		n.after[i] = have.after[at].logProb()
	}
	return n, true
}

// learn adds the log-probabilities of some steps, in their order, to what is
// remembered of the words.
func (p *wordPrior) learn(words string, steps []step, after []roughly, end float32) {
	have, _ := p.get(words)
	n := len(have.tokens) + len(steps)
	all := tokenPriors{tokens: make([]uint16, 0, n), after: make([]roughly, 0, n), end: end}
	at := 0
	for i, s := range steps {
		for at < len(have.tokens) && int32(have.tokens[at]) <= s.token {
			if int32(have.tokens[at]) < s.token {
				all.tokens, all.after = append(all.tokens, have.tokens[at]), append(all.after, have.after[at])
			}
			at++
		}
		all.tokens, all.after = append(all.tokens, uint16(s.token)), append(all.after, after[i])
	}
	all.tokens = slices.Clone(append(all.tokens, have.tokens[at:]...))
	all.after = slices.Clone(append(all.after, have.after[at:]...))
	p.mu.Lock()
	defer p.mu.Unlock()
	p.keep(words, all)
}

func (p *wordPrior) keep(words string, t tokenPriors) {
	if p.held > mostPrior {
		p.old, p.young, p.held = p.young, map[string]tokenPriors{}, 0
	}
	p.young[words] = t
	p.held += 4*len(t.tokens) + 128
}

// unscored is a text whose likelihood given silence is wanted.
type unscored struct {
	key    string
	tokens []int32 // the last priorMemory of them
	state  int32
	free   []int32       // see priorNode
	by     []*hypothesis // who wants it
}

// newUnscored names a text by what its likelihood given silence depends on.
func newUnscored(h *hypothesis) unscored {
	tokens := h.tokens[max(0, len(h.tokens)-priorMemory):]
	key := make([]byte, 0, 4+3*len(tokens))
	key = append(key, byte(h.state), byte(h.state>>8), byte(h.state>>16), byte(h.state>>24))
	for _, t := range tokens {
		key = append(key, byte(t), byte(t>>8), byte(t>>16))
	}
	return unscored{key: string(key), tokens: tokens, state: h.state, by: []*hypothesis{h}}
}

// words names the text whatever the language: the key without the state.
func (u unscored) words() string { return u.key[4:] }

// consultPrior fills in what is likely given silence after each hypothesis:
// from memory where the same words were met before, else from the silent state.
func (b *beam) consultPrior(alive []*hypothesis) error {
	if b.priorWeight == 0 {
		return nil
	}
	var unknown []unscored
	for _, h := range alive {
		u := newUnscored(h)
		if b.lex.dictation(h.state) {
			// Of free speech nothing is remembered: it is hardly met twice.
			u.free = likeliest(b.model.logits(h.row)[:b.model.end], 2*b.width)
			unknown = append(unknown, u)
			continue
		}
		var ok bool
		if h.prior, ok = b.lex.prior.of(u.words(), b.lex.after(h.state)); ok {
			continue
		}
		if i := slices.IndexFunc(unknown, func(o unscored) bool { return o.key == u.key && o.free == nil }); i >= 0 {
			unknown[i].by = append(unknown[i].by, h)
			continue
		}
		unknown = append(unknown, u)
	}
	return b.learnPrior(unknown)
}

// priorBatch bounds the tokens of a batch. From 64 on the model's library
// would compute attention by other kernels, in another order of summation.
const priorBatch = 63

// learnPrior scores texts given silence and remembers them.
func (b *beam) learnPrior(unknown []unscored) error {
	if len(unknown) == 0 {
		return nil
	}
	m := b.model
	if err := m.openSilence(); err != nil {
		return err
	}
	m.swap()
	defer m.swap()
	for len(unknown) > 0 {
		n, size := 0, 0
		for n < len(unknown) && size+len(unknown[n].tokens) < priorBatch {
			size += len(unknown[n].tokens)
			n++
		}
		if err := b.learnPriorBatch(unknown[:n]); err != nil {
			return fmt.Errorf("scoring %d texts given silence: %w", n, err)
		}
		unknown = unknown[n:]
	}
	return nil
}

// learnPriorBatch decodes each text as a sequence of its own after the prompt,
// which the silent state holds as sequence 0 for good.
func (b *beam) learnPriorBatch(texts []unscored) error {
	m := b.model
	b.rows.clear()
	rows := make([]int, len(texts))
	for i, u := range texts {
		tokens, sequence, from := u.tokens, i+1, len(m.prompt)
		if len(tokens) == 0 {
			// Nothing yet: what follows the prompt, decoded once more.
			tokens, from = m.prompt, 0
		} else {
			m.copySequence(0, sequence)
		}
		defer m.dropSequence(sequence)
		for k, t := range tokens {
			rows[i] = len(b.rows.tokens)
			b.rows.add(t, from+k, sequence, k == len(tokens)-1)
		}
	}
	// A single row of logits would be computed by another kernel than several,
	// in another order of summation. With 16-bit weights an even number of rows
	// from 8 on takes twice as long as one more. In both cases one more is asked for.
	if n := len(texts); n == 1 || n >= 8 && n%2 == 0 {
		b.rows.add(m.prompt[0], 0, company, true)
		defer m.dropSequence(company)
	}
	if err := m.decode(&b.rows); err != nil {
		return err
	}
	for i, u := range texts {
		row := m.logits(rows[i])
		sum := logSum(row)
		n := priorNode{end: float32(b.endScore(row) - sum), free: u.free}
		if u.free != nil {
			for _, t := range u.free {
				n.after = append(n.after, float32(float64(row[t])-sum))
			}
		} else {
			steps := b.lex.after(u.state)
			after := make([]roughly, len(steps))
			n.after = make([]float32, len(steps))
			for i, s := range steps {
				after[i] = roughlyOf(float64(row[s.token]) - sum)
				n.after[i] = after[i].logProb()
			}
			b.lex.prior.learn(u.words(), steps, after, n.end)
		}
		for _, h := range u.by {
			h.prior = n
		}
	}
	return nil
}
