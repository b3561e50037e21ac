package jobs

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"putback/intent"
)

// QuestionTime is how long a question waits for its answer.
const QuestionTime = 20 * time.Second

// Options say how a job is opened.
type Options struct {
	// Sheet is taken into the job when it differs from the one taken last.
	Sheet *Sheet
	// SheetFile is the sheet's file name, for the record.
	SheetFile string
	// Now is the time the sheet's event gets; the zero time only where Sheet is nil.
	Now time.Time
	// ReadOnly opens the job beside a program that writes it; every change is refused with ErrReadOnly.
	ReadOnly bool
	// CallWord is the word the companion answers to, "toolbox" when empty.
	CallWord string
	// NoCopy keeps Open and Close from writing the last good copy.
	NoCopy bool
}

// Outcome is what an utterance led to. Events are on the disk when it is given.
type Outcome struct {
	Reply  Reply
	Events []Event
}

// Bench is an open job. Its methods may be called from several goroutines.
type Bench struct {
	mu        sync.Mutex
	journal   *journal
	state     *State
	question  *question
	fixes     []correction  // how the last entries are said anew, newest last
	last      Reply         // what was said last
	asked     intent.Intent // what was looked up last, and when
	askedAt   time.Time
	recent    []Event // newest last, at most recentMax
	undo      []undone
	sinceCP   int
	sinceOpen int
	callWord  string
	noCopy    bool
	notices   []string
	verified  chan error
	closed    bool
}

// undone is the state before a turn, kept so that a strike is a step back.
type undone struct {
	turn   int64
	before *State
}

const (
	recentMax = 50
	undoMax   = 32
)

// Open opens the job file, creating it when absent. Only one program at a time
// may have it open for writing ([ErrLocked]). A damaged file is refused with
// [ErrDamaged] and the way to the last good copy; a file of a newer program
// with [ErrNewer]; a file that is no job with [ErrNotAJob].
func Open(path string, o Options) (*Bench, error) {
	if path == "" {
		return nil, errors.New("opening a job: no file is named")
	}
	return open(path, o)
}

// OpenMemory opens a job without a file, for single questions. It is gone at Close.
func OpenMemory(o Options) (*Bench, error) { return open("", o) }

func open(path string, o Options) (*Bench, error) {
	j, err := openJournal(path, o.ReadOnly)
	if err != nil {
		return nil, err
	}
	b := &Bench{journal: j, callWord: o.CallWord, noCopy: o.NoCopy || o.ReadOnly || path == ""}
	if b.callWord == "" {
		b.callWord = "toolbox"
	}
	if err := b.load(o); err != nil {
		return nil, errors.Join(err, j.close())
	}
	return b, nil
}

func (b *Bench) load(o Options) error {
	if err := b.check(); err != nil {
		return err
	}
	st, tail, err := b.journal.restore(0)
	if err != nil {
		return err
	}
	b.state, b.sinceCP = st, tail
	if !o.ReadOnly {
		b.tellLoss()
	}
	err = b.journal.each(func(e Event) error {
		b.recent = append(b.recent, e)
		return nil
	}, "ORDER BY seq DESC LIMIT ?", recentMax)
	if err != nil {
		return err
	}
	slices.Reverse(b.recent)
	for _, e := range b.recent {
		if e.Reply != nil {
			b.last = *e.Reply
		}
	}
	if o.Sheet != nil && !o.ReadOnly {
		if err := b.takeSheet(o); err != nil {
			return err
		}
	}
	b.copyAtOpen()
	return nil
}

func (b *Bench) takeSheet(o Options) error {
	have, err := json.Marshal(b.state.Sheet)
	if err != nil {
		return err
	}
	want, err := json.Marshal(o.Sheet)
	if err != nil {
		return err
	}
	if string(have) == string(want) {
		return nil
	}
	d := b.draft(o.Now, Heard{})
	d.auto = true
	d.add(KindSheet, sheetRead{File: o.SheetFile, Sheet: o.Sheet})
	_, err = b.commit(d)
	return err
}

// draft is a turn being decided: events are folded into a copy of the state as
// they are added, so that what follows sees them; nothing is kept before commit.
type draft struct {
	now     time.Time
	heard   Heard
	before  *State
	st      *State
	bench   *Bench
	events  []Event
	reply   Reply
	ask     *question
	keep    bool // a pending question stays open
	answers bool // what is decided answers the open question
	auto    bool
	err     error
	fix     func(d *draft, v intent.Choice) bool // says the entry anew, corrected
	mends   *correction                          // the entry this turn corrects
	numbers []float64                            // said in the reply, to be checked for sound-alikes
}

