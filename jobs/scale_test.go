package jobs

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/intent"
)

// bigSheet writes a sheet of n groups of fasteners, each with what a careful
// person writes down, and a step for every twenty.
func bigSheet(n int) []byte {
	var b strings.Builder
	b.WriteString("job: a very big engine\nunits: {torque: [N·m], length: mm}\nwrenches:\n  - {name: click, range: 5..120 N·m, marks: 1 N·m}\nfasteners:\n")
	for i := range n {
		fmt.Fprintf(&b, "  bank %d row %d bolts: {place: bank %d, thread: M8, class: 8.8, wrench: 13 mm, length: 30 mm, count: 6, torque: 25 ± 3 N·m, stages: [10 N·m, 25 N·m], order: cross, tips: [oil the thread lightly]}\n", i/20, i%20, i/20)
	}
	for _, phase := range []string{"strip", "refit"} {
		if phase == "strip" {
			b.WriteString("steps:\n")
		}
		fmt.Fprintf(&b, "  %s:\n", phase)
		for i := range n / 20 {
			fmt.Fprintf(&b, "    - {name: %s bank %d, do: work on bank %d, fasteners: [", phase, i, i)
			for k := range 20 {
				if k > 0 {
					b.WriteString(", ")
				}
				fmt.Fprintf(&b, "bank %d row %d bolts", i, k)
			}
			b.WriteString("]}\n")
		}
	}
	return []byte(b.String())
}

// BenchmarkASheetOf2000Groups reads a sheet of 2 000 groups, 12 000 fasteners.
func BenchmarkASheetOf2000Groups(b *testing.B) {
	raw := bigSheet(2000)
	b.SetBytes(int64(len(raw)))
	for b.Loop() {
		s, problems := ParseSheet("big.yaml", raw)
		if s == nil || len(s.Fasteners) != 2000 {
			b.Fatal(problems)
		}
	}
}

// writeLong makes a job file of n events on a big sheet: fasteners coming off
// and going back, notes, doubts, strikes. Its last stored state is as far from
// its end as a killed program leaves it.
func writeLong(t testing.TB, path string, sheet *Sheet, n int) {
	j, err := openJournal(path, false)
	require.NoError(t, err)
	defer j.close()
	_, err = j.db.Exec("PRAGMA synchronous=OFF")
	require.NoError(t, err)
	st := newState()
	at := start
	var pack []Event
	flush := func() {
		tx, err := j.db.Begin()
		require.NoError(t, err)
		require.NoError(t, insertEvents(context.Background(), tx, pack))
		require.NoError(t, tx.Commit())
		pack = pack[:0]
	}
	add := func(kind string, data any, kept bool) {
		raw, err := json.Marshal(data)
		require.NoError(t, err)
		at = at.Add(30 * time.Second)
		seq := st.Seq + 1
		e := Event{Seq: seq, Turn: seq, At: at, Kind: kind, Data: raw, Heard: "what was heard for it, some words", Confidence: 0.93,
			Reply: &Reply{Kind: ReplyReadBack, Text: "Six off bank twelve. Nine still to come."}}
		if kept {
			require.NoError(t, st.apply(e))
		}
		st.Seq = seq
		if pack = append(pack, e); len(pack) == 5000 {
			flush()
		}
	}
	add(KindSheet, sheetRead{File: "big.yaml", Sheet: sheet}, true)
	stored := false
	for i := 0; st.Seq < int64(n); i++ {
		if !stored && st.Seq >= int64(n-checkpointEvery+1) {
			flush()
			require.NoError(t, j.saveCheckpoint(st))
			stored = true
		}
		g := sheet.Fasteners[i%len(sheet.Fasteners)].Name
		switch i / len(sheet.Fasteners) % 4 {
		case 0:
			add(KindRemoved, groupCount{Group: g, N: 6}, true)
		case 1:
			add(KindRefitted, groupCount{Group: g, N: 6}, true)
		case 2:
			if i%50 == 0 {
				add(KindNote, named{Text: "the back one was hard to reach"}, true)
			} else {
				add(KindTorqued, groupTorqued{Group: g, N: 6, How: "wrench"}, true)
			}
		case 3:
			if i%100 == 0 && st.Seq+2 <= int64(n) {
				add(KindDiscarded, groupCount{Group: g, N: 1}, false)
				turn := st.Seq
				add(KindStrike, strike{Turn: turn}, false)
				st.markStruck(turn)
			} else {
				add(KindStowed, stowed{Group: g, Stow: "cup four"}, true)
			}
		}
	}
	flush()
}

