package live

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"putback/audio"
	"putback/intent"
	"putback/speech"
)

// Recogniser hears sound held to a language; *speech.Recognizer does.
type Recogniser interface {
	Hear(ctx context.Context, samples []float32, lang speech.Language) (speech.Result, error)
}

// GrammarEar is an [Ear] made of the recogniser and the job's grammar.
type GrammarEar struct {
	Recogniser Recogniser
	// Grammar gives the automaton for what can be said now; it changes with
	// the job's names.
	Grammar func() (*intent.Automaton, error)
	// Understand turns a reading into an intent; intent.FromReading.
	Understand func(intent.Reading) (intent.Intent, error)
	// CallWord is the word that begins what is meant for the program; empty: none
	// is looked for where it was mumbled.
	CallWord string
	// Practice is sound that Prepare lets the recogniser hear: sentences like
	// those to come. Empty: Prepare does nothing.
	Practice []audio.Samples

	phrases map[string]speech.Language
	ready   *intent.Automaton // what Prepare was done for
}

// Prepare hears the practice sentences in the grammar of the moment, when that
// has changed: much of what a sentence costs is due only the first time.
func (e *GrammarEar) Prepare(ctx context.Context) error {
	if len(e.Practice) == 0 {
		return nil
	}
	grammar, err := e.Grammar()
	if err != nil || grammar == e.ready {
		return err
	}
	for _, sound := range e.Practice {
		if _, err := e.Recogniser.Hear(ctx, sound, grammar); err != nil {
			return fmt.Errorf("practise hearing: %w", err)
		}
	}
	e.ready = grammar
	return nil
}

// Hear recognises sound. The error is the recogniser's or the grammar's.
func (e *GrammarEar) Hear(ctx context.Context, sound audio.Samples, hint Hint) (Hearing, error) {
	if hint.Only != nil {
		return e.spot(ctx, sound, hint.Only)
	}
	grammar, err := e.Grammar()
	if err != nil {
		return Hearing{}, err
	}
	result, err := e.Recogniser.Hear(ctx, sound, grammar)
	if err != nil {
		return Hearing{}, fmt.Errorf("recognise speech: %w", err)
	}
	if hint.CallNeeded {
		if result, err = e.listenForCall(ctx, sound, result, grammar); err != nil {
			return Hearing{}, err
		}
	}
	if result, err = e.surer(ctx, sound, result, grammar); err != nil {
		return Hearing{}, err
	}
	more := goesOn(result, grammar)
	guess := e.guess(result, more, grammar)
	best, ok := result.Best()
	if !ok {
		return Hearing{Called: guess != nil, Unsure: guess != nil, Guess: guess}, nil
	}
	h := Hearing{
		Text: best.Text, Confidence: result.Confidence,
		Accepted: result.Verdict == speech.Act,
		Unsure:   result.Verdict == speech.Ask,
		Open:     result.Extends || !result.Complete,
		Plain:    plainWords(best.Text) == plainWords(result.FreeText),

		MayBeCalled: e.CallWord != "" && beginsLike(result.FreeText, e.CallWord),
	}
	readings := grammar.Parse(best.Text)
	if len(readings) == 0 {
		return h, nil
	}
	h.Called, h.Reading = readings[0].Addressed, readings[0]
	if guess != nil && !h.Accepted {
		h.Called, h.Unsure, h.Guess = true, true, guess
	} else {
		h.Guess = guess
	}
	if hint.CallNeeded && !h.Called {
		// However well it was heard, it was said to somebody else.
		h.Accepted, h.Unsure = false, false
		return h, nil
	}
	if h.Intent, err = e.Understand(readings[0]); err != nil {
		return h, fmt.Errorf("understand %q: %w", best.Text, err)
	}
	h.Complete = true
	h.Figure = result.Doubt != nil
	if more != "" {
		// Half of what was said must not be carried out as if it were all.
		h.Accepted, h.Unsure, h.More = false, h.Accepted || h.Unsure, true
		return h, nil
	}
	if result.Confidence < speech.ActConfidence && !h.Called {
		return h, nil
	}
	if h.Reading.Rule == "tip" && h.Unsure && h.Called {
		// Of half a sentence that may be another the question is which it was.
		e.askTook(&h, best.Text, grammar)
		return h, nil
	}
	if h.Accepted && slices.Contains(freely, h.Reading.Rule) && (!h.Called || h.Reading.Rule == "tip") {
		// One word tells free speech from any other, and was not called for; "took two
		// tens" was a tip even so.
		again, err := e.Recogniser.Hear(ctx, slices.Concat(audio.Silence(hearLater), sound), grammar)
		if err != nil {
			return h, fmt.Errorf("recognise speech: %w", err)
		}
		best, ok := again.Best()
		if !ok || again.Verdict != speech.Act || !sameRule(grammar, best.Text, h.Reading.Rule) {
			h.Accepted, h.Unsure = false, true
			return h, nil
		}
	}
	if h.Reading.Rule == "tip" && !result.Confirm && e.askTook(&h, best.Text, grammar) {
		return h, nil
	}
	if result.Confirm {
		h.Intent = intent.Unclear{Heard: h.Text, Question: sayAgain, Then: []intent.Intent{h.Intent}}
		h.Accepted, h.Unsure = true, false
	}
	return h, e.either(&h, result.Doubt, grammar)
}

