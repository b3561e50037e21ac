package jobs

import (
	"errors"
	"fmt"
	"math"

	"putback/intent"
	"putback/jobs/fastening"
	"putback/jobs/measure"
)

// weigh judges a torque for a group; false when too little is known of the
// fastener to judge, or when nothing speaks against it.
func (g *group) weigh(q measure.Quantity) (fastening.Verdict, bool) {
	if g.Thread == "" && !g.Wrench.Given() {
		return fastening.Verdict{}, false
	}
	v, err := fastening.Judge(g.known(), q)
	if err != nil || v.Level == fastening.Plausible {
		return v, false
	}
	return v, true
}

// meant is the unit probably meant, as a person says it; "" when none is likelier.
func meant(v fastening.Verdict) (measure.Quantity, string) {
	if v.Likely == nil {
		return measure.Quantity{}, ""
	}
	return v.Likely.Torque, v.Likely.Torque.Unit.Words(2)
}

// object puts an objection to a figure first. "Yes" keeps the figure as said;
// naming the likelier unit takes that instead; "no" writes nothing down.
func (d *draft) object(v fastening.Verdict, said measure.Quantity, keep func(d *draft), take func(d *draft, q measure.Quantity)) {
	d.numbers = append(d.numbers, said.Amount)
	text := sentence(v.Reason)
	likely, unit := meant(v)
	if unit == "" {
		d.confirm(ReplyObjection, text+" Keep "+said.String()+" all the same?", keep, nil)
		return
	}
	d.confirm(ReplyObjection, text+" Say "+unit+" if you meant that, or yes to keep "+said.String()+".", keep, nil)
	d.ask.choices = []choice{{unit, func(d *draft) { take(d, likely) }}}
	d.reply.Choices = []string{unit, "yes", "no"}
}

// judgeMove weighs a figure somebody tightened to, before anything is
// recorded; true: an objection is put first.
func (d *draft) judgeMove(m move) bool {
	if m.sure[-1] {
		return false
	}
	var f *intent.Fastener
	if len(m.items) > 0 {
		f = &m.items[0]
	}
	for _, g := range d.st.lookGroups(m.where, f, nil) {
		v, against := g.weigh(*m.torque)
		if !against && d.notWanted(g, m) {
			return true
		}
		if !against {
			continue
		}
		if v.Level == fastening.Undecided {
			continue // asked when the figure was given; here it is done already
		}
		why := v.Reason
		d.object(v, *m.torque, func(d *draft) {
			d.move(m.with(-1, func(m *move, i int) { m.sure[i], m.objection = true, why }))
		}, func(d *draft, q measure.Quantity) {
			m.torque = &q
			d.move(m.with(-1, func(m *move, i int) { m.sure[i] = true }))
		})
		return true
	}
	return false
}

// notWanted objects to a torque that is not the one on record, by more than a
// tenth and its tolerance: two figures further apart than rounding goes disagree
// (survey of printed workshop tables, trade facts section 1).
func (d *draft) notWanted(g *group, m move) bool {
	want, said := g.full(), *m.torque
	if !want.Given() || len(g.Angles) > 0 || said.Unit.Dimension() != want.Unit.Dimension() {
		return false
	}
	in, err := said.In(want.Unit)
	if err != nil {
		return false
	}
	if off := math.Abs(in.Amount - want.Amount); off <= max(0.1*want.Amount, want.Tolerance) {
		return false
	}
	text := "Wanted is " + want.String() + "."
	if said.Unit != want.Unit {
		text = fmt.Sprintf("%s is %s, wanted is %s.", said, in.Digits(3), want)
	}
	sure := func(q measure.Quantity) func(d *draft) {
		return func(d *draft) {
			d.move(m.with(-1, func(m *move, i int) { m.sure[i], m.torque, m.objection = true, &q, "" }))
		}
	}
	keep := func(d *draft) {
		d.move(m.with(-1, func(m *move, i int) { m.sure[i], m.objection = true, text }))
	}
	d.numbers = append(d.numbers, said.Amount, want.Amount)
	if said.Amount != want.Amount {
		d.confirm(ReplyObjection, text+" Was it "+said.String()+"?", keep, nil)
		return true
	}
	unit := want.Unit.Words(2)
	d.confirm(ReplyObjection, text+" Say "+unit+" if you meant that, or yes to keep "+said.String()+".", keep, nil)
	d.ask.choices = []choice{{unit, sure(measure.Quantity{Amount: said.Amount, Unit: want.Unit})}}
	d.reply.Choices = []string{unit, "yes", "no"}
	return true
}

