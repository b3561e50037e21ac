//go:build unix

package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/jobs"
)

// plainProgram builds the program; nothing of what is tested here needs a model.
func plainProgram(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "putback")
	out, err := exec.Command("go", "build", "-o", path, ".").CombinedOutput()
	if strings.Contains(string(out), "whisper.h: No such file") {
		t.Skip("needs the recogniser's library to link with: run scripts/setup, then . scripts/env")
	}
	require.NoError(t, err, "%s", out)
	return path
}

// load keeps processor and disk busy until the test ends.
func load(t *testing.T, dir string) {
	stop := make(chan struct{})
	var done sync.WaitGroup
	for range runtime.NumCPU() {
		done.Go(func() {
			x := 1.0
			for {
				select {
				case <-stop:
					return
				default:
					for range 100_000 {
						x = x*1.0000001 + 1
					}
				}
			}
		})
	}
	done.Go(func() {
		block := make([]byte, 256<<10)
		for {
			select {
			case <-stop:
				return
			default:
			}
			f, err := os.Create(filepath.Join(dir, "busy"))
			if err != nil {
				return
			}
			_, _ = f.Write(block)
			_ = f.Sync()
			_ = f.Close()
		}
	})
	t.Cleanup(func() { close(stop); done.Wait() })
}

// changes are the lines of one round, each a change of the record by its own
// name: single events, turns of several events, strikes, corrections that strike
// and say anew.
func changes(round, n int) string {
	switch n % 7 {
	case 0:
		return "took two off the front cover short in cup four"
	case 1:
		return "make that one"
	case 2:
		return fmt.Sprintf("flag not sure about r%dx%d", round, n)
	case 3:
		return "put one back on the front cover short"
	case 5:
		return "strike that"
	}
	return fmt.Sprintf("note that this is entry r%dx%d", round, n)
}

// cut starts the program on the job, feeds it changes and kills it at a moment
// drawn from rng: as soon as a confirmation was read, some milliseconds after,
// or about when the answer to a line is due. It gives the turns the
// program had confirmed, which were printed whole.
func cut(t *testing.T, program, job string, round int, rng *rand.Rand) (confirmed []turn) {
	c := exec.Command(program, "type", "--jsonl", "--job", job, "--sheet", "../../jobs/demo/boat-engine.yaml")
	in, err := c.StdinPipe()
	require.NoError(t, err)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	var told strings.Builder
	c.Stderr = &told
	require.NoError(t, c.Start())
	defer func() {
		_ = c.Process.Kill()
		_ = c.Wait()
	}()
	var once sync.Once
	kill := func() { once.Do(func() { _ = c.Process.Kill() }) }

	target := rng.IntN(25) // the change at which the power goes
	wait := func(of time.Duration) { time.Sleep(time.Duration(rng.Float64() * float64(of))) }
	usual := 5 * time.Millisecond // how long the last answers took
	after := rng.IntN(3)          // 0 at the confirmation, 1 a moment after it, 2 a moment after the line went in
	if round%8 == 7 {
		// Somewhere in the start: making the file, reading the sheet, the first copy.
		time.AfterFunc(time.Duration(rng.IntN(400_000))*time.Microsecond, kill)
		target = 1 << 30
	}
	lines := bufio.NewReader(out)
	for n := 0; ; n++ {
		if _, err := io.WriteString(in, changes(round, n)+"\n"); err != nil {
			break // killed while starting
		}
		if n == target && after == 2 {
			wait(usual * 3 / 2)
			kill()
		}
		asked := time.Now()
		line, err := lines.ReadString('\n')
		if err != nil {
			break // an unfinished line confirms nothing
		}
		var v turn
		require.NoError(t, json.Unmarshal([]byte(line), &v), "%s", line)
		confirmed = append(confirmed, v)
		usual = (usual + time.Since(asked)) / 2
		if n == target {
			if after == 1 {
				wait(5 * time.Millisecond)
			}
			kill()
		}
	}
	kill()
	err = c.Wait()
	require.ErrorContains(t, err, "killed", "round %d: the program ended by itself: %s", round, told.String())
	return confirmed
}

// The program is killed again and again while it works under load. After each
// time every change it had confirmed is in the record, none is there twice, no
// turn is there by half, and beyond the confirmed ones at most the one that was
// in the making. PUTBACK_ROUNDS sets the number of rounds.
//
// A killed process leaves to the kernel what it had written; that it had asked
// the disk before it confirmed is the other test's matter.
func TestWhatWasConfirmedSurvivesBeingKilled(t *testing.T) {
	rounds := 20
	if testing.Short() {
		rounds = 5
	}
	if s := os.Getenv("PUTBACK_ROUNDS"); s != "" {
		var err error
		rounds, err = strconv.Atoi(s)
		require.NoError(t, err, "PUTBACK_ROUNDS")
	}
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 1))
	program := plainProgram(t)
	dir := t.TempDir()
	load(t, dir)
	job := ""
	var known []jobs.Event
	turns, events, beyond := 0, 0, 0
	for round := range rounds {
		if round%16 == 0 {
			job, known = filepath.Join(dir, fmt.Sprintf("job%d.putback", round)), nil
		}
		confirmed := cut(t, program, job, round, rng)
		got := recorded(t, program, job, len(known)+len(confirmed) > 0)

		// Numbered without a gap or a double, and each utterance whole: its last event
		// carries the reply. A correction is a strike and what goes in its place.
		for i, e := range got {
			require.EqualValues(t, i+1, e.Seq, "round %d", round)
			last := i+1 == len(got) || got[i+1].Turn != e.Turn && !corrected(e)
			require.Equal(t, last && !e.Auto, e.Reply != nil, "round %d: event %d of turn %d, reply %v", round, e.Seq, e.Turn, e.Reply)
		}
		// What was there before is there still, byte for byte.
		require.GreaterOrEqual(t, len(got), len(known), "round %d", round)
		for i, e := range known {
			require.Equal(t, e, got[i], "round %d", round)
		}
		// What was confirmed is there, in order, each once.
		at := len(known)
		for at < len(got) && got[at].Auto {
			at++
		}
		for _, v := range confirmed {
			for _, e := range v.Events {
				require.Less(t, at, len(got), "round %d: %q was confirmed and is not in the record", round, v.Heard)
				require.Equal(t, asRead(t, e), got[at], "round %d: %q", round, v.Heard)
				at++
				events++
			}
			if len(v.Events) > 0 {
				turns++
			}
		}
		// And of what was not, at most the turn in the making.
		if rest := got[at:]; len(rest) > 0 {
			beyond++
			if corrected(rest[0]) {
				rest = rest[1:]
			}
			require.Equal(t, rest[0].Turn, rest[len(rest)-1].Turn, "round %d: more than one turn beyond the confirmed", round)
		}
		known = got
	}
	t.Logf("%d rounds, %d turns confirmed with %d events, all there once; in %d rounds the turn in the making was there whole too", rounds, turns, events, beyond)
	require.NotZero(t, turns)
}