// askTook makes a question of a tip that means something with "took" in its place,
// and reports whether it does: "took two tens off the front cover" of a synthetic voice
// was "tip two tens off the front cover" at 0.95, twice, and as a tip it would never be
// counted.
func (e *GrammarEar) askTook(h *Hearing, text string, grammar *intent.Automaton) bool {
	words := strings.Fields(text)
	i := slices.IndexFunc(words, func(w string) bool { return plainWords(w) == "tip" })
	if i < 0 {
		return false
	}
	words[i] = "took"
	readings := grammar.Parse(strings.Join(words, " "))
	if len(readings) == 0 || readings[0].Rule != "removed" {
		return false
	}
	took, err := e.Understand(readings[0])
	if err != nil {
		return false
	}
	h.Intent = intent.Unclear{Heard: h.Text, Question: "Took, or a tip?", Choices: []string{"took", "a tip"}, Then: []intent.Intent{took, h.Intent}}
	h.Accepted, h.Unsure, h.Guess = true, false, nil
	return true
}

// goesOn is what was said behind the best reading that adds to it or takes it
// back, "" nothing. "Toolbox, the shaft seal is out" was acted on at 0.8 where "and the
// shaft diameter is 15.99" followed. Of 450 shop commands and orders acted on
// rightly it is said of none.
func goesOn(result speech.Result, grammar *intent.Automaton) string {
	best, ok := result.Best()
	if !ok {
		return ""
	}
	said, all := strings.Fields(plainWords(best.Text)), strings.Fields(plainWords(result.FreeText))
	end := said[max(0, len(said)-2):]
	for i := range len(all) - len(end) {
		if rest := all[i+len(end):]; len(end) > 0 && len(rest) > 1 && slices.Equal(all[i:i+len(end)], end) {
			more := strings.Join(rest, " ")
			if strings.HasSuffix(strings.Join(said, " "), more) {
				return "" // said once more
			}
			if slices.Contains(adding, rest[0]) || len(grammar.Parse(more)) > 0 {
				return more
			}
			return ""
		}
	}
	return ""
}

// adding are the words that go on with a sentence, or take it back.
var adding = []string{"and", "then", "but", "except", "or", "no", "not", "wait", "also", "plus"}

