package audio

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Echo takes the program's own voice out of what the microphone hears. It is
// told what the loudspeaker was given, finds how much later that is heard,
// learns how loudspeaker, room and microphone change it, and subtracts what it
// expects: an adaptive filter in the frequency domain, of several partitions
// (Soo and Pang, Multidelay block frequency domain adaptive filter, IEEE Trans.
// ASSP 38, 1990). One filter learns all the time, another one cancels and takes
// over what was learnt only when that is better, so that a person who talks
// meanwhile spoils nothing (Ochiai, Araseki and Ogihara, Echo canceler with two
// echo path models, IEEE Trans. Commun. 25, 1977).
//
// A sound server that ran out of sound, or lost some, moves the echo from one
// moment to the next. Where it came to is found by correlation with what was
// expected, and what was learnt goes on from there.
//
// What is left of the echo is held down further while nothing louder than it
// is heard. Not safe for concurrent use.
type Echo struct {
	fft  *fourier.FFT
	live int // frames until the newest sound has left the filter; 0: nothing to do

	find, follow    *aligner  // of the delay at first, of its jumps
	given           []float64 // what the loudspeaker was given, up to now
	heard, expected []float64 // the microphone and the echo expected in it, up to now
	delay           int       // samples by which given is used later
	aligned         bool      // delay was found
	looked          int       // frames since the delay was looked at
	doubt           int       // another delay that was found once

	far                [][]complex128 // spectra of the delayed reference, newest first
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

const (
	// echoParts is the number of partitions of a frame: 10 are 320 ms, which
	// hold the walls of a workshop.
	echoParts = 10
	// echoLead is how much of the filter lies before the largest part of the
	// echo: 24 ms.
	echoLead = 3 * FrameSize / 4
	// jumpMost is the longest jump that what was learnt survives, 300 ms.
	jumpMost = 3 * Rate / 10
)

// NewEcho makes a canceller that has learnt nothing.
func NewEcho() *Echo {
	e := &Echo{
		fft: fourier.NewFFT(2 * FrameSize), find: newAligner(16*FrameSize, 0, longestDelay), follow: newAligner(8*FrameSize, -jumpMost, jumpMost), leak: 1, gain: 1,
		power: make([]float64, FrameSize+1), sum: make([]float64, 2*FrameSize),
		time: make([]float64, 2*FrameSize), error: make([]float64, FrameSize),
		spectrum: make([]complex128, FrameSize+1),
	}
	e.given = make([]float64, max(e.find.history(), longestDelay+e.find.window+(echoParts+1)*FrameSize))
	e.heard = make([]float64, e.find.window)
	e.expected = make([]float64, e.follow.history())
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
	sounds := given.Peak() > 1e-5
	if e.live == 0 && !sounds {
		return
	}
	if e.live == 0 {
		e.begin()
	}
	if sounds {
		e.live = longestDelay/FrameSize + echoParts + 1
	}
	e.live--
	push(e.given, given)
	push(e.heard, heard)
	e.shift()

	learner := append([]float64(nil), e.predict(e.learner)...)
	mine := e.predict(e.canceller)
	var echo, near, left, own float64 // powers: expected, heard, the canceller's and the learner's rest
	for i, v := range heard {
		d := float64(v)
		e.error[i] = d - learner[i]
		near += d * d
		own += e.error[i] * e.error[i]
		r := d - mine[i]
		left += r * r
		echo += mine[i] * mine[i]
	}
	if e.better <= e.near { // else the echo has moved, and to subtract would add
		for i := range heard {
			heard[i] -= float32(mine[i])
		}
	}
	copy(e.expected, e.expected[FrameSize:])
	copy(e.expected[len(e.expected)-FrameSize:], mine)
	e.learn()
	e.choose(near, left, own)
	e.measure(near, left, echo)
	e.suppress(heard, left, echo)
	e.realign()
}

// begin is the end of a silence, of which nothing was kept.
func (e *Echo) begin() {
	clear(e.given)
	clear(e.heard)
	clear(e.expected)
	for _, x := range e.far {
		clear(x)
	}
	e.near, e.better, e.learnt = 0, 0, 0
	e.gain, e.looked, e.doubt = 1, 0, -1
}

// push puts the next samples behind those of a history of fixed length.
func push(history []float64, s Samples) {
	copy(history, history[len(s):])
	tail := history[len(history)-len(s):]
	for i, v := range s {
		tail[i] = float64(v)
	}
}

// shift puts the next frame of the delayed reference in front of the others.
func (e *Echo) shift() {
	newest := e.far[echoParts-1]
	copy(e.far[1:], e.far[:echoParts-1])
	e.far[0] = newest
	e.transform(0)
}

// transform makes the spectrum of a partition of the delayed reference.
func (e *Echo) transform(part int) {
	e.fft.Coefficients(e.far[part], e.reference(part))
}

// reference is the delayed reference of a frame, and of the one before it, so
// many frames ago.
func (e *Echo) reference(age int) []float64 {
	end := len(e.given) - e.delay - age*FrameSize
	return e.given[end-2*FrameSize : end]
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
	}
}

