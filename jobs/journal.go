package jobs

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// The errors a job file gives. Each comes wrapped with the file's name and the way out.
var (
	// ErrLocked: another program has the job open for writing.
	ErrLocked = errors.New("another program is already working on this job; end it first, or look at the job with status, report or history")
	// ErrDamaged: the file fails SQLite's integrity check or is no database at all.
	ErrDamaged = errors.New("the job file is damaged")
	// ErrNewer: the file was written by a newer Putback.
	ErrNewer = errors.New("the job file was written by a newer version of this program; update the program to open it")
	// ErrGone: the file is not there or empty, but its last good copy is.
	ErrGone = errors.New("the job file is gone, its last good copy is not")
	// ErrNotAJob: a database, but of some other program.
	ErrNotAJob = errors.New("this file is not a Putback job; name another file with --job")
	// ErrReadOnly: a change was asked of a job opened for reading only.
	ErrReadOnly = errors.New("the job is open for reading only; nothing was changed")
	// ErrNoSpace: the disk is full.
	ErrNoSpace = errors.New("the disk is full; nothing was changed. Free some space and say it again")
)

const (
	// applicationID marks the SQLite file as ours ("PutB").
	applicationID = 0x50757442
	// schemaVersion is the layout of the tables, kept in user_version. Layout 1
	// had no checksums and was never given out.
	schemaVersion = 2
)

// journal is the append-only table of events in one SQLite file.
type journal struct {
	db       *sql.DB
	path     string // "" in memory
	lock     io.Closer
	readOnly bool
	dsn      string
	fresh    bool // made now
	stub     bool // shorter than any database: SQLite would begin a new one in its place
}

const schema = `
CREATE TABLE IF NOT EXISTS events (
	seq        INTEGER PRIMARY KEY,
	turn       INTEGER NOT NULL,
	at         TEXT NOT NULL,
	kind       TEXT NOT NULL,
	data       TEXT NOT NULL,
	heard      TEXT NOT NULL DEFAULT '',
	confidence REAL NOT NULL DEFAULT 0,
	auto       INTEGER NOT NULL DEFAULT 0,
	reply      TEXT,
	sum        BLOB NOT NULL
);
CREATE TRIGGER IF NOT EXISTS events_keep_update BEFORE UPDATE ON events
	BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
CREATE TRIGGER IF NOT EXISTS events_keep_delete BEFORE DELETE ON events
	BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
CREATE TABLE IF NOT EXISTS checkpoints (
	seq   INTEGER PRIMARY KEY,
	fold  INTEGER NOT NULL,
	sum   BLOB NOT NULL,
	state BLOB NOT NULL
);`

func openJournal(path string, readOnly bool) (j *journal, err error) {
	j = &journal{path: path, readOnly: readOnly}
	dsn := "file::memory:"
	if path != "" {
		if !readOnly {
			if real, err := filepath.EvalSymlinks(path); err == nil {
				path = real
			}
			j.path = path
			if j.lock, err = lockFile(path); err != nil {
				return nil, err
			}
			lock := j.lock
			defer func() {
				if err != nil {
					lock.Close()
				}
			}()
		}
		// A new job in the place of a lost one would soon cost the copy too.
		fi, err := os.Stat(path)
		if (err != nil || fi.Size() == 0) && j.hasGood() {
			return nil, fmt.Errorf("opening job file %s: %w%s; to begin anew, delete the copy", path, ErrGone, j.wayBack())
		} else if err != nil && readOnly {
			return nil, fmt.Errorf("opening job file %s: %w", path, err)
		}
		j.stub = err == nil && fi.Size() > 0 && fi.Size() < 512
		abs, err := filepath.Abs(path)
		if err != nil {
			return nil, fmt.Errorf("opening job file %s: %w", path, err)
		}
		dsn = (&url.URL{Scheme: "file", Path: filepath.ToSlash(abs)}).String()
		if readOnly {
			dsn += "?mode=ro"
		}
	}
	if err = j.connect(dsn); err == nil || !readOnly || !errors.Is(err, errUnwritable) {
		return j, err
	}
	// On a disk that takes no writing SQLite cannot lay its -shm file beside the
	// job. Without a write-ahead log left over nothing can change under us.
	if fi, serr := os.Stat(path + "-wal"); serr == nil && fi.Size() > 0 {
		return nil, fmt.Errorf("%w; it was not closed when it was last worked on: copy it together with %s-wal to a folder that can be written", err, path)
	}
	return j, j.connect(dsn + "&immutable=1")
}

