package jobs

import (
	"slices"
	"strings"

	"putback/intent"
	"putback/jobs/measure"
)

// row carries out several things said in one breath, as one entry. When one of
// them is asked about, the others wait for the answer.
func (b *Bench) row(d *draft, of []intent.Intent) {
	var said []Reply
	// What was measured is on record before the step that asks for it ends.
	of = slices.Clone(of)
	slices.SortStableFunc(of, func(x, y intent.Intent) int { return measureFirst(x) - measureFirst(y) })
	for i, in := range of {
		d.reply = Reply{}
		b.decide(d, in)
		d.fix = nil // only all of it could be said anew
		if d.err != nil {
			return
		}
		if i > 0 && d.ask == nil && strings.HasSuffix(d.reply.Text, doneAlready) {
			continue // another clause of the step that was just told
		}
		if i > 0 && d.ask == nil && d.reply.Text == said[len(said)-1].Text {
			continue // "did that one, next": the next was said with it
		}
		said = append(said, d.reply)
		if d.ask != nil {
			if i+1 < len(of) {
				d.ask.thenAlso(b, of[i+1:])
			}
			break
		}
	}
	d.reply = joined(said)
}

// measureFirst sorts measurements before everything else.
func measureFirst(in intent.Intent) int {
	if _, ok := in.(intent.Measure); ok {
		return 0
	}
	return 1
}

// doneAlready ends the reply to a step told twice.
const doneAlready = " is done already."

// thenAlso has more carried out after the answer, whatever it is.
func (q *question) thenAlso(b *Bench, more []intent.Intent) {
	after := func(d *draft) {
		first := d.reply
		if d.ask != nil {
			d.ask.thenAlso(b, more)
			return
		}
		b.row(d, more)
		d.reply = joined([]Reply{first, d.reply})
	}
	also := func(do func(d *draft)) func(d *draft) {
		return func(d *draft) {
			if do != nil {
				do(d)
			} else {
				d.tell(ReplyAnswer, nothingWritten)
			}
			if d.err == nil {
				after(d)
			}
		}
	}
	if q.yes != nil {
		q.yes = also(q.yes)
	}
	q.no = also(q.no)
	for i := range q.choices {
		q.choices[i].do = also(q.choices[i].do)
	}
	if other := q.other; other != nil {
		q.other = func(d *draft, text string, m *measure.Quantity) bool {
			if !other(d, text, m) {
				return false
			}
			if d.err == nil {
				after(d)
			}
			return true
		}
	}
}

// joined is one reply of several; the last decides what kind it is, a read-back
// before an answer.
func joined(said []Reply) Reply {
	r := said[len(said)-1]
	var texts []string
	next := ""
	for _, s := range said {
		if s.Text != "" {
			text := sentence(s.Text)
			if now, then, ok := strings.Cut(text, nextLead); ok { // the last one is right, and comes last
				text, next = now, nextLead+then
			}
			texts = append(texts, strings.TrimSpace(text))
		}
		if s.Kind == ReplyReadBack && r.Kind == ReplyAnswer {
			r.Kind = ReplyReadBack
		}
		r.Digits = r.Digits || s.Digits
	}
	r.Text = strings.Join(texts, " ") + next
	return r
}

// nextLead begins what a reply says of the next step.
const nextLead = " Next: "
