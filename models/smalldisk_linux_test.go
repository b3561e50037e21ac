package models

import (
	"fmt"
	"syscall"
)

// mountSmallDisk puts a disk in memory of so many bytes over dir; it takes root.
func mountSmallDisk(dir string, size int) error {
	return syscall.Mount("none", dir, "tmpfs", 0, fmt.Sprintf("size=%d", size))
}

func unmount(dir string) error { return syscall.Unmount(dir, 0) }
