package fastening

import (
	"fmt"
	"slices"

	"putback/jobs/measure"
)

// Pass is one round over a group of bolts.
type Pass struct {
	Target measure.Tightening // a torque, or a turn alone
	Order  []int
	Words  string // "first pass", "round once at full torque", "turn 90°"
}

// Shares are the stages for a torque printed without any: 30, 60 and 100 %.
// Source: ASME PCC-1, as quoted in public texts.
func Shares() []float64 { return []float64{0.30, 0.60, 1.00} }

// Passes lays out a whole tightening run. Printed stages are taken as they are,
// with their subsets of bolts and loosenings; without any a torque is reached in 30, 60 and 100 % in the given order, then
// one circular pass at 100 % for bolts in a ring. Turns printed after the
// torque become passes of their own, made by angle gauge. Targets of computed
// stages are rounded to mark when it is given. The error is for a target
// without any figure or an order without bolts.
func Passes(target measure.Tightening, printed []measure.Tightening, o Order, mark measure.Quantity) ([]Pass, error) {
	if len(o.Sequence) == 0 {
		return nil, fmt.Errorf("stages: the order holds no bolt")
	}
	if len(printed) > 0 {
		var out []Pass
		for i, st := range printed {
			out = append(out, split(st, o, fmt.Sprintf("stage %d", i+1))...)
		}
		if len(out) == 0 {
			return nil, fmt.Errorf("stages: the printed stages hold no figure")
		}
		return out, nil
	}
	if !target.Torque.Given() && len(target.Angles) == 0 {
		return nil, fmt.Errorf("stages: no torque is known; say one, or look it up in your manual")
	}
	var out []Pass
	if target.Torque.Given() {
		if len(o.Sequence) > 1 {
			for _, share := range Shares()[:len(Shares())-1] {
				q, err := part(target.Torque, share, mark)
				if err != nil {
					return nil, err
				}
				out = append(out, Pass{measure.Tightening{Torque: q}, o.Sequence, fmt.Sprintf("%.0f %% of the torque", 100*share)})
			}
		}
		out = append(out, Pass{measure.Tightening{Torque: target.Torque}, o.Sequence, "full torque"})
		if o.Pattern == "cross" && len(o.Sequence) > 1 && len(target.Angles) == 0 {
			out = append(out, Pass{measure.Tightening{Torque: target.Torque}, Circular(len(o.Sequence)), "once round at full torque"})
		}
	}
	return append(out, turns(target.Angles, o)...), nil
}

func split(t measure.Tightening, o Order, words string) []Pass {
	o.Sequence = only(o.Sequence, t.Bolts)
	if len(o.Sequence) == 0 {
		return nil
	}
	if t.Loosen {
		back := Order{Sequence: o.Loosening()}
		return []Pass{{t, back.Sequence, words + ", " + measure.Tightening{Angles: t.Angles, Loosen: true}.String()}}
	}
	var out []Pass
	if t.Torque.Given() {
		out = append(out, Pass{measure.Tightening{Torque: t.Torque, Said: t.Said, Bolts: t.Bolts}, o.Sequence, words})
	}
	return append(out, turns(t.Angles, o)...)
}

// only keeps the bolts of a subset, in the order of the sequence; an empty subset means all.
func only(sequence, bolts []int) []int {
	if len(bolts) == 0 {
		return sequence
	}
	var out []int
	for _, b := range sequence {
		if slices.Contains(bolts, b) {
			out = append(out, b)
		}
	}
	return out
}

func turns(as []measure.Quantity, o Order) []Pass {
	var out []Pass
	for _, a := range as {
		out = append(out, Pass{measure.Tightening{Angles: []measure.Quantity{a}}, o.Sequence, "turn " + a.String()})
	}
	return out
}

func part(q measure.Quantity, share float64, mark measure.Quantity) (measure.Quantity, error) {
	p := measure.Quantity{Amount: q.Amount * share, Unit: q.Unit}
	if !mark.Given() {
		return p, nil
	}
	r, err := measure.RoundToMark(p, mark)
	if err != nil {
		return measure.Quantity{}, fmt.Errorf("stages: %w", err)
	}
	if r.Set.Amount <= 0 {
		return p, nil
	}
	return r.Set, nil
}
