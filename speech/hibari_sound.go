package speech

import (
	"context"
	"math"
	"math/cmplx"
	"math/rand/v2"

	"gonum.org/v1/gonum/dsp/fourier"
)

// The frame of hibari-tts 0.2.1: 24 000 samples a second, 1200-point spectra
// every 300 samples under a periodic Hann window.
const (
	hibariRate = 24000
	frameSize  = 1200
	frameHop   = 300
	frameBins  = frameSize/2 + 1
)

var hann = func() (w [frameSize]float64) {
	for i := range w {
		w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/frameSize)
	}
	return w
}()

// spectra is what the net says about a clause, each [bin][frame] flattened:
// level and phase of the harmonics, level of the noise, level and phase of the
// rest, and the pitch of each frame in Hz.
type spectra struct {
	harmonics, phase, noise, rest, restPhase []float32
	pitch                                    []float32
}

// throat is how a character differs from the voice as it was trained.
type throat struct {
	pitch  float64 // factor on the fundamental frequency
	length float64 // factor on the resonances: below 1 a longer throat, deeper
}

// sound renders the spectra of one clause:
//
//	S = e^harmonics · e^(iπ·tanh phase) · STFT(pulses(pitch)) + e^noise · Z + e^(rest + i·restPhase)
//
// then one inverse transform with overlap and add. Z is complex Gaussian noise
// from a fixed seed, so that one text always sounds the same. Port of dsp.py of
// hibari-tts 0.2.1; the throat is ours.
func sound(ctx context.Context, s spectra, t throat) ([]float32, error) {
	frames := len(s.pitch)
	if frames == 0 {
		return nil, nil
	}
	excitation := pulses(s.pitch, t.pitch)
	fft := fourier.NewFFT(frameSize)
	noise := rand.New(rand.NewPCG(7, 1200))
	out := make([]float64, (frames+3)*frameHop)
	weight := make([]float64, len(out))
	window := make([]float64, frameSize)
	spectrum := make([]complex128, frameBins)
	scale := 1.0 / (frameSize / 4) // a unit cosine peaks at sum(window)/2
	source := sourceBins(t.length)
	for f := range frames {
		if f%64 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		for i := range window {
			window[i] = excitation[reflect(f*frameHop+i-frameSize/2, len(excitation))] * hann[i] * scale
		}
		fft.Coefficients(spectrum, window)
		for k := range spectrum {
			b := source[k]
			at := func(v []float32) float64 {
				x := float64(v[b.low*frames+f])
				if b.share == 0 {
					return x
				}
				return x + b.share*(float64(v[(b.low+1)*frames+f])-x)
			}
			near := b.low
			if b.share >= 0.5 {
				near++
			}
			harmonic := cmplx.Rect(level(at(s.harmonics)), math.Pi*math.Tanh(float64(s.phase[near*frames+f])))
			rest := cmplx.Rect(level(at(s.rest)), float64(s.restPhase[near*frames+f]))
			z := complex(noise.NormFloat64(), noise.NormFloat64()) * complex(level(at(s.noise)), 0)
			spectrum[k] = spectrum[k]*harmonic + z + rest
		}
		fft.Sequence(window, spectrum)
		for i, x := range window {
			out[f*frameHop+i] += x / frameSize * hann[i]
			weight[f*frameHop+i] += hann[i] * hann[i]
		}
	}
	wave := make([]float32, frames*frameHop)
	for i := range wave {
		j := i + frameSize/2
		wave[i] = float32(out[j] / math.Max(weight[j], 1e-11))
	}
	return wave, nil
}

// level is the magnitude of a logarithm, held below the point where a wrong
// answer of the net would burst.
func level(log float64) float64 { return math.Exp(math.Min(log, 7)) }

// binSource says from where on the trained frequency axis an output bin is
// taken.
type binSource struct {
	low   int
	share float64
}

func sourceBins(length float64) [frameBins]binSource {
	var out [frameBins]binSource
	for k := range out {
		x := math.Min(float64(k)/length, frameBins-1)
		low := min(int(x), frameBins-2)
		out[k] = binSource{low, x - float64(low)}
	}
	return out
}

func reflect(i, n int) int {
	if n == 1 {
		return 0
	}
	for i < 0 || i >= n {
		if i < 0 {
			i = -i
		}
		if i >= n {
			i = 2*(n-1) - i
		}
	}
	return i
}

// pulses is a train of pulses at the pitch of each frame, interpolated within:
// every harmonic below 11 kHz at amplitude 1, by the closed form
// Σ cos(h·t) = sin((H+½)t) / (2 sin(t/2)) − ½. Frames below 40 Hz are unvoiced
// and silent.
func pulses(pitch []float32, factor float64) []float64 {
	const voiced, highest = 40.0, 11000.0
	frames := len(pitch)
	out := make([]float64, frames*frameHop)
	phase := 0.0
	at := func(f int) float64 { return float64(pitch[max(0, min(frames-1, f))]) }
	for i := range out {
		f, j := i/frameHop, i%frameHop
		x := (float64(j)+0.5)/frameHop - 0.5
		a, b := at(f), at(f+1)
		if x < 0 {
			a, b, x = at(f-1), at(f), x+1
		}
		hz := a + x*(b-a)
		on := hz > voiced
		hz = math.Max(hz, voiced)
		if on {
			hz *= factor
		}
		_, phase = math.Modf(phase + hz/hibariRate)
		if !on {
			continue
		}
		t := 2 * math.Pi * phase
		h := math.Floor(highest/hz) + 0.5
		if d := 2 * math.Sin(t/2); math.Abs(d) > 2e-3 {
			out[i] = math.Sin(h*t)/d - 0.5
		} else {
			out[i] = h - 0.5
		}
	}
	return out
}
