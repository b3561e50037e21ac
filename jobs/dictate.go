package jobs

import (
	"putback/intent"
	"putback/jobs/fastening"
	"putback/jobs/measure"
)

// objection weighs a torque for a group: "" when nothing speaks against it, or
// when too little is known of the fastener to judge.
func (g *group) objection(q measure.Quantity) string {
	if g.Thread == "" && !g.Wrench.Given() {
		return ""
	}
	v, err := fastening.Judge(g.known(), q)
	if err != nil || v.Level == fastening.Plausible {
		return ""
	}
	if v.Level == fastening.Undecided {
		return v.Ask
	}
	return v.Reason
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
		against := g.objection(*m.torque)
		if against == "" {
			continue
		}
		d.numbers = append(d.numbers, m.torque.Amount)
		note := named{Text: "objection to " + g.Name + " at " + m.torque.String() + ": " + against}
		d.confirm(ReplyObjection, sentence(against)+" Write "+m.torque.String()+" down all the same?",
			func(d *draft) {
				d.move(m.with(-1, func(m *move, i int) { m.sure[i] = true }))
				if len(d.events) > 0 && d.err == nil {
					d.add(KindNote, note)
				}
			}, nil)
		return true
	}
	return false
}

// dictate stores a spoken figure of a group. One that fails the plausibility
// check is stored only after an explicit yes, together with the objection.
func (d *draft) dictate(v intent.SetSpec) {
	d.oneGroup(v.Name, func(d *draft, g *group) {
		s := groupSpec{Group: g.Name, Oiled: v.Oiled, Thread: v.Thread, Class: v.Class, Renew: v.RenewRule, Count: v.Count}
		if v.Torque != nil {
			s.Torque = *v.Torque
		}
		if v.Angle != nil {
			s.Angle = *v.Angle
		}
		store := func(d *draft) {
			d.add(KindSpec, s)
			now := d.st.group(g.Name)
			text := capital(g.Name)
			if f := now.figure(); f != "" && (v.Torque != nil || v.Angle != nil) {
				d.numbers = append(d.numbers, now.full().Amount)
				text += ", " + f
			}
			for _, x := range []string{v.Thread, v.Class} {
				if x != "" {
					text += ", " + x
				}
			}
			if v.Count > 0 {
				text += ", " + d.count(v.Count)
			}
			if v.RenewRule != "" {
				text += ", renew " + v.RenewRule
			}
			d.say(ReplyReadBack, "%s.", text)
		}
		if v.Torque != nil {
			next := *g
			if v.Thread != "" {
				next.Thread = v.Thread
			}
			if v.Class != "" {
				next.Class = v.Class
			}
			next.Oiled = next.Oiled || v.Oiled
			if against := next.objection(*v.Torque); against != "" {
				d.numbers = append(d.numbers, v.Torque.Amount)
				d.confirm(ReplyObjection, sentence(against)+" Keep "+v.Torque.String()+" all the same?",
					func(d *draft) { s.Objection = against; store(d) }, nil)
				return
			}
		}
		store(d)
	})
}
