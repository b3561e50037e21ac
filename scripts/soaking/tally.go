package main

import (
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"putback/audio"
)

// tally is what came of some sound.
type tally struct {
	mode         string
	length, took time.Duration
	turns        int

	changes  int // events made by what was not meant
	answers  int // spoken answers to what was not meant, "say again" left out
	sayAgain int
	tones    int // a lone call word heard in what was not meant: a tone, no words

	commands, acted int
	asked           []question     // commands not acted on but asked about
	agreed          int            // of them, acted on after one answer
	wrong           int            // a command acted on as another one
	bySNR           map[string]int // "12 dB acted", "12 dB of"
	causes          map[string]int
	failures        []failure
}

// failure is one thing that went wrong, with the words for the list.
type failure struct {
	cause, line string
	at          time.Duration
}

func newTally(mode string) *tally {
	return &tally{mode: mode, bySNR: make(map[string]int), causes: make(map[string]int)}
}

// The outcomes of a turn, as the program prints them.
const (
	outcomeAnswered = "answered"
	outcomeMissed   = "not understood"
	outcomeIgnored  = "not addressed"
	outcomeCalled   = "called"
	outcomeStopped  = "stopped"
)

// sayAgain is what is said to what was not understood.
const sayAgain = "Say again?"

// window is how long after an answer the call word may be left out.
const window = 8 * time.Second

// count weighs the turns of one run against what was really said.
func (t *tally) count(m *mix, turns []heard, said *spoken) {
	t.turns += len(turns)
	got := make(map[*piece][]heard)
	var lastAnswer time.Duration = -time.Hour
	for _, h := range turns {
		if h.Outcome == outcomeAnswered && h.Reply == sayAgain {
			h.Outcome = outcomeMissed // the record did not know what to make of it
		}
		p := m.at(h.start())
		for _, c := range m.commandsIn(h.start(), time.Duration(h.Until*float64(time.Second))) {
			// Of what came before something was heard with it, or it was cut off.
			if h.Outcome == outcomeMissed || h.Outcome == outcomeAnswered && said.same(c.said.text, h.Heard) {
				p = c
			}
		}
		got[p] = append(got[p], h)
		inWindow := h.start() < lastAnswer+window
		if h.Outcome == outcomeAnswered || h.Outcome == outcomeMissed || h.Outcome == outcomeCalled {
			lastAnswer = h.start() + 2*time.Second
		}
		if p.kind == kindCommand && h.start() < p.end {
			continue // weighed below
		}
		note := func(what string) {
			kind := p.kind
			if h.start() > p.end+time.Second {
				kind = "what sounds behind"
			}
			cause := what + " on " + kind
			if t.mode == "call" && inWindow {
				cause += ", in the window after an answer"
			}
			t.fail(cause, h.start(), fmt.Sprintf("%s [%s] heard %q (%.2f) as %s, %d changes, replied %q", kind, p.name, h.Heard, h.Confidence, h.Intent, h.changes(), h.Reply))
		}
		switch {
		case h.Outcome == outcomeAnswered && h.changes() > 0:
			t.changes += h.changes()
			t.answers++
			note("a change")
		case h.Outcome == outcomeAnswered && h.Reply != "":
			t.answers++
			note("an answer")
		case h.Outcome == outcomeMissed && h.Reply != "":
			t.sayAgain++
			note("say again")
		case h.Outcome == outcomeCalled:
			t.tones++
			note("a call heard")
		}
	}
	for i := range m.pieces {
		if p := &m.pieces[i]; p.kind == kindCommand {
			t.weigh(p, got[p], said)
		}
	}
}

// weigh judges what became of one command.
func (t *tally) weigh(p *piece, turns []heard, said *spoken) {
	t.commands++
	snr := fmt.Sprintf("%2.0f dB", p.snr)
	t.bySNR[snr+" of"]++
	t.bySNR[p.said.voice+" of"]++
	best, asked := "", ""
	for _, h := range turns {
		if h.start() >= p.end {
			continue
		}
		switch {
		case h.Outcome == outcomeAnswered && whichOfTwo.MatchString(h.Reply):
			asked = h.Reply
			best = fmt.Sprintf("asked %q (%.2f)", h.Reply, h.Confidence)
		case h.Outcome == outcomeAnswered && said.same(p.said.text, h.Heard):
			t.acted++
			t.bySNR[snr+" acted"]++
			t.bySNR[p.said.voice+" acted"]++
			return
		case h.Outcome == outcomeAnswered:
			t.wrong++
			best = fmt.Sprintf("acted on as %q (%.2f, %s)", h.Heard, h.Confidence, h.Intent)
		case h.Outcome == outcomeMissed && strings.HasSuffix(h.Reply, ", right?") && said.same(p.said.text, h.Heard):
			asked = h.Reply
			best = fmt.Sprintf("asked %q (%.2f)", h.Reply, h.Confidence)
		case best == "":
			best = fmt.Sprintf("heard as %q (%.2f): %s", h.Heard, h.Confidence, h.Outcome)
		}
	}
	if a := answerTo(asked, p.said.text); a != "" {
		t.asked = append(t.asked, question{p, a})
	}
	cause := "a command not acted on"
	switch {
	case best == "":
		best, cause = "no turn began in it: it ran on from what came before, or was not found", "a command not found"
	case strings.HasPrefix(best, "acted"):
		cause = "a command acted on wrongly"
	case strings.HasPrefix(best, "asked"):
		cause = "a command asked about by what it would be, for a yes"
	case strings.HasSuffix(best, outcomeMissed):
		cause = "a command asked back"
	}
	t.fail(cause, p.start, fmt.Sprintf("%q by %s at %s: %s", p.said.text, p.said.voice, snr, best))
}

