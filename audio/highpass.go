package audio

import "math"

// HighPass takes rumble out: a second-order Butterworth filter by the bilinear
// transform (R. Bristow-Johnson, Cookbook formulae for audio EQ biquad filter
// coefficients). Not safe for concurrent use.
type HighPass struct {
	b0, b1, b2, a1, a2 float64
	x1, x2, y1, y2     float64
}

// NewHighPass makes a filter with its -3 dB point at corner hertz, which must
// lie between 0 and half of [Rate].
func NewHighPass(corner float64) *HighPass {
	w := 2 * math.Pi * corner / Rate
	alpha := math.Sin(w) / math.Sqrt2
	cos := math.Cos(w)
	a0 := 1 + alpha
	return &HighPass{
		b0: (1 + cos) / 2 / a0, b1: -(1 + cos) / a0, b2: (1 + cos) / 2 / a0,
		a1: -2 * cos / a0, a2: (1 - alpha) / a0,
	}
}

// Filter filters s in place, going on from the call before.
func (h *HighPass) Filter(s Samples) {
	for i, v := range s {
		x := float64(v)
		y := h.b0*x + h.b1*h.x1 + h.b2*h.x2 - h.a1*h.y1 - h.a2*h.y2
		h.x2, h.x1, h.y2, h.y1 = h.x1, x, h.y1, y
		s[i] = float32(y)
	}
}