// longJob gives a job file of n events, kept between runs of the benchmark.
func longJob(b *testing.B, n int) string {
	dir := os.Getenv("PUTBACK_SCALE_DIR")
	if dir == "" {
		dir = b.TempDir()
	}
	path := filepath.Join(dir, fmt.Sprintf("%d-events-layout%d-fold%d.putback", n, schemaVersion, foldVersion))
	if _, err := os.Stat(path); err != nil {
		sheet, problems := ParseSheet("big.yaml", bigSheet(2000))
		require.NotNil(b, sheet, problems)
		writeLong(b, path+".part", sheet, n)
		for _, tail := range []string{"-wal", "-shm", ".lock"} {
			os.Remove(path + ".part" + tail)
		}
		require.NoError(b, os.Rename(path+".part", path))
	}
	fi, err := os.Stat(path)
	require.NoError(b, err)
	b.ReportMetric(float64(fi.Size())/1e6, "MB-file")
	return path
}

// BenchmarkOpenAJobOfAMillionEvents opens, for work and for looking, a job of
// 2 000 groups and 1 000 000 events whose program was killed. What closing
// costs stands apart.
func BenchmarkOpenAJobOfAMillionEvents(b *testing.B) {
	path := longJob(b, 1_000_000)
	for _, readOnly := range []bool{false, true} {
		b.Run(map[bool]string{false: "to work", true: "to look"}[readOnly], func(b *testing.B) {
			for b.Loop() {
				job, err := Open(path, Options{ReadOnly: readOnly, NoCopy: true})
				if err != nil {
					b.Fatal(err)
				}
				if job.View(start).LastSeq < 1_000_000 {
					b.Fatal("events are missing")
				}
				b.StopTimer()
				if err := job.Close(); err != nil {
					b.Fatal(err)
				}
				killed(b, path)
				b.StartTimer()
			}
		})
	}
	b.Run("and close again after looking", func(b *testing.B) {
		for b.Loop() {
			job, err := Open(path, Options{ReadOnly: true})
			if err != nil {
				b.Fatal(err)
			}
			if err := job.Close(); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// killed takes away what a regular end left, so that each opening is the slow one.
func killed(b *testing.B, path string) {
	j, err := openJournal(path, false)
	if err != nil {
		b.Fatal(err)
	}
	if _, err := j.db.Exec("DELETE FROM checkpoints WHERE seq > ?", 1_000_000-checkpointEvery+100); err != nil {
		b.Fatal(err)
	}
	if err := j.close(); err != nil {
		b.Fatal(err)
	}
}

// BenchmarkOneTurnInAJobOfAMillionEvents takes one fastener off in the big job,
// committed to the disk.
func BenchmarkOneTurnInAJobOfAMillionEvents(b *testing.B) {
	raw, err := os.ReadFile(longJob(b, 1_000_000))
	if err != nil {
		b.Fatal(err)
	}
	path := filepath.Join(b.TempDir(), "job.putback")
	if err := os.WriteFile(path, raw, 0o644); err != nil {
		b.Fatal(err)
	}
	raw = nil
	job, err := Open(path, Options{NoCopy: true})
	if err != nil {
		b.Fatal(err)
	}
	defer job.Close()
	at := start.AddDate(1, 0, 0)
	for b.Loop() {
		at = at.Add(time.Second)
		out, err := job.Do(at, intent.Stowed{Name: "bank 7 row 7 bolts", Stow: "cup four"}, Heard{Text: "x", Confidence: 1})
		if err != nil || len(out.Events) == 0 {
			b.Fatal(out, err)
		}
	}
}

// Opening folds only what came after the stored state: it does not read the
// whole journal.
func TestOpeningUsesTheStoredState(t *testing.T) {
	path := filepath.Join(t.TempDir(), "long.putback")
	sheet, problems := ParseSheet("big.yaml", bigSheet(40))
	require.NotNil(t, sheet, problems)
	writeLong(t, path, sheet, 9000)
	j, err := openJournal(path, true)
	require.NoError(t, err)
	st, folded, err := j.restore(0)
	require.NoError(t, err)
	require.EqualValues(t, 9000, st.Seq)
	require.Less(t, folded, checkpointEvery)
	require.NoError(t, j.close())

	// Without it the same state comes out, by the long way.
	rw, err := openJournal(path, false)
	require.NoError(t, err)
	_, err = rw.db.Exec("DELETE FROM checkpoints")
	require.NoError(t, err)
	long, folded, err := rw.restore(0)
	require.NoError(t, err)
	require.Equal(t, 9000, folded)
	require.JSONEq(t, wholeState(t, st), wholeState(t, long))
	require.NoError(t, rw.close())

	// Where opening had to take the long way, the next one has not.
	b, err := Open(path, Options{NoCopy: true})
	require.NoError(t, err)
	require.NoError(t, b.Close())
	j, err = openJournal(path, true)
	require.NoError(t, err)
	_, folded, err = j.restore(0)
	require.NoError(t, err)
	require.Zero(t, folded)
	require.NoError(t, j.close())
}
