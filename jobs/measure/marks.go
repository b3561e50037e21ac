package measure

import (
	"fmt"
	"math"
	"strconv"
)

// Rounded is a figure moved to the nearest mark of a tool.
type Rounded struct {
	Set   Quantity // on a mark, in the mark's unit
	Error float64  // set minus wanted, relative: 0.011 is 1.1 % over
}

// RoundToMark moves q to the nearest mark of a scale divided into steps of
// mark, counted from zero, and tells the error. Half way goes up, away from
// zero. The error is for a mark of another dimension or of no size.
func RoundToMark(q, mark Quantity) (Rounded, error) {
	if mark.Amount <= 0 || math.IsNaN(mark.Amount) || math.IsInf(mark.Amount, 0) {
		return Rounded{}, fmt.Errorf("round %s to marks of %s: the step between marks must be above zero", q, mark)
	}
	in, err := q.In(mark.Unit)
	if err != nil {
		return Rounded{}, fmt.Errorf("round to marks: %w", err)
	}
	set := in
	set.Amount = cleaned(math.Round(in.Amount/mark.Amount) * mark.Amount)
	set.Tolerance = 0
	r := Rounded{Set: set}
	if in.Amount != 0 {
		r.Error = (set.Amount - in.Amount) / in.Amount
	}
	return r, nil
}

// cleaned drops the last bits of a binary fraction that decimal marks leave (0.30000000000000004).
func cleaned(v float64) float64 {
	out, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 14, 64), 64)
	if err != nil {
		return v
	}
	return out
}
