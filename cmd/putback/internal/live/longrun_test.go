package live

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/audio"
	"putback/board"
	"putback/intent"
	"putback/jobs"
	"putback/models"
	"putback/speech"
)

// line is a sentence of the long run with its sound.
type line struct {
	text  string
	sound audio.Samples
}

// shift is a source that never holds more than its few sentences: pauses with
// a little hiss, and a sentence about every half minute, for as long as it is told.
type shift struct {
	lines  []line
	hiss   audio.Samples
	length time.Duration
	at     time.Duration

	rest    audio.Samples // of the sentence under way
	said    string        // the sentence begun last
	next    time.Duration
	count   int
	minutes func(int) // called at each full minute
}

// Next gives the next frame.
func (s *shift) Next(ctx context.Context) (audio.Frame, error) {
	if err := ctx.Err(); err != nil {
		return audio.Frame{}, err
	}
	if s.at >= s.length {
		return audio.Frame{}, io.EOF
	}
	if s.at >= s.next {
		l := s.lines[s.count%len(s.lines)]
		s.rest, s.said = l.sound, l.text
		s.count++
		s.next += 29 * time.Second
	}
	frame := make(audio.Samples, audio.FrameSize)
	from := int(s.at/audio.FrameTime) % (len(s.hiss) / audio.FrameSize) * audio.FrameSize
	copy(frame, s.hiss[from:])
	n := min(len(s.rest), audio.FrameSize)
	for i := range n {
		frame[i] += s.rest[i]
	}
	s.rest = s.rest[n:]
	f := audio.Frame{At: s.at, Samples: frame}
	before := int(s.at / time.Minute)
	if s.at = f.End(); int(s.at/time.Minute) != before {
		s.minutes(int(s.at / time.Minute))
	}
	return f, nil
}

// Close does nothing.
func (s *shift) Close() error { return nil }

// sometimes hears with the recogniser every so many times, and else knows what
// was said.
type sometimes struct {
	src     *shift
	grammar *intent.Automaton
	real    Ear // nil: no model
	every   int
	calls   int
	reals   int
}

// Hear gives the sentence under way.
func (e *sometimes) Hear(ctx context.Context, sound audio.Samples, hint Hint) (Hearing, error) {
	e.calls++
	if e.real != nil && e.calls%e.every == 0 {
		e.reals++
		return e.real.Hear(ctx, sound, hint)
	}
	if hint.Only != nil {
		return Hearing{}, nil
	}
	readings := e.grammar.Parse(e.src.said)
	if len(readings) == 0 {
		return Hearing{Text: e.src.said}, nil // talk: not of the grammar
	}
	in, err := intent.FromReading(readings[0])
	return Hearing{Text: e.src.said, Intent: in, Called: readings[0].Addressed, Complete: true, Accepted: true, Confidence: 0.9}, err
}

// reading is what the process uses at one minute.
type reading struct {
	heap, resident     int // bytes
	goroutines, handle int
}

func read(t *testing.T) reading {
	t.Helper()
	runtime.GC()
	runtime.GC() // finalisers of the first may free more
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	r := reading{heap: int(m.HeapAlloc), goroutines: runtime.NumGoroutine()}
	if handles, err := os.ReadDir("/proc/self/fd"); err == nil {
		r.handle = len(handles)
	}
	if statm, err := os.ReadFile("/proc/self/statm"); err == nil {
		pages, err := strconv.Atoi(strings.Fields(string(statm))[1])
		require.NoError(t, err)
		r.resident = pages * os.Getpagesize()
	}
	return r
}

