package models

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
)

// Verify checks every byte of the named models, or, when none is named, of
// the default ones and of any other that is there, and tells progress about
// each that is right. All faults are reported, joined; they wrap ErrDamaged,
// ErrNotFetched or ErrUnknown and say what to do.
func Verify(ctx context.Context, progress Progress, names ...string) error {
	chosen, err := choose(names)
	if err != nil {
		return err
	}
	if len(names) == 0 {
		for _, s := range List() {
			if s.Fetched && !s.Default {
				chosen = append(chosen, s.Model)
			}
		}
	}
	var faults []error
	for _, m := range chosen {
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("verifying: %w", err)
		}
		wrong := verifyModel(m)
		if len(wrong) == 0 {
			progress.say("%s: right, %s", m.Name, megabytes(m.Bytes()))
		}
		faults = append(faults, wrong...)
	}
	return errors.Join(faults...)
}

// verifyModel checks the files of one model where Path finds it.
func verifyModel(m Model) (faults []error) {
	dir := Dir()
	if present(dir, m) != nil && present(InstalledDir(), m) == nil {
		dir = InstalledDir()
	}
	for _, f := range m.Files {
		err := checkFile(dir, f)
		path := filepath.Join(dir, filepath.FromSlash(f.Path))
		switch {
		case errors.Is(err, fs.ErrNotExist):
			faults = append(faults, fmt.Errorf("model %s: %s: %w", m.Name, path, ErrNotFetched))
		case err != nil:
			faults = append(faults, fmt.Errorf("model %s: %s is %w; make it anew with: putback models fetch %s", m.Name, path, err, m.Name))
		}
	}
	return faults
}
