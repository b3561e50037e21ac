package speech

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
	"unicode"
)

// hypothesis is one text on its way through the language, in its likeliest spelling.
type hypothesis struct {
	tokens []int32
	state  int32
	held   int        // tokens chosen by the language, not free speech
	sure   likelihood // of these
	likelihood
	own      float64 // log-probability of this spelling alone, given the sound
	spoken   string  // letters and digits of the text: equal for spellings that differ in case and punctuation
	sequence int     // of the decoder's cache
	row      int     // of the last batch
	prior    priorNode
	// stop is the greatest log-probability given the sound of a whole text that
	// this one begins with, its end included; -Inf for none.
	stop float64
}

// likelihood is the log-probability of a text, all spellings that were merged
// into it together: given the sound, and given silence.
type likelihood struct{ sound, silence float64 }

func (l likelihood) or(o likelihood) likelihood {
	return likelihood{logAdd(l.sound, o.sound), logAdd(l.silence, o.silence)}
}

// score ranks texts; see recognise_prior.go.
func (l likelihood) score(priorWeight float64) float64 { return l.sound - priorWeight*l.silence }

// finished is a whole text of the language, with its end.
type finished struct {
	tokens []int32
	likelihood
	end  float64 // the end's own log-probability given the sound
	held int     // tokens chosen by the language, not free speech
	// sure is the likelihood of these, with the end unless free speech ends the text.
	sure  likelihood
	quiet float64 // the end's log-probability given silence
	// dictated: free speech ends the text, which has so many letters.
	dictated bool
	letters  int
}

func (f finished) evidence() evidence {
	return evidence{sound: f.sound, sure: f.sure, tokens: len(f.tokens), held: f.held}
}

// beamResult is what one walk found.
type beamResult struct {
	whole []finished // best first
	free  finished   // the unrestricted greedy reading; its silence is not known
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
	// best whole one.
	slack float64
	// priorWeight is the share of the words' own likelihood taken off; 0 takes none.
	priorWeight float64
	ends        []int32        // tokens that close a sentence, as good as the end
	marks       map[int32]bool // tokens without a letter or a digit

	// decode runs a batch over the sound.
	decode func(*batch) error
	// free is the unrestricted reading where it is known already.
	free *finished
	// heard is the number of letters of the unrestricted reading, 0 while it grows.
	heard int

	rows batch
}

// sequences bounds the decoder's sequences in use at once: the hypotheses, their
// successors and the unrestricted reading.
func (b *beam) sequences() int { return 2*b.width + 2 }

// room is the number of tokens that must fit in at once: a short text of many
// spellings, or every hypothesis alone at its longest.
func (b *beam) room() int {
	return max((b.width+2)*(b.most+8)+64, 1024)
}

// candidate is a hypothesis with one token more.
type candidate struct {
	from         *hypothesis
	token, state int32
	likelihood
	own float64
}

