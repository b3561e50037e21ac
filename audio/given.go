package audio

import "math"

// givenSeconds is how much of what was played waits for a reader that is late.
const givenSeconds = 4

// Given follows what a loudspeaker is given, at [Rate] and in step with the
// frames of a microphone: as many samples in as many. Nobody knows how long the
// sound takes to the microphone; that it always takes the same is enough for
// [Echo]. Not safe for concurrent use.
type Given struct {
	queue  *playQueue
	up     int // the device's rate is Rate*down/up
	down   int
	phases [][]float64 // filter for each of the up phases
	past   []float32   // the device's samples that are still in the filter
	frame  Samples
	begun  bool
	phase  int // of the next sample, between two of the device's, at the raised rate
	owed   int // device's samples that came too late and are to be skipped
}

// givenMargin is how much sound is kept back at the start, in parts of a
// second: callbacks of two devices do not come in turn.
const givenMargin = 20 // 50 ms

// givenReach is half the length of the filter in samples of the lower rate.
const givenReach = 12

func newGiven(q *playQueue) *Given {
	g := &Given{queue: q, frame: make(Samples, FrameSize)}
	d := gcd(q.rate, Rate)
	g.up, g.down = Rate/d, q.rate/d
	// A windowed sinc (Hann) at the raised rate, cut into phases.
	widest := max(g.up, g.down)
	half := givenReach * widest
	length := (2*half + g.up) / g.up
	g.phases = make([][]float64, g.up)
	for p := range g.phases {
		taps := make([]float64, length)
		var sum float64
		for k := range taps {
			x := float64(k*g.up+p-half) / float64(widest)
			if math.Abs(x) >= givenReach {
				continue
			}
			v := 1.0
			if x != 0 {
				v = math.Sin(math.Pi*x) / (math.Pi * x)
			}
			v *= 0.5 + 0.5*math.Cos(math.Pi*x/givenReach)
			taps[k] = v
			sum += v
		}
		for k := range taps {
			taps[k] /= sum
		}
		g.phases[p] = taps
	}
	g.past = make([]float32, length)
	q.heeds.Store(true)
	return g
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// Frame gives what was handed out in the time of the microphone's next frame,
// with the samples that the microphone lost before it. It is valid until the
// next call.
func (g *Given) Frame(lost int) Samples {
	need := (g.phase + FrameSize*g.down) / g.up
	margin := g.queue.rate / givenMargin
	waiting := g.queue.given.len()
	if !g.begun || waiting > margin+g.queue.rate {
		// At the start, and when one of the devices was away.
		if waiting < margin+need {
			clear(g.frame)
			return g.frame
		}
		g.begun, g.owed = true, 0
		g.skip(waiting - margin - need)
	} else {
		g.owed += lost * g.down / g.up
	}
	if g.owed > 0 {
		n := min(g.owed, g.queue.given.len())
		g.skip(n)
		g.owed -= n
	}
	if g.queue.given.len() < need {
		g.owed += need
		clear(g.frame)
		return g.frame
	}
	in := make([]float32, len(g.past)+need)
	copy(in, g.past)
	g.queue.given.read(in[len(g.past):])
	copy(g.past, in[need:])
	if Samples(in).Peak() == 0 {
		g.phase += FrameSize*g.down - need*g.up
		clear(g.frame)
		return g.frame // silence, most of the day
	}
	for n := range g.frame {
		at := g.phase + n*g.down // at the raised rate
		taps := g.phases[at%g.up]
		from := at/g.up + len(taps)
		var v float64
		for k, t := range taps {
			v += t * float64(in[from-k])
		}
		g.frame[n] = float32(v)
	}
	g.phase += FrameSize*g.down - need*g.up
	return g.frame
}

func (g *Given) skip(n int) {
	var scratch [1024]float32
	for n > 0 {
		k := g.queue.given.read(scratch[:min(n, len(scratch))])
		if k == 0 {
			return
		}
		n -= k
	}
}
