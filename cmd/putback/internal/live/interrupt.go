package live

import (
	"context"
	"slices"
	"strings"
	"time"

	"putback/audio"
	"putback/speech"
)

// remember keeps the last sound for the search for an interruption.
func (l *loop) remember(s audio.Samples) {
	if !l.o.HalfDuplex {
		return
	}
	l.window = append(l.window, s...)
	if keep := audio.Count(spotWindow); len(l.window) > keep {
		l.window = append(l.window[:0], l.window[len(l.window)-keep:]...)
	}
}

// interruptions are the words that act while the program speaks.
func (l *loop) interruptions() []string {
	return []string{l.o.CallWord, "stop", l.o.CallWord + " stop"}
}

// spot looks for the call word or "stop" in the last sound while the program
// speaks: its own voice leaves no pause to wait for.
func (l *loop) spot(ctx context.Context) {
	if l.talk == nil || !l.o.HalfDuplex || l.now == nil || l.spotting != nil || l.at-l.spotAt < spotEvery {
		return
	}
	if l.at-l.now.start < spotAfter || l.now.job != nil {
		return // a word that stands alone is heard at its end, and nothing must be in its way
	}
	l.spotAt = l.at
	l.spotting = &job{sound: append(audio.Samples(nil), l.window...), hint: Hint{Only: l.interruptions()}}
	l.submit(ctx, l.spotting)
}

// giveWay ends a search under way: the sound up to a pause holds more.
func (l *loop) giveWay() {
	if l.spotting != nil {
		l.spotting.cancel()
		l.spotting = nil
	}
}

// spotted takes the result of a search.
func (l *loop) spotted(ctx context.Context, j *job) {
	if l.spotting != j {
		return // it gave way
	}
	l.spotting = nil
	if j.err != nil || !j.hearing.Accepted || l.talk == nil || l.ownWord(j.hearing.Text) {
		return
	}
	t := l.now
	if t == nil || t.called {
		return
	}
	if l.obey(t, j, l.at-spotWindow) {
		// What lies before the call word is the program's own voice.
		begin := l.at - t.start + l.preRoll() - spotWindow
		t.skip = max(0, audio.Count(begin))
		l.again(ctx, t)
	}
}

// interrupted takes an interruption found in an utterance that has paused.
func (l *loop) interrupted(ctx context.Context, t *turn, j *job) {
	if l.ownWord(j.hearing.Text) {
		return
	}
	if l.obey(t, j, t.start) {
		l.again(ctx, t)
	}
}

// ownWord: is it a word of the reply under way, and so no interruption?
func (l *loop) ownWord(text string) bool {
	if l.talk == nil {
		return false
	}
	said := strings.ToLower(l.talk.x.Reply.Text)
	for word := range strings.FieldsSeq(strings.ToLower(text)) {
		if strings.Contains(said, word) {
			return true
		}
	}
	return false
}

// obey falls silent for the word that was found and reports whether it was the
// call word: what follows it, or followed it in t, is a command.
func (l *loop) obey(t *turn, j *job, start time.Duration) (called bool) {
	x := Exchange{At: l.time(), Start: start, End: t.end, Hearing: j.hearing, Heard: j.took, Outcome: Stopped}
	if l.quiet {
		return false
	}
	l.hush()
	if called = j.hearing.Text == l.o.CallWord; called {
		x.Outcome = Called
		l.open(l.o.FollowUp)
		t.called, t.found, t.over = true, true, false
	} else {
		t.gone = true
		if t == l.now {
			l.seg.Take()
			l.forget(t)
			l.now = nil
		}
	}
	l.o.Report(x)
	return called
}

// scrap: does text say nothing behind the call word that a recent reply did not
// say too? Its words in any order are enough: a command lost costs a repetition.
func (l *loop) scrap(text string) bool {
	words := spelledWords(text)
	whole, begun := strings.ReplaceAll(l.o.CallWord, " ", ""), ""
	for len(words) > 0 && strings.HasPrefix(whole, begun+words[0]) {
		begun += words[0]
		words = words[1:]
	}
	for _, s := range l.recent {
		said := spelledWords(s.text)
		if !slices.ContainsFunc(words, func(w string) bool { return !slices.Contains(said, w) }) {
			return true
		}
	}
	return false
}

// spelledWords is a text as it is spoken, word by word.
func spelledWords(text string) []string {
	return strings.Fields(plainWords(speech.Spell(text, speech.SpellOptions{})))
}

// again has an utterance heard as a sentence in which the call word was found.
func (l *loop) again(ctx context.Context, t *turn) {
	sound := t.sound
	if t == l.now {
		if l.seg.Quiet() < l.pause() {
			return // it goes on; the next pause will do
		}
		sound = l.seg.Sound()
	}
	l.ask(ctx, t, sound)
}

// pause is the silence after which a sentence is looked at.
func (l *loop) pause() time.Duration { return l.o.Segment.Pause }

// preRoll is the sound in front of an utterance's first speech.
func (l *loop) preRoll() time.Duration {
	if d := l.o.Segment.PreRoll; d != 0 {
		return d
	}
	return audio.DefaultPreRoll
}
