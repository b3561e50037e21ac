package measure

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Given tells whether q was given: the zero Quantity was not.
func (q Quantity) Given() bool { return q.Unit != Unit{} }

// SI is the amount in the SI unit of q's dimension (N·m, m, m³, Pa, K, rad,
// kg, s, N). An unknown unit gives NaN.
func (q Quantity) SI() float64 {
	r, ok := bySymbol[q.Unit.Symbol]
	if !ok {
		return math.NaN()
	}
	return q.Amount*r.scale + r.offset
}

// In is q in another unit of the same dimension; Said is kept, so the figure
// remembers how it was given. The error names both dimensions.
func (q Quantity) In(u Unit) (Quantity, error) {
	if q.Unit == u {
		return q, nil
	}
	from, ok := bySymbol[q.Unit.Symbol]
	to, ok2 := bySymbol[u.Symbol]
	if !ok || !ok2 {
		return Quantity{}, fmt.Errorf("convert %s to %q: unknown unit", q, u.Symbol)
	}
	if from.dim != to.dim {
		return Quantity{}, fmt.Errorf("convert %s to %s: one is %s, the other %s", q, u, dimensionWords(from.dim), dimensionWords(to.dim))
	}
	out := q
	out.Unit = u
	out.Tolerance = q.Tolerance * from.scale / to.scale
	switch {
	case from.unit == Celsius && to.unit == Fahrenheit:
		out.Amount = q.Amount*9/5 + 32
	case from.unit == Fahrenheit && to.unit == Celsius:
		out.Amount = (q.Amount - 32) * 5 / 9
	default:
		out.Amount = q.Amount * from.scale / to.scale
	}
	return out, nil
}

// Same tells whether both say the same amount within rel, a relative
// difference in SI; different dimensions are never the same.
func (q Quantity) Same(o Quantity, rel float64) bool {
	if q.Unit.Dimension() != o.Unit.Dimension() || !q.Given() {
		return false
	}
	a, b := q.SI(), o.SI()
	return math.Abs(a-b) <= rel*math.Max(math.Abs(a), math.Abs(b))
}

// Digits is q rounded to n significant digits, tolerance too, for a reply that
// need not be exact: 7.456998 N·m to three is 7.46 N·m. n under 1 counts as 1.
func (q Quantity) Digits(n int) Quantity {
	q.Amount, q.Tolerance = significant(q.Amount, n), significant(q.Tolerance, n)
	return q
}

func significant(v float64, n int) float64 {
	out, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', max(n, 1), 64), 64)
	if err != nil {
		return v
	}
	return out
}

// String prints q as the trade does: "25 ± 3 N·m", "9/16 in", "90°". Figures
// of up to six digits are printed as they are, longer ones to four.
func (q Quantity) String() string {
	if !q.Given() {
		return "not given"
	}
	amount := printAmount(q.Amount, q.Unit)
	if q.Tolerance != 0 {
		amount += " ± " + printAmount(q.Tolerance, q.Unit)
	}
	switch {
	case q.Unit == Degree:
		if q.Tolerance != 0 {
			return "(" + amount + ")°"
		}
		return amount + "°"
	case q.Unit == Turn && q.Amount != 1:
		return amount + " turns"
	}
	return amount + " " + q.Unit.Symbol
}

func printAmount(v float64, u Unit) string {
	if u == Inch {
		if whole, num, den, ok := inchFraction(v); ok && num != 0 {
			if whole == 0 {
				return fmt.Sprintf("%d/%d", num, den)
			}
			return fmt.Sprintf("%d-%d/%d", whole, num, den)
		}
	}
	return trimmed(v, 6, 4)
}

// inchFraction splits v into a whole and a fraction of 64ths or coarser, when
// it is one to within a ten-thousandth of an inch's hundredth. Negative values are not.
func inchFraction(v float64) (whole, num, den int, ok bool) {
	if v < 0 || v > 1e6 {
		return 0, 0, 0, false
	}
	n := math.Round(v * 64)
	if math.Abs(v*64-n) > 64e-6 {
		return 0, 0, 0, false
	}
	whole, num, den = int(n)/64, int(n)%64, 64
	for num != 0 && num%2 == 0 {
		num, den = num/2, den/2
	}
	return whole, num, den, true
}

// trimmed prints v in full when exact digits suffice, else to rounded digits,
// never in exponent form for shop-sized figures and without trailing zeros.
func trimmed(v float64, exact, rounded int) string {
	short := strconv.FormatFloat(v, 'g', exact, 64)
	back, err := strconv.ParseFloat(short, 64)
	if err != nil || math.Abs(back-v) > 1e-12*math.Abs(v) {
		short = strconv.FormatFloat(v, 'g', rounded, 64)
		back, err = strconv.ParseFloat(short, 64)
		if err != nil {
			return short
		}
	}
	if back != 0 && (math.Abs(back) < 1e-9 || math.Abs(back) >= 1e15) {
		return short
	}
	out := strconv.FormatFloat(back, 'f', -1, 64)
	if strings.TrimLeft(out, "-0.") == "" {
		return "0"
	}
	return out
}

func dimensionWords(d Dimension) string {
	switch d {
	case "":
		return "of no known kind"
	case Angle:
		return "an angle"
	}
	return "a " + string(d)
}
