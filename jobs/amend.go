package jobs

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"putback/intent"
)

// amend is the data of KindAmend: what an older turn should have been. The
// journal keeps the turn as it was written; the fold puts these events in its
// place, so that everything recorded since stands on what is right.
type amend struct {
	Turn   int64     `json:"turn"`
	Events []amended `json:"events"`
}

type amended struct {
	Kind string          `json:"kind"`
	Data json.RawMessage `json:"data"`
}

// in gives the events as they stand in the place of the first event of the turn.
func (a amend) in(first Event) []Event {
	list := make([]Event, len(a.Events))
	for i, v := range a.Events {
		list[i] = Event{Seq: first.Seq, Turn: first.Turn, At: first.At, Kind: v.Kind, Data: v.Data, Heard: first.Heard, Confidence: first.Confidence}
	}
	return list
}

// standing is what counts of a journal: the turns taken back, and what other
// turns should have been. An amendment that was struck counts no more.
type standing struct {
	struck map[int64]bool
	amends map[int64]amend
}

// apply folds an event as it stands; seq and struck marks are kept.
func (w standing) apply(s *State, e Event) error {
	switch {
	case e.Kind == KindStrike, e.Kind == KindAmend, w.struck[e.Turn]:
	default:
		a, ok := w.amends[e.Turn]
		if !ok {
			return s.apply(e)
		}
		if e.Seq == e.Turn {
			for _, v := range a.in(e) {
				if err := s.apply(v); err != nil {
					return err
				}
			}
		}
	}
	s.Seq = e.Seq
	return nil
}

// amendments gives what events after seq say older turns should have been; the
// latest counts, and none that was struck, nor the one that is turn without.
func (j *journal) amendments(after, without int64, struck map[int64]bool) (map[int64]amend, error) {
	list := map[int64]amend{}
	err := j.each(func(e Event) error {
		v, err := read[amend](e)
		if !struck[e.Turn] && e.Turn != without {
			list[v.Turn] = v
		}
		return err
	}, "WHERE seq > ? AND kind = 'amend' ORDER BY seq", after)
	return list, err
}

// Errors of [Bench.Amend], to be compared with errors.Is.
var (
	// ErrNoEntry: the journal has no such entry, or none that can be corrected.
	ErrNoEntry = errors.New("no entry that can be corrected")
	// ErrBuiltOn: a later entry would make no sense after the correction.
	ErrBuiltOn = errors.New("a later entry builds on it")
)

// Amend corrects an older entry, for afterwards with clean hands: the turn that
// event seq belongs to counts from now on as if in had been said at its time,
// or as not said at all when in is an [intent.Strike]. Everything recorded
// since is folded anew on that; where a later entry then makes no sense, nothing
// is changed and the error, [ErrBuiltOn], names it. The journal keeps both, and
// "strike that" takes the correction back as the last change.
func (b *Bench) Amend(now time.Time, seq int64, in intent.Intent, h Heard) (Outcome, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	doing := func(err error) (Outcome, error) {
		return Outcome{}, fmt.Errorf("correcting entry %d: %w", seq, err)
	}
	if b.closed {
		return doing(errors.New("the job is closed; open it again"))
	}
	turn, old, err := b.amendable(seq)
	if err != nil {
		return doing(err)
	}
	d := b.draft(now, h)
	if _, gone := in.(intent.Strike); gone {
		d.add(KindStrike, strike{Turn: turn})
		d.say(ReplyReadBack, "Struck: %s.", strings.TrimSuffix(short(inWords(old)), "."))
	} else {
		anew, err := b.anew(turn, old[0].At, in, h)
		if err != nil {
			return doing(err)
		}
		d.add(KindAmend, anew)
		d.say(ReplyReadBack, "Corrected: %s.", strings.TrimSuffix(short(inWords(anew.in(old[0]))), "."))
	}
	if d.err != nil {
		return doing(d.err)
	}
	events := d.events
	after, err := b.without(turn, events[0])
	if err != nil {
		return doing(err)
	}
	reply := d.finish()
	events[0].Reply = &reply
	if err := b.journal.append(context.Background(), events, turn); err != nil {
		return doing(err)
	}
	b.state, b.undo, b.question, b.fixes, b.last = after, nil, nil, nil, reply
	b.remember(events)
	return Outcome{Reply: reply, Events: events}, nil
}

// amendable finds the turn of an event and its events, when it can be corrected.
func (b *Bench) amendable(seq int64) (turn int64, events []Event, err error) {
	read1 := func(query string, n int64) error {
		events = nil
		return b.journal.each(func(e Event) error { events = append(events, e); return nil }, query, n)
	}
	if err := read1("WHERE seq = ?", seq); err != nil {
		return 0, nil, err
	}
	if len(events) == 0 {
		return 0, nil, fmt.Errorf("the job has entries 1 to %d: %w", b.state.Seq, ErrNoEntry)
	}
	turn = events[0].Turn
	if events[0].Kind == KindAmend && !b.state.Struck[turn] {
		// A correction is corrected where it points.
		v, err := read[amend](events[0])
		if err != nil {
			return 0, nil, err
		}
		turn = v.Turn
	}
	if err := read1("WHERE turn = ? ORDER BY seq", turn); err != nil {
		return 0, nil, err
	}
	for _, e := range events {
		switch {
		case b.state.Struck[turn]:
			return 0, nil, fmt.Errorf("it was taken back already: %w", ErrNoEntry)
		case e.Kind == KindStrike || e.Kind == KindAmend:
			return 0, nil, fmt.Errorf("it takes back or corrects another: %w", ErrNoEntry)
		case e.Auto && e.Kind == KindSheet:
			return 0, nil, fmt.Errorf("it is the sheet: correct the file and open the job with it: %w", ErrNoEntry)
		case e.Auto:
			return 0, nil, fmt.Errorf("the program wrote it by itself: %w", ErrNoEntry)
		}
	}
	return turn, events, nil
}

