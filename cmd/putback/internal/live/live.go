// Package live is the listening loop: sound in, turns of talk out of it, each
// turn heard, acted on and answered aloud, all day.
//
// It decides when somebody has finished, whether they meant the program,
// what may interrupt an answer and when a timer may speak. It does not
// recognise, keep the record or make a voice: those stand behind the
// interfaces [Ear], [Bench], [Voice] and [Speaker].
//
//	err := live.Run(ctx, live.Options{Source: mic, VAD: vad, Ear: ear, Bench: bench, Voice: voice, Speaker: loudspeaker})
//
// With Options.Fast the audio clock is the only clock: a file gives the same
// conversation on any computer, as fast as it can be recognised.
package live

import (
	"context"
	"time"

	"putback/audio"
	"putback/intent"
	"putback/jobs"
	"putback/speech"
)

// Hint tells the [Ear] what is awaited.
type Hint struct {
	// Only asks for one of these phrases anywhere in the sound, among any other
	// talk; the last one counts. nil asks for a sentence of the grammar.
	Only []string
	// CallNeeded: the sound counts only if it begins with the call word.
	CallNeeded bool
}

// Hearing is what an [Ear] makes of one stretch of sound.
type Hearing struct {
	// Text is the best reading inside the grammar, the call word included, "" for none.
	Text string
	// Intent is what it means; nil when Text means nothing yet or nothing at all.
	Intent intent.Intent
	// Reading is the same as the grammar has it: rule and slots.
	Reading intent.Reading
	// Called: the reading begins with the call word.
	Called bool
	// MayBeCalled: what the recogniser reads without the grammar begins somewhat like
	// the call word.
	MayBeCalled bool
	// Complete: the reading is a whole sentence of the grammar.
	Complete bool
	// Open: something can still follow the reading.
	Open bool
	// Accepted: the reading is good enough to be acted on.
	Accepted bool
	// Unsure: not good enough to be acted on, but likely meant for the program.
	Unsure bool
	// Guess is what may have been meant where the reading is not good enough; it is
	// only to be asked about. Nil: nothing.
	Guess *intent.Unclear
	// Plain: read without the grammar, the words are the same.
	Plain bool
	// More was said than the reading has.
	More bool
	// Figure: another figure may have been said.
	Figure bool
	// Confidence is 0 to 1.
	Confidence float64
}

// Ear recognises. Hear is called from one goroutine at a time and returns soon
// after ctx ends.
type Ear interface {
	Hear(ctx context.Context, sound audio.Samples, hint Hint) (Hearing, error)
}

// Preparer is an [Ear] that can be made ready for what may be said next, so
// that the next sentence is heard as quickly as the one after it. Prepare is
// called where Hear is, when nothing waits to be heard; it returns soon after ctx ends.
type Preparer interface {
	Prepare(ctx context.Context) error
}

// Bench carries out what was asked and keeps the record; *jobs.Bench does. Both calls come from
// the goroutine of [Run] and must be quick.
type Bench interface {
	// Do carries out in. The reply to a change is returned only after the
	// change is on disk.
	Do(now time.Time, in intent.Intent, heard jobs.Heard) (jobs.Outcome, error)
	// Tick gives what is due by itself, such as timers; each is given once.
	Tick(now time.Time) ([]jobs.Reply, error)
}

// Voice turns a reply into sound, clause by clause; *speech.Voice does.
type Voice interface {
	Stream(ctx context.Context, text string, o speech.SayOptions, out func(speech.Clip) error) error
}

// Speaker plays clips. The loudspeakers of package audio, through [Play], and a
// WAV writer stand behind it.
type Speaker interface {
	// Play queues a clip and returns; it may wait when much is queued.
	Play(ctx context.Context, clip speech.Clip) error
	// Stop drops what waits and falls silent at once.
	Stop()
	// Playing reports whether the room may still hear something.
	Playing() bool
	// FirstSound is when the first sample after the last silence went out.
	FirstSound() time.Time
}

// Address says when talk is meant for the program.
type Address string

// The ways to address it.
const (
	// ByCall: after the call word, and in a window after each reply.
	ByCall Address = "call"
	// Always: everything said is meant.
	Always Address = "open"
	// ByKey: after a press of the pedal or key, one sentence at a time, and
	// answers to a question; the call word works too.
	ByKey Address = "key"
)

