package jobs

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"
)

// copyLimit is the size up to which the last good copy is renewed each time a
// job is opened; a larger one is copied only when it is closed.
const copyLimit = 8 << 20

// LastGood names the copy kept of a job file as it was when it last opened or
// closed undamaged.
func LastGood(path string) string { return path + ".last-good" }

// wayBack is the sentence that leads out of a damaged file.
func (j *journal) wayBack() string {
	if j.path == "" {
		return ""
	}
	if fi, err := os.Stat(LastGood(j.path)); err == nil {
		return fmt.Sprintf("; the last good copy, %s, is of %s: `putback restore %s` puts it in place and keeps the damaged file", LastGood(j.path), fi.ModTime().Format("2 January 2006 15:04"), j.path)
	}
	return "; there is no last good copy: keep the file, and take the job from a backup or an export"
}

func (j *journal) hasGood() bool {
	if j.path == "" {
		return false
	}
	_, err := os.Stat(LastGood(j.path))
	return err == nil
}

// Restore puts the last good copy in the place of a damaged or lost job file.
// The damaged file is kept under the name it returns, "" when there was none.
// What was recorded after the copy was made is only in the damaged file.
func Restore(path string) (damaged string, err error) {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	}
	if _, err := os.Stat(LastGood(path)); errors.Is(err, os.ErrNotExist) {
		return "", fmt.Errorf("restoring job file %s: there is no last good copy %s; take the job from a backup or an export", path, LastGood(path))
	}
	lock, err := lockFile(path)
	if err != nil {
		return "", err
	}
	defer lock.Close()
	good, err := openJournal(LastGood(path), true)
	if err != nil {
		return "", fmt.Errorf("restoring job file %s: %w", path, err)
	}
	err = errors.Join(good.integrity(), good.db.Close())
	if err != nil {
		return "", fmt.Errorf("restoring job file %s: %w", path, err)
	}
	raw, err := os.ReadFile(LastGood(path))
	if err != nil {
		return "", fmt.Errorf("restoring job file %s: %w", path, err)
	}
	damaged = path + ".damaged"
	for n := 2; ; n++ {
		if _, err := os.Lstat(damaged); errors.Is(err, os.ErrNotExist) {
			break
		}
		damaged = fmt.Sprintf("%s.damaged-%d", path, n)
	}
	if err := writeWhole(path+".restoring", raw); err != nil {
		return "", fmt.Errorf("restoring job file %s: %w", path, err)
	}
	if _, err := os.Lstat(path); errors.Is(err, os.ErrNotExist) {
		damaged = ""
		for _, tail := range []string{"-wal", "-shm"} {
			if err := os.Remove(path + tail); err != nil && !errors.Is(err, os.ErrNotExist) {
				return "", fmt.Errorf("restoring job file %s: %w", path, err)
			}
		}
	} else if err != nil {
		return "", fmt.Errorf("restoring job file %s: %w", path, err)
	}
	// The write-ahead log belongs to the damaged file and would be played into the copy.
	for _, tail := range []string{"", "-wal", "-shm"} {
		if damaged == "" {
			break
		}
		if err := os.Rename(path+tail, damaged+tail); err != nil && !errors.Is(err, os.ErrNotExist) {
			return "", fmt.Errorf("restoring job file %s: %w", path, err)
		}
	}
	if err := os.Rename(path+".restoring", path); err != nil {
		return "", fmt.Errorf("restoring job file %s: %w", path, err)
	}
	(&journal{lock: lock}).reached(0) // what the copy lacks was told just now
	return damaged, nil
}

func writeWhole(path string, raw []byte) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	_, err = f.Write(raw)
	return errors.Join(err, f.Sync(), f.Close())
}

// copyGood writes the last good copy beside the file, whole or not at all.
func (b *Bench) copyGood() {
	part := LastGood(b.journal.path) + ".part"
	os.Remove(part)
	_, err := b.journal.db.Exec("VACUUM INTO ?", part)
	if err == nil {
		err = syncFile(part)
	}
	if err == nil {
		err = os.Rename(part, LastGood(b.journal.path))
	}
	if err != nil {
		os.Remove(part)
		b.notices = append(b.notices, "The last good copy could not be written: "+err.Error())
	}
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

func (b *Bench) copyAtOpen() {
	if b.noCopy || b.state.Seq == 0 {
		return
	}
	fi, err := os.Stat(b.journal.path)
	if err != nil || fi.Size() > copyLimit {
		return
	}
	if good, err := os.Stat(LastGood(b.journal.path)); err == nil && good.ModTime().After(fi.ModTime()) {
		return
	}
	b.copyGood()
}

func (b *Bench) copyAtClose() {
	if !b.noCopy && b.sinceOpen > 0 {
		b.copyGood()
	}
}

// checkLimit is the size up to which the whole file is checked before a job is
// opened; a larger one is checked beside the work, and Tick tells.
const checkLimit = 8 << 20

func (b *Bench) check() error {
	if b.journal.path == "" {
		return nil
	}
	fi, err := os.Stat(b.journal.path)
	if err != nil {
		return fmt.Errorf("opening job file %s: %w", b.journal.path, err)
	}
	if fi.Size() <= checkLimit {
		return b.journal.integrity()
	}
	if b.journal.readOnly {
		return nil // what is looked at is checked as it is read, each event and the stored state
	}
	// A second connection, so that the check does not stand in the way of the work.
	side, err := openSide(b.journal)
	if err != nil {
		return err
	}
	b.verified = make(chan error, 1)
	done := b.verified
	go func() {
		err := side.integrity()
		done <- errors.Join(err, side.db.Close())
	}()
	return nil
}

// settleVerify waits for a check that still runs; a copy of a damaged file must
// not take the last good one's place.
func (b *Bench) settleVerify() error {
	if b.verified == nil {
		return nil
	}
	select {
	case err := <-b.verified:
		b.verified = nil
		return err
	case <-time.After(time.Minute):
		b.noCopy = true
		return nil
	}
}
