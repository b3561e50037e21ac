package audio_test

import (
	"context"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/audio"
)

// markVAD takes a frame for speech when its first sample is above 0.5.
type markVAD struct{ fail bool }

func (m *markVAD) Speech(f audio.Samples) (float64, error) {
	if m.fail {
		return 0, errors.New("broken detector")
	}
	if len(f) > 0 && f[0] > 0.5 {
		return 1, nil
	}
	return 0, nil
}
func (m *markVAD) Reset()       {}
func (m *markVAD) Name() string { return "mark" }

// pattern makes a stream from a word: S a frame of speech, . a frame of silence.
// Each frame carries its number in its second sample.
func pattern(p string) audio.Samples {
	out := make(audio.Samples, len(p)*audio.FrameSize)
	for i, c := range p {
		if c == 'S' {
			out[i*audio.FrameSize] = 1
		}
		out[i*audio.FrameSize+1] = float32(i)
	}
	return out
}

func frames(n int) time.Duration { return time.Duration(n) * audio.FrameTime }

func TestUtterancesAreCutWithTheirPreRoll(t *testing.T) {
	cfg := audio.SegmenterConfig{PreRoll: frames(4), MinSpeech: frames(2), Pause: frames(2), End: frames(5)}
	cuts, err := audio.Utterances(pattern(strings.Repeat(".", 10)+"SSSSS.SSS"+strings.Repeat(".", 20)+"S"+strings.Repeat(".", 10)+"SSSS"), &markVAD{}, cfg)
	require.NoError(t, err)
	require.Len(t, cuts, 2, "the lone frame is no utterance")
	first := cuts[0]
	require.Equal(t, frames(10), first.Start)
	require.Equal(t, frames(19), first.End)
	require.Equal(t, float32(6), first.Samples[1], "begins four frames before the first speech")
	require.Len(t, first.Samples, (4+9+5)*audio.FrameSize)
	require.Equal(t, frames(10+9+20+1+10), cuts[1].Start, "the stream's end closes it")
}

func TestAPauseIsReportedOnceAndTakenBack(t *testing.T) {
	seg := audio.NewSegmenter(&markVAD{}, audio.SegmenterConfig{PreRoll: frames(2), MinSpeech: frames(2), Pause: frames(3), End: frames(8)})
	var kinds []audio.CutKind
	sound := pattern("..SSSS......SS...........")
	for at := 0; at < len(sound); at += audio.FrameSize {
		cut, err := seg.Push(audio.Frame{At: sound[:at].Duration(), Samples: sound[at : at+audio.FrameSize]})
		require.NoError(t, err)
		if cut.Kind != audio.Nothing {
			kinds = append(kinds, cut.Kind)
		}
	}
	require.Equal(t, []audio.CutKind{audio.Started, audio.Paused, audio.Resumed, audio.Paused, audio.Ended}, kinds)
}

func TestTakingAnUtteranceKeepsTheNextOnesPreRoll(t *testing.T) {
	seg := audio.NewSegmenter(&markVAD{}, audio.SegmenterConfig{PreRoll: frames(3), MinSpeech: frames(1), Pause: frames(2), End: frames(20)})
	sound := pattern(".....SS..SSSS")
	var second audio.Samples
	for at := 0; at < len(sound); at += audio.FrameSize {
		cut, err := seg.Push(audio.Frame{At: sound[:at].Duration(), Samples: sound[at : at+audio.FrameSize]})
		require.NoError(t, err)
		if cut.Kind == audio.Paused {
			require.Equal(t, frames(2), seg.Quiet())
			require.NotEmpty(t, seg.Take())
			require.False(t, seg.Speaking())
		}
	}
	second = seg.Flush().Samples
	require.Equal(t, float32(7), second[1], "the two silent frames before it")
	require.Nil(t, seg.Take())
}

