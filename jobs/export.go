package jobs

import (
	"bufio"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"time"
)

// exportHead is the first line of an export.
type exportHead struct {
	Putback string `json:"putback"` // always "job"
	Layout  int    `json:"layout"`
	Job     string `json:"job,omitempty"`
}

// maxLine bounds a line of an import: an event with a whole sheet in it is far smaller.
const maxLine = 8 << 20

// Export writes the whole journal as JSON lines: a head, then one event a
// line, struck ones too. [Import] of it gives the identical job.
func Export(b *Bench, w io.Writer) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	out := bufio.NewWriter(w)
	enc := json.NewEncoder(out)
	if err := enc.Encode(exportHead{"job", schemaVersion, b.state.Job}); err != nil {
		return fmt.Errorf("exporting the job: %w", err)
	}
	if err := b.journal.each(func(e Event) error { return enc.Encode(e) }, "ORDER BY seq"); err != nil {
		return fmt.Errorf("exporting the job: %w", err)
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("exporting the job: %w", err)
	}
	return nil
}

// Import makes a job file at path from the export r, named name in errors, and
// gives the number of events. The file must not exist; when the export cannot
// be read whole, or its events do not fold, no file is left.
func Import(name string, r io.Reader, path string) (int, error) {
	if _, err := os.Lstat(path); err == nil {
		return 0, fmt.Errorf("importing %s into %s: the file exists already; name another", name, path)
	}
	b, err := Open(path, Options{NoCopy: true})
	if err != nil {
		return 0, fmt.Errorf("importing %s: %w", name, err)
	}
	err = b.take(r)
	if err == nil {
		b.saveCheckpoint()
	}
	err = errors.Join(err, b.journal.close())
	if err != nil {
		for _, tail := range []string{"", "-wal", "-shm", ".lock"} {
			os.Remove(path + tail)
		}
		return 0, fmt.Errorf("importing %s into %s: %w", name, path, err)
	}
	return int(b.state.Seq), nil
}

// take reads an export into an empty journal.
func (b *Bench) take(r io.Reader) error {
	sc := bufio.NewScanner(r)
	sc.Buffer(nil, maxLine)
	line := 0
	var head exportHead
	ctx := context.Background()
	tx, err := b.journal.db.BeginTx(ctx, nil)
	if err != nil {
		return b.journal.explain("writing", err)
	}
	defer tx.Rollback()
	var seq int64
	struck := map[int64]bool{}
	var pack []Event
	flush := func() error {
		err := insertEvents(ctx, tx, pack)
		pack = pack[:0]
		return b.journal.explain("writing", err)
	}
	for sc.Scan() {
		line++
		if len(sc.Bytes()) == 0 {
			continue
		}
		if line == 1 {
			if err := json.Unmarshal(sc.Bytes(), &head); err != nil || head.Putback != "job" {
				return errors.New("line 1: this is no export of a job; it should begin with {\"putback\":\"job\"")
			}
			if head.Layout > schemaVersion {
				return fmt.Errorf("line 1: it has layout %d, this program knows %d: %w", head.Layout, schemaVersion, ErrNewer)
			}
			continue
		}
		var e Event
		if err := json.Unmarshal(sc.Bytes(), &e); err != nil {
			return fmt.Errorf("line %d: %w", line, err)
		}
		if err := follows(e, seq, struck); err != nil {
			return fmt.Errorf("line %d: %w", line, err)
		}
		seq = e.Seq
		if pack = append(pack, e); len(pack) == 5000 {
			if err := flush(); err != nil {
				return err
			}
		}
	}
	if err := sc.Err(); err != nil {
		return fmt.Errorf("line %d: %w", line+1, err)
	}
	if line == 0 {
		return errors.New("it is empty")
	}
	if err := flush(); err != nil {
		return err
	}
	if err := tx.Commit(); err != nil {
		return b.journal.explain("writing", err)
	}
	// Folded from the file, event by event: an export may be larger than the memory.
	st, _, err := b.journal.restore(0)
	if err != nil {
		return err
	}
	b.state = st
	return nil
}

// follows checks that an event can stand after the event seq, and notes what it strikes.
func follows(e Event, seq int64, struck map[int64]bool) error {
	if e.Seq != seq+1 {
		return fmt.Errorf("event %d follows on %d; some are missing or doubled", e.Seq, seq)
	}
	if e.Turn < 1 || e.Turn > e.Seq {
		return fmt.Errorf("event %d cannot belong to turn %d", e.Seq, e.Turn)
	}
	if !json.Valid(e.Data) {
		return fmt.Errorf("event %d has no data; an empty one is {}", e.Seq)
	}
	if e.Kind != KindStrike {
		return nil
	}
	v, err := read[strike](e)
	if err != nil {
		return fmt.Errorf("event %d: %w", e.Seq, err)
	}
	if v.Turn < 1 || v.Turn >= e.Seq || struck[v.Turn] {
		return fmt.Errorf("event %d strikes turn %d, which cannot be struck", e.Seq, v.Turn)
	}
	struck[v.Turn] = true
	return nil
}

