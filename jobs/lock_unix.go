//go:build unix

package jobs

import (
	"errors"
	"fmt"
	"io"
	"os"
	"syscall"
)

// lockFile takes the one writer's place beside a job file. The lock is the
// kernel's, so it ends with the process, however that ends. It sits on a file
// of its own: closing any descriptor of the database itself would drop the
// locks SQLite holds on it.
func lockFile(path string) (io.Closer, error) {
	f, err := os.OpenFile(path+".lock", os.O_CREATE|os.O_RDWR, 0o644)
	if err != nil {
		return nil, fmt.Errorf("taking the lock of job file %s: %w", path, err)
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		f.Close()
		if errors.Is(err, syscall.EWOULDBLOCK) {
			return nil, fmt.Errorf("job file %s: %w", path, ErrLocked)
		}
		return nil, fmt.Errorf("taking the lock of job file %s: %w", path, err)
	}
	return f, nil
}
