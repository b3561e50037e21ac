package live

import (
	"context"
	"math"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/audio"
	"putback/intent"
	"putback/jobs"
	"putback/speech"
)

// The fakes: sound is a script. Every word of it is a stretch of frames whose
// level carries the word's number; the ear reads the numbers back. So the loop's
// timing is tested on an exact clock, without models.

var lexicon = []string{"toolbox", "next", "stop", "quiet", "listen", "four", "tens", "mumble", "yes", "hum", "again", "slower", "make", "five", "wrong", "strike", "say", "silence", "mute"}

// wordFrames is the length of a spoken word.
const wordFrames = 12

// script makes sound from words and pauses: "toolbox next ~700 stop" has 700 ms
// of silence before "stop".
func script(t *testing.T, text string) audio.Samples {
	t.Helper()
	var out audio.Samples
	for w := range strings.FieldsSeq(text) {
		if ms, ok := strings.CutPrefix(w, "~"); ok {
			d, err := time.ParseDuration(ms + "ms")
			require.NoError(t, err)
			out = append(out, audio.Silence(d.Round(audio.FrameTime))...)
			continue
		}
		i := indexOf(w)
		require.GreaterOrEqual(t, i, 0, "no word %q", w)
		for range wordFrames {
			f := make(audio.Samples, audio.FrameSize)
			for k := range f {
				f[k] = wordLevel(i)
			}
			out = append(out, f...)
		}
	}
	return out
}

// wordLevel differs by less than two decibels among the words, as in one voice.
func wordLevel(i int) float32 { return 0.5 + float32(i)/100 }

func indexOf(w string) int {
	for i, l := range lexicon {
		if l == w {
			return i
		}
	}
	return -1
}

// levelVAD takes any sound for speech.
type levelVAD struct{}

func (levelVAD) Speech(f audio.Samples) (float64, error) {
	if len(f) > 0 && f[0] > 0 {
		return 1, nil
	}
	return 0, nil
}
func (levelVAD) Reset()       {}
func (levelVAD) Name() string { return "level" }

// readWords gives the words in the sound.
func readWords(s audio.Samples) []string {
	var out []string
	run, last := 0, -1
	for _, v := range s {
		i := int(math.Round((float64(v) - 0.5) * 100))
		if i != last {
			run, last = 0, i
		}
		run++
		if i >= 0 && run == audio.FrameSize*wordFrames/2 {
			out = append(out, lexicon[i])
		}
		if run == audio.FrameSize*wordFrames {
			run, last = 0, -1
		}
	}
	return out
}

// fakeEar understands some sentences after an optional call word.
type fakeEar struct {
	mu      sync.Mutex
	heard   []string
	lengths []time.Duration // of the sound of each
	delay   time.Duration
	// unsure is the confidence in anything but a yes; 0: sure of all.
	unsure float64
	// guess is what may be meant by anything that is not understood.
	guess *intent.Unclear
}

func (e *fakeEar) Hear(ctx context.Context, sound audio.Samples, hint Hint) (Hearing, error) {
	if e.delay > 0 {
		select {
		case <-time.After(e.delay):
		case <-ctx.Done():
			return Hearing{}, ctx.Err()
		}
	}
	text := strings.Join(readWords(sound), " ")
	e.mu.Lock()
	e.heard = append(e.heard, text)
	e.lengths = append(e.lengths, sound.Duration())
	e.mu.Unlock()
	if hint.Only != nil {
		for _, p := range hint.Only {
			if strings.Contains(text, p) {
				return Hearing{Text: p, Complete: true, Accepted: true}, nil
			}
		}
		return Hearing{}, nil
	}
	h := Hearing{Text: text, Confidence: 0.9}
	rest, called := strings.CutPrefix(text, "toolbox")
	h.Called = called
	rest = strings.TrimSpace(rest)
	sentences := map[string]intent.Intent{
		"": intent.Call{}, "next": intent.Next{}, "stop": intent.Stop{}, "quiet": intent.Quiet{}, "listen": intent.Listen{},
		"four tens": intent.Removed{Items: []intent.Fastener{{Count: 4}}}, "yes": intent.Yes{},
		"five": intent.Choice{Text: "five"}, "make five": intent.Choice{Text: "five"},
		"four": nil, "again": intent.SayAgain{}, "say again": intent.SayAgain{}, "wrong": intent.Strike{}, "strike": intent.Strike{},
		"silence": intent.Quiet{}, "mute": intent.Quiet{}, "slower": intent.Slower{},
	}
	in, ok := sentences[rest]
	if !ok || text == "" {
		h.Confidence, h.Guess, h.Unsure = 0.01, e.guess, e.guess != nil
		return h, nil
	}
	h.Accepted, h.Intent, h.Complete = true, in, in != nil
	if e.unsure > 0 && rest != "yes" {
		h.Accepted, h.Unsure, h.Confidence, h.Reading.Rule = false, true, e.unsure, rest
	}
	h.Open = rest == "" || rest == "four"
	return h, nil
}

