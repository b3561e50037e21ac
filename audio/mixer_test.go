package audio_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"putback/audio"
)

// The rule is that of shared/data/README.md, computed here in its own way.
func TestMixingFollowsTheRuleOfTheDataSet(t *testing.T) {
	clip := append(sine(300, 0.2, 1), sine(500, 0.6, 1)...)
	noise := sine(60, 0.3, 5)
	for _, snr := range []float64{6, 12, 24} {
		mixed, err := audio.NewMixer(noise, 1).Mix(clip, snr)
		require.NoError(t, err)
		require.Len(t, mixed, len(clip))
		require.InDelta(t, 0.5, mixed.Peak(), 1e-6)
		// Take the clip out again: the mix is g·(clip + k·noise); both sines are
		// known, so g is their correlation.
		var num, den float64
		for i := range clip {
			num += float64(mixed[i]) * float64(clip[i])
			den += float64(clip[i]) * float64(clip[i])
		}
		g := num / den
		rest := make(audio.Samples, len(clip))
		for i := range rest {
			rest[i] = float32(float64(mixed[i])/g - float64(clip[i]))
		}
		energy := func(s audio.Samples) (best float64) {
			for at := 0; at+2048 <= len(s); at += 2048 {
				best = max(best, s[at:at+2048].RMS())
			}
			return best
		}
		require.InDelta(t, snr, 20*math.Log10(energy(clip)/energy(rest)), 0.3)
	}
}

func TestMixingIsRepeatableAndRefusesSilentNoise(t *testing.T) {
	clip := sine(300, 0.2, 1)
	noise := sine(61, 0.3, 0.3) // shorter than the clip
	a, err := audio.NewMixer(noise, 7).Mix(clip, 6)
	require.NoError(t, err)
	b, err := audio.NewMixer(noise, 7).Mix(clip, 6)
	require.NoError(t, err)
	require.Equal(t, a, b)
	_, err = audio.NewMixer(nil, 1).Mix(clip, 6)
	require.ErrorIs(t, err, audio.ErrNoNoise)
	_, err = audio.NewMixer(make(audio.Samples, 100), 1).Mix(clip, 6)
	require.ErrorIs(t, err, audio.ErrNoNoise)
}

func TestTheMeterReadsASineAsItsPeak(t *testing.T) {
	var m audio.Meter
	require.Equal(t, audio.LevelFloor, m.Level())
	s := sine(1000, 0.1, 1) // -20 dB
	for at := 0; at+audio.FrameSize <= len(s); at += audio.FrameSize {
		m.Push(s[at:at+audio.FrameSize], false)
	}
	require.InDelta(t, -20, float64(m.Level()), 0.1)
	require.InDelta(t, -20, float64(m.Room()), 0.1)
	require.Zero(t, m.Clipped())
	m.Push(audio.Samples{1, 1, 1}, true)
	require.Equal(t, 3, m.Clipped())
	require.InDelta(t, -20, float64(m.Room()), 0.1, "speech is not the room's noise")
}

// Butterworth of order 2: -3 dB at the corner, 12 dB an octave below it.
func TestTheHighPassTakesRumbleOut(t *testing.T) {
	gain := func(hertz float64) float64 {
		s := sine(hertz, 0.5, 2)
		audio.NewHighPass(100).Filter(s)
		return 20 * math.Log10(s[audio.Rate:].RMS()*math.Sqrt2/0.5)
	}
	require.InDelta(t, -3.01, gain(100), 0.1)
	require.InDelta(t, -24.1, gain(25), 0.5)
	require.InDelta(t, 0, gain(1000), 0.05)
}

func TestTonesAreShortSoftAndDistinct(t *testing.T) {
	seen := map[int]bool{}
	for _, tn := range []audio.Tone{audio.ToneHeard, audio.ToneMissed, audio.ToneAttention} {
		s := tn.Sound()
		require.NotEmpty(t, s)
		require.LessOrEqual(t, s.Duration().Seconds(), 0.4)
		require.LessOrEqual(t, s.Peak(), 0.3)
		require.Less(t, math.Abs(float64(s[0])), 0.01, "no click")
		require.Less(t, math.Abs(float64(s[len(s)-1])), 0.01, "no click")
		seen[len(s)] = true
	}
	require.Len(t, seen, 3)
}
