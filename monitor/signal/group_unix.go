//go:build unix

package signal

import (
	"os/exec"
	"syscall"
)

// ownGroup makes the command the first of a group of processes, so that what it has started is stopped with it.
func ownGroup(cmd *exec.Cmd) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	cmd.Cancel = func() error { return syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) }
}
