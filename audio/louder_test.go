package audio_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/audio"
)

// soundVAD takes whatever is above -60 dB for speech, as a detector takes a radio.
type soundVAD struct{}

func (soundVAD) Speech(f audio.Samples) (float64, error) {
	if audio.LevelOf(f.RMS()) > -60 {
		return 1, nil
	}
	return 0, nil
}
func (soundVAD) Reset()       {}
func (soundVAD) Name() string { return "sound" }

// voices makes a stream of tones: so many frames at each level of decibels.
func voices(parts ...[2]float64) audio.Samples {
	var out audio.Samples
	for _, p := range parts {
		peak := math.Pow(10, p[1]/20)
		for range int(p[0]) * audio.FrameSize {
			out = append(out, float32(peak*math.Sin(float64(len(out))*0.3)))
		}
	}
	return out
}

type noted struct {
	kind       audio.CutKind
	start, end time.Duration
	length     time.Duration
}

// cutsOf runs the segmenter and gives every change with where the utterance
// under way begins.
func cutsOf(t *testing.T, sound audio.Samples) []noted {
	t.Helper()
	seg := audio.NewSegmenter(soundVAD{}, audio.SegmenterConfig{Pause: 64 * time.Millisecond, End: 320 * time.Millisecond})
	var out []noted
	for at := 0; at < len(sound); at += audio.FrameSize {
		cut, err := seg.Push(audio.Frame{At: sound[:at].Duration(), Samples: sound[at : at+audio.FrameSize]})
		require.NoError(t, err)
		switch cut.Kind {
		case audio.Nothing:
		case audio.Overtaken:
			out = append(out, noted{cut.Kind, seg.Start(), cut.End, cut.Samples.Duration()})
		default:
			out = append(out, noted{cut.Kind, cut.Start, cut.End, cut.Samples.Duration()})
		}
	}
	return out
}

func TestANearVoiceOverARadioIsAnUtteranceOfItsOwn(t *testing.T) {
	got := cutsOf(t, voices([2]float64{20, -96}, [2]float64{60, -40}, [2]float64{40, -25}, [2]float64{40, -40}))
	require.Equal(t, audio.Started, got[0].kind)
	require.Equal(t, noted{audio.Overtaken, frames(80), frames(80), audio.DefaultPreRoll + frames(60)}, got[1])
	require.Equal(t, audio.Paused, got[2].kind, "the radio is its silence")
	require.Equal(t, audio.Ended, got[3].kind)
	require.Equal(t, frames(80), got[3].start)
	require.GreaterOrEqual(t, got[3].length, audio.DefaultPreRoll+frames(40), "the first syllable has its pre-roll")
	require.Equal(t, audio.Started, got[4].kind, "the radio goes on")
	require.GreaterOrEqual(t, got[4].start, frames(120))
}

func TestOneVoiceIsNotCutWhereItGetsLouder(t *testing.T) {
	for name, sound := range map[string]audio.Samples{
		"a soft beginning":   voices([2]float64{20, -96}, [2]float64{15, -40}, [2]float64{40, -25}, [2]float64{30, -96}),
		"a stressed word":    voices([2]float64{20, -96}, [2]float64{40, -30}, [2]float64{10, -25}, [2]float64{30, -30}, [2]float64{30, -96}),
		"a hammer":           voices([2]float64{20, -96}, [2]float64{40, -30}, [2]float64{1, -6}, [2]float64{30, -30}, [2]float64{30, -96}),
		"a softer end":       voices([2]float64{20, -96}, [2]float64{40, -25}, [2]float64{30, -45}, [2]float64{30, -96}),
		"soft between words": voices([2]float64{20, -96}, [2]float64{30, -25}, [2]float64{4, -50}, [2]float64{30, -25}, [2]float64{30, -96}),
	} {
		var ended []noted
		for _, n := range cutsOf(t, sound) {
			require.NotEqual(t, audio.Overtaken, n.kind, name)
			if n.kind == audio.Ended {
				ended = append(ended, n)
			}
		}
		require.Len(t, ended, 1, name)
		require.Equal(t, frames(20), ended[0].start, name)
	}
}
