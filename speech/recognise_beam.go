package speech

import (
	"context"
	"math"
	"sort"
	"unicode"
)

// hypothesis is one text on its way through the language.
type hypothesis struct {
	tokens   []int32
	state    int32
	score    float64 // log-probability under the full softmax, summed over the spellings merged into it
	spoken   string  // letters and digits of the text: equal for spellings that differ in case and punctuation
	sequence int     // of the decoder's cache
	row      int     // of the last batch
	free     bool    // follows no language: the unrestricted reading
}

// finished is a whole text of the language.
type finished struct {
	tokens []int32
	score  float64 // with the end of the text
	end    float64 // log-probability of the end alone
	free   bool
}

// beamResult is what one walk found.
type beamResult struct {
	whole []finished // best first
	free  finished   // the unrestricted greedy reading
	// alive is the best score of a text that was still growing when the walk
	// stopped, -Inf for none.
	alive float64
	steps int
}

// beam walks the language with width hypotheses over the encoded sound.
type beam struct {
	model *whisperModel
	lex   *continuations
	width int
	// most is the greatest number of tokens of a text.
	most int
	// slack: the walk goes on while a growing text is within slack of the
	// best whole one, so that a longer reading can win after its length is
	// accounted for.
	slack float64
	ends  []int32 // tokens that close a sentence, as good as the end
}

const sequencesPerBeam = 64

// cells bounds the tokens kept at once: every hypothesis of every length.
func (b *beam) cells() int { return (b.width+2)*(b.most+8) + 64 }

func (b *beam) run(ctx context.Context) (beamResult, error) {
	m := b.model
	res := beamResult{alive: math.Inf(-1)}
	if err := m.begin(min(b.cells(), 2048)); err != nil {
		return res, err
	}
	var bt batch
	for i, t := range m.prompt {
		bt.add(t, i, 0, i == len(m.prompt)-1)
	}
	if err := m.decode(&bt); err != nil {
		return res, err
	}
	// The same prompt serves the unrestricted reading, as sequence 1.
	m.copySequence(0, 1)
	last := len(m.prompt) - 1
	alive := []*hypothesis{{state: opening, sequence: 0, row: last}}
	free := &hypothesis{sequence: 1, row: last, free: true}
	unused := make([]int, 0, sequencesPerBeam)
	for s := sequencesPerBeam + 1; s >= 2; s-- {
		unused = append(unused, s)
	}
	type candidate struct {
		from  *hypothesis
		token int32
		state int32
		score float64
	}
	for length := 0; length < b.most; length++ {
		if err := ctx.Err(); err != nil {
			return res, err
		}
		if free != nil {
			b.growFree(free, &res)
			if free.score == math.Inf(-1) {
				m.dropSequence(free.sequence)
				free = nil
			}
		}
		var grown []candidate
		for _, h := range alive {
			row := m.logits(h.row)
			sum := logSum(row)
			if h.state != opening && b.lex.lang.Accepts(h.state) {
				end := b.endScore(row) - sum
				res.whole = append(res.whole, finished{tokens: h.tokens, score: h.score + end, end: end})
			}
			if b.lex.dictation(h.state) {
				for _, t := range likeliest(row[:m.end], 2*b.width) {
					if s := b.lex.follow(h.state, t); s >= 0 {
						grown = append(grown, candidate{h, t, s, h.score + float64(row[t]) - sum})
					}
				}
				continue
			}
			for _, s := range b.lex.after(h.state) {
				grown = append(grown, candidate{h, s.token, s.state, h.score + float64(row[s.token]) - sum})
			}
		}
		sort.SliceStable(grown, func(i, j int) bool { return grown[i].score > grown[j].score })
		// Spellings of the same words in the same state share one place.
		type place struct {
			state  int32
			spoken string
		}
		taken := map[place]*hypothesis{}
		var next []*hypothesis
		parents := map[*hypothesis]*hypothesis{}
		seen := 0
		for _, c := range grown {
			if seen++; seen > 8*b.width && len(next) > 0 {
				break
			}
			key := place{c.state, c.from.spoken + letters(m.words[c.token])}
			if same, ok := taken[key]; ok {
				same.score = logAdd(same.score, c.score)
				continue
			}
			if len(next) == b.width {
				continue
			}
			tokens := append(append(make([]int32, 0, len(c.from.tokens)+1), c.from.tokens...), c.token)
			h := &hypothesis{tokens: tokens, state: c.state, score: c.score, spoken: key.spoken}
			taken[key] = h
			next = append(next, h)
			parents[h] = c.from
		}
		best := math.Inf(-1)
		for _, f := range res.whole {
			best = math.Max(best, f.score)
		}
		res.alive = math.Inf(-1)
		for _, h := range next {
			res.alive = math.Max(res.alive, h.score)
		}
		res.steps = length + 1
		if len(next) == 0 || res.alive < best-b.slack {
			// The unrestricted reading goes on alone: it is what the held
			// reading is judged against.
			next = nil
		}
		if len(next) == 0 && free == nil {
			break
		}
		// The first child keeps its parent's sequence, the others copy it.
		kept := map[int]bool{}
		for _, h := range next {
			p := parents[h]
			if !kept[p.sequence] {
				kept[p.sequence] = true
				h.sequence = p.sequence
				continue
			}
			h.sequence = unused[len(unused)-1]
			unused = unused[:len(unused)-1]
			m.copySequence(p.sequence, h.sequence)
		}
		for _, h := range alive {
			if !kept[h.sequence] {
				m.dropSequence(h.sequence)
				unused = append(unused, h.sequence)
			}
		}
		bt.clear()
		for i, h := range next {
			bt.add(h.tokens[len(h.tokens)-1], len(m.prompt)+length, h.sequence, true)
			h.row = i
		}
		if free != nil {
			free.row = len(next)
			bt.add(free.tokens[len(free.tokens)-1], len(m.prompt)+length, free.sequence, true)
		}
		if err := m.decode(&bt); err != nil {
			return res, err
		}
		alive = next
	}
	sort.SliceStable(res.whole, func(i, j int) bool { return res.whole[i].score > res.whole[j].score })
	return res, nil
}