// errUnwritable marks what fails only because the disk takes no writing.
var errUnwritable = errors.New("nothing can be written there")

func (j *journal) connect(dsn string) (err error) {
	db, err := sql.Open("sqlite", dsn)
	if err != nil {
		return fmt.Errorf("opening job file %s: %w", j.path, err)
	}
	j.dsn = dsn
	// One connection: an in-memory database lives in it, and the settings below stay with it.
	db.SetMaxOpenConns(1)
	j.db = db
	defer func() {
		if err != nil {
			db.Close()
		}
	}()
	return j.explain("opening", j.prepare())
}

// openSide opens the same file once more, for reading.
func openSide(j *journal) (*journal, error) {
	dsn := j.dsn
	if !j.readOnly {
		dsn += "?mode=ro"
	}
	db, err := sql.Open("sqlite", dsn)
	if err != nil {
		return nil, j.explain("opening", err)
	}
	db.SetMaxOpenConns(1)
	return &journal{db: db, path: j.path, readOnly: true}, nil
}

func (j *journal) prepare() error {
	if _, err := j.db.Exec("PRAGMA busy_timeout=2000"); err != nil {
		return err
	}
	var app, version, tables int
	if err := j.db.QueryRow("PRAGMA application_id").Scan(&app); err != nil {
		return err
	}
	if err := j.db.QueryRow("PRAGMA user_version").Scan(&version); err != nil {
		return err
	}
	if err := j.db.QueryRow("SELECT count(*) FROM sqlite_schema").Scan(&tables); err != nil {
		return err
	}
	switch {
	case tables > 0 && app != applicationID || j.readOnly && tables == 0 && !j.stub:
		return j.strange(ErrNotAJob)
	case tables > 0 && version > schemaVersion:
		return j.strange(fmt.Errorf("it has layout %d, this program knows %d: %w", version, schemaVersion, ErrNewer))
	case tables > 0 && version == 1:
		return errors.New("it has layout 1 of before the first release; export it with the program that wrote it, and import that")
	case tables == 0 && (j.stub || j.hasGood()):
		return fmt.Errorf("%w (nothing is in it)%s", ErrDamaged, j.wayBack())
	case tables > 0 && version < 1:
		return fmt.Errorf("%w (it has layout %d)%s", ErrDamaged, version, j.wayBack())
	}
	if j.readOnly {
		return nil
	}
	if j.path != "" {
		if _, err := j.db.Exec("PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL"); err != nil {
			return err
		}
	}
	if j.fresh = tables == 0; j.fresh {
		tx, err := j.db.Begin()
		if err != nil {
			return err
		}
		defer tx.Rollback()
		if _, err := tx.Exec(schema + fmt.Sprintf("PRAGMA application_id=%d; PRAGMA user_version=%d", applicationID, schemaVersion)); err != nil {
			return err
		}
		return tx.Commit()
	}
	return nil
}