// anew decides what the turn should have been, on the state before it.
func (b *Bench) anew(turn int64, at time.Time, in intent.Intent, h Heard) (amend, error) {
	switch in.(type) {
	case intent.Yes, intent.No, intent.Choice, intent.Unclear:
		return amend{}, errors.New("write the whole entry as it should have been said")
	}
	before, _, err := b.journal.restore(turn)
	if err != nil {
		return amend{}, err
	}
	past := &Bench{journal: b.journal, state: before, callWord: b.callWord}
	d := past.draft(at, h)
	past.decide(d, in)
	if d.err != nil {
		return amend{}, d.err
	}
	said := d.finish()
	switch {
	case d.ask != nil:
		return amend{}, fmt.Errorf("it leaves a question open (%s): write the whole entry as it should have been said", said.Text)
	case len(d.events) == 0:
		return amend{}, fmt.Errorf("that writes nothing down (%s)", said.Text)
	}
	a := amend{Turn: turn}
	for _, e := range d.events {
		if e.Kind == KindStrike || e.Kind == KindSheet {
			return amend{}, errors.New("write the whole entry as it should have been said")
		}
		a.Events = append(a.Events, amended{e.Kind, e.Data})
	}
	return a, nil
}

// without folds the journal anew as it stands with the strike or amendment e of
// the turn, which is not in the journal yet.
func (b *Bench) without(turn int64, e Event) (*State, error) {
	st, w, err := b.journal.before(turn)
	if err != nil {
		return nil, err
	}
	st = st.clone()
	st.Struck, st.Amended = maps.Clone(b.state.Struck), maps.Clone(b.state.Amended)
	w.struck = maps.Clone(b.state.Struck)
	if e.Kind == KindStrike {
		w.struck[turn], st.Struck[turn] = true, true
	} else {
		v, err := read[amend](e)
		if err != nil {
			return nil, err
		}
		w.amends[turn] = v
		st.markAmended(turn)
	}
	var stuck *Event
	err = b.journal.each(func(e Event) error {
		err := w.apply(st, e)
		if err != nil && stuck == nil {
			stuck = &e
		}
		return err
	}, "WHERE seq > ? ORDER BY seq", st.Seq)
	if stuck != nil {
		return nil, fmt.Errorf("entry %d, %q, would no longer fit (%w): correct that one first: %w", stuck.Seq, Words(*stuck), err, ErrBuiltOn)
	}
	if err != nil {
		return nil, err
	}
	st.Seq = e.Seq
	return st, nil
}

// uncorrected gives what an entry says without its correction e.
func (b *Bench) uncorrected(e Event) ([]Event, error) {
	v, err := read[amend](e)
	if err != nil {
		return nil, err
	}
	var list []Event
	if err := b.journal.each(func(e Event) error { list = append(list, e); return nil }, "WHERE turn = ? ORDER BY seq", v.Turn); err != nil {
		return nil, err
	}
	still, err := b.journal.amendments(0, e.Turn, b.state.Struck)
	if err != nil {
		return nil, err
	}
	if a, ok := still[v.Turn]; ok && len(list) > 0 {
		list = a.in(list[0])
	}
	if len(list) == 0 {
		return nil, fmt.Errorf("entry %d: %w", v.Turn, ErrNoEntry)
	}
	return list, nil
}

// remember keeps events that were just written for the page and for the stored state.
func (b *Bench) remember(events []Event) {
	b.recent = append(b.recent, events...)
	if n := len(b.recent) - recentMax; n > 0 {
		b.recent = slices.Delete(b.recent, 0, n)
	}
	b.sinceCP += len(events)
	b.sinceOpen += len(events)
	if b.sinceCP >= checkpointEvery {
		b.saveCheckpoint()
	}
}

func (s *State) markAmended(turn int64) {
	s.Amended = maps.Clone(s.Amended)
	if s.Amended == nil {
		s.Amended = map[int64]bool{}
	}
	s.Amended[turn] = true
}

// unamend lets the turn that a struck amendment pointed at count as before it.
func (b *Bench) unamend(st *State, turn int64) error {
	var list []Event
	if err := b.journal.each(func(e Event) error { list = append(list, e); return nil }, "WHERE seq = ? AND kind = 'amend'", turn); err != nil || len(list) == 0 {
		return err
	}
	v, err := read[amend](list[0])
	if err != nil {
		return err
	}
	still, err := b.journal.amendments(0, turn, st.Struck)
	if err != nil {
		return err
	}
	st.Amended = maps.Clone(st.Amended)
	if _, ok := still[v.Turn]; !ok {
		delete(st.Amended, v.Turn)
	}
	if len(st.Amended) == 0 {
		st.Amended = nil
	}
	return nil
}
