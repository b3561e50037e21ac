package audio_test

import (
	"context"
	"math"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/audio"
	"putback/audio/audiotest"
)

// match finds clip in rec and gives where it begins and the correlation there, -1 to 1.
func match(rec, clip audio.Samples) (at int, r float64) {
	var ce float64
	for _, v := range clip {
		ce += float64(v) * float64(v)
	}
	at = -1
	for i := 0; i+len(clip) <= len(rec); i++ {
		if math.Abs(float64(rec[i+len(clip)/2])) < 1e-4 && math.Abs(float64(rec[i+len(clip)/2+1])) < 1e-4 {
			continue
		}
		var dot, re float64
		for k := 0; k < len(clip); k += 5 {
			dot += float64(rec[i+k]) * float64(clip[k])
			re += float64(rec[i+k]) * float64(rec[i+k])
		}
		if re > 0 {
			if c := dot * 5 / math.Sqrt(re*5*ce); c > r {
				at, r = i, c
			}
		}
	}
	return at, r
}

// chirp is easy to find in a recording.
func chirp(seconds float64) audio.Samples {
	s := make(audio.Samples, int(seconds*audio.Rate))
	for i := range s {
		t := float64(i) / audio.Rate
		s[i] = float32(0.5 * math.Sin(2*math.Pi*(300*t+2000*t*t)))
	}
	return s
}

func TestTheMicrophoneHearsWhatIsPlayedIntoIt(t *testing.T) {
	room := audiotest.Start(t)
	all, err := audio.Microphones()
	require.NoError(t, err)
	require.True(t, slices.ContainsFunc(all, func(d audio.Device) bool { return d.Name == audiotest.Microphone }), "%v", all)

	mic, err := audio.OpenMicrophone(audio.MicrophoneConfig{Device: audiotest.Microphone})
	require.NoError(t, err)
	defer mic.Close()
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	clip := chirp(0.5)
	var wait sync.WaitGroup
	wait.Go(func() { room.Say(clip) })
	var rec audio.Samples
	last := time.Duration(-1)
	for rec.Duration() < 2*time.Second {
		f, err := mic.Next(ctx)
		require.NoError(t, err)
		require.Greater(t, f.At, last)
		last = f.At
		rec = append(rec, f.Samples...)
	}
	wait.Wait()
	_, r := match(rec, clip)
	require.Greater(t, r, 0.9, "the clip is in the recording")
	require.Zero(t, mic.Stats().Overruns)
}

func TestAMicrophoneThatIsNotThereIsNamedWithTheOnesThatAre(t *testing.T) {
	audiotest.Start(t)
	_, err := audio.OpenMicrophone(audio.MicrophoneConfig{Device: "studio mic"})
	require.ErrorIs(t, err, audio.ErrNoDevice)
	require.ErrorContains(t, err, audiotest.Microphone)
	_, err = audio.OpenLoudspeaker(audio.LoudspeakerConfig{Device: "hi-fi"})
	require.ErrorIs(t, err, audio.ErrNoDevice)
	_, err = audio.OpenMicrophone(audio.MicrophoneConfig{Device: "monitor of"})
	require.ErrorContains(t, err, "write the whole name")
}

