package fastening

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"putback/jobs/measure"
)

// printedLimit: in 48 printed pairs honest rounding ran to 6.1 %, real
// misprints began at 32 %. Source: a survey of printed workshop tables.
const printedLimit = 0.10

// Printed is the outcome of comparing figures printed for one torque.
type Printed struct {
	Agree  bool
	Apart  float64 // the largest relative difference, 0.32 for 32 %
	A, B   measure.Quantity
	Reason string // one sentence, "" when they agree
}

// CheckPrinted compares figures that claim to be the same in several units. Two
// that differ by more than 10 % disagree, unless the difference is within half
// a unit of the last printed digit of either. The error is for mixed dimensions.
func CheckPrinted(figures []measure.Quantity) (Printed, error) {
	p := Printed{Agree: true}
	for i, a := range figures {
		for _, b := range figures[i+1:] {
			in, err := b.In(a.Unit)
			if err != nil {
				return Printed{}, fmt.Errorf("compare printed figures: %w", err)
			}
			apart := math.Abs(in.Amount-a.Amount) / math.Max(math.Abs(a.Amount), math.Abs(in.Amount))
			slack := halfDigit(a) + halfDigit(b)*math.Abs(factor(b, a.Unit))
			if math.IsNaN(apart) || apart <= p.Apart {
				continue
			}
			p.Apart, p.A, p.B = apart, a, b
			p.Agree = apart <= printedLimit || math.Abs(in.Amount-a.Amount) <= slack
		}
	}
	if !p.Agree {
		in, err := p.B.In(p.A.Unit)
		if err != nil {
			return Printed{}, err
		}
		p.Reason = fmt.Sprintf("%s and %s do not agree: %s is %s, %.0f %% apart. Which one does the manual mean?",
			p.A, p.B, p.B, in, 100*p.Apart)
	}
	return p, nil
}

func factor(q measure.Quantity, to measure.Unit) float64 {
	one, err := measure.Quantity{Amount: 1, Unit: q.Unit}.In(to)
	if err != nil {
		return 0
	}
	return one.Amount
}

// halfDigit is half a unit of the last printed digit: 0.05 for "2.5", 0.5 for "25".
func halfDigit(q measure.Quantity) float64 {
	s := strconv.FormatFloat(q.Amount, 'f', -1, 64)
	if f := strings.Fields(q.Said); len(f) > 0 { // the print itself keeps a trailing zero
		if v, err := strconv.ParseFloat(f[0], 64); err == nil && v == q.Amount {
			s = f[0]
		}
	}
	_, frac, _ := strings.Cut(s, ".")
	return 0.5 * math.Pow(10, -float64(len(frac)))
}
