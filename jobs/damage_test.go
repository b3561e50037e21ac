package jobs

import (
	"bytes"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/intent"
)

// workedJob makes a job file with some work in it, closed, and gives its state and events.
func workedJob(t testing.TB, path string) (state string, events []Event) {
	b, err := Open(path, Options{Sheet: DemoSheet(), SheetFile: "boat-engine.yaml", Now: start})
	require.NoError(t, err)
	at := start
	do := func(in intent.Intent) {
		at = at.Add(time.Minute)
		_, err := b.Do(at, in, Heard{fmt.Sprintf("%T", in), 0.9})
		require.NoError(t, err)
	}
	for i := range 6 {
		do(intent.Removed{Items: []intent.Fastener{{Count: 2}}, Where: "front cover short", Stow: "cup four"})
		do(intent.Note{Text: fmt.Sprintf("note number %d", i)})
		do(intent.Next{})
		do(intent.Done{})
		do(intent.No{})
		do(intent.Flag{Text: "not sure the housing sits flush"})
		do(intent.Timer{Name: fmt.Sprintf("soak %d", i), For: time.Hour})
	}
	do(intent.Strike{})
	require.NoError(t, b.Close())
	b, err = Open(path, Options{ReadOnly: true})
	require.NoError(t, err)
	events, err = b.History(0, 0)
	require.NoError(t, err)
	state = wholeState(t, b.state)
	require.NoError(t, b.Close())
	require.FileExists(t, LastGood(path))
	return state, events
}

func reading(t testing.TB, path string) []byte {
	raw, err := os.ReadFile(path)
	require.NoError(t, err)
	return raw
}

// put writes a file as if it had always been so, its write-ahead log gone.
func put(t testing.TB, path string, raw []byte) {
	for _, tail := range []string{"-wal", "-shm"} {
		os.Remove(path + tail)
	}
	require.NoError(t, os.WriteFile(path, raw, 0o644))
}

// refusedOrWhole opens a file that was tampered with: either it is refused with
// the way out in the words, or nothing of it has changed. It tells which.
func refusedOrWhole(t *testing.T, path, what, state string, events []Event) bool {
	t.Helper()
	b, err := Open(path, Options{})
	if err == nil {
		got, herr := b.History(0, 0)
		require.NoError(t, herr, what)
		require.True(t, reflect.DeepEqual(events, got), what)
		require.Equal(t, state, wholeState(t, b.state), what)
		require.NoError(t, b.Close(), what)
		return false
	}
	require.Truef(t, isOneOf(err, ErrDamaged, ErrGone), "%s: %v", what, err)
	require.Contains(t, err.Error(), "putback restore "+path, what)
	require.Contains(t, err.Error(), LastGood(path), what)
	return true
}

// same checks that a file holds just these bytes, without printing them.
func same(t testing.TB, want []byte, path string) {
	t.Helper()
	require.True(t, bytes.Equal(want, reading(t, path)), "%s was changed", path)
}

func isOneOf(err error, list ...error) bool {
	for _, e := range list {
		if errors.Is(err, e) {
			return true
		}
	}
	return false
}

// One byte turned anywhere in the file: the job is refused, with the way out,
// or is exactly what it was; never is something else shown as the record. The
// last good copy stays what it is, and brings the job back.
func TestAByteTurnedAnywhereIsFoundOrHarmless(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.putback")
	state, events := workedJob(t, path)
	whole, good := reading(t, path), reading(t, LastGood(path))
	step := len(whole)/200 + 1 // PUTBACK_EVERY_BYTE turns them all, one after the other
	if os.Getenv("PUTBACK_EVERY_BYTE") != "" {
		step = 1
	}
	found, harmless := 0, 0
	for at := 0; at < len(whole); at++ {
		if at >= 100 && at%step != 0 {
			continue
		}
		turn := byte(0xff)
		if at/step%2 == 1 {
			turn = 1 << (at % 8)
		}
		bent := bytes.Clone(whole)
		bent[at] ^= turn
		put(t, path, bent)
		require.NoError(t, os.WriteFile(LastGood(path), good, 0o644))
		if refusedOrWhole(t, path, fmt.Sprintf("byte %d turned by %#x", at, turn), state, events) {
			found++
			same(t, good, LastGood(path))
		} else {
			harmless++
		}
	}
	t.Logf("%d bytes of %d turned: %d found, %d harmless (unused space, counters)", found+harmless, len(whole), found, harmless)
	require.NotZero(t, found)

	require.NoError(t, os.WriteFile(LastGood(path), good, 0o644))
	bent := bytes.Clone(whole)
	bent[len(bent)/2] ^= 0xff
	copy(bent, "not SQLite")
	put(t, path, bent)
	damaged, err := Restore(path)
	require.NoError(t, err)
	same(t, bent, damaged)
	require.False(t, refusedOrWhole(t, path, "restored", state, events))
}

