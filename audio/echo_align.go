package audio

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// longestDelay from the hand-over of a sound to its coming back that is looked
// for: 1.024 s, longer than any sound server keeps.
const longestDelay = 32 * FrameSize

// aligner finds by how much one sound is later than another in which it is
// contained: the peak of their generalised cross-correlation with the phase
// transform (Knapp and Carter, The generalized correlation method for
// estimation of time delay, IEEE Trans. ASSP 24, 1976).
type aligner struct {
	window      int // samples of the later sound that are compared
	least, most int // samples by which it may be later; negative: earlier
	size        int // of the transform: no wrap within the lags sought
	fft         *fourier.FFT
	time        []float64
	from, to    []complex128
}

func newAligner(window, least, most int) *aligner {
	size := 1
	for size < window+most+max(0, -least) {
		size *= 2
	}
	return &aligner{
		window: window, least: least, most: most, size: size,
		fft: fourier.NewFFT(size), time: make([]float64, size),
		from: make([]complex128, size/2+1), to: make([]complex128, size/2+1),
	}
}

// history is how much of the earlier sound is wanted.
func (a *aligner) history() int { return a.window + a.most }

// lag gives by how many samples the newest window of later comes after earlier;
// both end now. sure is false without one clear peak.
func (a *aligner) lag(later, earlier []float64) (samples int, sure bool) {
	clear(a.time)
	n := a.window
	for i, v := range later[len(later)-n:] {
		// Faded at its ends, for what crosses them is in one of the two only.
		a.time[a.most+i] = v * math.Sqrt(math.Sin(math.Pi*(float64(i)+0.5)/float64(n)))
	}
	a.fft.Coefficients(a.to, a.time)
	clear(a.time)
	copy(a.time, earlier[len(earlier)-a.history():])
	a.fft.Coefficients(a.from, a.time)

	low, high := 150*a.size/Rate, 7000*a.size/Rate
	var mean float64
	for k := range a.to {
		x := a.from[k]
		a.to[k] *= complex(real(x), -imag(x))
		if k < low || k > high {
			a.to[k] = 0
		}
		mean += math.Hypot(real(a.to[k]), imag(a.to[k]))
	}
	mean /= float64(high - low)
	if mean == 0 {
		return 0, false
	}
	for k, g := range a.to {
		// What is far weaker than the rest is noise, and its phase chance.
		a.to[k] = g * complex(1/(math.Hypot(real(g), imag(g))+0.1*mean), 0)
	}
	a.fft.Sequence(a.time, a.to)
	return a.peak()
}

// peak finds the largest correlation in a.time.
func (a *aligner) peak() (lag int, sure bool) {
	const (
		near  = 64  // samples around the peak that belong to it
		above = 8   // times the usual size
		clear = 1.5 // times the next largest
	)
	at := func(lag int) float64 { return math.Abs(a.time[(lag+a.size)%a.size]) }
	var best, next, power float64
	for l := a.least; l <= a.most; l++ {
		v := at(l)
		power += v * v
		if v > best {
			best, lag = v, l
		}
	}
	for l := a.least; l <= a.most; l++ {
		if l < lag-near || l > lag+near {
			next = max(next, at(l))
		}
	}
	usual := math.Sqrt(power / float64(a.most-a.least+1))
	return lag, best > above*usual && best > clear*next
}