// Tables are the names of the tables [Bench.CSV] writes.
func Tables() []string {
	return []string{"fasteners", "steps", "parts", "fluids", "measurements", "doubts", "notes", "events"}
}

// ExportCSV writes every table of [Tables] into a folder, made when it does not exist.
func ExportCSV(b *Bench, dir string, now time.Time) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("exporting the job: %w", err)
	}
	for _, table := range Tables() {
		path := filepath.Join(dir, table+".csv")
		f, err := os.Create(path)
		if err != nil {
			return fmt.Errorf("exporting the job: %w", err)
		}
		if err := errors.Join(b.CSV(f, table, now), f.Sync(), f.Close()); err != nil {
			return fmt.Errorf("exporting to %s: %w", path, err)
		}
	}
	return nil
}

// CSV writes one table of the job as comma-separated values with a head line.
func (b *Bench) CSV(w io.Writer, table string, now time.Time) error {
	v := b.View(now)
	var rows [][]string
	itoa := strconv.Itoa
	switch table {
	case "fasteners":
		rows = append(rows, []string{"name", "kind", "size", "thread", "class", "place", "stow", "count", "removed", "refitted", "renewed", "discarded", "out", "loose", "snug", "torqued", "by feel", "torque", "done at", "source", "renew", "excuse"})
		for _, g := range v.Groups {
			rows = append(rows, []string{g.Name, g.Kind, g.Size, g.Thread, g.Class, g.Place, g.Stow, itoa(g.Count), itoa(g.Removed), itoa(g.Refitted), itoa(g.Renewed), itoa(g.Discarded), itoa(g.Out), itoa(g.Loose), itoa(g.Snug), itoa(g.Torqued), itoa(g.ByFeel), g.Torque, g.DoneAt, g.Source, g.Renew, g.Excuse})
		}
	case "steps":
		rows = append(rows, []string{"name", "phase", "state", "what", "reason"})
		for _, s := range v.Steps {
			rows = append(rows, []string{s.Name, s.Phase, s.State, s.Do, s.Reason})
		}
	case "parts":
		rows = append(rows, []string{"name", "need", "have", "fitted", "new", "spare", "where", "renew"})
		for _, p := range v.Parts {
			rows = append(rows, []string{p.Name, itoa(p.Need), itoa(p.Have), itoa(p.Fitted), itoa(p.New), itoa(p.Spare), p.Where, p.Renew})
		}
	case "fluids":
		rows = append(rows, []string{"name", "fill", "drained", "filled"})
		for _, f := range v.Fluids {
			rows = append(rows, []string{f.Name, f.Fill, f.Drained, f.Filled})
		}
	case "measurements":
		rows = append(rows, []string{"name", "limit", "value", "verdict"})
		for _, l := range v.Limits {
			rows = append(rows, []string{l.Name, l.Limit, l.Value, l.Verdict})
		}
	case "doubts":
		rows = append(rows, []string{"at", "text", "step", "open", "ended"})
		for _, d := range v.Doubts {
			rows = append(rows, []string{d.At.Format(time.RFC3339), d.Text, d.Step, strconv.FormatBool(d.Open), d.Ended})
		}
	case "notes":
		rows = append(rows, []string{"at", "kind", "text"})
		for _, n := range v.Notes {
			rows = append(rows, []string{n.At.Format(time.RFC3339), n.Kind, n.Text})
		}
	case "events":
		rows = append(rows, []string{"seq", "at", "kind", "words", "heard", "confidence", "struck"})
		list, err := b.History(0, 0)
		if err != nil {
			return err
		}
		b.mu.Lock()
		struck := b.state.Struck
		b.mu.Unlock()
		for _, e := range list {
			rows = append(rows, []string{strconv.FormatInt(e.Seq, 10), e.At.Format(time.RFC3339), e.Kind, Words(e), e.Heard, strconv.FormatFloat(e.Confidence, 'g', -1, 64), strconv.FormatBool(struck[e.Turn] || b.state.Amended[e.Turn])})
		}
	default:
		return fmt.Errorf("exporting the job: there is no table %q; there are %s", table, andList(Tables()))
	}
	cw := csv.NewWriter(w)
	if err := cw.WriteAll(rows); err != nil {
		return fmt.Errorf("exporting the table %s: %w", table, err)
	}
	return nil
}
