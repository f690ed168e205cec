package integration_test

import (
	"os/exec"
	"syscall"
)

// endWithParent has a process killed when the tests are gone, however they
// ended.
func endWithParent(cmd *exec.Cmd) { cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL} }
