package jobs

import (
	"errors"
	"slices"
	"time"

	"putback/intent"
)

var errNothingToStrike = errors.New("nothing to strike")

// mostStrikes is how many changes one sentence takes back at most: nobody
// remembers more.
const mostStrikes = 5

// strikes takes the last n changes back, each as an entry of its own.
func (b *Bench) strikes(now time.Time, n int, h Heard) (Outcome, error) {
	if n > mostStrikes {
		d := b.draft(now, h)
		d.say(ReplyAnswer, "No more than %s at once. Nothing is struck.", spell(mostStrikes))
		return Outcome{Reply: d.finish()}, nil
	}
	var all Outcome
	var said []Reply
	for range n {
		out, err := b.do(now, intent.Strike{}, h)
		if err != nil {
			return all, err
		}
		said = append(said, out.Reply)
		all.Events = append(all.Events, out.Events...)
		if len(out.Events) == 0 {
			break
		}
	}
	all.Reply = joined(said)
	b.last = all.Reply
	return all, nil
}

// lastChange finds the last turn that changed the job and still stands.
func (b *Bench) lastChange() (int64, []Event, error) {
	var turn int64
	var events []Event
	stop := errors.New("found")
	err := b.journal.each(func(e Event) error {
		if turn != 0 && e.Turn != turn {
			return stop
		}
		if turn == 0 && (e.Auto || e.Kind == KindStrike || b.state.Struck[e.Turn]) {
			return nil
		}
		turn = e.Turn
		events = append(events, e)
		return nil
	}, "ORDER BY seq DESC")
	if err != nil && !errors.Is(err, stop) {
		return 0, nil, err
	}
	if turn == 0 {
		return 0, nil, errNothingToStrike
	}
	slices.Reverse(events)
	return turn, events, nil
}

// struck gives the state with the turn taken back. What the program recorded
// by itself since, a warning given, stays.
func (b *Bench) struck(turn, at int64) (*State, error) {
	var st *State
	for _, u := range b.undo {
		if u.turn == turn {
			st = u.before.clone()
		}
	}
	if st == nil {
		var err error
		if st, _, err = b.journal.restore(turn); err != nil {
			return nil, err
		}
	}
	st.Struck, st.Amended = b.state.Struck, b.state.Amended
	// Only struck turns, strikes and automatic events can stand after the last change.
	err := b.journal.each(func(e Event) error {
		if !e.Auto || e.Turn == turn {
			return nil
		}
		seq := st.Seq
		if err := st.apply(e); err != nil {
			return err
		}
		st.Seq = seq
		return nil
	}, "WHERE seq > ? AND auto = 1 ORDER BY seq", turn)
	if err != nil {
		return nil, err
	}
	st.markStruck(turn)
	if err := b.unamend(st, turn); err != nil {
		return nil, err
	}
	st.Seq = at
	return st, nil
}
