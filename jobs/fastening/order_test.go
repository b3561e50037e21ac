package fastening

import (
	"math"
	"sort"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// ASME PCC-1 as quoted in public texts; 5, 6, 10 and 20 from memory.
func TestCrossPatternsArePublishedOnes(t *testing.T) {
	for n, want := range map[int][]int{
		4:  {1, 3, 2, 4},
		5:  {1, 3, 5, 2, 4},
		6:  {1, 4, 2, 5, 3, 6},
		8:  {1, 5, 3, 7, 2, 6, 4, 8},
		10: {1, 6, 3, 8, 5, 10, 2, 7, 4, 9},
		12: {1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12},
		16: {1, 9, 5, 13, 3, 11, 7, 15, 2, 10, 6, 14, 4, 12, 8, 16},
		20: {1, 11, 6, 16, 3, 13, 8, 18, 5, 15, 10, 20, 2, 12, 7, 17, 4, 14, 9, 19},
		24: {1, 13, 7, 19, 4, 16, 10, 22, 2, 14, 8, 20, 5, 17, 11, 23, 3, 15, 9, 21, 6, 18, 12, 24},
	} {
		o, err := Cross(n)
		require.NoError(t, err)
		require.Equal(t, want, o.Sequence, "%d bolts", n)
		require.True(t, o.Fallback)
	}
}

// Independent of the generator: the patterns of 4, 8 and 16 are bit reversals.
func TestPowersOfTwoAreBitReversals(t *testing.T) {
	for n, bits := range map[int]int{4: 2, 8: 3, 16: 4} {
		o, err := Cross(n)
		require.NoError(t, err)
		for i, b := range o.Sequence {
			rev := 0
			for k := range bits {
				rev |= i >> k & 1 << (bits - 1 - k)
			}
			require.Equal(t, rev+1, b, "%d bolts, step %d", n, i+1)
		}
	}
}

func requirePermutation(t require.TestingT, seq []int, n int) {
	require.Len(t, seq, n)
	s := append([]int(nil), seq...)
	sort.Ints(s)
	for i, b := range s {
		require.Equal(t, i+1, b, "every bolt once: %v", seq)
	}
}

func TestCrossPatternsOfAnySizeKeepTheirProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, maxBolts).Draw(t, "bolts")
		o, err := Cross(n)
		require.NoError(t, err)
		requirePermutation(t, o.Sequence, n)
		around := func(a, b int) int { d := (a - b + n) % n; return min(d, n-d) }
		if n > 1 {
			require.Equal(t, n/2, around(o.Sequence[0], o.Sequence[1]), "the second step is opposite the first")
		}
		if n%4 == 0 && n >= 8 {
			for g := 0; g < n; g += 4 {
				for i := g; i < g+4; i++ {
					for j := g; j < i; j++ {
						require.Greater(t, around(o.Sequence[i], o.Sequence[j]), 1, "no neighbours within a group of four")
					}
				}
			}
		}
		requirePermutation(t, o.Loosening(), n)
		require.Equal(t, o.Sequence[0], o.Loosening()[n-1])
	})
	for _, n := range []int{0, -3, maxBolts + 1} {
		_, err := Cross(n)
		require.Error(t, err)
	}
	require.Equal(t, []int{1, 2, 3}, Circular(3))
}

func TestCoversAreTightenedFromTheMiddleOutward(t *testing.T) {
	// a long pan: two rows of six
	var pan []Point
	for i := range 6 {
		pan = append(pan, Point{float64(i) * 50, 0})
	}
	for i := range 6 {
		pan = append(pan, Point{float64(i) * 50, 100})
	}
	o, err := CentreOut(pan)
	require.NoError(t, err)
	requirePermutation(t, o.Sequence, 12)
	require.ElementsMatch(t, []int{3, 4, 9, 10}, o.Sequence[:4], "the four in the middle first")
	require.ElementsMatch(t, []int{1, 6, 7, 12}, o.Sequence[8:], "the corners last")
	first, second := pan[o.Sequence[0]-1], pan[o.Sequence[1]-1]
	require.NotEqual(t, first.Y, second.Y, "the second is across from the first")
	require.ElementsMatch(t, []int{1, 6, 7, 12}, o.Loosening()[:4], "loosened from the outside in")
}

