package audio

import (
	"context"
	"testing"
	"time"
	"unsafe"

	"github.com/stretchr/testify/require"
)

func bytesOf(s []float32) []byte {
	return unsafe.Slice((*byte)(unsafe.Pointer(unsafe.SliceData(s))), 4*len(s))
}

func TestTheCallbacksDoNotAllocate(t *testing.T) {
	m := &Microphone{ring: newRing(micRing), ready: make(chan struct{}, 1), base: time.Now()}
	in := bytesOf(make([]float32, 320))
	require.Zero(t, testing.AllocsPerRun(2000, func() { m.capture(in, time.Since(m.base)) }))
	require.Positive(t, m.overruns.Load(), "the ring ran over and that was counted")
	require.Positive(t, m.lost.Load())

	q := newPlayQueue(Rate)
	require.NoError(t, q.play(context.Background(), make(Samples, 10*Rate)))
	out := make([]float32, 160)
	require.Zero(t, testing.AllocsPerRun(1500, func() { q.fill(out) }))
}

func TestLostSoundIsToldAndCountedOnTheClock(t *testing.T) {
	var told []string
	m := &Microphone{cfg: MicrophoneConfig{Tell: func(s string) { told = append(told, s) }},
		ring: newRing(4 * FrameSize), ready: make(chan struct{}, 1), base: time.Now()}
	full := make([]float32, 6*FrameSize)
	m.capture(bytesOf(full), time.Since(m.base))
	f, err := m.Next(context.Background())
	require.NoError(t, err)
	require.Equal(t, 2*FrameSize, f.Lost)
	require.Equal(t, Samples(full[:2*FrameSize]).Duration(), f.At)
	require.Len(t, told, 1)
	require.Contains(t, told[0], "were lost")
	f, err = m.Next(context.Background())
	require.NoError(t, err)
	require.Zero(t, f.Lost)
	require.Equal(t, MicrophoneStats{Samples: 6 * FrameSize, Overruns: 1, Lost: 2 * FrameSize}, m.Stats())
}

func TestAPlayQueueFadesWhatIsCutOff(t *testing.T) {
	q := newPlayQueue(Rate)
	ones := make(Samples, Rate)
	for i := range ones {
		ones[i] = 1
	}
	require.NoError(t, q.play(context.Background(), ones))
	out := make([]float32, 160)
	q.fill(out)
	require.Equal(t, float32(1), out[159])
	q.stop()
	require.False(t, q.waiting())
	q.fill(out)
	require.Equal(t, float32(1), out[0])
	require.Less(t, out[127], float32(0.01))
	require.Zero(t, out[130])
	q.fill(out)
	require.Zero(t, Samples(out).Peak())
	// What is queued after the cut is played.
	require.NoError(t, q.play(context.Background(), ones[:10]))
	q.fill(out)
	require.Equal(t, float32(1), out[9])
	require.Zero(t, out[10])
}

func TestDevicesAreChosenByName(t *testing.T) {
	all := []Device{{Name: "USB Headset Mono"}, {Name: "Built-in Audio"}, {Name: "USB Headset Mono Monitor"}}
	d, err := matchDevice(all, "built")
	require.NoError(t, err)
	require.Equal(t, "Built-in Audio", d.Name)
	d, err = matchDevice(all, "usb headset mono")
	require.NoError(t, err)
	require.Equal(t, "USB Headset Mono", d.Name, "the whole name wins over a part")
	_, err = matchDevice(all, "usb")
	require.ErrorIs(t, err, ErrNoDevice)
	_, err = matchDevice(all, "banana")
	require.ErrorContains(t, err, `"Built-in Audio"`)
}
