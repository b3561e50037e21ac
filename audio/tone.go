package audio

import (
	"math"
	"time"
)

// Tone is one of the program's own short signals.
type Tone int

// The tones. Rising says go on, falling says not understood.
const (
	// ToneHeard: two short notes, rising: the call word was heard.
	ToneHeard Tone = iota
	// ToneMissed: two notes, falling: addressed, not understood.
	ToneMissed
	// ToneAttention: three equal notes: something comes by itself.
	ToneAttention
)

// Sound gives the tone's samples: at most 0.4 s, peak 0.3, every note faded in
// and out over 8 ms.
func (t Tone) Sound() Samples {
	type note struct {
		hertz  float64
		length time.Duration
	}
	var notes []note
	switch t {
	case ToneHeard:
		notes = []note{{660, 55 * time.Millisecond}, {990, 70 * time.Millisecond}}
	case ToneMissed:
		notes = []note{{520, 90 * time.Millisecond}, {350, 130 * time.Millisecond}}
	case ToneAttention:
		notes = []note{{880, 70 * time.Millisecond}, {0, 45 * time.Millisecond}, {880, 70 * time.Millisecond}, {0, 45 * time.Millisecond}, {880, 110 * time.Millisecond}}
	}
	var out Samples
	for _, n := range notes {
		k := Count(n.length)
		fade := float64(Count(8 * time.Millisecond))
		for i := range k {
			edge := min(1, float64(i)/fade, float64(k-1-i)/fade)
			out = append(out, float32(0.29*edge*math.Sin(2*math.Pi*n.hertz*float64(i)/Rate)))
		}
	}
	return out
}