func copyFilter(to, from [][]complex128) {
	for p := range to {
		clear(to[p])
		copy(to[p], from[p])
	}
}

// realign looks where the echo is when it is not where it is expected.
func (e *Echo) realign() {
	const (
		every = 4                // frames between two looks
		quiet = 1e-6 * FrameSize // power of a frame
		same  = 8                // samples within which two delays are the same
	)
	e.looked++
	if e.looked < every || e.near < quiet || e.aligned && e.better < e.near/4 {
		return
	}
	e.looked = 0
	if e.aligned {
		if jump, sure := e.follow.lag(e.heard, e.expected); sure {
			if jump != 0 {
				e.bringForward(-(e.delay + jump))
				e.moveTo(e.delay + jump)
			}
			return
		}
	}
	found, sure := e.find.lag(e.heard, e.given)
	if !sure {
		return
	}
	if !e.aligned || e.doubt >= 0 && found-e.doubt <= same && e.doubt-found <= same {
		to := max(0, found-echoLead)
		if d := to - e.delay; !e.aligned || d > echoLead/2 || d < -echoLead/2 {
			e.unlearn()
			e.moveTo(to)
			e.rehearse()
		}
		e.aligned = true
		return
	}
	e.doubt = found
}

// moveTo uses the reference with another delay; the filters stay.
func (e *Echo) moveTo(delay int) {
	e.delay, e.doubt = max(0, min(longestDelay, delay)), -1
	for p := range e.far {
		e.transform(p)
	}
	copyFilter(e.learner, e.canceller)
	clear(e.expected)
	e.better, e.learnt = e.near, e.near
}

// rehearse learns from the sound of the last half second several times over, so
// that little of a first reply is missed.
func (e *Echo) rehearse() {
	const times = 4
	frames := len(e.heard) / FrameSize
	far := e.far
	all := make([][]complex128, frames+echoParts-1)
	for age := range all {
		all[age] = e.fft.Coefficients(nil, e.reference(age))
	}
	for range times {
		for age := frames - 1; age >= 0; age-- {
			e.far = all[age : age+echoParts]
			heard := e.heard[len(e.heard)-(age+1)*FrameSize:]
			for i, v := range e.predict(e.learner) {
				e.error[i] = heard[i] - v
			}
			e.learn()
		}
	}
	e.far = far
	copyFilter(e.canceller, e.learner)
}

// bringForward makes what was learnt come earlier by so many samples, where the
// delay cannot: the reference ends now.
func (e *Echo) bringForward(samples int) {
	if samples <= 0 {
		return
	}
	taps := make([]float64, echoParts*FrameSize+samples)
	for p, w := range e.canceller {
		copy(taps[p*FrameSize:], e.fft.Sequence(nil, w)[:FrameSize])
	}
	for p, w := range e.canceller {
		clear(e.time)
		for i, v := range taps[p*FrameSize+samples : (p+1)*FrameSize+samples] {
			e.time[i] = v / (2 * FrameSize)
		}
		e.fft.Coefficients(w, e.time)
	}
}

// unlearn forgets the way of the sound.
func (e *Echo) unlearn() {
	for p := range e.canceller {
		clear(e.canceller[p])
	}
	e.leak = 1
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
