package fastening

import (
	"fmt"
	"math"
	"sort"
)

// Order is a sequence of bolts, numbered from 1, and where it comes from.
type Order struct {
	Sequence []int
	Pattern  string // "printed", "cross", "centre-out", "spiral"
	From     string // for the ear and the report: "printed in your manual", "fallback: cross pattern"
	Fallback bool   // generated: a sequence printed for the machine beats it
	Source   string
}

// maxBolts bounds patterns against slips of the tongue.
const maxBolts = 1000

// Cross is the cross pattern for n bolts in a ring, numbered clockwise from 1:
// each bolt is followed by the one opposite, then the pair a quarter round. For
// 4, 5, 6, 8, 10, 12, 16, 20 and 24 it gives the published sequences (ASME
// PCC-1 as quoted in public texts; 20 and the odd ones from memory); the rule
// behind them is continued to any n. The error is for n under 1 or over 1000.
func Cross(n int) (Order, error) {
	if n < 1 || n > maxBolts {
		return Order{}, fmt.Errorf("pattern for %d bolts: between 1 and %d are possible", n, maxBolts)
	}
	o := Order{Pattern: "cross", From: "fallback: cross pattern", Fallback: true, Source: srcPCC1}
	if n%2 == 1 {
		step := max(1, (n-1)/2) // the most opposite there is; never shares a factor with n
		for i := range n {
			o.Sequence = append(o.Sequence, i*step%n+1)
		}
		return o, nil
	}
	spokes, turn := n/2, []int{0, n / 2}
	if n%4 == 0 {
		spokes, turn = n/4, []int{0, n / 2, n / 4, 3 * n / 4}
	}
	for _, s := range starts(spokes) {
		for _, t := range turn {
			o.Sequence = append(o.Sequence, s+t+1)
		}
	}
	return o, nil
}

// starts spreads the groups: halves interleaved for an even count, every
// second for an odd one, so that groups that follow one another lie apart.
func starts(k int) []int {
	var out []int
	switch {
	case k <= 3:
		for i := range k {
			out = append(out, i)
		}
	case k%2 == 0:
		for i := range k / 2 {
			out = append(out, i, i+k/2)
		}
	default:
		for i := range k {
			out = append(out, 2*i%k)
		}
	}
	return out
}

// Circular is the last pass: once round at full torque.
func Circular(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i + 1
	}
	return out
}

// Point is a bolt's place on a cover, mm.
type Point struct{ X, Y float64 }

// CentreOut orders the bolts of a cover, pan or head from the middle outward,
// changing sides between bolts about equally far out, so that a long pan is
// worked from its middle to its ends. Bolts in a ring get the cross pattern instead. The error
// is for no, too many, coinciding or unusable positions.
func CentreOut(at []Point) (Order, error) {
	f, err := newFace(at)
	if err != nil {
		return Order{}, err
	}
	if seq, ok := f.ring(); ok {
		return Order{Sequence: seq, Pattern: "cross", From: "fallback: cross pattern, the bolts stand in a ring", Fallback: true, Source: srcPCC1}, nil
	}
	o := Order{Pattern: "centre-out", From: "fallback: centre outward", Fallback: true, Source: srcPractice}
	left := f.byReach()
	last := -1
	for len(left) > 0 {
		// of those about as near to the centre as the nearest, the one farthest from the last
		pick, far := 0, -1.0
		for i, b := range left {
			if f.reach[b] > f.reach[left[0]]+0.08 {
				break
			}
			d := 0.0
			if last >= 0 {
				d = math.Hypot(f.at[b].X-f.at[last].X, f.at[b].Y-f.at[last].Y)
			}
			if d > far+1e-9 {
				pick, far = i, d
			}
		}
		last = left[pick]
		o.Sequence = append(o.Sequence, last+1)
		left = append(left[:pick], left[pick+1:]...)
	}
	return o, nil
}

// Spiral orders the bolts of a cover in a spiral from the middle outward,
// clockwise as seen (y upward). Errors as [CentreOut].
func Spiral(at []Point) (Order, error) {
	f, err := newFace(at)
	if err != nil {
		return Order{}, err
	}
	o := Order{Pattern: "spiral", From: "fallback: spiral from the centre", Fallback: true, Source: srcPractice}
	left := f.byReach()
	turned := math.Pi // the spiral starts on the left and runs clockwise
	for len(left) > 0 {
		n := 1
		for n < len(left) && f.reach[left[n]] <= f.reach[left[0]]+0.15 {
			n++
		}
		lap := append([]int(nil), left[:n]...)
		left = left[n:]
		start := turned
		sort.SliceStable(lap, func(i, j int) bool { return f.behind(start, lap[i]) < f.behind(start, lap[j]) })
		for _, b := range lap {
			o.Sequence = append(o.Sequence, b+1)
			turned = f.angle[b]
		}
	}
	return o, nil
}

