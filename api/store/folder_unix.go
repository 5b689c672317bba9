//go:build unix

package store

import (
	"fmt"
	"os"
	"path/filepath"
	"syscall"
)

// lockFolder keeps the exchange of a data file and the opening of one apart: who
// opens shares the lock while it opens, who exchanges holds it alone. A
// connection that had found the old file and went on to make a write-ahead log
// by its name would otherwise lay that log beside the new one. Once a file is
// open SQLite's own locks show it, so the lock is given back then. The folder is
// locked, not the file: to close a second descriptor of the file would drop
// SQLite's locks on it.
func lockFolder(path string, alone bool) (release func(), err error) {
	folder, err := os.Open(filepath.Dir(path))
	if err != nil {
		return nil, err
	}
	how := syscall.LOCK_SH
	if alone {
		how = syscall.LOCK_EX
	}
	for {
		err = syscall.Flock(int(folder.Fd()), how)
		if err != syscall.EINTR {
			break
		}
	}
	if err != nil {
		_ = folder.Close()
		return nil, &os.PathError{Op: "lock", Path: folder.Name(), Err: err}
	}
	return func() { _ = folder.Close() }, nil // which gives the lock back
}

// fileKey names a file whatever the path to it.
func fileKey(path string, info os.FileInfo) string {
	if stat, ok := info.Sys().(*syscall.Stat_t); ok {
		return fmt.Sprint(stat.Dev, " ", stat.Ino)
	}
	return path
}

// running says whether there is a process of that number.
func running(pid int) bool {
	return syscall.Kill(pid, 0) != syscall.ESRCH
}
