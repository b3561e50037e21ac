package audiotest_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/audio"
	"putback/audio/audiotest"
)

func TestTheEchoReachesTheMicrophoneWeaker(t *testing.T) {
	room := audiotest.Start(t)
	room.Echo(60*time.Millisecond, 10)
	mic, speaker := room.RecordMicrophone(), room.Record()
	time.Sleep(300 * time.Millisecond)
	clip := audio.ToneAttention.Sound()
	room.PlayLoudspeaker(append(clip, make(audio.Samples, audio.Rate)...))
	time.Sleep(500 * time.Millisecond)
	played, heard := speaker.Stop(), mic.Stop()
	require.Greater(t, played.Peak(), 0.25)
	// 10 dB are a factor of 0.316; the sound server's steps of volume are coarse.
	require.InDelta(t, 0.316, heard.Peak()/played.Peak(), 0.03)
}
