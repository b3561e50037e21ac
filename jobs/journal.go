package jobs

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strings"
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
	// schemaVersion is the layout of the tables, kept in user_version.
	schemaVersion = 1
)

// journal is the append-only table of events in one SQLite file.
type journal struct {
	db       *sql.DB
	path     string // "" in memory
	lock     io.Closer
	readOnly bool
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
	reply      TEXT
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
		if readOnly {
			if _, err := os.Stat(path); err != nil {
				return nil, fmt.Errorf("opening job file %s: %w", path, err)
			}
		} else {
			if real, err := filepath.EvalSymlinks(path); err == nil {
				path = real
			}
			if j.lock, err = lockFile(path); err != nil {
				return nil, err
			}
			defer func() {
				if err != nil {
					j.lock.Close()
				}
			}()
		}
		abs, err := filepath.Abs(path)
		if err != nil {
			return nil, fmt.Errorf("opening job file %s: %w", path, err)
		}
		dsn = (&url.URL{Scheme: "file", Path: filepath.ToSlash(abs)}).String()
		if readOnly {
			dsn += "?mode=ro"
		}
	}
	db, err := sql.Open("sqlite", dsn)
	if err != nil {
		return nil, fmt.Errorf("opening job file %s: %w", path, err)
	}
	// One connection: an in-memory database lives in it, and the settings below stay with it.
	db.SetMaxOpenConns(1)
	j.db = db
	defer func() {
		if err != nil {
			db.Close()
		}
	}()
	if err := j.prepare(); err != nil {
		return nil, j.explain("opening", err)
	}
	return j, nil
}

// openSide opens the same file once more, for reading.
func openSide(j *journal) (*journal, error) {
	abs, err := filepath.Abs(j.path)
	if err != nil {
		return nil, fmt.Errorf("opening job file %s: %w", j.path, err)
	}
	db, err := sql.Open("sqlite", (&url.URL{Scheme: "file", Path: filepath.ToSlash(abs)}).String()+"?mode=ro")
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
	case tables > 0 && app != applicationID:
		return ErrNotAJob
	case version > schemaVersion:
		return fmt.Errorf("it has layout %d, this program knows %d: %w", version, schemaVersion, ErrNewer)
	case j.readOnly && tables == 0:
		return ErrNotAJob
	}
	if j.readOnly {
		return nil
	}
	if j.path != "" {
		if _, err := j.db.Exec("PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL"); err != nil {
			return err
		}
	}
	if tables == 0 {
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
		case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
			return fmt.Errorf("%s job file %s: %w (%v)%s", doing, name, ErrDamaged, err, j.wayBack())
		case sqlite3.SQLITE_FULL:
			return fmt.Errorf("%s job file %s: %w", doing, name, ErrNoSpace)
		case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM:
			return fmt.Errorf("%s job file %s: the file or its folder may not be written; nothing was changed: make it writable or copy it elsewhere: %w", doing, name, err)
		case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
			return fmt.Errorf("%s job file %s: %w", doing, name, ErrLocked)
		case sqlite3.SQLITE_CANTOPEN:
			return fmt.Errorf("%s job file %s: it cannot be opened or created; check that its folder exists and may be written: %w", doing, name, err)
		}
	}
	return fmt.Errorf("%s job file %s: %w", doing, name, err)
}

// integrity runs SQLite's quick check, which reads every page.
func (j *journal) integrity() error {
	var verdict string
	if err := j.db.QueryRow("PRAGMA quick_check(1)").Scan(&verdict); err != nil {
		return j.explain("checking", err)
	}
	if verdict != "ok" {
		return fmt.Errorf("checking job file %s: %w (%s)%s", j.path, ErrDamaged, strings.ReplaceAll(verdict, "\n", " "), j.wayBack())
	}
	return nil
}

// write is one row to append.
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
	return j.explain("writing", tx.Commit())
}

func insertEvents(ctx context.Context, tx *sql.Tx, events []Event) error {
	st, err := tx.PrepareContext(ctx, "INSERT INTO events(seq,turn,at,kind,data,heard,confidence,auto,reply) VALUES(?,?,?,?,?,?,?,?,?)")
	if err != nil {
		return err
	}
	defer st.Close()
	for _, e := range events {
		var reply any
		if e.Reply != nil {
			b, err := json.Marshal(e.Reply)
			if err != nil {
				return err
			}
			reply = string(b)
		}
		if _, err := st.ExecContext(ctx, e.Seq, e.Turn, e.At.Format(time.RFC3339Nano), e.Kind, string(e.Data), e.Heard, e.Confidence, e.Auto, reply); err != nil {
			return err
		}
	}
	return nil
}

const eventColumns = "seq,turn,at,kind,data,heard,confidence,auto,reply"

// each calls f with the events of a query in turn, until f gives an error.
func (j *journal) each(f func(Event) error, query string, args ...any) error {
	rows, err := j.db.Query("SELECT "+eventColumns+" FROM events "+query, args...)
	if err != nil {
		return j.explain("reading", err)
	}
	defer rows.Close()
	for rows.Next() {
		var e Event
		var at, data string
		var reply sql.NullString
		if err := rows.Scan(&e.Seq, &e.Turn, &at, &e.Kind, &data, &e.Heard, &e.Confidence, &e.Auto, &reply); err != nil {
			return j.explain("reading", err)
		}
		if e.At, err = time.Parse(time.RFC3339Nano, at); err != nil {
			return fmt.Errorf("reading job file %s: event %d has no readable time: %w (%v)%s", j.path, e.Seq, ErrDamaged, err, j.wayBack())
		}
		e.Data = json.RawMessage(data)
		if reply.Valid {
			e.Reply = new(Reply)
			if err := json.Unmarshal([]byte(reply.String), e.Reply); err != nil {
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
