package audio

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestGivenFollowsThePlayedSoundAtTheRateOfTheMicrophone(t *testing.T) {
	for _, rate := range []int{16000, 24000, 22050, 48000} {
		q := newPlayQueue(rate)
		g := newGiven(q)
		tone := make([]float32, 2*rate)
		for i := range tone {
			tone[i] = float32(0.5 * math.Sin(2*math.Pi*440*float64(i)/float64(rate)))
		}
		require.NoError(t, q.play(context.Background(), tone))
		out := make([]float32, rate/50)
		var got Samples
		for range 90 {
			q.fill(out)
			if g.queue.given.len() >= rate/5 {
				got = append(got, g.Frame(0)...)
			}
		}
		require.Greater(t, len(got), Rate)
		// A sine of the same pitch and loudness: its second difference is
		// proportional to it.
		s := got[2*FrameSize : len(got)-FrameSize]
		require.InDelta(t, 0.5/math.Sqrt2, s.RMS(), 0.01, "%d", rate)
		w := 2 - 2*math.Cos(2*math.Pi*440/Rate)
		for i := 1; i+1 < len(s); i++ {
			require.InDelta(t, w*float64(s[i]), float64(2*s[i]-s[i-1]-s[i+1]), 0.004, "%d at %d", rate, i)
		}
	}
}

func TestGivenStaysInStepWhenTheLoudspeakerIsLate(t *testing.T) {
	q := newPlayQueue(Rate)
	g := newGiven(q)
	ramp := make([]float32, 4*Rate)
	for i := range ramp {
		ramp[i] = float32(i) / float32(len(ramp))
	}
	require.NoError(t, q.play(context.Background(), ramp))
	fill := func(n int) { q.fill(make([]float32, n)) }
	fill(4 * FrameSize)
	const inside = 100 // behind what the filter mixes at a seam
	first := g.Frame(0)[inside]
	at := func(n int) float64 { return float64(first) + float64(n*FrameSize)/float64(len(ramp)) }
	g.Frame(0)
	for range 50 {
		require.Zero(t, g.Frame(0).Peak(), "the device asked for nothing")
	}
	fill(5 * FrameSize)
	require.InDelta(t, at(2), float64(g.Frame(0)[inside]), 1e-4, "nothing is skipped for it")
	require.InDelta(t, at(4), float64(g.Frame(FrameSize)[inside]), 1e-4, "a frame that the microphone lost is left out")
	played := 5
	for range 80 {
		fill(FrameSize)
		require.InDelta(t, at(played), float64(g.Frame(0)[inside]), 1e-4, "and it goes on")
		played++
	}
	g.Frame(0)
	g.Frame(0)
	played += 2
	require.Zero(t, g.Frame(0).Peak(), "it asks late")
	played++
	fill(4 * FrameSize)
	require.InDelta(t, at(played), float64(g.Frame(0)[inside]), 1e-4, "and goes on where it would be")
}
