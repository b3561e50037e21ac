package fastening

import (
	"fmt"

	"putback/jobs/measure"
)

// RunOn is the torque to set for a locking nut that turns heavily by itself.
type RunOn struct {
	Low, High measure.Quantity // of the specification, run-on added when it counts
	Added     bool
	Source    string
}

// WithRunOn applies the rule for prevailing torque: run-on under a third of the
// specification is ignored, else it is added: 50 to 70 lbf·in with 30 of run-on
// becomes 80 to 100. Source: US Army TM 5-2330-325-13&P. "A third" is taken of
// the upper end. The error is for figures that are no torque.
func WithRunOn(spec, runOn measure.Quantity) (RunOn, error) {
	if spec.Unit.Dimension() != measure.Torque {
		return RunOn{}, fmt.Errorf("add run-on torque: %s is no torque", spec)
	}
	extra, err := runOn.In(spec.Unit)
	if err != nil {
		return RunOn{}, fmt.Errorf("add run-on torque: %w", err)
	}
	r := RunOn{Low: spec, High: spec, Source: srcArmyLocknut}
	r.Low.Amount, r.High.Amount = spec.Amount-spec.Tolerance, spec.Amount+spec.Tolerance
	r.Low.Tolerance, r.High.Tolerance = 0, 0
	if extra.Amount >= r.High.Amount/3 {
		r.Added = true
		r.Low.Amount += extra.Amount
		r.High.Amount += extra.Amount
	}
	return r, nil
}
