package audio_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"putback/audio"
)

func tone(hertz float64, rate int, seconds float64) []float32 {
	s := make([]float32, int(seconds*float64(rate)))
	for i := range s {
		s[i] = float32(0.5 * math.Sin(2*math.Pi*hertz*float64(i)/float64(rate)))
	}
	return s
}

// Physics is the check: a sine stays the same sine at the new rate, and what
// lies above the new half rate must vanish.
func TestResamplingKeepsTheBandAndNothingElse(t *testing.T) {
	for _, from := range []int{8000, 11025, 22050, 24000, 32000, 44100, 48000, 96000} {
		for _, hertz := range []float64{100, 1000, 3000, 3400} {
			got := audio.Resample(tone(hertz, from, 1), from, audio.Rate)
			require.InDelta(t, audio.Rate, len(got), 2, "from %d", from)
			want := tone(hertz, audio.Rate, 1)
			var diff float64
			for i := 2000; i < 14000; i++ {
				d := float64(got[i] - want[i])
				diff += d * d
			}
			snr := 10 * math.Log10(0.125*12000/diff)
			require.Greater(t, snr, 60.0, "%v Hz from %d: dB", hertz, from)
		}
		if from < 22050 {
			continue
		}
		for _, hertz := range []float64{8500, 9500, 10800} {
			if hertz > 0.49*float64(from) {
				continue
			}
			got := audio.Resample(tone(hertz, from, 1), from, audio.Rate)
			level := 20 * math.Log10(got[2000:14000].RMS()*math.Sqrt2/0.5)
			require.Less(t, level, -70.0, "%v Hz from %d folds back: dB", hertz, from)
		}
	}
}

func TestResamplingToTheSameRateChangesNothing(t *testing.T) {
	s := tone(440, audio.Rate, 0.1)
	require.Equal(t, audio.Samples(s), audio.Resample(s, audio.Rate, audio.Rate))
	require.Empty(t, audio.Resample(nil, 44100, audio.Rate))
}
