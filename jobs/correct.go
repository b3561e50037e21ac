package jobs

import (
	"time"

	"putback/intent"
	"putback/jobs/measure"
)

// correctionTime is how long "make that five" is taken as a correction of the
// last entry; later nobody knows any more what "that" was.
const correctionTime = time.Minute

// correction is how the last entry is said anew with one thing changed. It
// gives false when the words change nothing in it.
type correction struct {
	turn int64
	at   time.Time
	redo func(d *draft, v intent.Choice) bool
}

// correct takes the last entry back and says it anew with what v changes:
// "make that five", "I meant the sump". The events are those of the strike;
// false: v corrects nothing. The new entry is left in the draft, which stands
// on the state after the strike.
func (b *Bench) correct(now time.Time, v intent.Choice, h Heard) (*draft, []Event, bool, error) {
	c := b.fix
	if c == nil || b.question != nil || b.state.Quiet || now.Sub(c.at) > correctionTime || len(b.undo) == 0 {
		return nil, nil, false, nil
	}
	last := b.undo[len(b.undo)-1]
	if last.turn != c.turn {
		return nil, nil, false, nil
	}
	// Tried first on the state before: nothing is struck for what cannot be said anew.
	try := &draft{now: now, heard: h, before: last.before, st: last.before.clone(), bench: b}
	if !c.redo(try, v) || try.err != nil || len(try.events) == 0 && try.ask == nil {
		return nil, nil, false, nil
	}
	s := b.draft(now, h)
	s.add(KindStrike, strike{Turn: c.turn})
	if s.err != nil {
		return nil, nil, false, s.err
	}
	after, err := b.struck(c.turn, s.events[0].Seq)
	if err != nil {
		return nil, nil, false, err
	}
	// Both go to the disk in one: a power cut between them would cost the entry.
	d := &draft{now: now, heard: h, before: after, st: after.clone(), bench: b, struck: s.events, strikes: c.turn}
	c.redo(d, v)
	if d.err != nil || len(d.events) > 0 {
		return d, nil, true, nil
	}
	events, err := b.commit(s)
	if err != nil {
		return nil, nil, false, err
	}
	return d, events, true, nil
}

// number reads a whole number an answer names, 0 none.
func number(v intent.Choice) int {
	n, err := measure.ParseNumber(v.Text)
	if v.Quantity != nil && v.Quantity.Unit == (measure.Unit{}) {
		n, err = v.Quantity.Amount, nil
	}
	if err != nil || n < 1 || n != float64(int(n)) || n > 100_000 {
		return 0
	}
	return int(n)
}

// corrected is a quantity with what an answer changes in it: the whole, or the
// number alone; false when it names neither.
func corrected(q measure.Quantity, v intent.Choice) (measure.Quantity, bool) {
	if v.Quantity == nil {
		return q, false
	}
	switch {
	case v.Quantity.Unit == (measure.Unit{}):
		q.Amount, q.Tolerance, q.Said = v.Quantity.Amount, 0, ""
		return q, true
	case v.Quantity.Unit.Dimension() == q.Unit.Dimension():
		return *v.Quantity, true
	}
	return q, false
}

// fixMove lets the number, the length or the place of a single batch be corrected.
func (d *draft) fixMove(m move) {
	if len(m.items) != 1 {
		return
	}
	d.fix = func(d *draft, v intent.Choice) bool {
		n := move{kind: m.kind, where: m.where, stow: m.stow, condition: m.condition, renewed: m.renewed, snug: m.snug, torque: m.torque, how: m.how}
		f := m.items[0]
		if k := number(v); k > 0 {
			f.Count, f.All = k, false
			n.fixed = m.fixed
		} else if m.torque != nil && v.Quantity != nil {
			q, ok := corrected(*m.torque, v)
			if !ok {
				return false
			}
			n.torque, n.fixed = &q, m.fixed
		} else if v.Text == "long" || v.Text == "short" {
			f.Length = v.Text
		} else if list := d.st.lookGroups(v.Text, nil, nil); v.Text != "" && len(list) > 0 {
			n.where = v.Text
			f.Size, f.Length = nil, ""
		} else {
			return false
		}
		n.items = []intent.Fastener{f}
		d.move(n)
		return true
	}
}
