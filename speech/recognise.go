package speech

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"sort"
	"strings"
	"sync"
	"time"
)

// Verdict is what should become of an utterance.
type Verdict int

// The verdicts.
const (
	// Ignore: not meant for us, or no speech at all. Say nothing.
	Ignore Verdict = iota
	// Ask: probably meant for us but not certain enough to write anything
	// down. With Hypotheses of different meaning close together, ask which.
	Ask
	// Act: certain enough to act on.
	Act
)

// String names the verdict.
func (v Verdict) String() string {
	return [...]string{"ignore", "ask", "act"}[v]
}

// Hypothesis is one reading of an utterance inside the language.
type Hypothesis struct {
	Text    string // as the model spells it, without the full stop
	Meaning string // key of Language.Meanings; readings of equal meaning are merged into one
	// LogProb is the natural logarithm of the model's probability of the text
	// given the sound, under the full softmax, with the end of the text.
	LogProb float64
	// Score ranks: LogProb less a share of the text's log-probability given
	// silence, summed over the spellings found of the same meaning, and a share of
	// what the language's weights say, less [openerPenalty] where it is due.
	Score float64
	// Posterior is the share of this meaning among the readings found, 0..1.
	Posterior float64

	evidence evidence
	weight   float64 // what the language's weights say
	adjusted float64 // what of Score does not come from the sound
	unopened bool    // free speech whose opening word the unrestricted reading lacks
}

// Result is what was heard.
type Result struct {
	Hypotheses []Hypothesis // best first; empty when nothing of the language fits
	// FreeText is the model's own reading without the language, and
	// FreeLogProb its log-probability, with its end. FreeConfidence, 0..1, is
	// the probability of one of its tokens, the geometric mean: what the model
	// makes up over noise has a low one. Free text is not to be acted on unless
	// the mean is at least a half, and never where a figure is at stake.
	FreeText       string
	FreeLogProb    float64
	FreeConfidence float64
	// Confidence, 0..1, is how likely the best hypothesis is right; see
	// recognise_judge.go for how it was fitted and on what.
	Confidence float64
	Verdict    Verdict
	// Doubt is set where another figure may have been said, and the reading is
	// likely right but for that; the verdict is Ask then.
	Doubt *Doubt
	// Confirm is set where the reading is good enough to be acted on but for its
	// weight, see [Careful]: a yes is wanted first. The verdict is Ask then.
	Confirm bool
	// Complete reports that the best hypothesis ends where the sound ends: no
	// longer reading of the language was still in the running. A listener that
	// decodes during a pause waits a little longer when it is false.
	Complete bool
	// Extends reports that the language allows words after the best hypothesis.
	Extends bool
	// Cut reports that the sound was longer than LongestSound and its end was not heard.
	Cut bool
	// Took is the time spent, of which Encode in the encoder.
	Took, Encode time.Duration
}

// Best is the best hypothesis; ok is false when there is none.
func (r Result) Best() (h Hypothesis, ok bool) {
	if len(r.Hypotheses) == 0 {
		return Hypothesis{}, false
	}
	return r.Hypotheses[0], true
}

// LongestSound is the most the recogniser hears of one utterance.
const LongestSound = 30 * time.Second

// Recognizer hears utterances. It is safe for concurrent use, one utterance at
// a time; Close waits for the one that is being heard.
type Recognizer struct {
	mu    sync.Mutex
	model *whisperModel
	words *vocabulary
	// silence is what is known of words given silence, in every language.
	silence *wordPrior
	recent  []*continuations // most recently used first
	set     settings
	second  *Recognizer    // see SecondOpinion; nil for none
	ends    []int32        // see beam
	marks   map[int32]bool // see beam
}

type settings struct {
	threads int
	width   int
	prior   float64
	second  string
}

// Option changes how a Recognizer is opened.
type Option func(*settings)

// Threads sets how many threads hear at most; the default is the number of cores,
// at most 4. Fewer are used while other programs keep cores busy.
func Threads(n int) Option { return func(s *settings) { s.threads = max(1, n) } }

