package jobs

import (
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
)

// SQLite plays what it finds whole of a write-ahead log and passes over the
// rest in silence, and a job copied without its log is an older job in silence.
// So the lock file beside the job says how far the journal had come. It is
// written after the commit and may lag behind it, never run ahead: what it says
// was there and is not any more is lost.

// reached notes the last event of the journal. Failing costs only the warning.
func (j *journal) reached(seq int64) {
	if w, ok := j.lock.(io.WriterAt); ok {
		_, _ = w.WriteAt(fmt.Appendf(nil, "%-20d\n", seq), 0)
	}
}

// lastReached is the last event the journal is known to have had, 0 unknown.
func (j *journal) lastReached() int64 {
	r, ok := j.lock.(io.ReaderAt)
	if !ok {
		return 0
	}
	b := make([]byte, 20)
	n, _ := r.ReadAt(b, 0)
	seq, _ := strconv.ParseInt(strings.TrimSpace(string(b[:n])), 10, 64)
	return seq
}

// tellLoss compares the journal with how far it had come. A shortened job
// must not take the place of the last good copy unasked.
func (b *Bench) tellLoss() {
	had := b.journal.lastReached()
	if had > b.state.Seq && !b.journal.fresh {
		text := fmt.Sprintf("The job file has lost what came last: it had %d entries and has %d. Say the missing again, or, where the file was copied without its -wal file, copy both.", had, b.state.Seq)
		if b.journal.hasGood() {
			older := LastGood(b.journal.path)
			keep := fmt.Sprintf("%s-of-%d", older, had)
			if os.Rename(older, keep) == nil {
				text += " The last good copy is kept as " + keep + "."
			}
		}
		b.notices = append(b.notices, text)
	}
	b.journal.reached(b.state.Seq)
}
