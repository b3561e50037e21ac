package jobs

import (
	"strconv"
	"strings"
	"time"

	"putback/intent"
	"putback/jobs/measure"
)

// question waits for an answer. It changes nothing by itself.
type question struct {
	reply  Reply
	asked  time.Time
	holds  bool   // a change of the record hangs on it
	done   bool   // "done" answers it like a yes
	echo   string // said back, it is a yes: "all tight"
	heard  string // what it was asked about, as heard
	ending bool   // asked before a step ends: without an answer it just stays open
	again  bool   // about how a sentence was heard: another sentence takes its place
	// corrects is the entry that is said anew, when the question came of that.
	corrects *correction
	yes      func(d *draft)
	no       func(d *draft)
	choices  []choice
	// other takes an answer that is none of the choices; false: it is not understood.
	other func(d *draft, text string, q *measure.Quantity) bool
}

// old tells that the question waits no longer. One of later than now is of a
// clock that was set back; nobody knows how long ago that was.
func (q *question) old(now time.Time) bool {
	return now.Before(q.asked) || now.Sub(q.asked) > QuestionTime
}

// choice is one answer and what it leads to.
type choice struct {
	say string
	do  func(d *draft)
}

// answer carries out an answer to the open question; false: none is open or this is no answer.
func (b *Bench) answer(d *draft, in intent.Intent) bool {
	q := b.question
	if q == nil {
		return false
	}
	if v, ok := in.(intent.Done); ok && q.done && v.Step == "" || q.echo != "" && strings.HasSuffix(normal(d.heard.Text), q.echo) {
		in = intent.Yes{}
	}
	switch v := in.(type) {
	case intent.Done:
		// A step must not end behind the back of what hangs on an answer; one that
		// is named is no answer.
		if !q.holds || v.Step != "" {
			return false
		}
		d.keep = true
		d.askAgain(q, "First: ")
		return true
	case intent.Strike:
		if !q.holds {
			return false
		}
		d.tell(ReplyAnswer, nothingWritten)
		return true
	case intent.Yes:
		if q.yes != nil {
			q.yes(d)
			return true
		}
		if len(q.choices) > 0 {
			d.keep = true
			d.tell(ReplyQuestion, "Which one: "+orList(q.reply.Choices)+"?")
			return true
		}
	case intent.No:
		if q.no != nil {
			q.no(d)
		} else if q.holds {
			d.tell(ReplyAnswer, nothingWritten)
		} else {
			d.say(ReplyAnswer, "All right.")
		}
		return true
	case intent.Unclear:
		if len(v.Choices) == 0 {
			return false // not sure enough to be an answer
		}
		// "Ten mil" may be unclear by itself and clear as an answer.
		for _, t := range v.Then {
			if c, ok := t.(intent.Choice); ok && q.take(d, c) {
				return true
			}
		}
	case intent.Choice:
		if q.take(d, v) {
			return true
		}
		d.keep = true
		if len(q.reply.Choices) > 0 {
			d.tell(ReplyQuestion, "Say "+orList(q.reply.Choices)+".")
		} else if q.yes != nil {
			d.say(ReplyQuestion, "Yes or no?")
		} else {
			d.askAgain(q, "")
		}
		return true
	}
	return false
}

// take carries out a choice; false: it is no answer to q.
func (q *question) take(d *draft, v intent.Choice) bool {
	if c := q.pick(v); c != nil {
		c.do(d)
		return true
	}
	return q.other != nil && q.other(d, v.Text, v.Quantity)
}

// nothingWritten ends what was asked about without a record.
const nothingWritten = "Nothing written down."

// askAgain puts an open question once more, short ones with a lead.
func (d *draft) askAgain(q *question, lead string) {
	text := q.reply.Text
	if words(text) < 8 && text != "" && lead != "" {
		text = lead + strings.ToLower(text[:1]) + text[1:]
	}
	d.tell(ReplyQuestion, text)
	d.reply.Choices, d.reply.Free = q.reply.Choices, q.reply.Free
}

// dropped says that what an open question was about is not on record, when
// something else was recorded or asked in place of the answer.
func (d *draft) dropped(q *question) {
	if q == nil || !q.holds || q.ending || q.again || d.keep || len(d.events) == 0 && d.ask == nil {
		return
	}
	if d.ask != nil && d.reply.Text == q.reply.Text {
		return // the same question once more
	}
	if f := strings.Fields(q.heard); len(f) > 0 && len(f) <= 10 {
		d.more("Not written down: %s.", strings.TrimRight(strings.Join(f, " "), ".,;:!?"))
		return
	}
	d.more("What I asked about before is not written down.")
}

// pick finds the choice an answer names, by the whole or by a part only it has.
func (q *question) pick(v intent.Choice) *choice {
	text := normal(v.Text)
	if text == "" && v.Quantity != nil {
		text = normal(v.Quantity.String())
	}
	unit, unitErr := measure.ParseUnit(v.Text) // the grammar spells a unit its own way
	var found *choice
	best := 0
	for i := range q.choices {
		say := normal(q.choices[i].say)
		score := 0
		switch {
		case say == text, v.Quantity != nil && sameNumber(say, v.Quantity.Amount):
			score = 3
		case strings.Contains(" "+say+" ", " "+text+" ") || strings.Contains(" "+text+" ", " "+say+" "):
			score = 2
		case v.Quantity != nil && sameUnit(q.choices[i].say, v.Quantity.Unit), unitErr == nil && sameUnit(q.choices[i].say, unit):
			score = 2
		}
		if score > best {
			best, found = score, &q.choices[i]
		} else if score == best {
			found = nil
		}
	}
	if best == 0 {
		return nil
	}
	return found
}

func sameNumber(say string, n float64) bool {
	m, err := strconv.ParseFloat(say, 64)
	return err == nil && m == n
}

func sameUnit(say string, u measure.Unit) bool {
	other, err := measure.ParseUnit(say)
	return err == nil && other == u
}

// choose opens a question with choices.
func (d *draft) choose(kind ReplyKind, text string, holds bool, list ...choice) {
	d.ask = &question{holds: holds, choices: list}
	d.reply = Reply{Kind: kind, Text: text}
	for _, c := range list {
		d.reply.Choices = append(d.reply.Choices, c.say)
	}
}

// confirm opens a question that takes yes or no.
func (d *draft) confirm(kind ReplyKind, text string, yes, no func(d *draft)) {
	d.ask = &question{holds: true, yes: yes, no: no}
	d.reply = Reply{Kind: kind, Text: text, Choices: []string{"yes", "no"}}
}