// Width sets how many hypotheses are kept, 1 to 30; the default is 8. Where the
// best reading is uncertain, the search is done again with nearly twice as many.
func Width(n int) Option { return func(s *settings) { s.width = min(max(1, n), 30) } }

// Open loads a whisper.cpp model (ggml file, English or multilingual). The
// error says which file and how to get one.
func Open(modelPath string, options ...Option) (*Recognizer, error) {
	set := settings{threads: min(runtime.NumCPU(), 4), width: 8, prior: priorWeight}
	for _, o := range options {
		o(&set)
	}
	model, err := openWhisper(modelPath, set.threads)
	if err != nil {
		return nil, err
	}
	words := newVocabulary(model.words)
	r := &Recognizer{
		model: model, words: words, silence: newWordPrior(), set: set,
		ends: words.closing(), marks: words.marks(),
	}
	if err := r.openSecond(); err != nil {
		return nil, errors.Join(err, r.Close())
	}
	return r, nil
}

// Close frees the models.
func (r *Recognizer) Close() error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.model != nil {
		r.model.close()
		r.model = nil
	}
	if r.second != nil {
		return r.second.Close()
	}
	return nil
}

// quietest is the amplitude below which there is no sound at all: one step of
// a 16-bit recording is twice as loud.
const quietest = 1.0 / 65536

// shortestSound is the least that can hold a word.
const shortestSound = 80 * time.Millisecond

// Hear recognises samples (mono, 16 kHz, full scale ±1), held to lang. It may
// be called again and again on a growing utterance. Silence and sounds too
// short for a word give the verdict Ignore and no error; an error means that
// the model failed or ctx was done.
func (r *Recognizer) Hear(ctx context.Context, samples []float32, lang Language) (Result, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	start := time.Now()
	if r.model == nil {
		return Result{}, fmt.Errorf("hearing an utterance: the recogniser is closed")
	}
	var res Result
	if most := int(LongestSound.Seconds() * whisperRate); len(samples) > most {
		samples, res.Cut = samples[:most], true
	}
	if len(samples) < int(shortestSound.Seconds()*whisperRate) || loudest(samples) < quietest {
		return res, nil
	}
	if err := r.model.encode(samples, encodeMargin); err != nil {
		return res, err
	}
	res.Encode = time.Since(start)
	found, err := r.search(ctx, &res, r.beam(r.continuations(lang), len(samples)), lang)
	if err != nil {
		return res, err
	}
	if r.set.width > 1 && uncertain(res) {
		// The same sound, encoded once, the same unrestricted reading.
		wide := r.beam(r.continuations(lang), len(samples))
		wide.width, wide.free = 2*r.set.width-1, &found.free
		if _, err := r.search(ctx, &res, wide, lang); err != nil {
			return res, err
		}
	}
	if r.second != nil && uncertain(res) {
		if err := r.consult(ctx, &res, samples, lang); err != nil {
			return res, err
		}
	}
	if lang, ok := lang.(Careful); ok && res.Confidence >= doubtConfidence {
		weighty, told := lang.Weighty(res.Hypotheses[0].Text)
		act := res.Verdict == Act
		switch {
		case act && told && res.Confidence < sureOfTorque:
			res.Verdict, res.Confirm = Ask, true
		case act && (told || weighty && res.Confidence < sureOfQuestion):
			if err := r.check(ctx, &res, samples, lang); err != nil {
				return res, err
			}
		}
		if weighty && !told && res.Confidence < sureOfQuestion && res.Doubt == nil {
			res.askAlike(lang)
		}
	}
	res.Took = time.Since(start)
	return res, nil
}

// sureOfTorque is the confidence from which a torque that is told is acted on
// without being asked about. Of 246 torques told by synthetic voices, clean and in
// engine noise, 8 of 271 acted on from 0.75 had another figure, 1 of 198 from 0.9.
const sureOfTorque = 0.9