// dictate stores a spoken figure of a group. One that fails the plausibility
// check is stored only after an explicit yes, together with the objection.
func (d *draft) dictate(v intent.SetSpec) {
	if v.RenewRule != "" && d.partRule(v.Name, v.RenewRule) {
		return
	}
	d.oneGroup(v.Name, func(d *draft, g *group) {
		s := groupSpec{Group: g.Name, Oiled: v.Oiled, Thread: v.Thread, Class: v.Class, Renew: v.RenewRule, Count: v.Count,
			Wrench: v.Head, Length: v.Length, Into: v.Into, Locker: v.Locker, Again: v.Again}
		if v.Torque != nil {
			s.Torque = *v.Torque
		}
		if v.Angle != nil {
			s.Angle = *v.Angle
		}
		d.specify(s)
	})
}

// partRule stores when a part is renewed; false: the name is no part's.
func (d *draft) partRule(name, renew string) bool {
	part := d.findPart(name)
	if part == "" || len(d.st.lookGroups(name, nil, nil)) > 0 && normal(part) != normal(bare(name)) {
		return false
	}
	d.add(KindPartRule, partRule{Part: part, Renew: renew})
	d.say(ReplyReadBack, "%s: renew %s.", capital(part), renew)
	return true
}

// specify weighs a dictated figure and stores it, or puts the objection or the
// one question that decides first.
func (d *draft) specify(s groupSpec) {
	if s.Torque.Given() && s.Objection == "" {
		next := *d.st.group(s.Group)
		if s.Thread != "" {
			next.Thread = s.Thread
		}
		if s.Class != "" {
			next.Class = s.Class
		}
		next.Oiled = next.Oiled || s.Oiled
		v, against := next.weigh(s.Torque)
		switch {
		case !against:
		case v.Level == fastening.Undecided && s.Thread == "":
			d.whichThread(v, s)
			return
		case v.Level != fastening.Undecided:
			d.object(v, s.Torque, func(d *draft) { s.Objection = v.Reason; d.specify(s) },
				func(d *draft, q measure.Quantity) { s.Torque = q; d.specify(s) })
			return
		}
	}
	d.storeSpec(s)
}

// whichThread asks what decides about a figure; the answer goes on record with it.
func (d *draft) whichThread(v fastening.Verdict, s groupSpec) {
	d.numbers = append(d.numbers, s.Torque.Amount)
	d.ask = &question{holds: true, other: func(d *draft, text string, _ *measure.Quantity) bool {
		t, err := fastening.LookThread(text)
		if err != nil {
			return false
		}
		s.Thread = t.Designation
		d.specify(s)
		return true
	}}
	for _, c := range v.Choices {
		d.ask.choices = append(d.ask.choices, choice{c, func(d *draft) {
			t, err := fastening.LookThread(c)
			if err != nil {
				d.storeSpec(s)
				return
			}
			s.Thread = t.Designation
			d.specify(s)
		}})
	}
	d.tell(ReplyObjection, s.Torque.String()+" depends on the thread. "+v.Ask)
	d.reply.Choices = v.Choices
}

func (d *draft) storeSpec(s groupSpec) {
	g := d.st.group(s.Group)
	if n := g.holes() + g.touched(); s.Count > 0 && s.Count < n {
		d.say(ReplyAnswer, "%s of the %s are accounted for already. Nothing written down.", capital(spell(n)), g.Name)
		return
	}
	before := g.figure()
	d.add(KindSpec, s)
	if errors.Is(d.err, errLedger) {
		return
	}
	now := d.st.group(s.Group)
	text := capital(s.Group)
	if f := now.figure(); f != "" && (s.Torque.Given() || s.Angle.Given()) {
		d.numbers = append(d.numbers, now.full().Amount)
		text += ", " + f
		if before != "" && before != f {
			text += " instead of " + before
		}
	}
	if s.Oiled {
		text += ", oiled"
	}
	for _, x := range []string{s.Thread, s.Class} {
		if x != "" {
			text += ", " + x
		}
	}
	for _, x := range []struct {
		q    measure.Quantity
		what string
	}{{s.Wrench, " head"}, {s.Length, " long"}} {
		if x.q.Given() {
			text += ", " + d.figure(x.q) + x.what
		}
	}
	if s.Into != "" {
		text += ", into " + s.Into
	}
	if s.Locker != "" {
		text += ", " + s.Locker + " on the threads"
	}
	if s.Again {
		text += ", a last pass at the full torque"
	}
	if s.Count > 0 {
		text += ", " + d.count(s.Count)
	}
	if s.Renew != "" {
		text += ", renew " + s.Renew
	}
	d.say(ReplyReadBack, "%s.", text)
	if s.Objection != "" {
		d.more("The objection is noted with it.")
	}
	if s.Torque.Given() {
		d.fix = func(d *draft, v intent.Choice) bool {
			q, ok := corrected(s.Torque, v)
			if !ok {
				return false
			}
			n := s
			n.Torque, n.Objection = q, ""
			d.specify(n)
			return true
		}
	}
}
