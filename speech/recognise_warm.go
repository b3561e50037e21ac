package speech

import (
	"container/heap"
	"context"
	"fmt"
)

// Warm makes ready what the first commands in lang would otherwise wait for:
// the likelihood given silence of the texts likeliest to be met (see
// recognise_prior.go), at most texts of them, and the tokens that may follow
// them. It changes no result, only how soon it is there. It gives way to Hear
// after every few texts, ends early without an error when ctx is done, and may
// be called again; about 3 ms of one core for each text.
func (r *Recognizer) Warm(ctx context.Context, lang Language, texts int) error {
	ahead := &likeliestFirst{{state: opening}}
	seen := map[string]bool{}
	for done := 0; done < texts && ahead.Len() > 0 && ctx.Err() == nil; {
		n, err := r.warmSome(lang, ahead, seen, min(warmAtOnce, texts-done))
		if err != nil {
			return fmt.Errorf("warming the recogniser: %w", err)
		}
		done += n
	}
	return nil
}

// warmAtOnce is how many texts are scored before Hear may come in between.
const warmAtOnce = 6

// warmSome scores the likeliest of the texts ahead and puts their successors there.
func (r *Recognizer) warmSome(lang Language, ahead *likeliestFirst, seen map[string]bool, most int) (int, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.model == nil {
		return 0, fmt.Errorf("the recogniser is closed")
	}
	b := r.beam(r.continuations(lang), 0)
	var some []*hypothesis
	for len(some) < most && ahead.Len() > 0 {
		h := heap.Pop(ahead).(*hypothesis)
		key := newUnscored(h).key
		if seen[key] || b.lex.dictation(h.state) {
			continue
		}
		seen[key] = true
		some = append(some, h)
	}
	if b.priorWeight == 0 || len(some) == 0 {
		return len(some), nil
	}
	if err := b.consultPrior(some); err != nil {
		return 0, err
	}
	for _, h := range some {
		for i, s := range b.lex.after(h.state) {
			next := &hypothesis{state: s.state}
			next.silence = h.silence + float64(h.prior.after[i])
			next.tokens = append(next.tokens, h.tokens[max(0, len(h.tokens)-priorMemory+1):]...)
			next.tokens = append(next.tokens, s.token)
			if next.silence > warmLeast {
				heap.Push(ahead, next)
			}
		}
	}
	return len(some), nil
}

// warmLeast is the log-probability given silence below which a text is not
// looked at ahead: what nobody expects is scored when it comes.
const warmLeast = -40

// likeliestFirst is a heap of texts, the likeliest given silence on top.
type likeliestFirst []*hypothesis

func (q likeliestFirst) Len() int           { return len(q) }
func (q likeliestFirst) Less(i, j int) bool { return q[i].silence > q[j].silence }
func (q likeliestFirst) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *likeliestFirst) Push(x any)        { *q = append(*q, x.(*hypothesis)) }
func (q *likeliestFirst) Pop() any {
	last := (*q)[len(*q)-1]
	*q = (*q)[:len(*q)-1]
	return last
}