func (b *Bench) draft(now time.Time, h Heard) *draft {
	return &draft{now: now, heard: h, before: b.state, st: b.state.clone(), bench: b}
}

// add records an event and folds it into the draft's state.
func (d *draft) add(kind string, data any) {
	if d.err != nil {
		return
	}
	raw, err := json.Marshal(data)
	if err != nil {
		d.err = fmt.Errorf("writing down %s: %w", kind, err)
		return
	}
	first := d.before.Seq + 1
	e := Event{Seq: first + int64(len(d.events)), Turn: first, At: d.now, Kind: kind, Data: raw, Auto: d.auto}
	if len(d.events) == 0 {
		e.Heard, e.Confidence = d.heard.Text, d.heard.Confidence
	}
	if kind != KindStrike && kind != KindAmend {
		if err := d.st.apply(e); err != nil {
			d.err = err
			return
		}
	}
	d.events = append(d.events, e)
}

// Do carries out one intent at the given time. What it changes is committed to
// the disk before it returns; on an error nothing was changed, neither in the
// file nor here. Replies to what was not meant as a command are empty.
func (b *Bench) Do(now time.Time, in intent.Intent, h Heard) (Outcome, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if v, ok := in.(intent.Strike); ok && v.Count > 1 {
		return b.strikes(now, v.Count, h)
	}
	return b.do(now, in, h)
}

func (b *Bench) do(now time.Time, in intent.Intent, h Heard) (Outcome, error) {
	if b.closed {
		return Outcome{}, errors.New("the job is closed; open it again")
	}
	// What is written down must read back as it is, whatever the recogniser gave.
	h.Text = strings.ToValidUTF8(h.Text, "\ufffd")
	if !(h.Confidence >= 0 && h.Confidence <= 1) {
		h.Confidence = 0
	}
	if q := b.question; q != nil && q.old(now) {
		b.question = nil
	}
	d := b.turn(now, in, h)
	if d.err != nil {
		return Outcome{}, fmt.Errorf("%s: %w", d.doing(), d.err)
	}
	out := Outcome{Reply: d.finish(), Events: d.events}
	if len(d.events) > 0 {
		var err error
		if out.Events, err = b.commit(d); err != nil {
			return Outcome{}, err
		}
		b.remake(d)
	}
	switch {
	case d.ask != nil:
		before := b.question
		b.question = d.ask
		b.question.asked = now
		b.question.reply = out.Reply
		b.question.heard = h.Text
		_, b.question.ending = in.(intent.Done)
		if d.answers && before != nil { // one question leads to the next
			b.question.heard, b.question.ending = before.heard, before.ending
		}
	case !d.keep:
		b.question = nil
	}
	if out.Reply.Text != "" && out.Reply.Kind != ReplyRepeat {
		b.last = out.Reply
	}
	if _, ok := intent.AskedOf(in, ""); ok {
		b.asked, b.askedAt = in, now
	}
	return out, nil
}

// turn decides what an intent leads to.
func (b *Bench) turn(now time.Time, in intent.Intent, h Heard) *draft {
	if q := b.question; q != nil && q.corrects != nil && !b.state.Quiet {
		// The answer belongs to the entry that is said anew.
		if try := b.past(now, h, *q.corrects); b.answer(try, in) {
			return b.amended(try, *q.corrects)
		}
	}
	if v, ok := in.(intent.RuleOut); ok && v.Reason != "" && len(b.state.Suspects) == 0 {
		// "Not the pump, the sump": nothing is suspected, so it is no fault.
		if d, ok := b.correct(now, intent.Choice{Text: bare(v.Reason)}, h); ok {
			return d
		}
	}
	if v, ok := in.(intent.Choice); ok {
		if d, ok := b.correct(now, v, h); ok {
			return d
		}
	}
	d := b.draft(now, h)
	b.decide(d, in)
	return d
}

// remake keeps what the committed turn can be corrected by.
func (b *Bench) remake(d *draft) {
	if d.fix == nil {
		return
	}
	turn := d.events[0].Turn
	c := correction{turn: turn, entry: turn, before: d.before, at: d.now, redo: d.fix}
	if d.mends != nil {
		c.entry, c.before = d.mends.entry, d.mends.before
	}
	b.correctable(c)
}

