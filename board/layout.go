package board

import (
	"cmp"
	"math"
	"slices"
	"strconv"
)

// A drawing of a bolt layout fits into this size, in its own units, and is cut to
// what it shows; the browser scales it.
const (
	layoutWidth  = 600.0
	layoutHeight = 480.0
	layoutMargin = 1.8 // bolt radii between the outermost bolt's middle and the edge
	layoutMost   = 120 // bolts; beyond that a drawing tells nothing
)

// boltMark is how a bolt of a drawing stands: each mark has a shape of its own, so
// that no colour is needed to tell them apart.
type boltMark string

const (
	markWaiting boltMark = "waiting" // hollow
	markNext    boltMark = "next"    // hollow, dashed ring
	markCurrent boltMark = "current" // large, full, two rings
	markDone    boltMark = "done"    // full, with a tick
)

// drawnBolt is one bolt of a layout drawing, in drawing units.
type drawnBolt struct {
	Number   int
	Turn     int // place in the tightening order from 1; 0: not shown
	Mark     boltMark
	X, Y     num
	R        num // of the hexagon's corners
	Hex      string
	Type     num // type size of the number
	TurnX    num
	TurnY    num
	TurnR    num
	TurnType num
	Tick     string // polyline of the tick, "" none
	Ring     num
	Ring2    num
}

// layout is the drawing of a group's bolts.
type layout struct {
	Width, Height num
	Bolts         []drawnBolt
	Outline       string // the part's silhouette as polygon points
	OutlineWidth  num    // stroke that rounds and widens it
	Path          string // from the current bolt to the next
	Caption       string // how the drawing came to be, when not from positions
	Words         string // the drawing for a screen reader
	ShowTurns     bool
}

// num is a number of a drawing, printed short.
type num float64

func (n num) String() string {
	return strconv.FormatFloat(math.Round(float64(n)*10)/10, 'f', -1, 64)
}

// boltRun is the state of a tightening run that a drawing shows; the zero boltRun shows none.
type boltRun struct {
	done    map[int]bool
	current int
}

// drawLayout draws n bolts at positions (mm, y up as in a drawing) or, where they are
// not known, as a ring or two rows. order holds bolt numbers from 1. It
// returns nil when there is nothing sensible to draw.
func drawLayout(n int, positions [][2]float64, order []int, run boltRun) *layout {
	if usable(positions) && (n == 0 || len(positions) >= n || len(positions) >= len(order)) {
		n = len(positions)
	} else {
		positions = nil
		n = max(n, len(order))
	}
	if n < 1 || n > layoutMost {
		return nil
	}
	l := &layout{}
	flip := -1.0 // sheet coordinates count upward, the screen downward
	if positions == nil {
		flip = 1
		if n <= 24 {
			positions = ring(n)
			l.Caption = "Positions not in the sheet: drawn as a ring, number 1 at the top, clockwise."
		} else {
			positions = twoRows(n)
			l.Caption = "Positions not in the sheet: drawn as two rows, number 1 top left, clockwise."
		}
		if n == 1 {
			l.Caption = ""
		}
	}
	at, r, w, h := place(positions, flip)
	l.Width, l.Height = num(w), num(h)
	turns := make(map[int]int, len(order))
	same := true
	for i, b := range order {
		if _, twice := turns[b]; !twice {
			turns[b] = i + 1
		}
		same = same && b == i+1
	}
	l.ShowTurns = len(order) > 0 && !same
	l.Outline, l.OutlineWidth = silhouette(at), num(2*r*1.7)
	next := 0
	if run.done != nil || run.current > 0 {
		next = nextBolt(order, run)
	}
	var cx, cy float64
	for _, p := range at {
		cx, cy = cx+p[0]/float64(n), cy+p[1]/float64(n)
	}
	var done int
	for i, p := range at {
		b := drawnBolt{Number: i + 1, Mark: markWaiting, X: num(p[0]), Y: num(p[1]), R: num(r), Type: num(r * 1.05)}
		switch {
		case run.current == b.Number:
			b.Mark, b.R, b.Type = markCurrent, num(r*1.28), num(r*1.35)
		case run.done[b.Number]:
			b.Mark = markDone
			done++
		case next == b.Number:
			b.Mark = markNext
		}
		if b.Number > 99 {
			b.Type *= 0.75
		}
		b.Hex = hexagon(p[0], p[1], float64(b.R))
		b.Ring, b.Ring2 = b.R*1.2, b.R*1.42
		b.TurnR, b.TurnType = num(r*0.5), num(r*0.62)
		// The turn's tag sits on the outer side of its bolt, clear of the neighbours.
		dx, dy := p[0]-cx, p[1]-cy
		if d := math.Hypot(dx, dy); d > 1e-6 {
			dx, dy = dx/d, dy/d
		} else {
			dx, dy = 0.7, -0.7
		}
		b.TurnX, b.TurnY = num(p[0]+dx*float64(b.R)*1.25), num(p[1]+dy*float64(b.R)*1.25)
		if l.ShowTurns {
			b.Turn = turns[b.Number]
		}
		if b.Mark == markDone {
			tx, ty, s := p[0]-dx*r*0.95, p[1]-dy*r*0.95, r*0.3
			b.Tick = points([][2]float64{{tx - s, ty}, {tx - s*0.2, ty + s*0.8}, {tx + s, ty - s*0.9}})
		}
		l.Bolts = append(l.Bolts, b)
	}
	l.Path = walk(at, run, next)
	l.Words = layoutWords(n, done, run, next)
	return l
}

