package pgtest

import "syscall"

// attributes lets the server die with the test, however that ends.
func attributes(who *syscall.Credential) *syscall.SysProcAttr {
	return &syscall.SysProcAttr{Credential: who, Setpgid: true, Pdeathsig: syscall.SIGQUIT}
}