func TestAFileCutShortIsFound(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.putback")
	state, events := workedJob(t, path)
	whole, good := reading(t, path), reading(t, LastGood(path))
	cuts := []int{0, 1, 15, 16, 50, 99, 100, 511, 512, 1000, 4095, len(whole) - 1, len(whole) - 100}
	for n := 4096; n < len(whole); n += 4096 {
		cuts = append(cuts, n, n+17)
	}
	for _, n := range cuts {
		put(t, path, whole[:n])
		require.True(t, refusedOrWhole(t, path, fmt.Sprintf("cut to %d of %d bytes", n, len(whole)), state, events))
		same(t, good, LastGood(path))
	}
	// Gone altogether: no new job takes the place silently.
	require.NoError(t, os.Remove(path))
	_, err := Open(path, Options{})
	require.ErrorIs(t, err, ErrGone)
	require.ErrorContains(t, err, "putback restore "+path)
	require.NoFileExists(t, path)
	damaged, err := Restore(path)
	require.NoError(t, err)
	require.Empty(t, damaged)
	require.False(t, refusedOrWhole(t, path, "restored", state, events))
}

func TestADamagedFileWithoutACopyNamesWhatIsLeftToDo(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.putback")
	workedJob(t, path)
	require.NoError(t, os.Remove(LastGood(path)))
	whole := reading(t, path)
	put(t, path, append(bytes.Repeat([]byte("x"), 4096), whole[4096:]...))
	_, err := Open(path, Options{})
	require.ErrorIs(t, err, ErrDamaged)
	require.ErrorContains(t, err, "backup or an export")
	_, err = Restore(path)
	require.ErrorContains(t, err, "no last good copy")
	require.Equal(t, byte('x'), reading(t, path)[0], "nothing was touched")
}

// A large file is checked beside the work: the damage is told by Tick, and no
// copy of it takes the last good one's place, neither then nor at the end.
func TestDamageInALargeFileIsToldWhileWorking(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.putback")
	sheet, problems := ParseSheet("big.yaml", bigSheet(40))
	require.NotNil(t, sheet, problems)
	writeLong(t, path, sheet, 42_000)
	b, err := Open(path, Options{})
	require.NoError(t, err)
	_, err = b.Do(start.AddDate(1, 0, 0), intent.Note{Text: "x"}, Heard{"x", 1})
	require.NoError(t, err)
	require.NoError(t, b.Close())
	good := reading(t, LastGood(path))
	require.Greater(t, len(good), checkLimit)
	for _, ticking := range []bool{true, false} {
		bent := reading(t, path)
		at := bytes.Index(bent[len(bent)/2:], []byte("what was heard")) + len(bent)/2
		bent[at+3] ^= 1
		put(t, path, bent)
		b, err = Open(path, Options{})
		require.NoError(t, err)
		now := start.AddDate(1, 0, 1)
		if ticking {
			require.Eventually(t, func() bool {
				told, err := b.Tick(now)
				require.NoError(t, err)
				return len(told) > 0 && strings.Contains(told[0].Text, "damaged")
			}, time.Minute, 20*time.Millisecond)
			require.Contains(t, strings.Join(b.Notices(), "\n"), "putback restore "+path)
			_, err = b.Do(now, intent.Note{Text: "y"}, Heard{"y", 1})
			require.NoError(t, err)
			require.NoError(t, b.Close())
		} else {
			_, err = b.Do(now, intent.Note{Text: "y"}, Heard{"y", 1})
			require.NoError(t, err)
			require.ErrorIs(t, b.Close(), ErrDamaged)
		}
		same(t, good, LastGood(path))
	}
}

func TestAJournalOfANewerProgramIsRefused(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.putback")
	b, err := Open(path, Options{NoCopy: true})
	require.NoError(t, err)
	_, err = b.Do(start, intent.Note{Text: "x"}, Heard{"x", 1})
	require.NoError(t, err)
	// A kind of event that only a later program knows.
	e := Event{Seq: b.state.Seq + 1, Turn: b.state.Seq + 1, At: start, Kind: "weighed", Data: json.RawMessage("{}")}
	require.NoError(t, b.journal.append(t.Context(), []Event{e}, 0))
	require.NoError(t, b.journal.close())
	_, err = Open(path, Options{})
	require.ErrorIs(t, err, ErrNewer)
	require.ErrorContains(t, err, "weighed")
	require.ErrorContains(t, err, path)

	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	_, err = db.Exec("PRAGMA user_version=99")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	before := reading(t, path)
	for _, readOnly := range []bool{false, true} {
		_, err = Open(path, Options{ReadOnly: readOnly})
		require.ErrorIs(t, err, ErrNewer)
		require.ErrorContains(t, err, "update the program")
	}
	same(t, before, path)

	_, err = Import("later.json", strings.NewReader(`{"putback":"job","layout":99}`+"\n"), filepath.Join(t.TempDir(), "x.putback"))
	require.ErrorIs(t, err, ErrNewer)
}

func TestAFileThatIsNoJobIsLeftAlone(t *testing.T) {
	dir := t.TempDir()
	other := filepath.Join(dir, "other.db")
	db, err := sql.Open("sqlite", other)
	require.NoError(t, err)
	_, err = db.Exec("CREATE TABLE recipes(name TEXT)")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	text := filepath.Join(dir, "letter.txt")
	require.NoError(t, os.WriteFile(text, []byte(strings.Repeat("Dear sir or madam, ", 100)), 0o644))
	for path, want := range map[string]error{other: ErrNotAJob, text: ErrDamaged} {
		before := reading(t, path)
		_, err := Open(path, Options{})
		require.ErrorIs(t, err, want)
		require.ErrorContains(t, err, path)
		same(t, before, path)
	}
}

