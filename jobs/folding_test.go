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
	if e.Kind == KindStrike {
		return f.strike(e)
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

// strike goes back to the safe point before the struck turn and folds what
// stands from there.
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
	for len(f.keep) > 1 && f.keep[len(f.keep)-1].st.Seq >= v.Turn {
		f.keep = f.keep[:len(f.keep)-1]
	}
	p := f.keep[len(f.keep)-1]
	st := p.st.clone()
	for _, old := range f.events[p.at:] {
		if old.Kind != KindStrike && !struck.Struck[old.Turn] {
			if err := st.apply(old); err != nil {
				return err
			}
		}
		st.Seq = old.Seq
	}
	st.Struck = struck.Struck
	f.st = st
	return nil
}
