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

	owed   int // device's samples for which silence was given
	waited int // frames since
	least  int // fewest samples that waited behind a frame lately,
	fewest int // and since the last count
	frames int // of this count
}

// Callbacks of two devices do not come in turn, so some sound is kept back; in
// parts of a second. What a device is given is heard at the earliest two periods
// later, so this much is never too late.
const (
	givenMargin = 25 // 40 ms, at the start
	givenEnough = 20 // 50 ms, when callbacks have come late
	givenMost   = 3  // 333 ms; more than that waits only when a device was away
)

// givenPatience is how long a loudspeaker may be late, in frames, a second.
const givenPatience = 32

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
//
// Silence stands for what the loudspeaker has not asked for yet. When it asks
// for it late, that much is left out; when it does not, it has run dry and
// played silence, and everything later is later by as much.
func (g *Given) Frame(lost int) Samples {
	need := (g.phase + FrameSize*g.down) / g.up
	if g.begun {
		g.skip(min(lost*g.down/g.up, g.queue.given.len()))
	}
	if waiting := g.queue.given.len(); !g.begun || waiting > g.queue.rate/givenMost+need {
		margin := g.queue.rate / givenMargin
		if waiting < margin+need {
			clear(g.frame)
			return g.frame
		}
		g.skip(waiting - margin - need)
		g.begun, g.owed = true, 0
		g.least, g.fewest, g.frames = margin, math.MaxInt, 0
	}
	g.settle(need)
	if g.queue.given.len() < need {
		g.owed, g.waited = g.owed+need, 0
		clear(g.frame)
		return g.frame
	}
	g.count(g.queue.given.len() - need)
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

// settle leaves out what came late, as soon as as much waits again as before.
// While little is kept back it is added to that instead.
func (g *Given) settle(need int) {
	if g.owed == 0 {
		return
	}
	if g.least < g.queue.rate/givenEnough {
		g.least, g.owed = g.least+g.owed, 0
		g.fewest, g.frames = math.MaxInt, 0
		return
	}
	if g.queue.given.len()-need-g.owed >= g.least {
		g.skip(g.owed)
		g.owed = 0
	}
	if g.waited++; g.waited > givenPatience {
		g.owed, g.least = 0, 0
	}
}

// count follows the fewest samples that waited in the last second or two.
func (g *Given) count(waiting int) {
	g.fewest = min(g.fewest, waiting)
	if g.frames++; g.frames == givenPatience {
		g.least, g.fewest, g.frames = g.fewest, math.MaxInt, 0
	}
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