// The clock goes back an hour in the middle: the order of the journal holds, no
// sentence speaks of negative times, and the job opens and folds as before.
func TestAClockThatJumpsBackDoesNoHarm(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.putback")
	b, err := Open(path, Options{Sheet: DemoSheet(), Now: start})
	require.NoError(t, err)
	early := start.Add(-90 * time.Minute)
	var replies []string
	do := func(at time.Time, in intent.Intent) {
		out, err := b.Do(at, in, Heard{"x", 1})
		require.NoError(t, err)
		replies = append(replies, out.Reply.Text)
	}
	do(start, intent.Removed{Items: []intent.Fastener{{Count: 2}}, Where: "front cover short"})
	do(start, intent.Timer{Name: "soak", For: 10 * time.Minute})
	do(early, intent.Removed{Items: []intent.Fastener{{Count: 2}}, Where: "front cover short"})
	do(early, intent.WhereWasI{})
	do(early, intent.AskTimers{})
	_, err = b.Tick(early)
	require.NoError(t, err)
	do(early, intent.Strike{})
	for _, r := range replies {
		require.NotContains(t, r, "-", r)
	}
	require.Equal(t, 2, b.state.group("front cover short").out())
	// A question of later than now is no question any more.
	do(start, intent.Removed{Items: []intent.Fastener{{Count: 40}}, Where: "front cover short"})
	require.NotNil(t, b.Pending())
	out, err := b.Do(early, intent.Yes{}, Heard{"yes", 1})
	require.NoError(t, err)
	require.Empty(t, out.Events, out.Reply.Text)
	before := wholeState(t, b.state)
	require.NoError(t, b.Close())
	b, err = Open(path, Options{})
	require.NoError(t, err)
	require.Equal(t, before, wholeState(t, b.state))
	require.NoError(t, b.Close())
}

// The write-ahead log of a killed program is damaged, or lost because the job
// was copied without it: SQLite says nothing, so the journal must know how far
// it had come.
func TestALostTailIsTold(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "job.putback")
	b, err := Open(path, Options{Sheet: DemoSheet(), Now: start})
	require.NoError(t, err)
	for i := range 10 {
		_, err = b.Do(start, intent.Note{Text: fmt.Sprintf("note %d", i)}, Heard{"x", 1})
		require.NoError(t, err)
	}
	want := b.state.Seq
	files := map[string][]byte{}
	for _, tail := range []string{"", "-wal", ".lock", ".last-good"} {
		files[tail] = reading(t, path+tail) // as a killed program leaves them
	}
	defer b.Close()

	lost := 0
	for at := len(files["-wal"]) - 1; at > 0; at -= 2777 {
		moved := filepath.Join(t.TempDir(), "job.putback")
		for tail, raw := range files {
			require.NoError(t, os.WriteFile(moved+tail, raw, 0o644))
		}
		bent := bytes.Clone(files["-wal"])
		bent[at] ^= 0xff
		require.NoError(t, os.WriteFile(moved+"-wal", bent, 0o644))
		c, err := Open(moved, Options{})
		if errors.Is(err, ErrDamaged) {
			lost++
			continue
		}
		require.NoError(t, err)
		told := strings.Join(c.Notices(), "\n")
		if c.state.Seq < want {
			lost++
			require.Contains(t, told, fmt.Sprintf("it had %d entries and has %d", want, c.state.Seq), "byte %d of the log", at)
			require.Contains(t, told, "kept as")
		} else {
			require.NotContains(t, told, "entries")
		}
		// Told once; from here on the job is what it is.
		require.NoError(t, c.Close())
		c, err = Open(moved, Options{})
		require.NoError(t, err)
		require.NotContains(t, strings.Join(c.Notices(), "\n"), "entries")
		require.NoError(t, c.Close())
	}
	require.NotZero(t, lost)
}

func TestLookingLeavesTheFolderAsItIs(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "job.putback")
	workedJob(t, path)
	require.NoError(t, os.Remove(LastGood(path)))
	look := func() map[string][]byte {
		files := map[string][]byte{}
		list, err := os.ReadDir(dir)
		require.NoError(t, err)
		for _, e := range list {
			files[e.Name()] = reading(t, filepath.Join(dir, e.Name()))
		}
		return files
	}
	before := look()
	b, err := Open(path, Options{ReadOnly: true})
	require.NoError(t, err)
	b.View(start)
	require.NoError(t, b.Close())
	after := look()
	for _, tail := range []string{"-wal", "-shm"} {
		require.Empty(t, after["job.putback-wal"], "what SQLite needs to look holds no data")
		delete(after, "job.putback"+tail)
		delete(before, "job.putback"+tail)
	}
	require.True(t, reflect.DeepEqual(before, after), "files before %d, after %d", len(before), len(after))
}
