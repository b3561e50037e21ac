package main

import (
	"context"
	"fmt"
	"path/filepath"
	"regexp"
	"strings"
	"time"

	"putback/audio"
	"putback/jobs"
	"putback/speech"
)

// Some commands are not acted on at once but asked about: "14 or 40?", "Took, or a
// tip?", "Flagged: the hose, right?". Who stands at the bench answers, in one word. So
// the sound around such a command is played once more with that answer behind it, said
// by the same voice, and the command counts as acted on after a question when the
// program then gives the reply that the command itself would have had.

// question is a command that was asked about, and what is said to it.
type question struct {
	p      *piece
	answer string
}

// whichOfTwo is the question which of two figures or words it was.
var whichOfTwo = regexp.MustCompile(`^(\S+?),? or (?:a )?(\S+)\?$`)

// figuresSaid are the figures of the commands.
var figuresSaid = regexp.MustCompile(`sixty six|forty|seventy|four|two`)

// answersTo are the words that answer a program's questions about commands.
func answersTo() []string {
	words := []string{"yes", "took"}
	for _, c := range commands {
		words = append(words, figuresSaid.FindAllString(c, -1)...)
	}
	return words
}

// answerTo is what is said to a question about a command, "" where none of the choices
// is right, or it is no question for one word.
func answerTo(reply, command string) string {
	if strings.HasSuffix(reply, ", right?") {
		return "yes"
	}
	m := whichOfTwo.FindStringSubmatch(reply)
	if m == nil {
		return ""
	}
	for _, choice := range m[1:] {
		said := strings.ReplaceAll(strings.ToLower(speech.Spell(choice, speech.SpellOptions{})), "-", " ")
		if strings.Contains(" "+command+" ", " "+said+" ") {
			return said
		}
	}
	return ""
}

const (
	// answerAfter is how long after a command its answer is said: the program has asked
	// by then.
	answerAfter = 1200 * time.Millisecond
	answerEnds  = 3 * time.Second
)

// answered plays the sound around a question's command again with the answer behind
// it, and reports whether the program did then what the command says.
func (q question) answered(ctx context.Context, o options, scratch, mode string, m *mix, said *spoken) (bool, error) {
	word, ok := said.answers[q.p.said.voice+" "+q.answer]
	if !ok {
		return false, nil
	}
	from := audio.Count(max(0, q.p.start-keptBefore))
	at := audio.Count(q.p.end+answerAfter) - from
	sound := append(audio.Samples(nil), m.sound[from:min(len(m.sound), audio.Count(q.p.end))]...)
	sound = append(sound, m.bed[min(len(m.bed), audio.Count(q.p.end)):min(len(m.bed), from+at+len(word)+audio.Count(answerEnds))]...)
	for i, v := range leveled(word, q.p.peak) {
		if at+i < len(sound) {
			sound[at+i] += v
		}
	}
	wav := filepath.Join(scratch, "answer.wav")
	if err := audio.WriteWAV(wav, sound); err != nil {
		return false, err
	}
	turns, err := listen(ctx, o.program, o.model, scratch, wav, mode)
	if err != nil {
		return false, err
	}
	return q.wasDone(turns, min(q.p.start, keptBefore), said)
}

// wasDone reports whether turns, in which the command begins at a moment, end with the
// reply to the command.
func (q question) wasDone(turns []heard, begins time.Duration, said *spoken) (bool, error) {
	bench, err := jobs.OpenMemory(jobs.Options{Sheet: jobs.DemoSheet(), SheetFile: "boat-engine.yaml", Now: demoStart})
	if err != nil {
		return false, err
	}
	defer bench.Close()
	do := func(text string) (string, error) {
		in := said.meaning(text)
		if in == nil {
			return "", nil
		}
		out, err := bench.Do(demoStart, in, jobs.Heard{Text: text})
		if err != nil {
			return "", fmt.Errorf("carrying out %q beside the program: %w", text, err)
		}
		return out.Reply.Text, nil
	}
	var got []string
	for _, h := range turns {
		switch {
		case h.Until >= begins.Seconds():
			if h.Outcome == outcomeAnswered {
				got = append(got, h.Reply)
			}
		case h.Outcome == outcomeAnswered:
			if _, err := do(h.Heard); err != nil {
				return false, err
			}
		}
	}
	want, err := do(q.p.said.text)
	return err == nil && len(got) > 0 && got[len(got)-1] == want, err
}

// demoStart is when the soak's jobs begin.
var demoStart = time.Date(2026, 5, 2, 9, 0, 0, 0, time.UTC)