func (b *beam) run(ctx context.Context) (beamResult, error) {
	m := b.model
	res := beamResult{alive: math.Inf(-1)}
	if err := b.begin(); err != nil {
		return res, err
	}
	last := len(m.prompt) - 1
	alive := []*hypothesis{{state: opening, sequence: 0, row: last, stop: math.Inf(-1)}}
	// The same prompt serves the unrestricted reading, as sequence 1.
	m.copySequence(0, 1)
	free := &hypothesis{sequence: 1, row: last}
	if b.free != nil {
		res.free = *b.free
		b.heard = b.letters(res.free.tokens)
		m.dropSequence(1)
		free = nil
	}
	var unused []int
	for s := b.sequences() + 1; s >= 2; s-- {
		unused = append(unused, s)
	}
	best := math.Inf(-1)
	for length := 0; length < b.most; length++ {
		if err := ctx.Err(); err != nil {
			return res, err
		}
		if free != nil && b.growFree(free, &res) {
			m.dropSequence(free.sequence)
			free = nil
			b.heard = b.letters(res.free.tokens)
		}
		if err := b.consultPrior(alive); err != nil {
			return res, err
		}
		var grown []candidate
		for _, h := range alive {
			row := m.logits(h.row)
			sum := logSum(row)
			if h.state != opening && b.lex.lang.Accepts(h.state) {
				end := b.endScore(row) - sum
				f := finished{dictated: b.lex.dictation(h.state), letters: len(h.spoken), tokens: h.tokens, likelihood: likelihood{h.sound + end, h.silence + float64(h.prior.end)}, end: end, held: h.held, sure: b.sureWithEnd(h, end), quiet: float64(h.prior.end)}
				res.whole = append(res.whole, f)
				best = math.Max(best, f.score(b.priorWeight))
				h.stop = math.Max(h.stop, f.sound)
			}
			grown = b.grow(grown, h, row, sum)
		}
		grown = slices.DeleteFunc(grown, func(c candidate) bool {
			return c.sound < c.from.stop-unheard
		})
		next, parents := b.prune(grown)
		res.alive = math.Inf(-1)
		for _, h := range next {
			res.alive = math.Max(res.alive, h.score(b.priorWeight))
		}
		res.steps = length + 1
		if res.alive < best-b.slack {
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
		growing := next
		if free != nil {
			growing = append(slices.Clone(next), free)
		}
		if err := b.extend(growing); err != nil {
			return res, err
		}
		alive = next
	}
	res.whole = b.heardOut(res.whole)
	sort.SliceStable(res.whole, func(i, j int) bool {
		return res.whole[i].score(b.priorWeight) > res.whole[j].score(b.priorWeight)
	})
	return res, nil
}

// heardOut leaves out the texts whose free speech goes on after the unrestricted
// reading has ended, where another one does not.
func (b *beam) heardOut(whole []finished) []finished {
	on := func(f finished) bool { return f.dictated && f.letters > b.heard }
	if b.heard == 0 || !slices.ContainsFunc(whole, func(f finished) bool { return f.dictated && !on(f) }) {
		return whole
	}
	return slices.DeleteFunc(whole, on)
}

// letters counts what is spoken of a text.
func (b *beam) letters(tokens []int32) int {
	n := 0
	for _, t := range tokens {
		n += len(letters(b.model.words[t]))
	}
	return n
}

// begin decodes the prompt over the sound.
func (b *beam) begin() error {
	m := b.model
	if err := m.begin(b.room()); err != nil {
		return err
	}
	b.rows.clear()
	for i, t := range m.prompt {
		b.rows.add(t, i, 0, i == len(m.prompt)-1)
	}
	return b.decode(&b.rows)
}

// company is the sequence of a token that is decoded only to be a second one.
const company = 255

// extend decodes the last token of each hypothesis. Where the free cells are
// too scattered to take one token of each side by side, all that is still
// needed is decoded again into an empty cache.
func (b *beam) extend(alive []*hypothesis) error {
	m := b.model
	b.rows.clear()
	for i, h := range alive {
		b.rows.add(h.tokens[len(h.tokens)-1], len(m.prompt)+len(h.tokens)-1, h.sequence, true)
		h.row = i
	}
	if len(alive) == 1 {
		// A token alone is summed in as many parts as there are threads, and
		// that depends on what else the computer does.
		b.rows.add(m.prompt[0], 0, company, false)
		defer m.dropSequence(company)
	}
	err := b.decode(&b.rows)
	if !errors.Is(err, errNoRoom) {
		return err
	}
	if err := m.begin(b.room()); err != nil {
		return err
	}
	for i, h := range alive {
		b.rows.clear()
		for k, t := range append(slices.Clone(m.prompt), h.tokens[:len(h.tokens)-1]...) {
			b.rows.add(t, k, h.sequence, false)
		}
		b.rows.want[len(b.rows.want)-1] = 1
		if err := b.decode(&b.rows); err != nil {
			return fmt.Errorf("decoding hypothesis %d of %d again: %w", i+1, len(alive), err)
		}
	}
	b.rows.clear()
	for _, h := range alive {
		b.rows.add(h.tokens[len(h.tokens)-1], len(m.prompt)+len(h.tokens)-1, h.sequence, true)
	}
	return b.decode(&b.rows)
}

// sureWithEnd is the likelihood of what the language chose of a text that ends here.
func (b *beam) sureWithEnd(h *hypothesis, end float64) likelihood {
	if b.lex.dictation(h.state) {
		return h.sure
	}
	return likelihood{h.sure.sound + end, h.sure.silence + float64(h.prior.end)}
}

// grow appends every way a hypothesis can go on.
func (b *beam) grow(grown []candidate, h *hypothesis, row []float32, sum float64) []candidate {
	if b.lex.dictation(h.state) {
		// Nothing but the model itself knows where free speech ends. The share
		// taken off for the words' own likelihood would reward every word more. And
		// nothing is left to say where the unrestricted reading has ended: held to a
		// spelling that it would not have chosen, the model may start anew.
		if b.endScore(row) >= float64(slices.Max(row[:b.model.end])) || b.heard > 0 && len(h.spoken) >= b.heard {
			return grown
		}
		tokens := h.prior.free
		if tokens == nil { // the words' own likelihood is not asked for
			tokens = likeliest(row[:b.model.end], 2*b.width)
		}
		for i, t := range tokens {
			s := b.lex.follow(h.state, t)
			if s < 0 || saidBefore(h.tokens, t) {
				continue
			}
			p := float64(row[t]) - sum
			c := candidate{h, t, s, likelihood{h.sound + p, h.silence}, h.own + p}
			if len(h.prior.after) > 0 {
				c.silence += float64(h.prior.after[i])
			}
			grown = append(grown, c)
		}
		return grown
	}
	whole := h.state != opening && b.lex.lang.Accepts(h.state)
	for i, s := range b.lex.after(h.state) {
		if whole && b.closes(s.token) {
			continue // counted with the end
		}
		p := float64(row[s.token]) - sum
		if p < rareMark && b.marks[s.token] {
			continue
		}
		c := candidate{h, s.token, s.state, likelihood{h.sound + p, h.silence}, h.own + p}
		if len(h.prior.after) > 0 {
			c.silence += float64(h.prior.after[i])
		}
		grown = append(grown, c)
	}
	return grown
}

// spellings is how many candidates are looked at for each hypothesis kept: there
// are thousands, and sorting out which spell the same words costs far more than
// seeing that they are behind.
const spellings = 8

// foremost keeps the candidates that are not behind the n best, in their order.
func (b *beam) foremost(grown []candidate, n int) []candidate {
	if len(grown) <= n {
		return grown
	}
	scores := make([]float64, len(grown))
	for i, c := range grown {
		scores[i] = c.score(b.priorWeight)
	}
	sorted := slices.Clone(scores)
	slices.Sort(sorted)
	line := sorted[len(sorted)-n]
	kept := make([]candidate, 0, n)
	for i, c := range grown {
		if scores[i] >= line {
			kept = append(kept, c)
		}
	}
	return kept
}

// rareMark is the log-probability below which a comma or a hyphen is not tried.
// It says nothing about the words, and each one tried takes the place of
// another word.
const rareMark = -2.5

// unheard is how much less likely than a whole text that it begins with, natural
// logarithm, a text may become given the sound. With the words' own likelihood
// taken off, every unlikely word is a gain, heard or not: "took two thirteens off
// the front cover" got "two little dowels" after it. At 6 the ends of two more of
// 120 orders at 6 dB are lost.
const unheard = 8

// hopelesslyBehind is the difference of scores, natural logarithm, from which a
// growing text is given up (with 5, two of 120 orders at 6 dB were lost): each text
// kept is a row more in every product of matrices.
const hopelesslyBehind = 7

// prune keeps the best width candidates, spellings of the same words in the
// same state sharing one place, and says which hypothesis each comes from.
func (b *beam) prune(grown []candidate) ([]*hypothesis, map[*hypothesis]*hypothesis) {
	type place struct {
		state  int32
		spoken string
	}
	type group struct {
		best candidate
		all  likelihood
		key  place
	}
	at := map[place]int{}
	var groups []group
	for _, c := range b.foremost(grown, spellings*b.width) {
		key := place{c.state, c.from.spoken + letters(b.model.words[c.token])}
		i, ok := at[key]
		if !ok {
			at[key] = len(groups)
			groups = append(groups, group{c, c.likelihood, key})
			continue
		}
		groups[i].all = groups[i].all.or(c.likelihood)
		if c.own > groups[i].best.own {
			groups[i].best = c
		}
	}
	sort.SliceStable(groups, func(i, j int) bool {
		return groups[i].all.score(b.priorWeight) > groups[j].all.score(b.priorWeight)
	})
	parents := map[*hypothesis]*hypothesis{}
	var next []*hypothesis
	for _, g := range groups[:min(len(groups), b.width)] {
		if g.all.score(b.priorWeight) < groups[0].all.score(b.priorWeight)-hopelesslyBehind {
			break
		}
		h := &hypothesis{
			tokens: append(slices.Clone(g.best.from.tokens), g.best.token),
			state:  g.best.state, likelihood: g.all, own: g.best.own, spoken: g.key.spoken,
			held: g.best.from.held, sure: g.best.from.sure, stop: g.best.from.stop,
		}
		if from := g.best.from; !b.lex.dictation(from.state) {
			h.held++
			h.sure.sound += g.all.sound - from.sound
			h.sure.silence += g.all.silence - from.silence
		}
		parents[h] = g.best.from
		next = append(next, h)
	}
	return next, parents
}

// growFree adds the likeliest token to the unrestricted reading and reports
// whether the reading has ended.
func (b *beam) growFree(h *hypothesis, res *beamResult) (over bool) {
	row := b.model.logits(h.row)
	sum := logSum(row)
	top := likeliest(row[:b.model.end], 1)[0]
	end := b.endScore(row)
	if end >= float64(row[top]) {
		res.free = finished{tokens: h.tokens, likelihood: likelihood{sound: h.sound + end - sum}, end: end - sum}
		return true
	}
	if n := repeated(h.tokens, top); n > 0 {
		// What went before the repetition is the reading; its end was not heard.
		h.tokens = h.tokens[:len(h.tokens)+1-n]
		res.free = finished{tokens: h.tokens, likelihood: h.likelihood}
		return true
	}
	h.sound += float64(row[top]) - sum
	h.tokens = append(h.tokens, top)
	res.free = finished{tokens: h.tokens, likelihood: h.likelihood}
	return false
}

// shortestRepeat is how many tokens said twice running are the model going
// round in circles, not a person.
const shortestRepeat = 5

// repeated is the number of tokens that text and next end with twice running, 0
// for none. A model that hears the end of a sound may start its sentence anew.
func repeated(text []int32, next int32) int {
	n := len(text) + 1
	at := func(i int) int32 {
		if i == len(text) {
			return next
		}
		return text[i]
	}
	for length := shortestRepeat; 2*length <= n; length++ {
		same := true
		for i := 1; same && i <= length; i++ {
			same = at(n-i) == at(n-i-length)
		}
		if same {
			return length
		}
	}
	return 0
}

// saidBefore reports whether the last tokens of text with next, as many as make a
// repetition, stand in text already. Nobody gives as the reason what the command
// itself has just said; a model that has heard all there is does.
func saidBefore(text []int32, next int32) bool {
	if len(text) < shortestRepeat {
		return false
	}
	last := append(slices.Clone(text[len(text)-shortestRepeat+1:]), next)
	for at := 0; at+shortestRepeat <= len(text); at++ {
		if slices.Equal(text[at:at+shortestRepeat], last) {
			return true
		}
	}
	return false
}

func (b *beam) closes(token int32) bool { return slices.Contains(b.ends, token) }

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

// letters keeps what is spoken of a piece of text: letters, digits and the
// marks inside numbers, lower case.
func letters(text []byte) string {
	out := make([]byte, 0, len(text))
	for _, c := range text {
		if c >= 0x80 || unicode.IsLetter(rune(c)) || unicode.IsDigit(rune(c)) || c == '/' || c == '.' || c == '%' {
			out = append(out, byte(unicode.ToLower(rune(c))))
		}
	}
	return string(out)
}
