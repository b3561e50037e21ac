package live

import (
	"context"
	"errors"
	"time"

	"putback/audio"
	"putback/intent"
	"putback/jobs"
	"putback/speech"
)

// talking is a reply on its way to the loudspeaker.
type talking struct {
	cancel context.CancelFunc
	done   chan error // closed or filled when everything is queued
	queued bool
	x      Exchange
	told   bool      // x was reported
	begun  time.Time // a first sound before this one is of another reply
	after  time.Duration
}

// say speaks x.Reply, after a tone when there is to be one, and reports x.
func (l *loop) say(ctx context.Context, x Exchange, tone audio.Tone, withTone bool) {
	l.ready(&x)
	l.status.Reply = x.Reply.Text
	after := time.Duration(0)
	if x.Reply.Text != "" {
		after = l.o.FollowUp
		switch {
		case x.Reply.Kind == jobs.ReplyQuestion, x.Reply.Kind == jobs.ReplyObjection:
			after = l.o.Question
		case x.Outcome == Alert:
			// Nobody asked; an answer needs the call word, unless the reply is a question.
			after = 0
		}
	}
	if l.quiet {
		after = 0
	}
	if l.o.Speaker == nil || (x.Reply.Text == "" && !withTone) {
		if after > 0 {
			l.open(after)
		}
		l.o.Report(x)
		return
	}
	l.hush()
	sctx, cancel := context.WithCancel(ctx)
	t := &talking{cancel: cancel, done: make(chan error, 1), x: x, begun: time.Now(), after: after}
	l.recent = append(l.recent, spoken{x.Reply.Text, l.at})
	if len(l.recent) > 8 {
		l.recent = l.recent[1:]
	}
	gain := speech.GainForRoom(float64(l.meter.Room()), l.o.Volume)
	// Who asks again has not caught a number.
	again := x.Reply.Slow || is[intent.SayAgain](x.Hearing.Intent)
	opts := speech.SayOptions{Slow: x.Reply.Slow, Digits: again, ReadBack: x.Reply.Digits, Gain: gain}
	run := func() error {
		if withTone {
			if err := l.o.Speaker.Play(sctx, toneClip(tone)); err != nil {
				return err
			}
		}
		if x.Reply.Text == "" || l.o.Voice == nil {
			return nil
		}
		return l.o.Voice.Stream(sctx, x.Reply.Text, opts, func(c speech.Clip) error {
			return l.o.Speaker.Play(sctx, c)
		})
	}
	l.talk = t
	if l.o.Fast {
		t.told = true
		l.o.Report(x)
		t.done <- run()
		l.pollTalk()
		return
	}
	go func() { t.done <- run() }()
}

// pollTalk sees whether the reply under way has begun to sound or is over.
func (l *loop) pollTalk() {
	t := l.talk
	if t == nil {
		return
	}
	if !t.queued {
		select {
		case err := <-t.done:
			t.queued = true
			if err != nil && !errors.Is(err, context.Canceled) {
				l.o.Tell("The voice failed: " + err.Error())
			}
		default:
		}
	}
	if !t.told {
		first := l.o.Speaker.FirstSound()
		if first.After(t.begun) && !l.o.Fast {
			t.x.Sound = first.Sub(l.wallOf(t.x.End))
		}
		if t.x.Sound > 0 || t.queued && !l.o.Speaker.Playing() {
			t.told = true
			l.o.Report(t.x)
		}
	}
	if t.queued && !l.o.Speaker.Playing() {
		l.endTalk()
	}
}

// endTalk closes the reply under way.
func (l *loop) endTalk() {
	t := l.talk
	l.talk = nil
	t.cancel()
	if !t.told {
		l.o.Report(t.x)
	}
	l.spokeUntil = l.at
	if t.after > 0 {
		l.open(t.after)
	}
}

// hush stops the reply under way, if any.
func (l *loop) hush() {
	if l.talk == nil {
		return
	}
	l.talk.cancel()
	l.o.Speaker.Stop()
	l.endTalk()
}

// tone plays a tone by itself, beside the loop's state.
func (l *loop) tone(t audio.Tone) {
	if err := l.o.Speaker.Play(context.Background(), toneClip(t)); err != nil {
		l.o.Tell("The tone failed: " + err.Error())
	}
}

func toneClip(t audio.Tone) speech.Clip {
	return speech.Clip{Samples: t.Sound(), Rate: audio.Rate}
}
