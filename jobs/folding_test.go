package jobs

import (
	"fmt"
)

// folding is the second way to fold a journal, apart from the one opening goes:
// it takes strikes as they come instead of knowing them beforehand. It takes events one after the other, checks that they follow on each
// other and folds them; a strike among them folds anew what stands.
type folding struct {
	st     *State
	events []Event // kept from the last safe point on
	keep   []safePoint
}

// safePoint is a state that a strike can go back to.
type safePoint struct {
	st *State
	at int // events folded into it
}

// foldEvery is the number of events between two safe points.
const foldEvery = 4096

func newFolding() *folding {
	return &folding{st: newState(), keep: []safePoint{{newState(), 0}}}
}

func (f *folding) event(e Event) error {
	if e.Seq != f.st.Seq+1 {
		return fmt.Errorf("event %d follows on %d; some are missing or doubled", e.Seq, f.st.Seq)
	}
	if e.Turn < 1 || e.Turn > e.Seq {
		return fmt.Errorf("event %d cannot belong to turn %d", e.Seq, e.Turn)
	}
	f.events = append(f.events, e)
	switch e.Kind {
	case KindStrike:
		return f.strike(e)
	case KindAmend:
		return f.amend(e)
	}
	if err := f.st.apply(e); err != nil {
		return err
	}
	if len(f.events)-f.keep[len(f.keep)-1].at >= foldEvery {
		f.keep = append(f.keep, safePoint{f.st, len(f.events)})
		f.st = f.st.clone()
	}
	return nil
}

// strike takes a turn back and folds what stands.
func (f *folding) strike(e Event) error {
	v, err := read[strike](e)
	if err != nil {
		return err
	}
	if v.Turn < 1 || v.Turn >= e.Seq || f.st.Struck[v.Turn] {
		return fmt.Errorf("event %d strikes turn %d, which cannot be struck", e.Seq, v.Turn)
	}
	struck := f.st.clone()
	struck.markStruck(v.Turn)
	from := v.Turn
	// An amendment that is struck changes what stands from the turn it amends on.
	if old := f.events[v.Turn-1]; old.Kind == KindAmend {
		a, err := read[amend](old)
		if err != nil {
			return err
		}
		from = a.Turn
	}
	return f.again(from, struck.Struck)
}

// amend puts events in the place of an older turn and folds what stands.
func (f *folding) amend(e Event) error {
	v, err := read[amend](e)
	if err != nil {
		return err
	}
	if v.Turn < 1 || v.Turn >= e.Seq || f.st.Struck[v.Turn] || f.events[v.Turn-1].Turn != v.Turn {
		return fmt.Errorf("event %d amends turn %d, which cannot be amended", e.Seq, v.Turn)
	}
	return f.again(v.Turn, f.st.Struck)
}

// again goes back to the safe point before a turn and folds what stands from
// there: all but the struck turns, and amendments in their places.
func (f *folding) again(turn int64, struck map[int64]bool) error {
	for len(f.keep) > 1 && f.keep[len(f.keep)-1].st.Seq >= turn {
		f.keep = f.keep[:len(f.keep)-1]
	}
	w := standing{struck: struck, amends: map[int64]amend{}}
	done := map[int64]bool{}
	for _, e := range f.events {
		if e.Kind == KindAmend && !struck[e.Turn] {
			v, err := read[amend](e)
			if err != nil {
				return err
			}
			w.amends[v.Turn], done[v.Turn] = v, true
		}
	}
	p := f.keep[len(f.keep)-1]
	st := p.st.clone()
	for _, old := range f.events[p.at:] {
		if err := w.apply(st, old); err != nil {
			return err
		}
	}
	st.Struck = struck
	if st.Amended = nil; len(done) > 0 {
		st.Amended = done
	}
	f.st = st
	return nil
}
