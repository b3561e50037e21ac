//go:build unix

package models

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

// lockDir keeps two fetches from working in the same folder: the second waits
// until the first is done or its context ends. The lock goes with the process.
func lockDir(ctx context.Context, dir string, waiting func()) (unlock func(), err error) {
	path := filepath.Join(dir, ".lock")
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o644)
	if err != nil {
		return nil, fmt.Errorf("locking the models folder: %w", err)
	}
	for tries := 0; ; tries++ {
		err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		if err == nil {
			return func() { f.Close() }, nil
		}
		if err != syscall.EWOULDBLOCK && err != syscall.EINTR {
			f.Close()
			return nil, fmt.Errorf("locking %s: %w", path, err)
		}
		if tries == 0 {
			waiting()
		}
		select {
		case <-ctx.Done():
			f.Close()
			return nil, fmt.Errorf("waiting for another fetch into %s to end: %w", dir, ctx.Err())
		case <-time.After(200 * time.Millisecond):
		}
	}
}

// freeBytes is the space left for this user on the disk of dir, or -1 when unknown.
func freeBytes(dir string) int64 {
	var s syscall.Statfs_t
	if err := syscall.Statfs(dir, &s); err != nil {
		return -1
	}
	return int64(s.Bavail) * int64(s.Bsize)
}