func TestTheLoudspeakerPlaysAndStopsAtOnce(t *testing.T) {
	room := audiotest.Start(t)
	out, err := audio.OpenLoudspeaker(audio.LoudspeakerConfig{Device: audiotest.Loudspeaker})
	require.NoError(t, err)
	defer out.Close()
	rec := room.Record()
	time.Sleep(300 * time.Millisecond)
	require.False(t, out.Playing())
	clip := chirp(0.5)
	require.NoError(t, out.Play(context.Background(), clip))
	require.True(t, out.Playing())
	require.Eventually(t, func() bool { return !out.Playing() }, 10*time.Second, 20*time.Millisecond)
	require.False(t, out.FirstSound().IsZero())
	_, r := match(rec.Since(0), clip)
	require.Greater(t, r, 0.9)

	// Ten seconds are queued and cut off after the first half.
	require.NoError(t, out.Play(context.Background(), sine(500, 0.5, 10)))
	time.Sleep(500 * time.Millisecond)
	out.Stop()
	require.Eventually(t, func() bool { return !out.Playing() }, 2*time.Second, 10*time.Millisecond)
	time.Sleep(500 * time.Millisecond)
	mark := rec.Length()
	time.Sleep(500 * time.Millisecond)
	require.Zero(t, rec.Since(mark).Peak(), "silence after Stop")
	require.NoError(t, out.Close())
	require.ErrorIs(t, out.Play(context.Background(), clip), audio.ErrSpeakerClosed)
	rec.Stop()
}

func TestOtoPlaysBesideMalgo(t *testing.T) {
	room := audiotest.Start(t)
	out, err := audio.OpenOto(0, 0)
	if err != nil {
		t.Skip("needs ALSA's way to PulseAudio: apt-get install libasound2-plugins (" + err.Error() + ")")
	}
	defer out.Close()
	mic, err := audio.OpenMicrophone(audio.MicrophoneConfig{Device: audiotest.Microphone})
	require.NoError(t, err)
	defer mic.Close()
	rec := room.Record()
	time.Sleep(300 * time.Millisecond)
	clip := chirp(0.5)
	require.NoError(t, out.Play(context.Background(), clip))
	require.Eventually(t, func() bool { return !out.Playing() }, 10*time.Second, 20*time.Millisecond)
	_, r := match(rec.Stop(), clip)
	require.Greater(t, r, 0.8)
}

func TestUnpluggedDevicesComeBack(t *testing.T) {
	room := audiotest.Start(t)
	var mu sync.Mutex
	var told []string
	tell := func(line string) {
		mu.Lock()
		defer mu.Unlock()
		told = append(told, line)
	}
	lines := func() int {
		mu.Lock()
		defer mu.Unlock()
		return len(told)
	}
	mic, err := audio.OpenMicrophone(audio.MicrophoneConfig{Device: audiotest.Microphone, Tell: tell})
	require.NoError(t, err)
	defer mic.Close()
	out, err := audio.OpenLoudspeaker(audio.LoudspeakerConfig{Device: audiotest.Loudspeaker, Tell: tell})
	require.NoError(t, err)
	defer out.Close()
	ctx, cancel := context.WithTimeout(context.Background(), 60*time.Second)
	defer cancel()
	heard := make(chan time.Duration, 1000)
	var wait sync.WaitGroup
	wait.Go(func() {
		for {
			f, err := mic.Next(ctx)
			if err != nil {
				return
			}
			select {
			case heard <- f.End():
			default:
			}
		}
	})
	<-heard
	start := time.Now()
	before := <-heard
	room.Stop()
	require.Eventually(t, func() bool { return lines() >= 2 }, 20*time.Second, 50*time.Millisecond, "both say that they are gone")
	require.NoError(t, room.Restart())
	require.Eventually(t, func() bool { return lines() >= 4 }, 20*time.Second, 50*time.Millisecond, "both say that they are back")
	for len(heard) > 0 {
		<-heard
	}
	after := <-heard
	require.InDelta(t, time.Since(start).Seconds(), (after - before).Seconds(), 1.0, "the audio clock kept up with the clock on the wall")

	rec := room.Record()
	time.Sleep(300 * time.Millisecond)
	clip := chirp(0.5)
	require.NoError(t, out.Play(ctx, clip))
	time.Sleep(1500 * time.Millisecond)
	_, r := match(rec.Stop(), clip)
	require.Greater(t, r, 0.9, "it plays again")
	cancel()
	wait.Wait()
	require.EqualValues(t, 1, mic.Stats().Reopened)
	t.Log(told)
}
