package jobs

import (
	"fmt"
	"strings"

	"putback/intent"
	"putback/jobs/fastening"
	"putback/jobs/measure"
)

// dictateOrder stores a printed order of bolts; it must name each bolt once.
func (d *draft) dictateOrder(v intent.SetOrder) {
	d.oneGroup(v.Name, func(d *draft, g *group) {
		n := g.Count
		if n == 0 {
			n = len(v.Bolts)
		}
		if _, err := fastening.PrintedOrder(v.Bolts, n); err != nil {
			d.say(ReplyAnswer, "That order cannot be: %s. Nothing written down.", strings.TrimPrefix(err.Error(), "printed order: "))
			return
		}
		d.add(KindSpec, groupSpec{Group: g.Name, Sequence: v.Bolts})
		d.say(ReplyReadBack, "%s in the order %s.", capital(g.Name), numbers(v.Bolts))
	})
}

func numbers(list []int) string {
	var w []string
	for _, n := range list {
		w = append(w, fmt.Sprint(n))
	}
	return strings.Join(w, ", ")
}

// dictateStages stores printed stages; the last torque is weighed like any
// dictated figure.
func (d *draft) dictateStages(v intent.SetStages) {
	d.oneGroup(v.Name, func(d *draft, g *group) {
		var list []SheetStage
		var said []string
		var last measure.Quantity
		for _, t := range v.Stages {
			if t.Torque.Given() || t.Torque.Amount > 0 {
				if t.Torque.Unit == (measure.Unit{}) {
					if !g.full().Given() {
						d.say(ReplyAnswer, "In what unit? Say the stages with it.")
						return
					}
					t.Torque.Unit, t.Torque.Said = g.full().Unit, ""
				}
			}
			st := SheetStage{Torque: t.Torque, Back: t.Loosen, Bolts: t.Bolts}
			if len(t.Angles) > 0 {
				st.Angle = t.Angles[0]
			}
			list = append(list, st)
			said = append(said, passPlan{Torque: st.Torque, Angle: st.Angle, Back: st.Back}.String())
			if t.Torque.Given() {
				if !t.Loosen && last.Given() && t.Torque.SI() < last.SI() && !list[len(list)-2].Back {
					d.say(ReplyAnswer, "Stages go up: %s comes after %s. Nothing written down.", t.Torque, last)
					return
				}
				last = t.Torque
			}
		}
		name := g.Name
		store := func(against string) func(d *draft) {
			return func(d *draft) {
				d.add(KindSpec, groupSpec{Group: name, Stages: list, Objection: against})
				d.numbers = append(d.numbers, last.Amount)
				d.say(ReplyReadBack, "%s in %s: %s.", capital(name), countOf(len(list), "stage", "stages"), strings.Join(said, ", then "))
			}
		}
		if last.Given() {
			if v, against := g.weigh(last); against && v.Level != fastening.Undecided {
				d.numbers = append(d.numbers, last.Amount)
				d.confirm(ReplyObjection, sentence(v.Reason)+" Keep "+last.String()+" all the same?", store(v.Reason), nil)
				return
			}
		}
		store("")(d)
	})
}

// dictateLimit stores the limits of a measurement. A bare number has the unit
// the measurement has already.
func (d *draft) dictateLimit(v intent.SetLimit) {
	name := bare(v.Name)
	unit := measure.Unit{}
	if hits := find(name, len(d.st.Limits), func(i int) []string { return []string{d.st.Limits[i].Name} }); len(hits) == 1 {
		l := d.st.Limits[hits[0]]
		name = l.Name
		for _, q := range []measure.Quantity{l.Value, l.Min, l.Max} {
			if q.Unit != (measure.Unit{}) {
				unit = q.Unit
			}
		}
	}
	set := limitSet{Name: name, Min: v.Min, Max: v.Max}
	for _, q := range []*measure.Quantity{&set.Min, &set.Max} {
		if q.Said == "" && q.Amount == 0 && q.Unit == (measure.Unit{}) {
			continue
		}
		if q.Unit == (measure.Unit{}) {
			q.Unit = unit
		}
		if q.Unit == (measure.Unit{}) {
			d.say(ReplyAnswer, "In what unit? Say it with the unit.")
			return
		}
		d.numbers = append(d.numbers, q.Amount)
	}
	if set.Min.Given() && set.Max.Given() && (set.Min.Unit.Dimension() != set.Max.Unit.Dimension() || set.Min.SI() > set.Max.SI()) {
		d.say(ReplyAnswer, "%s to %s is no range. Nothing written down.", set.Min, set.Max)
		return
	}
	d.add(KindLimit, set)
	d.say(ReplyReadBack, "%s: %s.", capital(name), strings.Replace((&limit{SheetLimit: SheetLimit{Min: set.Min, Max: set.Max}}).print(), "..", " to ", 1))
}

// dictateFill stores how much of a fluid goes in.
func (d *draft) dictateFill(v intent.SetFill) {
	name := d.fluidName(v.Fluid)
	d.add(KindFill, fluidMoved{Fluid: name, Amount: v.Amount, Is: v.Is})
	if !v.Amount.Given() {
		d.say(ReplyReadBack, "%s: %s.", capital(name), v.Is)
		return
	}
	d.say(ReplyReadBack, "%s takes %s.", capital(name), d.figure(v.Amount))
	d.fix = func(d *draft, c intent.Choice) bool {
		q, ok := corrected(v.Amount, c)
		if ok {
			d.dictateFill(intent.SetFill{Fluid: name, Amount: q})
		}
		return ok
	}
}

// timeWords say what a time of a sealant is.
var timeWords = map[string]string{"close": "close within", "torque": "torque within", "oil": "no oil or coolant for", "cure": "full cure in"}

// dictateTime stores a time of a sealant's label.
func (d *draft) dictateTime(v intent.SetTime) {
	name := bare(v.Sealant)
	if x := d.st.sealant(name); x != nil {
		name = x.Name
	}
	if v.For <= 0 {
		d.say(ReplyAnswer, "For how long?")
		return
	}
	d.add(KindSealant, sealantTime{Sealant: name, What: v.What, For: v.For})
	d.numbers = append(d.numbers, v.For.Minutes(), v.For.Hours())
	d.say(ReplyReadBack, "%s: %s %s.", capital(name), timeWords[v.What], lasts(v.For))
}