// Loosening is the order to slacken: the tightening order backwards, so that a
// cover is freed from the outside in.
func (o Order) Loosening() []int {
	out := make([]int, len(o.Sequence))
	for i, b := range o.Sequence {
		out[len(out)-1-i] = b
	}
	return out
}

// PrintedOrder makes an order of a sequence from the manual, which beats every
// generated one. The error names a number that is missing, doubled or out of range.
func PrintedOrder(sequence []int, count int) (Order, error) {
	seen := make([]bool, count+1)
	for _, b := range sequence {
		if b < 1 || b > count {
			return Order{}, fmt.Errorf("printed order: bolt %d, but the group has bolts 1 to %d", b, count)
		}
		if seen[b] {
			return Order{}, fmt.Errorf("printed order: bolt %d stands in it twice", b)
		}
		seen[b] = true
	}
	for b := 1; b <= count; b++ {
		if !seen[b] {
			return Order{}, fmt.Errorf("printed order: bolt %d is missing", b)
		}
	}
	return Order{Sequence: append([]int(nil), sequence...), Pattern: "printed", From: "printed in your manual", Source: "the user's manual"}, nil
}

// face is a cover with its bolts measured from the middle.
type face struct {
	at           []Point
	reach, angle []float64 // reach: 0 in the middle, about 1 at the rim
	middle       Point
}

func newFace(at []Point) (*face, error) {
	if len(at) == 0 || len(at) > maxBolts {
		return nil, fmt.Errorf("order of bolts: %d positions given, between 1 and %d are possible", len(at), maxBolts)
	}
	low, high := at[0], at[0]
	for i, p := range at {
		if math.IsNaN(p.X+p.Y) || math.Abs(p.X) > 1e6 || math.Abs(p.Y) > 1e6 {
			return nil, fmt.Errorf("order of bolts: position %d (%g, %g) is not on this machine", i+1, p.X, p.Y)
		}
		for j := range i {
			if math.Hypot(p.X-at[j].X, p.Y-at[j].Y) < 1e-6 {
				return nil, fmt.Errorf("order of bolts: %d and %d stand in the same place", j+1, i+1)
			}
		}
		low, high = Point{min(low.X, p.X), min(low.Y, p.Y)}, Point{max(high.X, p.X), max(high.Y, p.Y)}
	}
	f := &face{at: at, middle: Point{(low.X + high.X) / 2, (low.Y + high.Y) / 2}}
	halfX, halfY := (high.X-low.X)/2, (high.Y-low.Y)/2
	size := math.Max(halfX, halfY)
	if size == 0 {
		size = 1
	}
	for _, p := range at {
		dx, dy := p.X-f.middle.X, p.Y-f.middle.Y
		f.reach = append(f.reach, math.Hypot(dx, dy)/size)
		f.angle = append(f.angle, math.Atan2(dy, dx))
	}
	return f, nil
}

// byReach lists the bolts from the middle outward.
func (f *face) byReach() []int {
	out := make([]int, len(f.at))
	for i := range out {
		out[i] = i
	}
	sort.SliceStable(out, func(i, j int) bool { return f.reach[out[i]] < f.reach[out[j]] })
	return out
}

// behind is how far clockwise from an angle bolt b stands, 0 up to a full turn.
func (f *face) behind(from float64, b int) float64 {
	d := math.Mod(from-f.angle[b], 2*math.Pi)
	if d < -1e-9 {
		d += 2 * math.Pi
	}
	return d
}

// ring gives the cross pattern over the places of the bolts, when they stand
// in a ring with even gaps. Bolt 1 of the pattern is the first of the list.
func (f *face) ring() ([]int, bool) {
	n := len(f.at)
	if n < 3 {
		return nil, false
	}
	var centre Point
	for _, p := range f.at {
		centre.X += p.X / float64(n)
		centre.Y += p.Y / float64(n)
	}
	type place struct {
		bolt  int
		angle float64
	}
	var ps []place
	var least, most float64
	for i, p := range f.at {
		r := math.Hypot(p.X-centre.X, p.Y-centre.Y)
		if i == 0 {
			least, most = r, r
		}
		least, most = math.Min(least, r), math.Max(most, r)
		ps = append(ps, place{i, math.Atan2(p.Y-centre.Y, p.X-centre.X)})
	}
	if least < 0.9*most {
		return nil, false
	}
	start := ps[0].angle
	clockwise := func(a float64) float64 {
		d := math.Mod(start-a+4*math.Pi, 2*math.Pi)
		if 2*math.Pi-d < 1e-9 {
			return 0
		}
		return d
	}
	sort.SliceStable(ps, func(i, j int) bool { return clockwise(ps[i].angle) < clockwise(ps[j].angle) })
	even := 2 * math.Pi / float64(n)
	for i, p := range ps {
		if math.Abs(clockwise(p.angle)-float64(i)*even) > 0.3*even {
			return nil, false
		}
	}
	o, err := Cross(n)
	if err != nil {
		return nil, false
	}
	out := make([]int, n)
	for i, b := range o.Sequence {
		out[i] = ps[b-1].bolt + 1
	}
	return out, true
}
