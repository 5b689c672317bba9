//go:build !unix

package store

import "os"

// lockFolder does nothing where folders cannot be locked: restore then only
// when nobody is about to open the data file.
func lockFolder(string, bool) (release func(), err error) { return func() {}, nil }

// fileKey names a file.
func fileKey(path string, _ os.FileInfo) string { return path }

// running says that every process may still be there, where that cannot be asked.
func running(int) bool { return true }
