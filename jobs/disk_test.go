//go:build linux

package jobs

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/intent"
)

// inOwnWorld runs the rest of a test in a process with disks of its own: a user
// and mount namespace, in which anybody may mount. Outside it starts that
// process and is done; inside it gives false and a folder to mount on.
func inOwnWorld(t *testing.T) (outside bool, dir string) {
	if dir = os.Getenv("PUTBACK_OWN_WORLD"); dir != "" {
		return false, dir
	}
	dir = t.TempDir()
	c := exec.Command(os.Args[0], "-test.run", "^"+t.Name()+"$", "-test.v")
	c.Env = append(os.Environ(), "PUTBACK_OWN_WORLD="+dir)
	c.SysProcAttr = &syscall.SysProcAttr{
		Cloneflags:  syscall.CLONE_NEWUSER | syscall.CLONE_NEWNS,
		UidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}},
		GidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}},
	}
	var started error
	out, err := c.CombinedOutput()
	if _, ran := err.(*exec.ExitError); err != nil && !ran {
		started = err
	}
	if started != nil {
		t.Skipf("this system lets nobody make a namespace of their own, which a small disk takes: %v", started)
	}
	require.NoError(t, err, "%s", out)
	require.Contains(t, string(out), "--- PASS: "+t.Name())
	return true, ""
}

func mount(t *testing.T, source, dir, kind string, flags uintptr, data string) {
	require.NoError(t, syscall.Mount(source, dir, kind, flags, data), "mounting in a namespace of one's own")
}

// A disk fills up while somebody works: what cannot be written is said not to
// be, everything confirmed before stays, and the work goes on when there is
// space again.
func TestAFullDiskLosesNothingThatWasConfirmed(t *testing.T) {
	outside, dir := inOwnWorld(t)
	if outside {
		return
	}
	mount(t, "tmpfs", dir, "tmpfs", 0, "size=1m")
	path, ballast := filepath.Join(dir, "job.putback"), filepath.Join(dir, "ballast")

	// Full from the start: no job, and nothing left that stands in the way later.
	full := make([]byte, 1<<20)
	_ = os.WriteFile(ballast, full, 0o644)
	_, err := Open(path, Options{})
	require.ErrorIs(t, err, ErrNoSpace)
	require.ErrorContains(t, err, path)
	require.NoError(t, os.Truncate(ballast, 600<<10))

	b, err := Open(path, Options{Sheet: DemoSheet(), Now: start})
	require.NoError(t, err)
	var confirmed []string
	at := start
	note := func(n int) error {
		at = at.Add(time.Second)
		before := wholeState(t, b.state)
		text := fmt.Sprintf("note %d, with some words behind it so that the disk fills sooner than later", n)
		out, err := b.Do(at, intent.Note{Text: text}, Heard{text, 1})
		if err != nil {
			require.Equal(t, before, wholeState(t, b.state), "an error changed the state")
			return err
		}
		require.NotEmpty(t, out.Reply.Text)
		confirmed = append(confirmed, text)
		return nil
	}
	n := 0
	for err = note(n); err == nil && n < 20_000; err = note(n) {
		n++
	}
	require.ErrorIs(t, err, ErrNoSpace)
	require.ErrorContains(t, err, "nothing was changed")
	require.Greater(t, len(confirmed), 20)
	// Still full: again an error, not a crash, and looking works.
	require.ErrorIs(t, note(n), ErrNoSpace)
	require.Len(t, b.View(at).Notes, len(confirmed))
	out, err := b.Do(at, intent.WhereWasI{}, Heard{"where was I", 1})
	require.NoError(t, err)
	require.NotEmpty(t, out.Reply.Text)

	require.NoError(t, os.Remove(ballast))
	for range 10 {
		n++
		require.NoError(t, note(n))
	}
	_, err = b.Do(at, intent.Strike{}, Heard{"strike that", 1})
	require.NoError(t, err)
	confirmed = confirmed[:len(confirmed)-1]
	state := wholeState(t, b.state)
	require.NoError(t, b.Close())

	b, err = Open(path, Options{})
	require.NoError(t, err)
	require.Equal(t, state, wholeState(t, b.state))
	var kept []string
	for _, note := range b.state.Notes {
		kept = append(kept, note.Text)
	}
	require.Equal(t, confirmed, kept)

	// Full at the end: the copy cannot be written, which is no reason to fail.
	_ = os.WriteFile(ballast, full, 0o644)
	good := reading(t, LastGood(path))
	for note(n) == nil {
		n++
	}
	_ = b.Close()
	same(t, good, LastGood(path))
	require.NoFileExists(t, LastGood(path)+".part")
	require.NoError(t, os.Remove(ballast))
	b, err = Open(path, Options{ReadOnly: true})
	require.NoError(t, err)
	require.Len(t, b.state.Notes, len(confirmed))
	require.NoError(t, b.Close())
}

