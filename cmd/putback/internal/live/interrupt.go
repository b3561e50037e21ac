package live

import (
	"context"
	"strings"
	"time"

	"putback/audio"
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
	if l.at-l.now.start < spotEvery {
		return
	}
	l.spotAt = l.at
	l.spotting = &job{sound: append(audio.Samples(nil), l.window...), hint: Hint{Only: l.interruptions()}}
	l.submit(ctx, l.spotting)
}

// spotted takes the result of a search.
func (l *loop) spotted(_ context.Context, j *job) {
	l.spotting = nil
	h := j.hearing
	if j.err != nil || !h.Accepted || l.talk == nil {
		return
	}
	// A word of the reply itself is no interruption.
	said := strings.ToLower(l.talk.x.Reply.Text)
	for word := range strings.FieldsSeq(strings.ToLower(h.Text)) {
		if strings.Contains(said, word) {
			return
		}
	}
	l.hush()
	x := Exchange{At: l.time(), Start: l.at - spotWindow, End: l.at, Hearing: h, Heard: j.took, Outcome: Stopped}
	if h.Text == l.o.CallWord {
		x.Outcome = Called
		l.open(l.o.FollowUp)
		if l.now != nil {
			// The rest of the sentence is a command; what lies before the call
			// word is the program's own voice.
			l.now.called, l.now.over = true, false
			begin := l.at - l.now.start + l.preRoll() - spotWindow
			l.now.skip = max(0, audio.Count(begin))
		}
	} else if l.now != nil {
		l.seg.Take()
		l.forget(l.now)
		l.now = nil
	}
	l.o.Report(x)
}

// preRoll is the sound in front of an utterance's first speech.
func (l *loop) preRoll() time.Duration {
	if d := l.o.Segment.PreRoll; d != 0 {
		return d
	}
	return audio.DefaultPreRoll
}
