package board

import (
	"strconv"
	"strings"

	"putback/jobs"
)

// slotsMost is the largest group drawn fastener by fastener; a bigger one is drawn as a bar.
const slotsMost = 30

// The drawing units of the ledger.
const (
	slotPitch  = 24.0
	slotsInRow = 15
	barWidth   = slotPitch * slotsInRow
)

// slotKind is the state of one fastener; each has a shape of its own.
type slotKind string

const (
	slotTorqued   slotKind = "torqued" // full hexagon with a tick
	slotFelt      slotKind = "felt"    // full hexagon: tightened by feel
	slotBack      slotKind = "back"    // lower half full: in, not yet tightened
	slotOut       slotKind = "out"     // empty hexagon, the silhouette of what is missing
	slotLoose     slotKind = "loose"   // empty hexagon with a dot
	slotDiscarded slotKind = "discarded"
	slotUntouched slotKind = "untouched" // a small dot: never loosened
)

// slotWords are the states in words, in the order they are drawn.
var slotWords = []struct {
	kind  slotKind
	words string
}{
	{slotTorqued, "torqued"},
	{slotFelt, "by feel"},
	{slotBack, "in, not tight"},
	{slotLoose, "loose"},
	{slotOut, "out"},
	{slotDiscarded, "thrown away"},
	{slotUntouched, "not touched"},
}

// slot is one fastener of a ledger drawing.
type slot struct {
	Kind slotKind
	X, Y num
	Hex  string
	Half string
	Tick string
}

// stretch is a run of equal fasteners in the bar of a large group.
type stretch struct {
	Kind slotKind
	X, W num
}

// ledger is the drawing of one group: what is in, what is out.
type ledger struct {
	Width, Height num
	Slots         []slot
	Bar           []stretch
	Words         string // "8 out, 2 torqued"
}

// count is how many fasteners of a group stand in one state.
type count struct {
	kind  slotKind
	n     int
	words string
}

// tally counts a group's fasteners by state. A ledger that does not add up (it never
// should) is shown as it is, without negative numbers.
func tally(g jobs.GroupView) []count {
	whole := max(g.Count, g.Removed)
	in := max(g.Refitted+g.Renewed, 0)
	torqued := max(g.Torqued, 0)
	felt := max(g.ByFeel, 0)
	by := map[slotKind]int{
		slotTorqued:   torqued,
		slotFelt:      felt,
		slotBack:      max(in-torqued-felt, 0),
		slotOut:       max(g.Out, 0),
		slotLoose:     max(g.Loose, 0),
		slotDiscarded: max(g.Discarded, 0),
	}
	seen := 0
	for _, n := range by {
		seen += n
	}
	by[slotUntouched] = max(whole-seen, 0)
	var c []count
	for _, s := range slotWords {
		if n := by[s.kind]; n > 0 {
			c = append(c, count{s.kind, n, s.words})
		}
	}
	return c
}

// drawLedger draws a group's ledger, nil for an empty group.
func drawLedger(g jobs.GroupView) *ledger {
	counts := tally(g)
	total := 0
	var words []string
	for _, c := range counts {
		total += c.n
		words = append(words, strconv.Itoa(c.n)+" "+c.words)
	}
	if total == 0 {
		return nil
	}
	l := &ledger{Words: strings.Join(words, ", ")}
	if total > slotsMost {
		l.Width, l.Height = barWidth, slotPitch
		x := 0.0
		for _, c := range counts {
			w := barWidth * float64(c.n) / float64(total)
			l.Bar = append(l.Bar, stretch{c.kind, num(x), num(w)})
			x += w
		}
		return l
	}
	rows := (total + slotsInRow - 1) / slotsInRow
	l.Width, l.Height = num(slotPitch*float64(min(total, slotsInRow))), num(slotPitch*float64(rows))
	i := 0
	for _, c := range counts {
		for range c.n {
			x := slotPitch * (float64(i%slotsInRow) + 0.5)
			y := slotPitch * (float64(i/slotsInRow) + 0.5)
			l.Slots = append(l.Slots, drawSlot(c.kind, x, y))
			i++
		}
	}
	return l
}

func drawSlot(k slotKind, x, y float64) slot {
	const r = 10.0
	s := slot{Kind: k, X: num(x), Y: num(y), Hex: hexagon(x, y, r)}
	switch k {
	case slotBack:
		s.Half = points([][2]float64{{x - r, y}, {x + r, y}, {x + r/2, y + r*0.866}, {x - r/2, y + r*0.866}})
	case slotTorqued:
		s.Tick = points([][2]float64{{x - 4.5, y}, {x - 1, y + 4}, {x + 5, y - 4}})
	case slotDiscarded:
		s.Tick = points([][2]float64{{x - 5, y - 5}, {x + 5, y + 5}, {x, y}, {x + 5, y - 5}, {x - 5, y + 5}})
	}
	return s
}