// TestAWholeShiftStaysFlat runs the loop over hours of sound at speed, with the real segmenter
// and voice detector, the real record on the disk, the real voice, a page with a
// browser's stream on it, and the recogniser for a share of the sentences. Memory, goroutines
// and file handles must not grow. $PUTBACK_SHIFT_HOURS sets the length; a sound kept by
// mistake is 230 MB an hour, so the short run finds it too.
func TestAWholeShiftStaysFlat(t *testing.T) {
	hours := 0.25
	if v := os.Getenv("PUTBACK_SHIFT_HOURS"); v != "" {
		var err error
		hours, err = strconv.ParseFloat(v, 64)
		require.NoError(t, err, "PUTBACK_SHIFT_HOURS")
	}
	// A small cache of phrases is soon as full as it gets.
	voiceOptions := speech.VoiceOptions{CacheBytes: 1 << 20}
	if dir, err := models.Path("hibari"); err == nil {
		if library, err := models.Path("onnxruntime"); err == nil {
			voiceOptions.Dir, voiceOptions.Library = dir, library
		}
	}
	voice, err := speech.OpenVoice(voiceOptions)
	if err != nil {
		t.Skipf("the sentences need a voice, and there is none: %v", err)
	}
	defer voice.Close()

	bench, err := jobs.Open(filepath.Join(t.TempDir(), "shift.putback"), jobs.Options{Sheet: jobs.DemoSheet(), SheetFile: "boat-engine.yaml", Now: sessionStart})
	require.NoError(t, err)
	defer func() { require.NoError(t, bench.Close()) }()
	grammar, err := intent.Shop(bench.Vocabulary())
	require.NoError(t, err)

	src := &shift{length: time.Duration(hours * float64(time.Hour)), next: 3 * time.Second, hiss: audio.Silence(time.Second)}
	for i := range src.hiss {
		src.hiss[i] = 0.001 * float32(i*7919%101-50) / 50
	}
	for _, text := range []string{
		"toolbox, what's next", "toolbox, took four thirteens off the front cover", "toolbox, how many are out",
		"so then we drove all the way home again and it was raining", "toolbox, strike that",
		"toolbox, sixty six inch pounds in newton metres", "toolbox, where was I",
	} {
		clip, err := voice.Say(t.Context(), text, speech.SayOptions{})
		require.NoError(t, err)
		src.lines = append(src.lines, line{text, audio.Resample(clip.Samples, clip.Rate, audio.Rate)})
	}

	ear := &sometimes{src: src, grammar: grammar, every: 10}
	if path, err := models.Path("tiny.en"); err != nil {
		t.Logf("the recogniser is left out: %v", err)
	} else {
		recogniser, err := speech.Open(path)
		require.NoError(t, err)
		defer func() { require.NoError(t, recogniser.Close()) }()
		ear.real = &GrammarEar{Recogniser: recogniser, Grammar: func() (*intent.Automaton, error) { return grammar, nil }, Understand: func(r intent.Reading) (intent.Intent, error) { return intent.FromReading(r) }}
		// The first sentences size the recogniser's buffers.
		for _, l := range src.lines {
			_, err := ear.real.Hear(t.Context(), l.sound, Hint{})
			require.NoError(t, err)
		}
	}
	var vad audio.VAD = audio.NewEnergy()
	if library, err := models.Path("onnxruntime"); err == nil {
		if model, err := models.Path("silero"); err == nil {
			silero, err := audio.NewSilero(library, model)
			require.NoError(t, err)
			defer silero.Close()
			vad = silero
		}
	}

	page := board.New(board.Options{View: func() jobs.View { return bench.View(sessionStart) }})
	streamed := watch(t, page)

	var minutes []reading
	src.minutes = func(minute int) {
		minutes = append(minutes, read(t))
		if minute%30 == 0 {
			t.Logf("after %d minutes: %s", minute, minutes[len(minutes)-1])
		}
	}
	speaker := &fakeSpeaker{clock: func() time.Duration { return src.at }}
	outcomes := make(map[Outcome]int)
	changes := 0
	require.NoError(t, Run(t.Context(), Options{
		Source: src, VAD: vad, Ear: ear, Bench: bench, Voice: voice, Speaker: forgetful{speaker},
		Settings: Settings{HalfDuplex: true}, Fast: true, Start: sessionStart, Resembles: speech.Resembles,
		Publish: func(st Status) { page.Publish(board.Live{Mode: string(st.Mode), Level: st.Level, Heard: st.Heard}) },
		Report: func(x Exchange) {
			outcomes[x.Outcome]++
			changes += len(x.Events)
			page.Changed()
		},
	}))

	said := src.count
	require.Greater(t, outcomes[Answered], said/2, "of %d sentences: %v", said, outcomes)
	require.Greater(t, changes, said/8)
	require.Positive(t, streamed(), "the page's stream was silent")
	if ear.real != nil {
		require.Positive(t, ear.reals)
	}
	quarter := len(minutes) / 4
	require.Positive(t, quarter, "the run is too short to be judged")
	early, late := most(minutes[quarter:2*quarter]), most(minutes[len(minutes)-quarter:])
	t.Logf("%.2f h of sound, %d sentences, %d heard (%d by the recogniser), %v, %d changes, voice detector %s", hours, said, ear.calls, ear.reals, outcomes, changes, vad.Name())
	t.Logf("second quarter: %s", early)
	t.Logf("last quarter:   %s", late)
	require.LessOrEqual(t, late.goroutines, early.goroutines, "goroutines")
	require.LessOrEqual(t, late.handle, early.handle, "file handles")
	// What may grow is the record itself: an event is under a kilobyte, and the
	// caches of voice and record are bounded.
	require.Less(t, late.heap-early.heap, 4<<20+changes<<10, "bytes of the heap")
	require.Less(t, late.resident-early.resident, 32<<20+changes<<10, "bytes of memory in all")
}

func (r reading) String() string {
	return fmt.Sprintf("heap %.1f MB, in all %.1f MB, %d goroutines, %d file handles", float64(r.heap)/1e6, float64(r.resident)/1e6, r.goroutines, r.handle)
}

// most is the largest of each figure.
func most(list []reading) reading {
	by := func(f func(reading) int) int {
		return f(slices.MaxFunc(list, func(a, b reading) int { return f(a) - f(b) }))
	}
	return reading{
		heap: by(func(r reading) int { return r.heap }), resident: by(func(r reading) int { return r.resident }),
		goroutines: by(func(r reading) int { return r.goroutines }), handle: by(func(r reading) int { return r.handle }),
	}
}

// forgetful is a loudspeaker that does not note when it was stopped: the fake's
// list would grow by itself.
type forgetful struct{ *fakeSpeaker }

// Stop falls silent.
func (f forgetful) Stop() { f.until = f.clock() }

// watch serves the page and follows its stream as a browser does; the function
// it gives tells how many lines have come.
func watch(t *testing.T, page *board.Server) func() int {
	t.Helper()
	free, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	addr := free.Addr().String()
	require.NoError(t, free.Close())
	ctx, stop := context.WithCancel(t.Context())
	served, followed := make(chan error, 1), make(chan int, 1)
	go func() { served <- page.Serve(ctx, addr) }()
	var answer *http.Response
	require.Eventually(t, func() bool {
		request, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+addr+"/stream", nil)
		require.NoError(t, err)
		answer, err = http.DefaultClient.Do(request)
		return err == nil
	}, 20*time.Second, 50*time.Millisecond)
	require.Equal(t, http.StatusOK, answer.StatusCode)
	go func() {
		lines := 0
		for s := bufio.NewScanner(answer.Body); s.Scan(); {
			lines++
		}
		answer.Body.Close()
		followed <- lines
	}()
	return func() int {
		stop()
		err := <-served
		require.True(t, err == nil || errors.Is(err, context.Canceled), "%v", err)
		return <-followed
	}
}