func TestEndlessTalkIsCut(t *testing.T) {
	cuts, err := audio.Utterances(pattern(strings.Repeat("S", 100)), &markVAD{}, audio.SegmenterConfig{Max: frames(40)})
	require.NoError(t, err)
	require.True(t, cuts[0].Truncated)
	require.LessOrEqual(t, cuts[0].Samples.Duration(), frames(40))
	require.GreaterOrEqual(t, len(cuts), 2)
}

func TestADetectorsErrorIsPassedOn(t *testing.T) {
	_, err := audio.Utterances(pattern("SS"), &markVAD{fail: true}, audio.SegmenterConfig{})
	require.EqualError(t, err, "broken detector")
}

func TestAFileGivesTheSameCutsAtAnySpeed(t *testing.T) {
	sound := pattern("..SSSS..........SSS.........")
	read := func(src audio.Source) (out []audio.Frame) {
		for {
			f, err := src.Next(context.Background())
			if errors.Is(err, io.EOF) {
				return out
			}
			require.NoError(t, err)
			f.Samples = append(audio.Samples(nil), f.Samples...)
			out = append(out, f)
		}
	}
	fast := read(audio.NewRecording(sound, true))
	start := time.Now()
	slow := read(audio.NewRecording(sound, false))
	require.GreaterOrEqual(t, time.Since(start), sound.Duration()-time.Millisecond)
	require.Equal(t, fast, slow)
}

func TestAPipeGivesItsSamples(t *testing.T) {
	r, w := io.Pipe()
	p := audio.NewPipe(r)
	go func() {
		_, _ = w.Write([]byte{0, 0x40, 0, 0xC0})
		_ = w.Close()
	}()
	f, err := p.Next(context.Background())
	require.NoError(t, err)
	require.Equal(t, audio.Samples{0.5, -0.5}, f.Samples)
	_, err = p.Next(context.Background())
	require.ErrorIs(t, err, io.EOF)

	r, w = io.Pipe()
	p = audio.NewPipe(r)
	_ = w.CloseWithError(errors.New("cable out"))
	_, err = p.Next(context.Background())
	require.ErrorContains(t, err, "cable out")

	p = audio.NewPipe(strings.NewReader(""))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = audio.NewPipe(neverReader{}).Next(ctx)
	require.ErrorIs(t, err, context.Canceled)
	require.NoError(t, p.Close())
}

type neverReader struct{}

func (neverReader) Read([]byte) (int, error) { select {} }

// shadeVAD gives each frame the likelihood that its first sample carries.
type shadeVAD struct{}

func (shadeVAD) Speech(f audio.Samples) (float64, error) { return float64(f[0]), nil }
func (shadeVAD) Reset()                                  {}
func (shadeVAD) Name() string                            { return "shade" }

func TestAnUtteranceBeginsWhereSpeechWasFirstPossible(t *testing.T) {
	cfg := audio.SegmenterConfig{PreRoll: frames(2), MinSpeech: frames(2), Pause: frames(2), End: frames(5)}
	for _, c := range []struct {
		like  string // in tenths a frame
		start int
	}{
		{"0000000000099900000000000", 11},                               // nothing before it
		{"0000000330000099900000000", 7},                                // a soft word, a short gap
		{"0330000000000099900000000", 14},                               // too long ago
		{"0000009990000000330099900000", 6},                             // two utterances: the first begins at its own first frame
		{"0033333333333333333333333333333333333333333399900000000", 13}, // for no more than a second
	} {
		sound := make(audio.Samples, len(c.like)*audio.FrameSize)
		for i, like := range c.like {
			sound[i*audio.FrameSize] = float32(like-'0') / 10
			sound[i*audio.FrameSize+1] = 5 // all are about as loud
		}
		cuts, err := audio.Utterances(sound, shadeVAD{}, cfg)
		require.NoError(t, err)
		require.NotEmpty(t, cuts, c.like)
		require.Equal(t, frames(c.start), cuts[0].Start, c.like)
		require.GreaterOrEqual(t, len(cuts[0].Samples), audio.FrameSize*(strings.Index(c.like, "999")+3-c.start+2), c.like)
	}
}
