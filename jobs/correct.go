package jobs

import (
	"errors"
	"slices"
	"strings"
	"time"

	"putback/intent"
	"putback/jobs/measure"
)

// correctionTime is how long "make that five" is taken as a correction of an
// entry; later nobody knows any more what "that" was.
const correctionTime = time.Minute

// correction is how an entry is said anew with one thing changed. Redo gives
// false when the words change nothing in it.
type correction struct {
	turn   int64 // the turn that says what counts: the entry, or its last correction
	entry  int64 // the turn of the entry itself
	before *State
	at     time.Time
	redo   func(d *draft, v intent.Choice) bool
}

// correctable remembers how the entry of turn is said anew.
func (b *Bench) correctable(c correction) {
	b.fixes = append(b.fixes, c)
	if n := len(b.fixes) - undoMax; n > 0 {
		b.fixes = slices.Delete(b.fixes, 0, n)
	}
}

// correct says an entry anew with what v changes: "make that five", "I meant the
// sump". The journal keeps both, as after [Bench.Amend], and "strike that" brings
// back what was there before. The last entry is meant; where v changes nothing
// in it, and the words say that something is to be changed, the one before of
// the last minute. False: v corrects nothing.
func (b *Bench) correct(now time.Time, v intent.Choice, h Heard) (*draft, bool) {
	if b.question != nil || b.state.Quiet {
		return nil, false
	}
	said := corrects(h.Text)
	tried := map[int64]bool{}
	for i := len(b.fixes) - 1; i >= 0; i-- {
		c := b.fixes[i]
		last := len(b.undo) > 0 && b.undo[len(b.undo)-1].turn == c.turn
		if tried[c.entry] || now.Sub(c.at) > correctionTime || !last && !said {
			continue
		}
		tried[c.entry] = true
		try := b.past(now, h, c)
		if c.redo(try, v) && try.err == nil {
			return b.amended(try, c), true
		}
	}
	if !said {
		return nil, false
	}
	d := b.draft(now, h)
	if v.Quantity != nil {
		d.say(ReplyAnswer, "I find no figure of the last minute to change. Say it anew, or strike that.")
	} else {
		d.say(ReplyAnswer, "I find nothing of the last minute to change. Say it anew, or strike that.")
	}
	return d, true
}

// past is a draft on the state before the entry of c.
func (b *Bench) past(now time.Time, h Heard, c correction) *draft {
	return &draft{now: now, heard: h, before: c.before, st: c.before.clone(), bench: b}
}

// corrects tells whether words say that something is to be changed, and are no
// bare answer.
func corrects(text string) bool {
	said := " " + normal(text) + " "
	for _, w := range []string{" make that ", " make it ", " i meant ", " i mean ", " i said ", " meant ", " only ", " no wait ", " just loose ", " not off "} {
		if strings.Contains(said, w) {
			return true
		}
	}
	return false
}

// amended makes what was decided on the state before an entry the correction
// of it. A question asked on the way goes on with the entry as it is.
func (b *Bench) amended(try *draft, c correction) *draft {
	d := b.draft(try.now, try.heard)
	if try.err != nil {
		d.err = try.err
		return d
	}
	d.reply, d.numbers, d.ask, d.keep = try.reply, try.numbers, try.ask, try.keep
	switch {
	case d.ask != nil:
		d.ask.corrects = &c
		return d
	case len(try.events) == 0:
		if !try.keep {
			d.reply.Text = strings.Replace(d.reply.Text, nothingWritten, "It stays as it was.", 1)
		}
		return d
	}
	a := amend{Turn: c.entry}
	for _, e := range try.events {
		a.Events = append(a.Events, amended{e.Kind, e.Data})
	}
	d.add(KindAmend, a)
	if d.err != nil {
		return d
	}
	st, err := b.without(c.entry, d.events[0])
	if errors.Is(err, ErrBuiltOn) {
		n := b.draft(try.now, try.heard)
		n.say(ReplyAnswer, "What you said since builds on it. Strike that first.")
		return n
	}
	d.st, d.err, d.fix, d.mends = st, err, try.fix, &c
	return d
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

// fixStow lets the place of what was put away be corrected.
func (d *draft) fixStow(v intent.Stowed) {
	d.fix = func(d *draft, c intent.Choice) bool {
		if c.Text == "" || !d.st.isPlace(c.Text) {
			return false
		}
		v.Stow = c.Text
		d.stow(v)
		return true
	}
}

// placeWords name what bolts are kept in or on (common practice, no source).
var placeWords = []string{"cup", "tray", "bag", "tin", "tub", "jar", "box", "bin", "drawer", "bucket", "pot", "dish", "lid", "shelf", "rack", "pocket", "bowl", "can", "bench", "bilge", "locker"}

// isPlace: is the name one of a place, known or by its words?
func (s *State) isPlace(name string) bool {
	said := normal(bare(name))
	known := func(stow string) bool { return normal(stow) == said && stow != "" }
	return s.Sheet != nil && slices.ContainsFunc(s.Sheet.Places, known) ||
		slices.ContainsFunc(s.Groups, func(g *group) bool { return known(g.Stow) }) ||
		slices.ContainsFunc(strings.Fields(said), func(w string) bool { return slices.Contains(placeWords, w) })
}

// fixMove lets the number, the length or the place of a single batch be corrected.
func (d *draft) fixMove(m move) {
	if len(m.items) != 1 {
		return
	}
	d.fix = func(d *draft, v intent.Choice) bool {
		n := move{kind: m.kind, where: m.where, stow: m.stow, condition: m.condition, bad: m.bad, renewed: m.renewed, snug: m.snug, torque: m.torque, how: m.how, tool: m.tool}
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
		} else if v.Text == "loosened" && (m.kind == KindRemoved || m.kind == KindLoosened) {
			n.kind, n.stow, n.condition, n.bad, n.fixed = KindLoosened, "", "", 0, m.fixed
		} else if v.Text == "snug" && (m.kind == KindRefitted || m.kind == KindTorqued) {
			n.kind, n.snug, n.torque, n.how, n.tool, n.fixed = KindRefitted, true, nil, "", "", m.fixed
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
