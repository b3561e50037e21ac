package audio

import (
	"math"

	"github.com/gopxl/beep/v2"
)

// resampleQuality is beep's quality: a polynomial through 2×8 points.
const resampleQuality = 8

// lowPassReach is how far the filter that keeps what is above the narrower
// band from folding into it reaches to each side, in samples of the lower
// rate. With a Kaiser window of β 8 that gives -80 dB from 0.49 of that rate.
const lowPassReach = 44

// Resample converts mono samples from one rate to another, in samples per
// second, both positive. The interpolation is gopxl/beep's. It does not
// filter, and its polynomial is good only well below half of the rate, so the
// sound is first brought to a multiple of its rate, at least three times the
// new one, and freed of what one of the two rates cannot carry. Where that
// multiple is a multiple of the new rate too, nothing is left to interpolate.
func Resample(in []float32, from, to int) Samples {
	if from == to || len(in) == 0 {
		return Samples(in)
	}
	times := max(1, (3*to+from-1)/from)
	length := int(int64(len(in)) * int64(to) / int64(from))
	band := float64(min(from, to)) / float64(from*times)
	from *= times
	if from%to == 0 {
		return lowPass(in, times, from/to, band)[:length]
	}
	in = lowPass(in, times, 1, band)
	src := &sliceStreamer{in: in}
	r := beep.Resample(resampleQuality, beep.SampleRate(from), beep.SampleRate(to), src)
	out := make(Samples, 0, length+1)
	var block [512][2]float64
	for {
		n, ok := r.Stream(block[:])
		for i := range n {
			out = append(out, float32(block[i][0]))
		}
		if !ok || n < len(block) {
			break
		}
	}
	return out
}

// sliceStreamer feeds a slice to beep.
type sliceStreamer struct {
	in []float32
	at int
}

// Stream fills samples and reports whether there was anything left.
func (s *sliceStreamer) Stream(samples [][2]float64) (int, bool) {
	n := min(len(samples), len(s.in)-s.at)
	for i := range n {
		samples[i] = [2]float64{float64(s.in[s.at+i]), 0}
	}
	s.at += n
	return n, n > 0
}

// Err is always nil: a slice cannot fail.
func (s *sliceStreamer) Err() error { return nil }

// lowPass raises the rate of in by the whole factor times and filters it with
// a windowed sinc. Band is the rate whose half is the limit, as a share of the
// raised rate; 0.46 of it is the middle of the transition. The delay is taken
// out. Only every step-th sample of the raised rate is computed and given.
func lowPass(in []float32, times, step int, band float64) Samples {
	corner := 0.46 * band
	half := int(math.Ceil(lowPassReach / band))
	taps := make([]float64, 2*half+1)
	var sum float64
	for i := range taps {
		x := float64(i - half)
		v := 2 * corner
		if x != 0 {
			v = math.Sin(2*math.Pi*corner*x) / (math.Pi * x)
		}
		t := x / float64(half+1)
		v *= bessel0(8*math.Sqrt(1-t*t)) / bessel0(8)
		taps[i] = v
		sum += v
	}
	for i := range taps {
		taps[i] *= float64(times) / sum
	}
	out := make(Samples, (len(in)*times+step-1)/step)
	for i := range out {
		n := i * step
		var acc float64
		// Only every times-th sample of the raised rate is not zero.
		lo, hi := max(0, (n-half+times-1)/times), min(len(in)-1, (n+half)/times)
		for m := lo; m <= hi; m++ {
			acc += float64(in[m]) * taps[n-m*times+half]
		}
		out[i] = float32(acc)
	}
	return out
}

// bessel0 is the modified Bessel function of the first kind and order 0 by its
// power series (Abramowitz and Stegun 9.6.12); the Kaiser window needs it.
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > sum*1e-16; k++ {
		term *= (x / 2 / k) * (x / 2 / k)
		sum += term
	}
	return sum
}