// Settings are the loop's timings and habits. A zero field takes its default.
type Settings struct {
	Address  Address       // default ByCall
	CallWord string        // default "toolbox"
	FollowUp time.Duration // after a reply the call word may be left out; default 8 s
	Question time.Duration // the same after a question; default 20 s
	Settle   time.Duration // silence before an answer when nothing can follow; default 250 ms
	Linger   time.Duration // when the sentence is whole but can go on; default 400 ms
	Expect   time.Duration // when the sentence is not whole; default 1.5 s
	// HalfDuplex: while the program speaks, and a moment after, only the call
	// word and "stop" act. For a real microphone beside a real loudspeaker.
	HalfDuplex bool
	// Tail is how long after the last sound the room still carries it; default 250 ms.
	Tail       time.Duration
	ToneHeard  bool // a tone when the call word stands alone or the key is pressed
	ToneMissed bool // a tone when something addressed was not understood
	ToneAlert  bool // a tone before the program speaks by itself
	// Volume is the person's own setting, default 1; the voice also rises with the noise of the room.
	Volume float64
	// HighPass takes out what is below so many hertz before anything listens; 0 is off.
	HighPass float64
	// Segment sets the voice detection; its End is taken from Expect.
	Segment audio.SegmenterConfig
}

func (s Settings) withDefaults() Settings {
	def := func(d *time.Duration, v time.Duration) {
		if *d == 0 {
			*d = v
		}
	}
	if s.Address == "" {
		s.Address = ByCall
	}
	if s.CallWord == "" {
		s.CallWord = "toolbox"
	}
	if s.Volume == 0 {
		s.Volume = 1
	}
	def(&s.FollowUp, 8*time.Second)
	def(&s.Question, 20*time.Second)
	def(&s.Settle, 250*time.Millisecond)
	def(&s.Linger, 400*time.Millisecond)
	def(&s.Expect, 1500*time.Millisecond)
	def(&s.Tail, 250*time.Millisecond)
	// Two frames: recognition begins at once and is dropped when they go on.
	def(&s.Segment.Pause, 64*time.Millisecond)
	s.Segment.End = s.Expect
	return s
}

// callPause is the silence after the bare call word before it counts as said
// alone: people call, draw a breath and go on.
const callPause = 700 * time.Millisecond

// Mode is what the program is doing.
type Mode string

// The modes.
const (
	Idle      Mode = "idle"      // waits for the call word
	Listening Mode = "listening" // what is said now is meant
	Thinking  Mode = "thinking"
	Speaking  Mode = "speaking"
	Quiet     Mode = "quiet" // was told to keep quiet
)

// Status is what a page shows, ten times a second and at each change.
type Status struct {
	Mode       Mode
	Level      float64 // microphone, 0 silence to 1 full scale, on a scale of decibels
	Room       audio.Decibels
	Heard      string
	Understood string
	Reply      string
	At         time.Time
}

// Outcome says what became of a turn of talk.
type Outcome string

// The outcomes.
const (
	Answered  Outcome = "answered"
	Missed    Outcome = "not understood" // addressed, asked back
	Ignored   Outcome = "not addressed"
	OwnVoice  Outcome = "own voice"
	Alert     Outcome = "by itself"
	Called    Outcome = "called"
	Stopped   Outcome = "stopped"
	KeptQuiet Outcome = "quiet"
)

// Exchange is one turn of talk and its answer.
type Exchange struct {
	At      time.Time
	Start   time.Duration // speech on the audio clock
	End     time.Duration
	Outcome Outcome
	Hearing Hearing
	Reply   jobs.Reply
	Events  []jobs.Event
	// Heard is the time the recognition took, Ready from the last sample of
	// speech to the reply's text, Sound to its first sample at the device (0:
	// not spoken). Ready and Sound are 0 with Options.Fast.
	Heard, Ready, Sound time.Duration
}

// Options is everything a loop needs.
type Options struct {
	Source  audio.Source
	VAD     audio.VAD
	Ear     Ear
	Bench   Bench
	Voice   Voice   // nil: replies are only reported
	Speaker Speaker // nil: as above
	Settings
	// Fast: the audio clock is the only clock, nothing is waited for.
	Fast bool
	// Start is the time of the first sample with Fast.
	Start time.Time
	// Now is the clock without Fast; nil: time.Now.
	Now func() time.Time
	// Key gives a value for each press of the pedal or key; may be nil.
	Key <-chan struct{}
	// Given gives what the loudspeaker was given in the time of the next frame
	// and of the samples lost before it, to be taken out of what is heard;
	// (*audio.Given).Frame. nil: nothing is taken out.
	Given func(lost int) audio.Samples
	// Resembles reports whether a transcript may be a reply heard back;
	// speech.Resembles. nil: none is.
	Resembles func(heard, said string) bool
	// Publish shows a status; it must not block. May be nil.
	Publish func(Status)
	// Report is called at the end of each exchange, when its first sound is
	// out. May be nil.
	Report func(Exchange)
	// Tell gives a line for the user. May be nil.
	Tell func(string)
}