// guess is what may have been meant by what the model reads without the language,
// where that begins with the call word; it is asked about in place of "Say again?".
func (e *GrammarEar) guess(result speech.Result, more string, grammar *intent.Automaton) *intent.Unclear {
	text := result.FreeText
	if best, ok := result.Best(); ok && more != "" {
		text = best.Text + ", " + more
	}
	together := strings.ReplaceAll(plainWords(text), " ", "")
	called := e.CallWord != "" && strings.HasPrefix(strings.TrimPrefix(strings.TrimPrefix(together, "hey"), "okay"), strings.ReplaceAll(e.CallWord, " ", ""))
	if !called || result.Verdict == speech.Act && more == "" || result.FreeConfidence < freeEnough {
		return nil
	}
	return intent.Guess(grammar, text)
}

// freely are the rules of free speech. "No, the other side" was read as "note the
// other side" at 0.9 once, and six times of six as "no" a little later or earlier
// in the model's window, by which hearLater puts a second hearing off.
var freely = []string{"note", "flag", "tip", "mark", "evidence", "excuse", "insertStep"}

const hearLater = 200 * time.Millisecond

func sameRule(grammar *intent.Automaton, text, rule string) bool {
	readings := grammar.Parse(text)
	return len(readings) > 0 && readings[0].Rule == rule
}

// surer hears once more a sentence that is not quite good enough to be acted on, a
// little later in the model's window: at one place "the raw water pump is on the
// top shelf" had 0.43, at others 0.96. It counts only as the same sentence, heard
// firmly: of two hearings that agree and are both unsure, one in three was wrong.
func (e *GrammarEar) surer(ctx context.Context, sound audio.Samples, result speech.Result, grammar *intent.Automaton) (speech.Result, error) {
	best, ok := result.Best()
	if !ok || result.Verdict != speech.Ask || result.Doubt != nil || result.Confirm || len(strings.Fields(plainWords(best.Text))) < fewestFirmly {
		return result, nil
	}
	readings := grammar.Parse(best.Text)
	if len(readings) == 0 || slices.Contains(freely, readings[0].Rule) {
		return result, nil
	}
	again, err := e.Recogniser.Hear(ctx, slices.Concat(audio.Silence(hearLater), sound), grammar)
	if err != nil {
		return result, fmt.Errorf("recognise speech: %w", err)
	}
	if other, ok := again.Best(); ok && other.Meaning == best.Meaning && again.Verdict == speech.Act && again.Confidence >= firmly {
		return again, nil
	}
	return result, nil
}

// firmly is the confidence of a second hearing that bears out the first, of a
// sentence of fewestFirmly words or more: "what could it be" of a radio had 0.81.
const (
	firmly       = 0.85
	fewestFirmly = 4
)

// listenForCall hears once more what may begin with a mumbled call word: held to
// sentences that begin with it, the recogniser cannot lose them at the first
// syllable. What it gives instead of result is at least to be asked about.
func (e *GrammarEar) listenForCall(ctx context.Context, sound audio.Samples, result speech.Result, grammar *intent.Automaton) (speech.Result, error) {
	if best, ok := result.Best(); ok && result.Confidence >= calledAgain {
		if readings := grammar.Parse(best.Text); len(readings) > 0 && readings[0].Addressed {
			return result, nil
		}
	}
	called := grammar.Called()
	if called == nil || !mayBegin(result.FreeText, e.CallWord) {
		return result, nil
	}
	var again speech.Result
	// Where in the model's window a mumbled word lies decides whether it is heard.
	for _, later := range []time.Duration{0, callLater} {
		heard, err := e.Recogniser.Hear(ctx, slices.Concat(audio.Silence(later), sound), called)
		if err != nil {
			return result, fmt.Errorf("recognise speech: %w", err)
		}
		if heard.Confidence > again.Confidence {
			again = heard
		}
		if again.Confidence >= calledAgain || again.Confidence < hopeless {
			break
		}
	}
	if again.Confidence < calledAtAll {
		return result, nil
	}
	return again, nil
}

