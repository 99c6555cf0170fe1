//go:build unix

package signal

import (
	"os/exec"
	"syscall"
)

// runGroup runs the command as the first of a group of processes, so that what it has started is stopped with it.
func runGroup(cmd *exec.Cmd) error {
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	cmd.Cancel = func() error { return syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) }
	return cmd.Run()
}