func TestASpiralRunsOutwardClockwise(t *testing.T) {
	// eight on a small square ring, eight on a large one
	var at []Point
	for _, r := range []float64{30, 100} {
		for i := range 8 {
			a := float64(i) * math.Pi / 4
			at = append(at, Point{r * math.Cos(a), r * math.Sin(a)})
		}
	}
	o, err := Spiral(at)
	require.NoError(t, err)
	requirePermutation(t, o.Sequence, 16)
	inner := o.Sequence[:8]
	for i := 1; i < len(inner); i++ {
		require.Equal(t, (inner[i-1]+6)%8+1, inner[i], "one step clockwise: %v", inner)
	}
	for _, b := range o.Sequence[8:] {
		require.Greater(t, b, 8, "the outer ring after the inner one")
	}
}

func TestARingGetsTheCrossPattern(t *testing.T) {
	// eight in a ring, clockwise on the page (y up), given from the top
	var at []Point
	for i := range 8 {
		a := math.Pi/2 - float64(i)*math.Pi/4
		at = append(at, Point{200 + 60*math.Cos(a), -40 + 60*math.Sin(a)})
	}
	o, err := CentreOut(at)
	require.NoError(t, err)
	require.Equal(t, []int{1, 5, 3, 7, 2, 6, 4, 8}, o.Sequence)
	require.Equal(t, "cross", o.Pattern)
}

func TestLayoutsOfAnyShapeAreOrderedWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "bolts")
		seen := map[Point]bool{}
		var at []Point
		for len(at) < n {
			p := Point{float64(rapid.IntRange(0, 60).Draw(t, "x")) * 10, float64(rapid.IntRange(0, 60).Draw(t, "y")) * 10}
			if !seen[p] {
				seen[p] = true
				at = append(at, p)
			}
		}
		for _, order := range []func([]Point) (Order, error){CentreOut, Spiral} {
			o, err := order(at)
			require.NoError(t, err)
			requirePermutation(t, o.Sequence, n)
			again, err := order(at)
			require.NoError(t, err)
			require.Equal(t, o, again, "the same layout gives the same order")
			f, err := newFace(at)
			require.NoError(t, err)
			if o.Pattern != "cross" {
				for i := 1; i < n; i++ {
					require.Greater(t, f.reach[o.Sequence[i]-1], f.reach[o.Sequence[i-1]-1]-0.16, "never far back inward")
				}
			}
		}
	})
}

func TestImpossibleLayoutsAreRefused(t *testing.T) {
	for _, at := range [][]Point{nil, {{0, 0}, {0, 0}}, {{math.NaN(), 0}}, {{math.Inf(1), 0}}} {
		_, err := CentreOut(at)
		require.Error(t, err)
		_, err = Spiral(at)
		require.Error(t, err)
	}
}

func TestAPrintedOrderIsTakenAsItIs(t *testing.T) {
	o, err := PrintedOrder([]int{2, 1, 3}, 3)
	require.NoError(t, err)
	require.Equal(t, []int{2, 1, 3}, o.Sequence)
	require.False(t, o.Fallback)
	require.Equal(t, []int{3, 1, 2}, o.Loosening())
	for _, c := range []struct {
		seq  []int
		want string
	}{{[]int{1, 2}, "3 is missing"}, {[]int{1, 1, 2}, "1 stands in it twice"}, {[]int{1, 2, 4}, "bolt 4"}, {[]int{0, 1, 2}, "bolt 0"}} {
		_, err := PrintedOrder(c.seq, 3)
		require.ErrorContains(t, err, c.want)
	}
}

func BenchmarkCentreOut(b *testing.B) {
	var at []Point
	for i := range 40 {
		at = append(at, Point{float64(i%8) * 37, float64(i/8) * 41})
	}
	for b.Loop() {
		if _, err := CentreOut(at); err != nil {
			b.Fatal(err)
		}
	}
}
