package fastening

import (
	"fmt"
	"math"

	"putback/jobs/measure"
)

// Wrench is a torque wrench of the user's.
type Wrench struct {
	Name  string
	Range measure.Range
	Mark  measure.Quantity // step between marks; not given: any setting
	Lever measure.Quantity // grip to drive, for adapters; not given: must be told with the adapter
}

// Adapter is what sits between drive and fastener: a crowfoot, a dog-bone. The
// zero Adapter is none. Straight extensions need no correction.
type Adapter struct {
	Lever  measure.Quantity // grip to drive, of the wrench
	Length measure.Quantity // drive to fastener
	Angle  measure.Quantity // 0 straight ahead, 90° none, 180° back along the handle; not given: 0
}

// Fitted tells whether there is an adapter.
func (a Adapter) Fitted() bool { return a.Length.Given() && a.Length.Amount != 0 }

// Setting is what the wrench must show so that the fastener gets want:
// TW = TA·L/(L + A·cos θ). Source: US Army TM 1-1500-204-23-9. The unit is
// want's. Errors name the length that is missing or impossible.
func Setting(want measure.Quantity, a Adapter) (measure.Quantity, error) {
	if want.Unit.Dimension() != measure.Torque || !(want.Amount > 0) {
		return measure.Quantity{}, fmt.Errorf("set a wrench to %s: not a torque above zero", want)
	}
	if !a.Fitted() {
		return want, nil
	}
	l, err := a.Lever.Millimetres()
	if err != nil {
		return measure.Quantity{}, fmt.Errorf("set a wrench with an adapter: length from grip to drive: %w", err)
	}
	d, err := a.Length.Millimetres()
	if err != nil {
		return measure.Quantity{}, fmt.Errorf("set a wrench with an adapter: length from drive to fastener: %w", err)
	}
	var turned measure.Degrees
	if a.Angle.Given() {
		if turned, err = a.Angle.Degrees(); err != nil {
			return measure.Quantity{}, fmt.Errorf("set a wrench with an adapter: %w", err)
		}
	}
	arm := float64(l) + float64(d)*cosDegrees(float64(turned))
	if !(l > 0) || !(d > 0) || !(arm > 0) || math.IsInf(float64(l), 0) || math.IsInf(float64(d), 0) {
		return measure.Quantity{}, fmt.Errorf("set a wrench with an adapter: %s from grip to drive and %s to the fastener cannot be", a.Lever, a.Length)
	}
	out := want
	out.Amount = want.Amount * float64(l) / arm
	out.Tolerance = want.Tolerance * float64(l) / arm
	return out, nil
}

// cosDegrees is exact at the quarter turns, where people put adapters.
func cosDegrees(a float64) float64 {
	switch math.Mod(math.Abs(a), 360) {
	case 90, 270:
		return 0
	}
	return math.Cos(a * math.Pi / 180)
}

// Accuracy is the tolerance of a wrench: ±4 % where its maximum is above 10
// N·m, ±6 % at or below. Source: ISO 6789.
func (w Wrench) Accuracy() float64 {
	if top, err := w.Range.High.NewtonMetres(); err == nil && top <= 10 {
		return 0.06
	}
	return 0.04
}

// Choice is a wrench with its setting for one torque.
type Choice struct {
	Wrench   Wrench
	Want     measure.Quantity // at the fastener
	Exact    measure.Quantity // computed setting, in the wrench's unit
	Set      measure.Quantity // on a mark
	Error    float64          // of Set against Exact, relative
	Warnings []string
	Usable   bool // within 20 to 100 % of the maximum and of the scale
	Source   string
	Note     string
}

// SetWrench computes the setting of one wrench and warns below 20 % and above
// 100 % of its maximum and off its scale (ISO 6789 checks at 20, 60 and 100 %).
func SetWrench(w Wrench, want measure.Quantity, a Adapter) (Choice, error) {
	c := Choice{Wrench: w, Want: want, Source: srcAdapter + "; " + srcISO6789, Note: GuideNote}
	if w.Lever.Given() {
		a.Lever = w.Lever // the length of this wrench beats one said for any
	}
	exact, err := Setting(want, a)
	if err != nil {
		return Choice{}, err
	}
	if exact, err = exact.In(w.Range.High.Unit); err != nil {
		return Choice{}, fmt.Errorf("set %s: %w", w.Name, err)
	}
	c.Exact, c.Set = exact, exact
	if w.Mark.Given() {
		r, err := measure.RoundToMark(exact, w.Mark)
		if err != nil {
			return Choice{}, fmt.Errorf("set %s: %w", w.Name, err)
		}
		c.Set, c.Error = r.Set, r.Error
	}
	top, low := w.Range.High.SI(), w.Range.Low.SI()
	at := c.Set.SI()
	const slack = 1e-9
	switch {
	case at > top*(1+slack):
		c.Warnings = append(c.Warnings, fmt.Sprintf("%s is above the range of %s, which ends at %s", c.Set, w.Name, w.Range.High))
	case at < 0.20*top*(1-slack):
		c.Warnings = append(c.Warnings, fmt.Sprintf("%s is under 20 %% of the range of %s, where it is not accurate", c.Set, w.Name))
	case at < low*(1-slack):
		c.Warnings = append(c.Warnings, fmt.Sprintf("%s is below the scale of %s, which starts at %s", c.Set, w.Name, w.Range.Low))
	}
	c.Usable = len(c.Warnings) == 0
	if math.Abs(c.Error) > w.Accuracy() {
		c.Warnings = append(c.Warnings, fmt.Sprintf("the nearest mark is %.1f %% off, more than the wrench's own tolerance", 100*math.Abs(c.Error)))
	}
	return c, nil
}

// ChooseWrench takes the wrench that suits best: usable before not, then the
// setting nearest the middle of its range, where a wrench is at its best, then
// the smaller rounding error. The error is for no wrenches at all or a want
// that is no torque. The choice may be unusable: then its Warnings say why.
func ChooseWrench(ws []Wrench, want measure.Quantity, a Adapter) (Choice, error) {
	if len(ws) == 0 {
		return Choice{}, fmt.Errorf("choose a wrench for %s: no wrenches are listed in the sheet", want)
	}
	var best Choice
	for i, w := range ws {
		c, err := SetWrench(w, want, a)
		if err != nil {
			return Choice{}, fmt.Errorf("choose a wrench for %s: %w", want, err)
		}
		if i == 0 || better(c, best) {
			best = c
		}
	}
	return best, nil
}

func better(a, b Choice) bool {
	if a.Usable != b.Usable {
		return a.Usable
	}
	if x, y := offMiddle(a), offMiddle(b); math.Abs(x-y) > 1e-9 {
		return x < y
	}
	return math.Abs(a.Error) < math.Abs(b.Error)
}

// offMiddle is how far the setting stands from 60 % of the maximum, in shares of it.
func offMiddle(c Choice) float64 {
	return math.Abs(c.Set.SI()/c.Wrench.Range.High.SI() - 0.6)
}