// explain turns an SQLite error into one of ours, with the file and the way out.
func (j *journal) explain(doing string, err error) error {
	if err == nil {
		return nil
	}
	name := j.path
	if name == "" {
		name = "in memory"
	}
	var se *sqlite.Error
	if errors.As(err, &se) {
		switch se.Code() & 0xff {
		case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_ERROR, sqlite3.SQLITE_FORMAT, sqlite3.SQLITE_MISMATCH:
			// A plain error means that a table or a column is gone: the statements are always the same.
			return fmt.Errorf("%s job file %s: %w (%v)%s", doing, name, ErrDamaged, err, j.wayBack())
		case sqlite3.SQLITE_FULL:
			return fmt.Errorf("%s job file %s: %w", doing, name, ErrNoSpace)
		case sqlite3.SQLITE_IOERR:
			if se.Code() == sqlite3.SQLITE_IOERR_SHORT_READ {
				return fmt.Errorf("%s job file %s: %w (it ends too early: %v)%s", doing, name, ErrDamaged, err, j.wayBack())
			}
			return fmt.Errorf("%s job file %s: the disk does not take or give what it should; nothing was changed. Look at the disk, and copy the job elsewhere while it can be read: %w", doing, name, err)
		case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM:
			return fmt.Errorf("%s job file %s: %w; nothing was changed: make the file and its folder writable or copy it elsewhere (%v)", doing, name, errUnwritable, err)
		case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
			return fmt.Errorf("%s job file %s: %w", doing, name, ErrLocked)
		case sqlite3.SQLITE_CANTOPEN:
			return fmt.Errorf("%s job file %s: it cannot be opened or created, %w; check that its folder exists (%v)", doing, name, errUnwritable, err)
		}
	}
	return fmt.Errorf("%s job file %s: %w", doing, name, err)
}

// strange tells a file whose marks are wrong: another program's, a newer one's,
// or, where there is a last good copy of the job, a damaged one.
func (j *journal) strange(err error) error {
	if !j.hasGood() {
		return err
	}
	return fmt.Errorf("%w%s", errors.Join(ErrDamaged, err), j.wayBack())
}

// ourTables are the tables as SQLite notes them down.
var ourTables = sync.OnceValues(func() (string, error) {
	j, err := openJournal("", false)
	if err != nil {
		return "", err
	}
	defer j.db.Close()
	return j.tables()
})

func (j *journal) tables() (string, error) {
	var text sql.NullString
	err := j.db.QueryRow("SELECT group_concat(sql, ';') FROM (SELECT sql FROM sqlite_schema ORDER BY name)").Scan(&text)
	return text.String, err
}

// integrity runs SQLite's quick check, which reads every page, and compares the
// checksum of every event.
func (j *journal) integrity() error {
	want, err := ourTables()
	if err != nil {
		return err
	}
	if have, err := j.tables(); err != nil {
		return j.explain("checking", err)
	} else if have != want {
		return fmt.Errorf("checking job file %s: %w (its tables are not laid out as they should be)%s", j.path, ErrDamaged, j.wayBack())
	}
	var count int64
	err = j.each(func(e Event) error {
		if count++; e.Seq != count {
			return fmt.Errorf("checking job file %s: %w (event %d is missing)%s", j.path, ErrDamaged, count, j.wayBack())
		}
		return nil
	}, "ORDER BY seq")
	if err != nil {
		return err
	}
	var verdict string
	if err := j.db.QueryRow("PRAGMA quick_check(1)").Scan(&verdict); err != nil {
		return j.explain("checking", err)
	}
	if verdict != "ok" {
		return fmt.Errorf("checking job file %s: %w (%s)%s", j.path, ErrDamaged, strings.ReplaceAll(verdict, "\n", " "), j.wayBack())
	}
	return nil
}

// append writes the events of a turn, or of a correction, in one.
func (j *journal) append(ctx context.Context, events []Event, drop int64) error {
	if j.readOnly {
		return fmt.Errorf("writing job file %s: %w", j.path, ErrReadOnly)
	}
	tx, err := j.db.BeginTx(ctx, nil)
	if err != nil {
		return j.explain("writing", err)
	}
	defer tx.Rollback()
	if err := insertEvents(ctx, tx, events); err != nil {
		return j.explain("writing", err)
	}
	if drop > 0 {
		// A checkpoint taken after a struck turn holds what was struck.
		if _, err := tx.ExecContext(ctx, "DELETE FROM checkpoints WHERE seq >= ?", drop); err != nil {
			return j.explain("writing", err)
		}
	}
	if err := tx.Commit(); err != nil {
		return j.explain("writing", err)
	}
	j.reached(events[len(events)-1].Seq)
	return nil
}

