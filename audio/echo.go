package audio

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Echo takes the program's own voice out of what the microphone hears. It is
// told what the loudspeaker was given, learns how loudspeaker, room and
// microphone change that, and subtracts what it expects: an adaptive filter in
// the frequency domain, of several partitions (Soo and Pang, Multidelay block
// frequency domain adaptive filter, IEEE Trans. ASSP 38, 1990). One filter
// learns all the time, another one cancels and takes over what was learnt only
// when that is better, so that a person who talks meanwhile spoils nothing
// (Ochiai, Araseki and Ogihara, Echo canceler with two echo path models, IEEE
// Trans. Commun. 25, 1977).
//
// What is left of the echo is held down further while nothing louder than it
// is heard. Not safe for concurrent use.
type Echo struct {
	fft  *fourier.FFT
	past []float64      // the frame of the reference before this one
	far  [][]complex128 // spectra of the reference, newest first
	live int            // frames until the newest sound has left the filter; 0: nothing to do

	learner, canceller [][]complex128
	near               float64 // smoothed power of what was heard,
	better             float64 // of what the canceller leaves of it
	learnt             float64 // and the learner
	leak               float64 // share of the expected echo's power that is left, at its least
	gain               float64 // of the last frame

	power, sum  []float64
	time, error []float64
	spectrum    []complex128

	before, after float64 // power of the echo before and after, smoothed, while it sounds
}

// echoParts is the number of partitions of a frame: 10 are 320 ms, which holds
// the delay of a sound server and a small room.
const echoParts = 10

// NewEcho makes a canceller that has learnt nothing.
func NewEcho() *Echo {
	e := &Echo{
		fft: fourier.NewFFT(2 * FrameSize), past: make([]float64, FrameSize), leak: 1, gain: 1,
		power: make([]float64, FrameSize+1), sum: make([]float64, 2*FrameSize),
		time: make([]float64, 2*FrameSize), error: make([]float64, FrameSize),
		spectrum: make([]complex128, FrameSize+1),
	}
	for range echoParts {
		e.far = append(e.far, make([]complex128, FrameSize+1))
		e.learner = append(e.learner, make([]complex128, FrameSize+1))
		e.canceller = append(e.canceller, make([]complex128, FrameSize+1))
	}
	return e
}

// Cancel takes the next frame of the microphone and what the loudspeaker was
// given in the same time, both [FrameSize] long, and takes the echo out of
// heard in place. While nothing was given for a while, heard stays as it is.
func (e *Echo) Cancel(heard, given Samples) {
	if len(heard) != FrameSize || len(given) != FrameSize {
		return
	}
	if given.Peak() > 1e-5 {
		e.live = echoParts + 1
	}
	e.shift(given)
	if e.live == 0 {
		e.gain = 1
		return
	}
	e.live--

	expected := append([]float64(nil), e.predict(e.learner)...)
	mine := e.predict(e.canceller)
	var echo, near, left, own float64 // powers: expected, heard, the canceller's and the learner's rest
	for i, v := range heard {
		d := float64(v)
		e.error[i] = d - expected[i]
		near += d * d
		own += e.error[i] * e.error[i]
		r := d - mine[i]
		left += r * r
		echo += mine[i] * mine[i]
		heard[i] = float32(r)
	}
	e.learn()
	e.choose(near, left, own)
	e.measure(near, left, echo)
	e.suppress(heard, left, echo)
}

// shift puts the next frame of the reference in front of the others.
func (e *Echo) shift(given Samples) {
	copy(e.time, e.past)
	for i, v := range given {
		e.time[FrameSize+i] = float64(v)
	}
	copy(e.past, e.time[FrameSize:])
	newest := e.far[echoParts-1]
	copy(e.far[1:], e.far[:echoParts-1])
	e.far[0] = newest
	if e.live == 0 {
		clear(newest)
		return
	}
	e.fft.Coefficients(newest, e.time)
}