// sureOfQuestion is the confidence from which a question about a torque is not
// heard twice: "forty newton metres in foot-pounds" of a synthetic voice over talk
// was fourteen at 0.76, over music at 0.92; but "is seventy foot-pounds too much"
// has 0.94 as often, and to ask about that helps nobody.
const sureOfQuestion = 0.9

// check hears the sound once more, a little later in the model's window, and asks
// where that gives another reading. The model is most unsteady about figures: a
// torque of 150 spoken by a synthetic voice was 115 at one place and 150 at another.
// Of 21 torques acted on rightly, all were heard the same again, of 2 wrong ones
// one was not.
func (r *Recognizer) check(ctx context.Context, res *Result, samples []float32, lang Language) error {
	later := append(make([]float32, checkShift), samples...)
	later = later[:min(len(later), int(LongestSound.Seconds()*whisperRate))]
	if err := r.model.encode(later, encodeMargin); err != nil {
		return err
	}
	var again Result
	if _, err := r.search(ctx, &again, r.beam(r.continuations(lang), len(later)), lang); err != nil {
		return err
	}
	res.compare(again)
	return nil
}

// checkShift is the number of samples by which a second hearing is put off.
const checkShift = whisperRate / 5

// compare takes a second hearing of the same sound into account.
func (res *Result) compare(again Result) {
	best := res.Hypotheses[0]
	other, ok := again.Best()
	if !ok || other.Meaning == best.Meaning || again.Confidence < askConfidence {
		return
	}
	res.Verdict = Ask
	if d := newDoubt(best.Text, other.Text); d.Best != "" {
		res.Doubt = d
		return
	}
	res.Confidence = min(res.Confidence, disputed)
}

// disputed is the confidence of a reading that a second hearing did not bear out.
const disputed = 0.7

// search walks the language and fills in what was found.
func (r *Recognizer) search(ctx context.Context, res *Result, b *beam, lang Language) (beamResult, error) {
	found, err := b.run(ctx)
	if err != nil {
		return found, err
	}
	res.FreeText = r.text(found.free.tokens)
	res.FreeLogProb = found.free.sound
	res.Hypotheses = r.byMeaning(lang, found.whole)
	for i := range res.Hypotheses {
		if h := &res.Hypotheses[i]; !opened(b.lex.opener(h.Text), h.Text, res.FreeText) {
			h.unopened = true
			h.adjust(-openerPenalty)
		}
	}
	rank(res.Hypotheses)
	if plainly(*res) && !rivalFigure(res.Hypotheses) {
		shareBySound(res.Hypotheses)
	}
	if best, ok := res.Best(); ok {
		res.Extends = extends(lang, best.Text)
	}
	r.judge(res, found)
	if res.Doubt = nil; res.Confidence >= doubtConfidence {
		if res.Doubt = doubt(*res, lang); res.Doubt != nil {
			res.Verdict = Ask
		}
	}
	return found, nil
}

// uncertain reports whether a wider search is worth its time: not for what is
// certain, nor for talk, of which no reading of the language comes near.
func uncertain(res Result) bool {
	return res.Verdict != Act && (len(res.Hypotheses) == 0 || res.Confidence > hopeless)
}

// hopeless is the confidence below which a wider search finds nothing better.
const hopeless = 0.05

// extends reports whether lang allows words after text.
func extends(lang Language, text string) bool {
	state := lang.Start()
	for _, b := range []byte(text) {
		if state = lang.Step(state, b); state < 0 {
			return false
		}
	}
	return lang.Extends(state)
}

// encodeMargin is the number of empty positions of 20 ms kept after the sound.
const encodeMargin = 64

func (r *Recognizer) beam(lex *continuations, samples int) *beam {
	seconds := float64(samples) / whisperRate
	return &beam{
		model: r.model, lex: lex, width: r.set.width,
		// Nobody says more than seven tokens a second for long.
		most:  min(16+int(7*seconds), 200),
		slack: 6, priorWeight: r.set.prior,
		ends: r.ends, marks: r.marks, decode: r.model.decode,
	}
}

