package live

import (
	"context"
	"errors"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/audio"
	"putback/intent"
	"putback/jobs"
)

// runReal runs a script at audio speed with recognition beside it.
func runReal(t *testing.T, text string, set func(*Options, *session)) *session {
	t.Helper()
	s := &session{ear: &fakeEar{delay: 20 * time.Millisecond}, bench: &fakeBench{start: time.Now()}}
	o := Options{
		Source: audio.NewRecording(script(t, text), false), VAD: levelVAD{}, Ear: s.ear, Bench: s.bench,
		Report: func(x Exchange) { s.all = append(s.all, x) },
	}
	if set != nil {
		set(&o, s)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
	defer cancel()
	require.NoError(t, Run(ctx, o))
	return s
}

func sorted(in []Outcome) []Outcome {
	out := slices.Clone(in)
	slices.Sort(out)
	return out
}

func TestRecognitionBesideTheLoopGivesTheSameAnswers(t *testing.T) {
	s := runReal(t, "~200 toolbox next ~700 next ~500 toolbox four ~500 tens ~700", nil)
	require.Equal(t, []string{"Next", "Next", "Removed"}, s.bench.done)
	for _, x := range s.all {
		require.Positive(t, x.Ready)
	}
}

func TestASlowEarStillHearsEverySentence(t *testing.T) {
	// Each recognition takes longer than the sentences' distance.
	s := runReal(t, "~200 toolbox next ~1600 toolbox four tens ~1600 toolbox next ~200", func(o *Options, s *session) {
		s.ear.delay = 1900 * time.Millisecond
	})
	require.Equal(t, []string{"Next", "Removed", "Next"}, s.bench.done)
}

func TestASourceThatFailsEndsTheLoopWithItsReason(t *testing.T) {
	o := Options{Source: brokenSource{}, VAD: levelVAD{}, Ear: &fakeEar{}, Bench: &fakeBench{}}
	require.ErrorContains(t, Run(context.Background(), o), "listen: cable out")
	o.Fast = true
	require.ErrorContains(t, Run(context.Background(), o), "listen: cable out")
}

type brokenSource struct{}

func (brokenSource) Next(context.Context) (audio.Frame, error) {
	return audio.Frame{}, errors.New("cable out")
}
func (brokenSource) Close() error { return nil }

func TestTheLoopEndsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	time.AfterFunc(100*time.Millisecond, cancel)
	o := Options{Source: audio.NewRecording(script(t, "~60000"), false), VAD: levelVAD{}, Ear: &fakeEar{}, Bench: &fakeBench{}}
	require.ErrorIs(t, Run(ctx, o), context.Canceled)
}

func TestARecordThatCannotBeWrittenIsSaidNotHidden(t *testing.T) {
	var told []string
	s := run(t, "~500 toolbox next ~2000", func(o *Options, s *session) {
		o.Bench = fullDisk{}
		o.Tell = func(line string) { told = append(told, line) }
	})
	require.Contains(t, told, "disk full")
	require.Contains(t, s.all[0].Reply.Text, "could not be written down")
}

type fullDisk struct{}

func (fullDisk) Do(time.Time, intent.Intent, jobs.Heard) (jobs.Outcome, error) {
	return jobs.Outcome{}, errors.New("disk full")
}
func (fullDisk) Tick(time.Time) ([]jobs.Reply, error) { return nil, nil }

// practisingEar counts how often it was made ready; the first time it is slow.
type practisingEar struct {
	fakeEar
	begun, done atomic.Int32
}

func (e *practisingEar) Prepare(ctx context.Context) error {
	if e.begun.Add(1) == 1 {
		<-ctx.Done()
		return ctx.Err()
	}
	e.done.Add(1)
	return nil
}

func TestTheEarPractisesNewNamesWhenNobodySpeaks(t *testing.T) {
	ear := &practisingEar{}
	s := runReal(t, "~200 toolbox next ~900 toolbox four tens ~900", func(o *Options, _ *session) { o.Ear = ear })
	require.Equal(t, []string{"Next", "Removed"}, s.bench.done, "practice gives way to a sentence")
	require.EqualValues(t, 1, ear.done.Load())
}