// A disk that takes no writing: work is refused with the reason, looking works.
func TestAReadOnlyDiskIsSaidAndCanBeLookedAt(t *testing.T) {
	outside, dir := inOwnWorld(t)
	if outside {
		return
	}
	mount(t, "tmpfs", dir, "tmpfs", 0, "size=4m")
	path := filepath.Join(dir, "job.putback")
	state, events := workedJob(t, path)
	whole := reading(t, path)
	mount(t, "tmpfs", dir, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, "")
	_, err := Open(path, Options{})
	require.ErrorIs(t, err, errUnwritable)
	require.ErrorContains(t, err, path)
	require.ErrorContains(t, err, "copy it elsewhere")
	_, err = Open(filepath.Join(dir, "new.putback"), Options{})
	require.ErrorIs(t, err, errUnwritable)
	b, err := Open(path, Options{ReadOnly: true})
	require.NoError(t, err)
	require.Equal(t, state, wholeState(t, b.state))
	got, err := b.History(0, 0)
	require.NoError(t, err)
	require.Equal(t, events, got)
	_, err = b.Do(start, intent.Note{Text: "x"}, Heard{"x", 1})
	require.ErrorIs(t, err, ErrReadOnly)
	require.NoError(t, b.Close())
	same(t, whole, path)
}

// Two programs on one job: the second is told so and changes nothing; it may
// look. When the first ends, however it ends, the place is free.
func TestASecondProgramOnOneJobIsRefused(t *testing.T) {
	if path := os.Getenv("PUTBACK_SECOND"); path != "" {
		_, err := Open(path, Options{})
		require.ErrorIs(t, err, ErrLocked)
		require.ErrorContains(t, err, path)
		_, err = Restore(path)
		require.ErrorIs(t, err, ErrLocked)
		b, err := Open(path, Options{ReadOnly: true})
		require.NoError(t, err)
		require.Len(t, b.state.Notes, 1, "a reader sees what was confirmed last")
		require.NoError(t, b.Close())
		return
	}
	if path := os.Getenv("PUTBACK_FIRST"); path != "" {
		b, err := Open(path, Options{})
		require.NoError(t, err)
		_, err = b.Do(start, intent.Note{Text: "x"}, Heard{"x", 1})
		require.NoError(t, err)
		require.NoError(t, syscall.Kill(os.Getpid(), syscall.SIGKILL))
		select {}
	}
	child := func(env string) ([]byte, error) {
		c := exec.Command(os.Args[0], "-test.run", "^"+t.Name()+"$", "-test.v")
		c.Env = append(os.Environ(), env)
		return c.CombinedOutput()
	}
	path := filepath.Join(t.TempDir(), "job.putback")
	_, err := child("PUTBACK_FIRST=" + path)
	require.ErrorContains(t, err, "killed")
	b, err := Open(path, Options{})
	require.NoError(t, err, "the lock of a killed program")
	require.Len(t, b.state.Notes, 1)
	out, err := child("PUTBACK_SECOND=" + path)
	require.NoError(t, err, "%s", out)
	require.NoError(t, b.Close())
}