func layoutWords(n, done int, run boltRun, next int) string {
	s := strconv.Itoa(n) + " bolts"
	if n == 1 {
		s = "1 bolt"
	}
	if run.done == nil && run.current == 0 {
		return s
	}
	s += ", " + strconv.Itoa(done) + " done in this pass"
	if run.current > 0 {
		s += ", now number " + strconv.Itoa(run.current)
	}
	if next > 0 {
		s += ", then number " + strconv.Itoa(next)
	}
	return s
}

// usable says whether positions can be drawn: finite and of a size that a machine has.
func usable(positions [][2]float64) bool {
	for _, p := range positions {
		for _, c := range p {
			if math.IsNaN(c) || math.Abs(c) > 1e6 {
				return false
			}
		}
	}
	return len(positions) > 0
}

func ring(n int) [][2]float64 {
	if n == 1 {
		return [][2]float64{{0, 0}}
	}
	p := make([][2]float64, n)
	for i := range p {
		a := 2 * math.Pi * float64(i) / float64(n)
		p[i] = [2]float64{1.2 * math.Sin(a), -math.Cos(a)}
	}
	return p
}

func twoRows(n int) [][2]float64 {
	top := (n + 1) / 2
	p := make([][2]float64, n)
	for i := range p {
		if i < top {
			p[i] = [2]float64{float64(i), 0}
		} else {
			p[i] = [2]float64{float64(n - 1 - i), float64(top) * 0.45}
		}
	}
	return p
}

// place fits positions into the drawing, both axes to one scale, and gives
// the bolts' radius and the drawing's size in drawing units.
func place(p [][2]float64, flip float64) (at [][2]float64, r, width, height float64) {
	minX, maxX := math.Inf(1), math.Inf(-1)
	minY, maxY := math.Inf(1), math.Inf(-1)
	for _, q := range p {
		minX, maxX = math.Min(minX, q[0]), math.Max(maxX, q[0])
		minY, maxY = math.Min(minY, q[1]*flip), math.Max(maxY, q[1]*flip)
	}
	near := math.Inf(1)
	for i := range p {
		for j := range p[:i] {
			if d := math.Hypot(p[i][0]-p[j][0], p[i][1]-p[j][1]); d > 1e-9 {
				near = math.Min(near, d)
			}
		}
	}
	// The margin depends on the radius and the radius on the scale: three
	// rounds settle it.
	r = 40
	scale := 1.0
	for range 3 {
		margin := layoutMargin * r
		w, h := layoutWidth-2*margin, layoutHeight-2*margin
		scale = math.Inf(1)
		if maxX > minX {
			scale = w / (maxX - minX)
		}
		if maxY > minY {
			scale = math.Min(scale, h/(maxY-minY))
		}
		if math.IsInf(scale, 1) {
			scale = 1
		}
		r = 46
		if !math.IsInf(near, 1) {
			r = math.Min(r, near*scale*0.4)
		}
		r = math.Max(r, 9)
	}
	width, height = (maxX-minX)*scale+2*layoutMargin*r, (maxY-minY)*scale+2*layoutMargin*r
	at = make([][2]float64, len(p))
	for i, q := range p {
		at[i] = [2]float64{
			width/2 + (q[0]-(minX+maxX)/2)*scale,
			height/2 + (q[1]*flip-(minY+maxY)/2)*scale,
		}
	}
	return at, r, width, height
}

// nextBolt is the bolt after the current one that is not done, 0 none.
func nextBolt(order []int, run boltRun) int {
	seen := run.current == 0
	for _, b := range order {
		if b == run.current {
			seen = true
		} else if seen && !run.done[b] {
			return b
		}
	}
	return 0
}

// walk is the way of the wrench from the current bolt to the next.
func walk(at [][2]float64, run boltRun, next int) string {
	if run.current < 1 || run.current > len(at) || next < 1 || next > len(at) {
		return ""
	}
	return points([][2]float64{at[run.current-1], at[next-1]})
}

func hexagon(x, y, r float64) string {
	p := make([][2]float64, 6)
	for i := range p {
		a := math.Pi / 3 * float64(i)
		p[i] = [2]float64{x + r*math.Cos(a), y + r*math.Sin(a)}
	}
	return points(p)
}

func points(p [][2]float64) string {
	var b []byte
	for i, q := range p {
		if i > 0 {
			b = append(b, ' ')
		}
		b = append(b, num(q[0]).String()...)
		b = append(b, ',')
		b = append(b, num(q[1]).String()...)
	}
	return string(b)
}

// silhouette is the convex hull of the bolts (Andrew's monotone chain), the
// part's shape as far as its bolts tell it.
func silhouette(p [][2]float64) string {
	s := append([][2]float64(nil), p...)
	slices.SortFunc(s, func(a, b [2]float64) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	cross := func(o, a, b [2]float64) float64 {
		return (a[0]-o[0])*(b[1]-o[1]) - (a[1]-o[1])*(b[0]-o[0])
	}
	var hull [][2]float64
	for range 2 {
		floor := len(hull)
		for _, q := range s {
			for len(hull)-floor >= 2 && cross(hull[len(hull)-2], hull[len(hull)-1], q) <= 0 {
				hull = hull[:len(hull)-1]
			}
			hull = append(hull, q)
		}
		hull = hull[:len(hull)-1]
		for i, j := 0, len(s)-1; i < j; i, j = i+1, j-1 {
			s[i], s[j] = s[j], s[i]
		}
	}
	if len(hull) == 0 {
		hull = s[:1]
	}
	return points(hull)
}