// predict gives the echo that a filter expects in this frame; valid until the
// next call.
func (e *Echo) predict(filter [][]complex128) []float64 {
	clear(e.spectrum)
	for p, w := range filter {
		for k, x := range e.far[p] {
			e.spectrum[k] += w[k] * x
		}
	}
	e.fft.Sequence(e.sum, e.spectrum)
	out := e.sum[FrameSize:]
	for i := range out {
		out[i] /= 2 * FrameSize // the transform does not scale
	}
	return out
}

// learn moves the learner's filter along its error.
func (e *Echo) learn() {
	const (
		step  = 0.5
		floor = 1e-2 // against division by nothing, in the power of a spectrum
	)
	clear(e.time[:FrameSize])
	copy(e.time[FrameSize:], e.error)
	e.fft.Coefficients(e.spectrum, e.time)
	clear(e.power)
	for _, x := range e.far {
		for k, v := range x {
			e.power[k] += real(v)*real(v) + imag(v)*imag(v)
		}
	}
	for k := range e.spectrum {
		e.spectrum[k] *= complex(step/(e.power[k]+floor), 0)
	}
	change := make([]complex128, FrameSize+1)
	for p, w := range e.learner {
		for k, x := range e.far[p] {
			change[k] = complex(real(x), -imag(x)) * e.spectrum[k]
		}
		// The second half of a partition in time is the wrapping round of the
		// convolution and must stay empty.
		e.fft.Sequence(e.sum, change)
		for i := range FrameSize {
			e.sum[i] /= 2 * FrameSize
		}
		clear(e.sum[FrameSize:])
		e.fft.Coefficients(change, e.sum)
		for k := range w {
			w[k] += change[k]
		}
	}
}

// choose lets the canceller take over what the learner has when it is better,
// and the learner start again from the canceller when it has gone astray.
func (e *Echo) choose(near, left, own float64) {
	const smooth = 0.85
	e.near = smooth*e.near + (1-smooth)*near
	e.better = smooth*e.better + (1-smooth)*left
	e.learnt = smooth*e.learnt + (1-smooth)*own
	switch {
	case e.learnt < 0.7*e.better && e.learnt < 0.7*e.near:
		copyFilter(e.canceller, e.learner)
		e.better = e.learnt
	case e.learnt > 4*e.better:
		copyFilter(e.learner, e.canceller)
		e.learnt = e.better
	case e.better > 2*e.near:
		// The canceller itself adds sound: the room has changed, or sound was lost.
		copyFilter(e.canceller, make([][]complex128, echoParts))
		e.better, e.leak = e.near, 1
	}
}

func copyFilter(to, from [][]complex128) {
	for p := range to {
		clear(to[p])
		copy(to[p], from[p])
	}
}

// measure follows how much of the echo is usually left.
func (e *Echo) measure(near, left, echo float64) {
	if echo < 1e-6*FrameSize || left > near/4 {
		return // no echo to speak of, or somebody else speaks
	}
	e.leak = math.Min(1, e.leak+0.1*(left/echo-e.leak))
	e.before = 0.98*e.before + 0.02*near
	e.after = 0.98*e.after + 0.02*left
}

// suppress holds down a rest that is no louder than what is usually left of
// such an echo.
func (e *Echo) suppress(heard Samples, left, echo float64) {
	const (
		margin = 6    // times the usual rest: somebody else speaks
		down   = 0.03 // 30 dB
	)
	to := 1.0
	if left < margin*e.leak*echo {
		to = down
	}
	from := e.gain
	for i := range heard {
		heard[i] *= float32(from + (to-from)*float64(i+1)/FrameSize)
	}
	e.gain = to
}

// Reduction is by how many decibels subtraction alone has lately taken the
// program's voice down, 0 before anything was learnt.
func (e *Echo) Reduction() Decibels {
	if e.before == 0 || e.after == 0 {
		return 0
	}
	return Decibels(10 * math.Log10(e.before/e.after))
}
