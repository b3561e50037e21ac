package audio_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/audio"
	"putback/audio/audiotest"
)

func silero(t *testing.T, version string) *audio.Silero {
	t.Helper()
	lib := audiotest.Model(t, "libonnxruntime.so", "")
	v, err := audio.NewSilero(lib, audiotest.Model(t, "silero_vad_"+version, ".onnx"))
	require.NoError(t, err)
	t.Cleanup(func() { _ = v.Close() })
	return v
}

func TestSileroFindsEverySpokenClip(t *testing.T) {
	for _, version := range []string{"v5", "v6"} {
		t.Run(version, func(t *testing.T) {
			v := silero(t, version)
			clips := audiotest.Clips(t, "barista")
			missed, split := 0, 0
			for _, c := range clips {
				v.Reset()
				cuts, err := audio.Utterances(c, v, audio.SegmenterConfig{})
				require.NoError(t, err)
				switch {
				case len(cuts) == 0:
					missed++
				case len(cuts) > 1:
					split++
				}
			}
			t.Logf("silero %s: %d clips, %d missed, %d in more than one piece", version, len(clips), missed, split)
			require.Zero(t, missed)
			require.Less(t, split, len(clips)/5)
		})
	}
}

func TestSileroStaysSilentInShopNoise(t *testing.T) {
	for _, version := range []string{"v5", "v6"} {
		t.Run(version, func(t *testing.T) {
			v := silero(t, version)
			total, seconds := 0, 0.0
			for _, name := range []string{"kitchen", "engine_idle", "engine_prop", "grinding", "bench_saw", "hammer_anvil"} {
				noise := audiotest.Clip(t, "noise/"+name+".wav")
				v.Reset()
				start := time.Now()
				cuts, err := audio.Utterances(noise, v, audio.SegmenterConfig{})
				require.NoError(t, err)
				t.Logf("silero %s: %s %.0f s: %d false starts, %.2f %% of a core", version, name, noise.Duration().Seconds(), len(cuts), 100*time.Since(start).Seconds()/noise.Duration().Seconds())
				total += len(cuts)
				seconds += noise.Duration().Seconds()
			}
			require.Less(t, float64(total)/seconds*60, 2.0, "false starts a minute")
		})
	}
}

func TestSileroHearsSpeechThroughNoise(t *testing.T) {
	for _, version := range []string{"v5", "v6"} {
		t.Run(version, func(t *testing.T) {
			v := silero(t, version)
			clips := audiotest.Clips(t, "barista")[:30]
			for _, name := range []string{"kitchen", "engine_idle", "grinding"} {
				mixer := audio.NewMixer(audiotest.Clip(t, "noise/"+name+".wav"), 1)
				missed := 0
				for _, c := range clips {
					m, err := mixer.Mix(c, 6)
					require.NoError(t, err)
					v.Reset()
					cuts, err := audio.Utterances(m, v, audio.SegmenterConfig{})
					require.NoError(t, err)
					if len(cuts) == 0 {
						missed++
					}
				}
				t.Logf("silero %s: %s at 6 dB: %d of %d missed", version, name, missed, len(clips))
				require.LessOrEqual(t, missed, 3)
			}
		})
	}
}

// It grew deaf in noise: see unlikeFrames.
func TestSileroHearsSpeechAfterNoiseAsWellAsAtItsBeginning(t *testing.T) {
	v := silero(t, "v5")
	clips := audiotest.Clips(t, "barista")[:20]
	speech := func(noise string, before time.Duration) (frames int) {
		mixer := audio.NewMixer(audiotest.Clip(t, "noise/"+noise+".wav"), 1)
		for _, c := range clips {
			m, err := mixer.Mix(append(audio.Silence(before), c...), -3)
			require.NoError(t, err)
			v.Reset()
			for at := 0; at+audio.FrameSize <= len(m); at += audio.FrameSize {
				p, err := v.Speech(m[at : at+audio.FrameSize])
				require.NoError(t, err)
				if at >= audio.Count(before) && p >= 0.5 {
					frames++
				}
			}
		}
		return frames
	}
	for _, noise := range []string{"bench_saw", "engine_idle"} {
		begins, later := speech(noise, 0), speech(noise, 12*time.Second)
		t.Logf("%s: %d frames of speech, %d after twelve seconds", noise, begins, later)
		require.Greater(t, float64(later), 0.87*float64(begins))
	}
}

func TestSileroForgetsOnReset(t *testing.T) {
	v := silero(t, "v5")
	c := audiotest.Clips(t, "barista")[0]
	run := func() (out []float64) {
		v.Reset()
		for at := 0; at+audio.FrameSize <= len(c); at += audio.FrameSize {
			p, err := v.Speech(c[at : at+audio.FrameSize])
			require.NoError(t, err)
			out = append(out, p)
		}
		return out
	}
	require.Equal(t, run(), run())
	_, err := v.Speech(make(audio.Samples, audio.FrameSize+1))
	require.Error(t, err)
}

func TestSileroWithoutItsModelSaysWhatToDo(t *testing.T) {
	_, err := audio.NewSilero("none.so", "none.onnx")
	require.ErrorContains(t, err, "putback models fetch")
}

func TestTheEnergyDetectorFindsCleanSpeech(t *testing.T) {
	missed := 0
	clips := audiotest.Clips(t, "barista")
	for _, c := range clips {
		quiet := append(make(audio.Samples, audio.Rate/2), c...)
		cuts, err := audio.Utterances(quiet, audio.NewEnergy(), audio.SegmenterConfig{})
		require.NoError(t, err)
		if len(cuts) == 0 {
			missed++
		}
	}
	t.Logf("energy: %d of %d missed", missed, len(clips))
	require.LessOrEqual(t, missed, len(clips)/20)
}

func TestTheEnergyDetectorIgnoresSilenceAndSteadyNoise(t *testing.T) {
	cuts, err := audio.Utterances(make(audio.Samples, 10*audio.Rate), audio.NewEnergy(), audio.SegmenterConfig{})
	require.NoError(t, err)
	require.Empty(t, cuts)
	cuts, err = audio.Utterances(sine(120, 0.1, 30), audio.NewEnergy(), audio.SegmenterConfig{})
	require.NoError(t, err)
	require.LessOrEqual(t, len(cuts), 1, "a steady hum is learnt")
}

// A clip after a long silence is detected as at the beginning.
func TestSileroBeginsAnewAfterALongSilence(t *testing.T) {
	v := silero(t, "v5")
	clip := audiotest.Clips(t, "barista")[0]
	for clip[:audio.FrameSize].Peak() < 0.001 {
		clip = clip[audio.FrameSize:]
	}
	likelihoods := func(s audio.Samples) (all []float64) {
		for len(s) >= audio.FrameSize {
			p, err := v.Speech(s[:audio.FrameSize])
			require.NoError(t, err)
			all, s = append(all, p), s[audio.FrameSize:]
		}
		return all
	}
	first := likelihoods(clip)
	silence := likelihoods(make(audio.Samples, 100*audio.FrameSize))
	require.Less(t, silence[len(silence)-1], 0.01)
	require.Equal(t, first, likelihoods(clip))
}
