package jobs

import (
	"bytes"
	"compress/flate"
	"crypto/sha256"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
)

// checkpointEvery is the number of events between two stored states; folding
// so many takes a few hundredths of a second.
const checkpointEvery = 2000

// checkpointsKept bounds the file: far enough back for any strike somebody
// really speaks, and a strike further back folds from the first event.
const checkpointsKept = 4

// saveCheckpoint stores the state so that opening need not fold every event.
// It only saves time: when it fails the job goes on and says so on the screen.
func (b *Bench) saveCheckpoint() {
	if err := b.journal.saveCheckpoint(b.state); err != nil {
		b.notices = append(b.notices, "The stored state could not be written; opening will take longer: "+err.Error())
		return
	}
	b.sinceCP = 0
}

func (j *journal) saveCheckpoint(s *State) error {
	raw, err := json.Marshal(s)
	if err != nil {
		return err
	}
	sum := sha256.Sum256(raw)
	var buf bytes.Buffer
	w, err := flate.NewWriter(&buf, flate.BestSpeed)
	if err != nil {
		return err
	}
	if _, err := w.Write(raw); err != nil {
		return err
	}
	if err := w.Close(); err != nil {
		return err
	}
	if _, err := j.db.Exec("INSERT OR REPLACE INTO checkpoints(seq,fold,sum,state) VALUES(?,?,?,?)", s.Seq, foldVersion, sum[:], buf.Bytes()); err != nil {
		return j.explain("writing", err)
	}
	_, err = j.db.Exec("DELETE FROM checkpoints WHERE seq NOT IN (SELECT seq FROM checkpoints ORDER BY seq DESC LIMIT ?)", checkpointsKept)
	return j.explain("writing", err)
}

// checkpoint reads the newest usable stored state before seq (0: any).
func (j *journal) checkpoint(before int64) (*State, error) {
	if before == 0 {
		before = 1 << 62
	}
	for {
		var seq int64
		var fold int
		var sum, packed []byte
		err := j.db.QueryRow("SELECT seq,fold,sum,state FROM checkpoints WHERE seq < ? ORDER BY seq DESC LIMIT 1", before).Scan(&seq, &fold, &sum, &packed)
		if errors.Is(err, sql.ErrNoRows) {
			return newState(), nil
		}
		if err != nil {
			return nil, j.explain("reading", err)
		}
		before = seq
		if fold != foldVersion {
			continue
		}
		raw, err := io.ReadAll(flate.NewReader(bytes.NewReader(packed)))
		if err != nil {
			continue
		}
		if got := sha256.Sum256(raw); !bytes.Equal(got[:], sum) {
			continue
		}
		s := newState()
		if json.Unmarshal(raw, s) != nil || s.Seq != seq {
			continue
		}
		s.reindex()
		return s, nil
	}
}

// before gives the newest stored state before a turn (0: any) and what stands of the
// events after it.
func (j *journal) before(turn int64) (*State, standing, error) {
	s, err := j.checkpoint(turn)
	if err != nil {
		return nil, standing{}, err
	}
	var w standing
	if w.struck, err = j.strikes(s.Seq); err != nil {
		return nil, w, err
	}
	w.amends, err = j.amendments(s.Seq, turn, w.struck)
	return s, w, err
}

// restore gives the state after the last event, or with until > 0 the state
// before that turn, and how many events had to be folded.
func (j *journal) restore(until int64) (*State, int, error) {
	s, w, err := j.before(until)
	if err != nil {
		return nil, 0, err
	}
	// A stored state is dropped together with a strike or an amendment that reaches behind it.
	for turn := range w.struck {
		if turn <= s.Seq && until == 0 {
			return nil, 0, fmt.Errorf("job file %s: event %d is struck but stored as done: %w%s", j.path, turn, ErrDamaged, j.wayBack())
		}
	}
	for turn := range w.amends {
		if turn <= s.Seq && until == 0 {
			return nil, 0, fmt.Errorf("job file %s: event %d is amended but stored as it was: %w%s", j.path, turn, ErrDamaged, j.wayBack())
		}
	}
	if until == 0 {
		until = 1 << 62
	}
	n := 0
	s = s.clone()
	s.Struck, s.Amended = maps.Clone(s.Struck), maps.Clone(s.Amended)
	err = j.each(func(e Event) error {
		n++
		if err := s.replay(e, w); errors.Is(err, ErrDamaged) {
			return fmt.Errorf("reading job file %s: %w%s", j.path, err, j.wayBack())
		} else if err != nil {
			return fmt.Errorf("reading job file %s: %w", j.path, err)
		}
		return nil
	}, "WHERE seq > ? AND seq < ? ORDER BY seq", s.Seq, until)
	if err != nil {
		return nil, 0, err
	}
	return s, n, nil
}

// replay folds an event of the journal, passing over what was struck and
// putting amendments in their place.
func (s *State) replay(e Event, w standing) error {
	if e.Seq != s.Seq+1 {
		return fmt.Errorf("the journal jumps from event %d to %d: %w", s.Seq, e.Seq, ErrDamaged)
	}
	switch e.Kind {
	case KindStrike:
		v, err := read[strike](e)
		if err != nil {
			return err
		}
		s.Struck[v.Turn] = true // restore gave this state a map of its own
	case KindAmend:
		v, err := read[amend](e)
		if err != nil {
			return err
		}
		if !w.struck[e.Turn] {
			s.markAmended(v.Turn)
		}
	}
	return w.apply(s, e)
}

func (s *State) markStruck(turn int64) {
	s.Struck = maps.Clone(s.Struck)
	s.Struck[turn] = true
}

// strikes gives the turns taken back by events after seq.
func (j *journal) strikes(after int64) (map[int64]bool, error) {
	list := map[int64]bool{}
	err := j.each(func(e Event) error {
		v, err := read[strike](e)
		list[v.Turn] = true
		return err
	}, "WHERE seq > ? AND kind = 'strike'", after)
	return list, err
}
