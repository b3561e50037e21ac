package audiotest

import (
	"context"
	"math"
	"math/rand/v2"
	"sync"
	"time"

	"gonum.org/v1/gonum/dsp/fourier"

	"putback/audio"
)

// Response is the sound of a clap in a room: the clap itself, then walls that
// have faded by 60 dB after decay, as noise of a fixed seed. The walls together
// carry as much power as the clap, as about two metres from a loudspeaker
// (common practice, no source).
func Response(decay time.Duration) audio.Samples {
	random := rand.New(rand.NewPCG(7, 11))
	out := make(audio.Samples, audio.Count(decay))
	out[0] = 1
	var power float64
	const first = audio.Rate / 500 // 2 ms until the nearest wall
	for i := first; i < len(out); i++ {
		v := random.NormFloat64() * math.Pow(10, -3*float64(i)/float64(len(out)))
		power += v * v
		out[i] = float32(v)
	}
	for i := first; i < len(out); i++ {
		out[i] /= float32(math.Sqrt(power))
	}
	return out
}

// Walls lets the microphone hear the loudspeaker from now on as in a room that
// answers a clap with response, weaker by loss decibels. The way through this
// process takes some 150 ms; what a busy computer would make later still is lost.
func (r *Room) Walls(loss float64, response audio.Samples) {
	r.t.Helper()
	from, err := audio.OpenMicrophone(audio.MicrophoneConfig{Device: "Monitor of " + Loudspeaker})
	if err != nil {
		r.t.Fatal(err)
	}
	to, err := audio.OpenLoudspeaker(audio.LoudspeakerConfig{Device: micName})
	if err != nil {
		r.t.Fatal(err)
	}
	walls := Walls(loss, response)
	ctx, cancel := context.WithCancel(context.Background())
	var over sync.WaitGroup
	over.Go(func() {
		for {
			f, err := from.Next(ctx)
			if err != nil {
				return
			}
			walls(f.Samples)
			if to.Waiting() > 100*time.Millisecond {
				continue
			}
			if to.Play(ctx, f.Samples) != nil {
				return
			}
		}
	})
	r.t.Cleanup(func() {
		cancel()
		over.Wait()
		from.Close()
		to.Close()
	})
}

// Walls gives a filter that turns a stream, frame by frame and in place, into
// what comes back of it in a room that answers a clap with response, weaker by
// loss decibels.
func Walls(loss float64, response audio.Samples) func(audio.Samples) {
	weaker := make(audio.Samples, len(response))
	for i, v := range response {
		weaker[i] = v * float32(math.Pow(10, -loss/20))
	}
	return newConvolver(weaker).next
}

// convolverBlock is the samples of one step.
const convolverBlock = audio.FrameSize

// convolver filters a stream block by block, by overlap-save with the response
// cut into partitions of a block.
type convolver struct {
	fft   *fourier.FFT
	parts [][]complex128 // of the response
	past  [][]complex128 // of the stream, newest first
	time  []float64      // the last two blocks
	sum   []complex128
}

func newConvolver(response audio.Samples) *convolver {
	const n = convolverBlock
	c := &convolver{fft: fourier.NewFFT(2 * n), time: make([]float64, 2*n), sum: make([]complex128, n+1)}
	for at := 0; at < len(response); at += n {
		part := make([]float64, 2*n)
		for i, v := range response[at:min(at+n, len(response))] {
			part[i] = float64(v)
		}
		c.parts = append(c.parts, c.fft.Coefficients(nil, part))
		c.past = append(c.past, make([]complex128, n+1))
	}
	return c
}

// next filters the next block in place.
func (c *convolver) next(s audio.Samples) {
	const n = convolverBlock
	copy(c.time, c.time[n:])
	for i, v := range s {
		c.time[n+i] = float64(v)
	}
	newest := c.past[len(c.past)-1]
	copy(c.past[1:], c.past)
	c.past[0] = c.fft.Coefficients(newest, c.time)
	clear(c.sum)
	for p, part := range c.parts {
		for k, x := range c.past[p] {
			c.sum[k] += x * part[k]
		}
	}
	out := c.fft.Sequence(nil, c.sum)
	for i := range s {
		s[i] = float32(out[n+i] / (2 * n))
	}
}
