package audio

import (
	"errors"
	"math"
	"math/rand/v2"
)

// energyFrame is the frame of the mixing rule, in samples.
const energyFrame = 2048

// ErrNoNoise is returned by [Mixer.Mix] when the noise is empty or silent.
var ErrNoNoise = errors.New("the noise is empty or silent")

// Mixer lays noise under speech by the rule of the barista data set, so that
// figures compare: a random stretch of the noise as long as the clip (the
// noise repeated where it is shorter), scaled so that the ratio of the largest
// 2048-sample frame energies is the wanted signal-to-noise ratio, added, then
// the sum divided by twice its peak.
type Mixer struct {
	noise Samples
	rand  *rand.Rand
}

// NewMixer makes a mixer over the noise; the same seed gives the same stretches.
func NewMixer(noise Samples, seed uint64) *Mixer {
	return &Mixer{noise: noise, rand: rand.New(rand.NewPCG(seed, seed^0x9E3779B97F4A7C15))}
}

// Mix gives clip with noise under it at snr in decibels. Clip is not changed.
func (m *Mixer) Mix(clip Samples, snr float64) (Samples, error) {
	if len(m.noise) == 0 || m.noise.Peak() == 0 {
		return nil, ErrNoNoise
	}
	noise := m.stretch(len(clip))
	ne, ce := frameEnergy(noise), frameEnergy(clip)
	if ne == 0 {
		return nil, ErrNoNoise
	}
	gain := math.Sqrt(ce / ne / math.Pow(10, snr/10))
	out := make(Samples, len(clip))
	for i := range out {
		out[i] = clip[i] + float32(gain)*noise[i]
	}
	if peak := out.Peak(); peak > 0 {
		for i := range out {
			out[i] = float32(float64(out[i]) / (2 * peak))
		}
	}
	return out, nil
}

// stretch takes n samples of the noise from a random place.
func (m *Mixer) stretch(n int) Samples {
	out := make(Samples, n)
	at := 0
	if len(m.noise) > n {
		at = m.rand.IntN(len(m.noise) - n)
	} else {
		at = m.rand.IntN(len(m.noise))
	}
	for i := range out {
		out[i] = m.noise[(at+i)%len(m.noise)]
	}
	return out
}

// frameEnergy is the largest sum of squares of any whole 2048-sample frame, or
// of the whole when it is shorter.
func frameEnergy(s Samples) float64 {
	var best float64
	for at := 0; at == 0 || at+energyFrame <= len(s); at += energyFrame {
		var e float64
		for _, v := range s[at:min(at+energyFrame, len(s))] {
			e += float64(v) * float64(v)
		}
		best = max(best, e)
	}
	return best
}