func (d *draft) doing() string {
	if d.heard.Text == "" {
		return "nothing was changed"
	}
	return fmt.Sprintf("%q: nothing was changed", d.heard.Text)
}

// commit writes the draft's events and only then makes its state the bench's.
func (b *Bench) commit(d *draft) ([]Event, error) {
	events := d.events
	if d.reply.Text != "" {
		r := d.reply
		events[len(events)-1].Reply = &r
	}
	var drop int64
	after := d.st
	if last := events[len(events)-1]; last.Kind == KindStrike {
		var v strike
		if err := json.Unmarshal(last.Data, &v); err != nil {
			return nil, err
		}
		drop = v.Turn
		st, err := b.struck(v.Turn, last.Seq)
		if err != nil {
			return nil, err
		}
		after = st
	}
	changes := !d.auto && drop == 0
	turn := events[0].Turn
	from := drop // what was remembered of turns from here on is no longer so
	if d.mends != nil {
		drop, from = d.mends.entry, d.mends.entry+1
	}
	if err := b.journal.append(context.Background(), events, drop); err != nil {
		return nil, err
	}
	if drop > 0 {
		b.undo = slices.DeleteFunc(b.undo, func(u undone) bool { return u.turn >= from })
		b.fixes = slices.DeleteFunc(b.fixes, func(c correction) bool { return c.turn >= from })
	}
	if changes {
		b.undo = append(b.undo, undone{turn, d.before})
		if len(b.undo) > undoMax {
			b.undo = slices.Delete(b.undo, 0, len(b.undo)-undoMax)
		}
	}
	b.state = after
	b.remember(events)
	return events, nil
}

// Tick lets time pass: it gives the warnings that are due and lets an old
// question go. Call it about once a second. What was warned of is recorded, so
// that it is said once, before and after a restart alike.
func (b *Bench) Tick(now time.Time) ([]Reply, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.closed {
		return nil, errors.New("the job is closed; open it again")
	}
	var said []Reply
	if q := b.question; q != nil && q.old(now) {
		b.question = nil
		if q.holds {
			said = append(said, Reply{Kind: ReplyWarning, Text: "No answer, so nothing is written down."})
		}
	}
	select {
	case err := <-b.verified:
		b.verified = nil
		if err != nil {
			b.noCopy = true // of a damaged file no copy takes the last good one's place
			b.notices = append(b.notices, err.Error())
			said = append(said, Reply{Kind: ReplyWarning, Text: "The job file is damaged. Stop here and look at the screen."})
		}
	default:
	}
	if b.journal.readOnly {
		return said, nil
	}
	d := b.draft(now, Heard{})
	d.auto = true
	for _, t := range d.st.Timers {
		if r, v, ok := t.tell(now); ok {
			d.add(KindTimerSaid, v)
			said = append(said, r)
		}
	}
	if d.err != nil {
		return nil, d.err
	}
	if len(d.events) > 0 {
		if _, err := b.commit(d); err != nil {
			return nil, err
		}
	}
	if len(said) > 0 {
		b.last = said[len(said)-1]
	}
	return said, nil
}

// Pending is the question that waits for an answer, nil when there is none.
func (b *Bench) Pending() *Reply {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.question == nil {
		return nil
	}
	r := b.question.reply
	return &r
}

// Notices are lines for the screen, not for the ear: a copy that could not be
// written, a checkpoint that had to be rebuilt.
func (b *Bench) Notices() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Clone(b.notices)
}

// History gives the events with from ≤ Seq, at most max of them (0: all), oldest first.
func (b *Bench) History(from int64, max int) ([]Event, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if max <= 0 {
		max = -1
	}
	var list []Event
	err := b.journal.each(func(e Event) error { list = append(list, e); return nil }, "WHERE seq >= ? ORDER BY seq LIMIT ?", from, max)
	return list, err
}

// Close ends the work, leaves a checkpoint and the last good copy and frees the file.
func (b *Bench) Close() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.closed {
		return nil
	}
	b.closed = true
	if !b.journal.readOnly && b.sinceCP > 0 {
		b.saveCheckpoint()
	}
	if err := b.settleVerify(); err != nil {
		return errors.Join(err, b.journal.close())
	}
	b.copyAtClose()
	return b.journal.close()
}