func insertEvents(ctx context.Context, tx *sql.Tx, events []Event) error {
	st, err := tx.PrepareContext(ctx, "INSERT INTO events("+eventColumns+") VALUES(?,?,?,?,?,?,?,?,?,?)")
	if err != nil {
		return err
	}
	defer st.Close()
	for _, e := range events {
		r := row{seq: e.Seq, turn: e.Turn, at: e.At.Format(time.RFC3339Nano), kind: e.Kind, data: string(e.Data), heard: e.Heard, confidence: e.Confidence}
		if e.Auto {
			r.auto = 1
		}
		if e.Reply != nil {
			b, err := json.Marshal(e.Reply)
			if err != nil {
				return err
			}
			r.reply = sql.NullString{String: string(b), Valid: true}
		}
		if _, err := st.ExecContext(ctx, r.seq, r.turn, r.at, r.kind, r.data, r.heard, r.confidence, r.auto, r.reply, r.sum()); err != nil {
			return err
		}
	}
	return nil
}

const eventColumns = "seq,turn,at,kind,data,heard,confidence,auto,reply,sum"

// row is an event as it stands in the table.
type row struct {
	seq, turn             int64
	at, kind, data, heard string
	confidence            float64
	auto                  int64
	reply                 sql.NullString
}

// sum is the checksum of a row. SQLite's own check sees a page that makes no
// sense; a digit turned into another one only this sees.
func (r *row) sum() []byte {
	b := make([]byte, 0, 256+len(r.data)+len(r.heard)+len(r.reply.String))
	for _, n := range []uint64{uint64(r.seq), uint64(r.turn), math.Float64bits(r.confidence), uint64(r.auto)} {
		b = binary.BigEndian.AppendUint64(b, n)
	}
	if r.reply.Valid {
		b = append(b, 1)
	}
	for _, s := range []string{r.at, r.kind, r.data, r.heard, r.reply.String} {
		b = binary.BigEndian.AppendUint64(b, uint64(len(s)))
		b = append(b, s...)
	}
	sum := sha256.Sum256(b)
	return sum[:16]
}

// each calls f with the events of a query in turn, until f gives an error.
func (j *journal) each(f func(Event) error, query string, args ...any) error {
	rows, err := j.db.Query("SELECT "+eventColumns+" FROM events "+query, args...)
	if err != nil {
		return j.explain("reading", err)
	}
	defer rows.Close()
	for rows.Next() {
		var r row
		var sum []byte
		if err := rows.Scan(&r.seq, &r.turn, &r.at, &r.kind, &r.data, &r.heard, &r.confidence, &r.auto, &r.reply, &sum); err != nil {
			return fmt.Errorf("reading job file %s: %w (%v)%s", j.path, ErrDamaged, err, j.wayBack())
		}
		if !bytes.Equal(sum, r.sum()) {
			return fmt.Errorf("reading job file %s: %w (event %d is not what was written)%s", j.path, ErrDamaged, r.seq, j.wayBack())
		}
		e := Event{Seq: r.seq, Turn: r.turn, Kind: r.kind, Data: json.RawMessage(r.data), Heard: r.heard, Confidence: r.confidence, Auto: r.auto != 0}
		if e.At, err = time.Parse(time.RFC3339Nano, r.at); err != nil {
			return fmt.Errorf("reading job file %s: event %d has no readable time: %w (%v)%s", j.path, e.Seq, ErrDamaged, err, j.wayBack())
		}
		if r.reply.Valid {
			e.Reply = new(Reply)
			if err := json.Unmarshal([]byte(r.reply.String), e.Reply); err != nil {
				return fmt.Errorf("reading job file %s: event %d has no readable reply: %w (%v)%s", j.path, e.Seq, ErrDamaged, err, j.wayBack())
			}
		}
		if err := f(e); err != nil {
			return err
		}
	}
	return j.explain("reading", rows.Err())
}

func (j *journal) close() error {
	err := j.explain("closing", j.db.Close())
	if j.lock != nil {
		err = errors.Join(err, j.lock.Close())
	}
	return err
}