// corrected: e takes an entry back for the corrected one, which follows.
func corrected(e jobs.Event) bool { return e.Kind == jobs.KindStrike && e.Reply == nil }

// recorded reads the events of a job as a fresh start of the program does.
func recorded(t *testing.T, program, job string, must bool) []jobs.Event {
	if fi, err := os.Stat(job); !must && (err != nil || fi.Size() == 0) {
		return nil // killed before the file was made
	}
	out, err := exec.Command(program, "history", "--jsonl", job).Output()
	if err != nil && !must {
		// Killed before the first table was there: then a new start must do.
		start := exec.Command(program, "type", "--job", job)
		said, err := start.CombinedOutput()
		require.NoError(t, err, "%s", said)
		return nil
	}
	require.NoError(t, err, "%s", stderr(err))
	var list []jobs.Event
	dec := json.NewDecoder(strings.NewReader(string(out)))
	for dec.More() {
		var e jobs.Event
		require.NoError(t, dec.Decode(&e))
		list = append(list, e)
	}
	return list
}

func stderr(err error) string {
	if e, ok := err.(*exec.ExitError); ok {
		return string(e.Stderr)
	}
	return ""
}

// asRead brings an event into the shape it has after being printed and read.
func asRead(t *testing.T, e jobs.Event) jobs.Event {
	raw, err := json.Marshal(e)
	require.NoError(t, err)
	var v jobs.Event
	require.NoError(t, json.Unmarshal(raw, &v))
	return v
}

var (
	walWrite  = regexp.MustCompile(`pwrite64\(\d+<[^>]*-wal>`)
	walSync   = regexp.MustCompile(`^(\d+)\s+f(?:data)?sync\(\d+<[^>]*-wal>(\)\s*= 0| <unfinished)`)
	resumed   = regexp.MustCompile(`^(\d+)\s+<\.\.\. f(?:data)?sync resumed>\)\s*= 0`)
	confirmed = regexp.MustCompile(`write\(1<[^>]*>, "\{\\"heard`)
)

// What a killed process cannot show, the system calls do: each confirmation is
// printed only after the disk was asked to keep the change and said that it had.
func TestTheDiskIsAskedBeforeAChangeIsConfirmed(t *testing.T) {
	strace, err := exec.LookPath("strace")
	if err != nil {
		t.Skip("needs strace, which shows the system calls (Debian package strace)")
	}
	program := plainProgram(t)
	dir := t.TempDir()
	trace := filepath.Join(dir, "calls")
	c := exec.Command(strace, "-f", "-y", "-qq", "-e", "trace=fsync,fdatasync,write,pwrite64", "-o", trace,
		program, "type", "--jsonl", "--job", filepath.Join(dir, "job.putback"), "--sheet", "../../jobs/demo/boat-engine.yaml")
	var said strings.Builder
	const lines = 14
	for n := range lines {
		said.WriteString(changes(1, n) + "\n")
	}
	c.Stdin = strings.NewReader(said.String())
	out, err := c.Output()
	if err != nil && strings.Contains(stderr(err), "ptrace") {
		t.Skipf("this system lets no program be traced: %s", stderr(err))
	}
	require.NoError(t, err, "%s", stderr(err))
	require.Equal(t, lines, strings.Count(string(out), "\n"))
	require.Contains(t, string(out), "\"kind\":\"strike\"")
	raw, err := os.ReadFile(trace)
	require.NoError(t, err)
	written, synced, checked := false, false, 0
	// Another thread's call between the begin and the end of one splits its line.
	unfinished := ""
	for line := range strings.Lines(string(raw)) {
		sync, rest := walSync.FindStringSubmatch(line), resumed.FindStringSubmatch(line)
		switch {
		case walWrite.MatchString(line):
			written, synced = true, false
		case sync != nil && strings.HasPrefix(sync[2], ")"):
			synced = true
		case sync != nil:
			unfinished = sync[1]
		case rest != nil && rest[1] == unfinished:
			synced, unfinished = true, ""
		case confirmed.MatchString(line):
			require.True(t, written && synced, "confirmed before the disk had it: %s", line)
			written, synced = false, false
			checked++
		}
	}
	require.Equal(t, lines, checked, "each of the lines changes the record")
}
