package audio_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"putback/audio"
)

// speechLike is noise with the level and the spectrum going up and down as in
// speech, so that no recording is needed.
func speechLike(seconds float64, seed uint64) audio.Samples {
	random := rand.New(rand.NewPCG(seed, 1))
	s := make(audio.Samples, int(seconds*audio.Rate))
	var low float64
	for i := range s {
		t := float64(i) / audio.Rate
		syllable := math.Max(0, math.Sin(2*math.Pi*3.1*t+float64(seed))) * (0.6 + 0.4*math.Sin(2*math.Pi*0.7*t))
		low += (random.NormFloat64() - low) * (0.3 + 0.25*math.Sin(2*math.Pi*1.3*t))
		s[i] = float32(0.2 * syllable * low)
	}
	return s
}

// inRoom is s as a microphone hears it: later, weaker, with the walls.
func inRoom(s audio.Samples, delay int, gain float64, random *rand.Rand) audio.Samples {
	const tail = audio.Rate / 10
	walls := make([]float64, tail)
	walls[0] = 1
	for i := 1; i < tail; i++ {
		walls[i] = 0.25 * random.NormFloat64() * math.Exp(-float64(i)/(audio.Rate*0.02))
	}
	out := make(audio.Samples, len(s))
	for i := range out {
		var v float64
		for k := 0; k < tail && i-delay-k >= 0; k++ {
			v += walls[k] * float64(s[i-delay-k])
		}
		out[i] = float32(gain * v)
	}
	return out
}

func cancel(e *audio.Echo, heard, given audio.Samples) audio.Samples {
	out := append(audio.Samples(nil), heard...)
	for at := 0; at+audio.FrameSize <= len(out); at += audio.FrameSize {
		e.Cancel(out[at:at+audio.FrameSize], given[at:at+audio.FrameSize])
	}
	return out
}

func db(ratio float64) float64 { return 20 * math.Log10(ratio) }

func TestTheOwnVoiceIsTakenOut(t *testing.T) {
	random := rand.New(rand.NewPCG(2, 3))
	given := speechLike(12, 1)
	heard := inRoom(given, 1300, 0.5, random)
	for i := range heard {
		heard[i] += float32(0.0002 * random.NormFloat64())
	}
	e := audio.NewEcho()
	left := cancel(e, heard, given)
	tail := len(left) * 3 / 4
	down := db(heard[tail:].RMS() / left[tail:].RMS())
	t.Logf("down by %.1f dB, subtraction alone %.1f dB", down, float64(e.Reduction()))
	require.Greater(t, float64(e.Reduction()), 15.0)
	require.Greater(t, down, 30.0)
}

// later is s from sample at on, moved by jump samples: later where that is
// positive, with silence between, and earlier where it is not, the rest lost.
func later(s audio.Samples, at, jump int) audio.Samples {
	out := append(audio.Samples(nil), s[:at]...)
	if jump > 0 {
		out = append(out, make(audio.Samples, jump)...)
	}
	return append(out, s[at+max(0, -jump):]...)
}

// TestTheOwnVoiceIsTakenOutHoweverLateItComes: a second is far more than the
// filter is long, and what a sound server that ran dry does to the delay must
// not be learnt anew.
func TestTheOwnVoiceIsTakenOutHoweverLateItComes(t *testing.T) {
	for _, delay := range []int{0, 500, 6000, 13000} {
		for _, jump := range []int{7, 512, 2000, -256} {
			if delay+jump < 0 {
				continue
			}
			random := rand.New(rand.NewPCG(2, uint64(delay)))
			given := speechLike(13, 1)
			heard := later(inRoom(given, delay, 0.5, random), 8*audio.Rate, jump)
			given, heard = given[:12*audio.Rate], heard[:12*audio.Rate]
			for i := range heard {
				heard[i] += float32(0.0002 * random.NormFloat64())
			}
			e := audio.NewEcho()
			left := cancel(e, heard, given)
			reduction := func(from, to float64) float64 {
				a, b := int(from*audio.Rate), int(to*audio.Rate)
				return db(heard[a:b].RMS() / left[a:b].RMS())
			}
			require.Greater(t, reduction(5, 8), 25.0, "delay %d", delay)
			require.Greater(t, reduction(8.7, 9.7), 20.0, "delay %d, then %+d", delay, jump)
			require.Greater(t, reduction(10, 12), 25.0, "delay %d, then %+d", delay, jump)
		}
	}
}

// TestAJumpWhileAPersonTalks: what the person says must not be taken for the
// echo, nor hide where that went.
func TestAJumpWhileAPersonTalks(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 5))
	given := speechLike(16, 1)
	heard := later(inRoom(given, 3000, 0.4, random), 11*audio.Rate, 512)[:len(given)]
	person := speechLike(16, 9)
	for i := 10 * audio.Rate; i < 12*audio.Rate; i++ {
		heard[i] += person[i]
	}
	left := cancel(audio.NewEcho(), heard, given)
	tail := 13 * audio.Rate
	require.Greater(t, db(heard[tail:].RMS()/left[tail:].RMS()), 20.0)
}

func TestAPersonWhoTalksMeanwhileIsHeard(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 5))
	given := speechLike(16, 1)
	heard := inRoom(given, 2000, 0.4, random)
	person := speechLike(16, 9)
	from, to := 10*audio.Rate, 12*audio.Rate
	for i := from; i < to; i++ {
		heard[i] += person[i]
	}
	e := audio.NewEcho()
	left := cancel(e, heard, given)
	// What is left in the person's time is the person.
	var dot, own, there float64
	for i := from; i < to; i++ {
		dot += float64(left[i]) * float64(person[i])
		own += float64(person[i]) * float64(person[i])
		there += float64(left[i]) * float64(left[i])
	}
	require.Greater(t, dot/math.Sqrt(own*there), 0.9)
	require.Greater(t, there/own, 0.5, "and nearly as loud")
	// Afterwards it still cancels.
	tail := 14 * audio.Rate
	require.Greater(t, db(heard[tail:].RMS()/left[tail:].RMS()), 20.0)
}

func TestWithoutOwnSoundNothingIsChanged(t *testing.T) {
	e := audio.NewEcho()
	given := audio.Silence(0)
	given = append(given, speechLike(2, 1)...)
	given = append(given, make(audio.Samples, 6*audio.Rate)...)
	heard := speechLike(8, 5)
	left := cancel(e, heard, given)
	require.Equal(t, heard[4*audio.Rate:7*audio.Rate], left[4*audio.Rate:7*audio.Rate])
}
