//go:build !linux

package pgtest

import "syscall"

// attributes cannot tie the server to the test here: a test that is killed
// leaves it running.
func attributes(who *syscall.Credential) *syscall.SysProcAttr {
	return &syscall.SysProcAttr{Credential: who, Setpgid: true}
}