func (t *tally) fail(cause string, at time.Duration, line string) {
	t.causes[cause]++
	t.failures = append(t.failures, failure{cause, line, at})
}

func (t *tally) add(o *tally) {
	t.length += o.length
	t.took += o.took
	t.turns += o.turns
	t.changes += o.changes
	t.answers += o.answers
	t.sayAgain += o.sayAgain
	t.tones += o.tones
	t.commands += o.commands
	t.acted += o.acted
	t.agreed += o.agreed
	t.wrong += o.wrong
	for k, n := range o.bySNR {
		t.bySNR[k] += n
	}
	for k, n := range o.causes {
		t.causes[k] += n
	}
	t.failures = append(t.failures, o.failures...)
}

func (t *tally) line() string {
	return fmt.Sprintf("%d turns, %d changes, %d answers, %d say again, %d calls not meant; commands acted %d of %d and %d after a question, wrongly %d; %.1f times audio speed",
		t.turns, t.changes, t.answers, t.sayAgain, t.tones, t.acted, t.commands, t.agreed, t.wrong, t.length.Seconds()/max(t.took.Seconds(), 0.001))
}

func (t *tally) print(w io.Writer) {
	hours := t.length.Hours()
	fmt.Fprintf(w, "\n%s mode, %.2f h of sound in %s\n", t.mode, hours, t.took.Round(time.Second))
	fmt.Fprintf(w, "  changes not meant        %6d  %7.2f an hour\n", t.changes, float64(t.changes)/hours)
	fmt.Fprintf(w, "  answers not meant        %6d  %7.2f an hour\n", t.answers, float64(t.answers)/hours)
	fmt.Fprintf(w, "  say again                %6d  %7.2f an hour\n", t.sayAgain, float64(t.sayAgain)/hours)
	fmt.Fprintf(w, "  calls heard, not meant   %6d  %7.2f an hour (a tone, no words)\n", t.tones, float64(t.tones)/hours)
	fmt.Fprintf(w, "  commands that acted      %6d of %d, %.1f %%; acted on wrongly %d\n", t.acted, t.commands, 100*float64(t.acted)/float64(max(t.commands, 1)), t.wrong)
	fmt.Fprintf(w, "    after one question       %6d more, %.1f %% with them\n", t.agreed, 100*float64(t.acted+t.agreed)/float64(max(t.commands, 1)))
	for _, k := range slices.Sorted(maps.Keys(t.bySNR)) {
		if of, ok := strings.CutSuffix(k, " of"); ok {
			fmt.Fprintf(w, "    %-22s %6d of %d\n", of, t.bySNR[of+" acted"], t.bySNR[k])
		}
	}
	fmt.Fprintln(w, "  by cause:")
	for _, k := range slices.SortedFunc(maps.Keys(t.causes), func(a, b string) int { return t.causes[b] - t.causes[a] }) {
		fmt.Fprintf(w, "    %4d  %s\n", t.causes[k], k)
	}
	fmt.Fprintln(w)
}

// keptBefore is the sound that is kept from before a failure.
const keptBefore = 15 * time.Second

// keepFailures writes the failures of stretch n to the list, and their sound
// with what came before, which the program may have taken them for the end of.
func (t *tally) keepFailures(o options, n int, sound audio.Samples) (err error) {
	if o.failures == "" && o.keep == "" {
		return nil
	}
	var list strings.Builder
	for _, f := range t.failures {
		file := ""
		if o.keep != "" {
			if err := os.MkdirAll(o.keep, 0o755); err != nil {
				return fmt.Errorf("making the folder for the failures: %w", err)
			}
			file = filepath.Join(o.keep, fmt.Sprintf("%s-seed%d-%02d-%06.1f.wav", t.mode, o.seed, n, f.at.Seconds()))
			from := max(0, audio.Count(f.at-keptBefore))
			if err := audio.WriteWAV(file, sound[from:min(len(sound), from+audio.Count(keptBefore+10*time.Second))]); err != nil {
				return err
			}
		}
		fmt.Fprintf(&list, "%s\tseed %d stretch %d\t%.1f s\t%s\t%s\t%s\n", t.mode, o.seed, n, f.at.Seconds(), f.cause, f.line, file)
	}
	if o.failures == "" {
		return nil
	}
	f, err := os.OpenFile(o.failures, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err != nil {
		return fmt.Errorf("opening the list of failures: %w", err)
	}
	_, err = f.WriteString(list.String())
	if e := f.Close(); err == nil {
		err = e
	}
	return err
}