// growFree adds the likeliest token to the unrestricted reading, or ends it.
func (b *beam) growFree(h *hypothesis, res *beamResult) {
	row := b.model.logits(h.row)
	sum := logSum(row)
	top := likeliest(row[:b.model.end], 1)[0]
	end := b.endScore(row)
	if float64(row[b.model.end]) >= float64(row[top]) || b.closes(top) && end > float64(row[top])-1 {
		res.free = finished{tokens: h.tokens, score: h.score + end - sum, end: end - sum, free: true}
		h.score = math.Inf(-1)
		return
	}
	h.score += float64(row[top]) - sum
	h.tokens = append(h.tokens, top)
	res.free = finished{tokens: h.tokens, score: h.score, free: true}
}

func (b *beam) closes(token int32) bool {
	for _, t := range b.ends {
		if t == token {
			return true
		}
	}
	return false
}

// endScore is the logit of the text ending here. The model writes a full stop
// before it ends; which mark it writes says nothing about the words.
func (b *beam) endScore(row []float32) float64 {
	s := float64(row[b.model.end])
	for _, t := range b.ends {
		s = logAdd(s, float64(row[t]))
	}
	return s
}

// likeliest returns the n indices of the greatest logits, best first.
func likeliest(row []float32, n int) []int32 {
	top := make([]int32, 0, n+1)
	for i, x := range row {
		if len(top) == n && x <= row[top[n-1]] {
			continue
		}
		at := sort.Search(len(top), func(k int) bool { return row[top[k]] < x })
		top = append(top, 0)
		copy(top[at+1:], top[at:])
		top[at] = int32(i)
		if len(top) > n {
			top = top[:n]
		}
	}
	return top
}

func logAdd(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}

// letters keeps what is spoken of a piece of text: letters and digits, lower case.
func letters(text []byte) string {
	out := make([]byte, 0, len(text))
	for _, c := range text {
		if c >= 0x80 || unicode.IsLetter(rune(c)) || unicode.IsDigit(rune(c)) || c == '/' || c == '.' || c == '%' {
			out = append(out, byte(unicode.ToLower(rune(c))))
		}
	}
	return string(out)
}