// callLater is by how much the second of these hearings is put off: "say again" had
// 0.34 without it and 0.62 with it, "how many are out" 0.1 and 0.5.
const callLater = 300 * time.Millisecond

// calledAgain is the confidence from which a sentence is not heard again for its
// call word. calledAtAll is that from which what was heard again is taken: held to
// sentences with the call word, talk and radio had 0.11 at the most, and commands
// whose call word was lost otherwise 0.3 to 0.7.
const (
	calledAgain = 0.5
	calledAtAll = 0.3
)

// either makes a hearing that is likely right but for one figure the question
// which it was; the answer carries out the reading that has it.
func (e *GrammarEar) either(h *Hearing, doubt *speech.Doubt, grammar *intent.Automaton) error {
	if doubt == nil || doubt.Best == "" {
		return nil
	}
	readings := grammar.Parse(doubt.Text)
	if len(readings) == 0 {
		return nil
	}
	other, err := e.Understand(readings[0])
	if err != nil {
		return fmt.Errorf("understand %q: %w", doubt.Text, err)
	}
	h.Intent = intent.Unclear{
		Heard: h.Text, Question: doubt.Best + " or " + doubt.Other + "?",
		Choices: []string{doubt.Best, doubt.Other}, Then: []intent.Intent{h.Intent, other},
	}
	h.Accepted, h.Unsure = true, false
	return nil
}

// spot looks for one of the phrases anywhere in the sound. Both the free
// reading and one held to the phrases are taken: the first finds a word among
// others, the second finds it when it stands alone.
func (e *GrammarEar) spot(ctx context.Context, sound audio.Samples, phrases []string) (Hearing, error) {
	key := strings.Join(phrases, "|")
	lang, ok := e.phrases[key]
	if !ok {
		// Brackets keep a phrase of several words one alternative.
		source := "#JSGF V1.0;\ngrammar interruption;\npublic <interruption> = (" + strings.Join(phrases, ") | (") + ");\n"
		grammar, err := intent.ParseGrammar("interruption.jsgf", []byte(source), nil)
		if err != nil {
			return Hearing{}, fmt.Errorf("listen for %s: %w", strings.Join(phrases, ", "), err)
		}
		automaton, err := grammar.Compile()
		if err != nil {
			return Hearing{}, fmt.Errorf("listen for %s: %w", strings.Join(phrases, ", "), err)
		}
		if e.phrases == nil {
			e.phrases = map[string]speech.Language{}
		}
		lang = automaton
		e.phrases[key] = lang
	}
	result, err := e.Recogniser.Hear(ctx, sound, lang)
	if err != nil {
		return Hearing{}, fmt.Errorf("recognise speech: %w", err)
	}
	if best, ok := result.Best(); ok && result.Verdict == speech.Act {
		// "Tool box" is the phrase "toolbox" in another spelling.
		bare := strings.ReplaceAll(plainWords(best.Text), " ", "")
		for _, p := range phrases {
			if bare == strings.ReplaceAll(plainWords(p), " ", "") {
				return Hearing{Text: p, Complete: true, Accepted: true, Confidence: result.Confidence}, nil
			}
		}
	}
	free := " " + plainWords(result.FreeText) + " "
	found, at := "", -1
	for _, p := range phrases {
		if i := strings.LastIndex(free, " "+plainWords(p)+" "); i >= 0 && (i > at || i == at && len(p) > len(found)) {
			found, at = p, i
		}
	}
	if found == "" {
		return Hearing{}, nil
	}
	// Over noise and its own voice the model makes words up, and is unsure of them.
	sure := result.FreeConfidence >= freeEnough
	return Hearing{Text: found, Complete: true, Accepted: sure, Unsure: !sure, Confidence: result.FreeConfidence}, nil
}

// freeEnough is the speech.Result.FreeConfidence from which a phrase in the free
// reading counts.
const freeEnough = 0.5

// plainWords is text in lower case, without punctuation.
func plainWords(text string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(text), func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '\'')
	}), " ")
}
