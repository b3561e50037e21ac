//go:build !unix

package jobs

import (
	"errors"
	"fmt"
	"io"
	"os"
)

type heldFile struct{ *os.File }

func (h heldFile) Close() error {
	err := h.File.Close()
	return errors.Join(err, os.Remove(h.Name()))
}

// lockFile takes the one writer's place beside a job file. Where the kernel has
// no advisory lock the file's existence is the lock.
func lockFile(path string) (io.Closer, error) {
	f, err := os.OpenFile(path+".lock", os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o644)
	if errors.Is(err, os.ErrExist) {
		return nil, fmt.Errorf("job file %s (if no other program runs, delete %s.lock): %w", path, path, ErrLocked)
	}
	if err != nil {
		return nil, fmt.Errorf("taking the lock of job file %s: %w", path, err)
	}
	return heldFile{f}, nil
}
