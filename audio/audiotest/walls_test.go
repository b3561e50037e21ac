package audiotest

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/audio"
)

func TestTheConvolverIsTheSumOfItsEchoes(t *testing.T) {
	response := make(audio.Samples, 1700)
	response[0], response[130], response[1699] = 0.5, -0.25, 0.125
	c := newConvolver(response)
	in := make(audio.Samples, 20*convolverBlock)
	for i := range in {
		in[i] = float32((i*7919)%2003)/2003 - 0.5
	}
	out := append(audio.Samples(nil), in...)
	for at := 0; at < len(out); at += convolverBlock {
		c.next(out[at : at+convolverBlock])
	}
	for i := 1699; i < len(in); i++ {
		require.InDelta(t, 0.5*in[i]-0.25*in[i-130]+0.125*in[i-1699], out[i], 1e-5, "%d", i)
	}
}

func TestTheRoomHasFadedBySixtyDecibels(t *testing.T) {
	r := Response(400 * time.Millisecond)
	early, late := r[100:600].RMS(), r[len(r)-500:].RMS()
	// 60 dB over 6400 samples are 54.4 over the 5800 between the two.
	require.InDelta(t, 54.4, 20*math.Log10(early/late), 1.5)
}

func TestTheWallsReachTheMicrophone(t *testing.T) {
	room := Start(t)
	room.Walls(10, audio.Samples{1})
	mic, speaker := room.RecordMicrophone(), room.Record()
	time.Sleep(500 * time.Millisecond)
	clip := audio.ToneAttention.Sound()
	room.PlayLoudspeaker(append(clip, make(audio.Samples, audio.Rate)...))
	time.Sleep(500 * time.Millisecond)
	played, heard := speaker.Stop(), mic.Stop()
	require.Greater(t, played.Peak(), 0.25)
	require.InDelta(t, 0.316, heard.Peak()/played.Peak(), 0.03)
}