// fakeBench answers with the intent's name.
type fakeBench struct {
	done    []string
	times   []time.Time
	kind    jobs.ReplyKind
	choices []string
	quiet   bool
	due     map[time.Duration]string
	start   time.Time
}

func (b *fakeBench) Do(now time.Time, in intent.Intent, h jobs.Heard) (jobs.Outcome, error) {
	b.done = append(b.done, describe(in))
	b.times = append(b.times, now)
	kind := b.kind
	if kind == "" {
		kind = jobs.ReplyReadBack
	}
	b.quiet = is[intent.Quiet](in) || b.quiet && !is[intent.Listen](in)
	return jobs.Outcome{Reply: jobs.Reply{Kind: kind, Text: describe(in) + " is done.", Choices: b.choices, Slow: is[intent.Slower](in)}, Events: []jobs.Event{{Kind: describe(in)}}}, nil
}

func (b *fakeBench) Quiet() bool { return b.quiet }

func (b *fakeBench) Tick(now time.Time) (out []jobs.Reply, err error) {
	for d, text := range b.due {
		if !now.Before(b.start.Add(d)) {
			out = append(out, jobs.Reply{Kind: jobs.ReplyWarning, Text: text})
			delete(b.due, d)
		}
	}
	return out, nil
}

// fakeVoice speaks a second of silence for anything.
type fakeVoice struct{ length time.Duration }

func (v fakeVoice) Stream(ctx context.Context, text string, _ speech.SayOptions, out func(speech.Clip) error) error {
	return out(speech.Clip{Samples: audio.Silence(v.length), Rate: audio.Rate})
}

// fakeSpeaker sounds as long on the loop's audio clock as its clips last.
type fakeSpeaker struct {
	clock   func() time.Duration
	until   time.Duration
	played  time.Duration
	stopped []time.Duration
}

func (s *fakeSpeaker) Play(_ context.Context, c speech.Clip) error {
	s.until = max(s.until, s.clock()) + c.Duration()
	s.played += c.Duration()
	return nil
}
func (s *fakeSpeaker) Stop() {
	s.stopped = append(s.stopped, s.clock())
	s.until = s.clock()
}
func (s *fakeSpeaker) Playing() bool         { return s.clock() < s.until }
func (s *fakeSpeaker) FirstSound() time.Time { return time.Time{} }

// clocked counts the audio clock of a source.
type clocked struct {
	*audio.Recording
	now time.Duration
}

func (c *clocked) Next(ctx context.Context) (audio.Frame, error) {
	f, err := c.Recording.Next(ctx)
	if err == nil {
		c.now = f.End()
	}
	return f, err
}

// session runs a script and gives what came of it.
type session struct {
	ear     *fakeEar
	bench   *fakeBench
	speaker *fakeSpeaker
	all     []Exchange
	status  []Status
}

var sessionStart = time.Date(2030, 5, 1, 8, 0, 0, 0, time.UTC)

func run(t *testing.T, text string, set func(*Options, *session)) *session {
	t.Helper()
	s := &session{ear: &fakeEar{}, bench: &fakeBench{start: sessionStart}}
	src := &clocked{Recording: audio.NewRecording(script(t, text), true)}
	s.speaker = &fakeSpeaker{clock: func() time.Duration { return src.now }}
	o := Options{
		Source: src, VAD: levelVAD{}, Ear: s.ear, Bench: s.bench, Fast: true, Start: sessionStart,
		Report:  func(x Exchange) { s.all = append(s.all, x) },
		Publish: func(st Status) { s.status = append(s.status, st) },
	}
	if set != nil {
		set(&o, s)
	}
	require.NoError(t, Run(context.Background(), o))
	return s
}

// aloud gives the session a voice and a loudspeaker in one room with the microphone.
func aloud(length time.Duration) func(*Options, *session) {
	return func(o *Options, s *session) {
		o.Voice, o.Speaker = fakeVoice{length}, s.speaker
		o.HalfDuplex = true
	}
}

func (s *session) outcomes() (out []Outcome) {
	for _, x := range s.all {
		out = append(out, x.Outcome)
	}
	return out
}