// closing lists the tokens that are nothing but the mark at the end of a sentence.
func (v *vocabulary) closing() []int32 {
	var ids []int32
	for id, w := range v.words {
		switch string(w) {
		case ".", "!", "?", "...":
			ids = append(ids, int32(id))
		}
	}
	return ids
}

// marks lists the tokens without a letter or a digit.
func (v *vocabulary) marks() map[int32]bool {
	found := map[int32]bool{}
	for id, w := range v.words {
		if len(w) > 0 && len(strings.Trim(string(w), " ,.;:?!-")) == 0 {
			found[int32(id)] = true
		}
	}
	return found
}

// continuations finds or makes the continuations of a language. Two are kept, the
// job's and the one for interruptions: a language whose names have changed does
// not come back, and is some 40 MB with all that is known of it.
func (r *Recognizer) continuations(lang Language) *continuations {
	for i, l := range r.recent {
		if l.lang == lang {
			copy(r.recent[1:i+1], r.recent[:i])
			r.recent[0] = l
			return l
		}
	}
	l := newContinuations(r.words, lang, r.silence)
	r.recent = append([]*continuations{l}, r.recent...)
	if len(r.recent) > 2 {
		clear(r.recent[2:])
		r.recent = r.recent[:2]
	}
	return l
}

// text spells tokens.
func (r *Recognizer) text(tokens []int32) string {
	var s strings.Builder
	for _, t := range tokens {
		s.Write(r.words.words[t])
	}
	return strings.TrimSpace(s.String())
}

// byMeaning sums whole texts of equal meaning. A text without a meaning
// counts as its own.
func (r *Recognizer) byMeaning(lang Language, whole []finished) []Hypothesis {
	var list []Hypothesis
	var sums []likelihood
	place := map[string]int{}
	for _, f := range whole {
		// What is this far behind has no share in anything, and finding what a
		// sentence means costs more than hearing it.
		if f.score(r.set.prior) < whole[0].score(r.set.prior)-farBehind {
			break // they are sorted
		}
		text := r.text(f.tokens)
		key, weight, ok := lang.Meaning(text)
		if !ok {
			key = text
		}
		i, ok := place[key]
		if !ok {
			i = len(list)
			place[key] = i
			list = append(list, Hypothesis{Text: text, Meaning: key, LogProb: f.sound, evidence: f.evidence(), weight: weight})
			sums = append(sums, f.likelihood)
			continue
		}
		sums[i] = sums[i].or(f.likelihood)
		list[i].weight = max(list[i].weight, weight)
		if f.sound > list[i].LogProb {
			list[i].Text, list[i].LogProb, list[i].evidence = text, f.sound, f.evidence()
		}
	}
	for i := range list {
		list[i].LogProb = sums[i].sound
		list[i].Score = sums[i].score(r.set.prior)
		list[i].adjust(languageWeight * list[i].weight)
	}
	return list
}

// adjust changes the score by what the sound does not say.
func (h *Hypothesis) adjust(by float64) {
	h.Score += by
	h.adjusted += by
}

// languageWeight is the share of a language's own weights in a score: a name of
// the job is likelier than one that was never said, but not so that it is heard
// where another was spoken.
const languageWeight = 0.75

// farBehind is the difference of scores, natural logarithm, from which a
// reading is not looked at any more: less than a part in a thousand.
const farBehind = 7

// rank sorts hypotheses and shares out their posteriors.
func rank(list []Hypothesis) {
	all := math.Inf(-1)
	for _, h := range list {
		all = logAdd(all, h.Score)
	}
	for i := range list {
		list[i].Posterior = math.Exp(list[i].Score - all)
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].Score > list[j].Score })
}

func loudest(samples []float32) float64 {
	top := 0.0
	for _, s := range samples {
		top = math.Max(top, math.Abs(float64(s)))
	}
	return top
}
