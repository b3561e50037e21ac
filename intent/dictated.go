package intent

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"putback/jobs/measure"
)

// all gives the values of a slot that can occur several times, in order.
func (d *decoder) all(slot string) []string {
	var list []string
	for _, s := range d.r.Slots {
		if s.Name == slot {
			list = append(list, s.Value)
		}
	}
	return list
}

// limit reads dictated limits. In "eight to twelve millimetres" the first
// number takes the unit of the second.
func (d *decoder) limit() (Intent, error) {
	var ends []measure.Quantity
	for _, text := range d.all("bound") {
		if v, err := measure.ParseNumber(text); err == nil {
			ends = append(ends, measure.Quantity{Amount: v, Said: text})
			continue
		}
		q, err := d.bound(text)
		if err != nil {
			return nil, err
		}
		ends = append(ends, q)
	}
	l := SetLimit{Name: d.get("name")}
	switch end := d.get("end"); {
	case end == "max" && len(ends) == 1:
		l.Max = ends[0]
	case end == "min" && len(ends) == 1:
		l.Min = ends[0]
	case end == "both" && len(ends) == 2:
		l.Min, l.Max = ends[0], ends[1]
		if l.Min.Unit == (measure.Unit{}) {
			l.Min.Unit = l.Max.Unit
		}
	default:
		return nil, fmt.Errorf("%d limits were said", len(ends))
	}
	return l, nil
}

// bound reads one end of a limit. A unit that was settled for one end is the
// other's, too.
func (d *decoder) bound(text string) (measure.Quantity, error) {
	q, err := measure.Parse(text)
	var ask *measure.AskError
	if !errors.As(err, &ask) || d.settled == nil {
		return q, err
	}
	for _, c := range ask.Choices {
		if c.Unit == d.settled.Unit {
			c.Said = text
			return c, nil
		}
	}
	return q, err
}

// order reads a dictated row of bolt numbers.
func (d *decoder) order() (Intent, error) {
	o := SetOrder{Name: d.get("name")}
	for _, text := range d.all("bolt") {
		n, err := strconv.Atoi(text)
		if err != nil {
			return nil, fmt.Errorf("read the bolt number %q: %w", text, err)
		}
		o.Bolts = append(o.Bolts, n)
	}
	return o, nil
}

// stages reads dictated stages; a bare number takes the unit of the stage after it.
func (d *decoder) stages() (Intent, error) {
	if d.has("bare") { // the job knows in what unit
		var list []measure.Tightening
		for _, said := range d.all("stage") {
			v, err := measure.ParseNumber(said)
			if err != nil {
				return nil, err
			}
			list = append(list, measure.Tightening{Torque: measure.Quantity{Amount: v, Said: said}})
		}
		return SetStages{Name: d.get("name"), Stages: list}, nil
	}
	list, err := measure.ParseStages(strings.Join(d.all("stage"), ", "))
	if err != nil {
		return nil, err
	}
	return SetStages{Name: d.get("name"), Stages: list}, nil
}

// fastenerFacts reads what else is dictated of a group: its head, its length,
// what it goes into, its locker, a last pass.
func (d *decoder) fastenerFacts(s SetSpec) (Intent, error) {
	s.Into, s.Locker, s.Again = d.get("material"), d.get("locker"), d.has("again")
	var err error
	if d.has("wrench") {
		if s.Head, err = measure.ParseAs(measure.Length, d.get("wrench")); err != nil {
			return nil, err
		}
	}
	if d.has("long") {
		s.Length, err = adapterLength(d.get("long"), measure.Millimetre)
	}
	return s, err
}

// tool reads the dictated range and marks of a wrench.
func (d *decoder) tool() (Intent, error) {
	t := SetTool{Name: d.get("name")}
	for slot, to := range map[string]*measure.Quantity{"high": &t.High, "marks": &t.Marks} {
		q, err := d.quantity(slot, measure.Torque)
		if err != nil {
			return nil, err
		}
		if q != nil {
			*to = *q
		}
	}
	if !d.has("low") {
		return t, nil
	}
	if v, err := measure.ParseNumber(d.get("low")); err == nil {
		t.Low = measure.Quantity{Amount: v, Unit: t.High.Unit, Said: d.get("low")}
		return t, nil
	}
	q, err := d.quantity("low", measure.Torque)
	if err != nil {
		return nil, err
	}
	t.Low = *q
	return t, nil
}
