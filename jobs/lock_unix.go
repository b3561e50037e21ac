//go:build unix

package jobs

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"syscall"
)

// lockFile takes the one writer's place beside a job file. The lock is the
// kernel's, so it ends with the process, however that ends. It sits on a file
// of its own: closing any descriptor of the database itself would drop the
// locks SQLite holds on it.
func lockFile(path string) (io.Closer, error) {
	f, err := os.OpenFile(path+".lock", os.O_CREATE|os.O_RDWR, 0o644)
	if errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EROFS) {
		return nil, fmt.Errorf("opening job file %s: %w: make the file and its folder writable or copy it elsewhere; status, report and export work as it is (%v)", path, errUnwritable, err)
	}
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
