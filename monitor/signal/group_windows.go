package signal

import (
	"os/exec"
	"syscall"

	"golang.org/x/sys/windows"
)

// runGroup runs the command in a job, so that what it has started is stopped with it. Ctrl-C in the window of the watch is for the watch
// alone.
func runGroup(cmd *exec.Cmd) error {
	job, err := windows.CreateJobObject(nil, nil)
	if err != nil {
		return err
	}
	defer windows.CloseHandle(job) // what it has started and left behind goes on
	cmd.SysProcAttr = &syscall.SysProcAttr{CreationFlags: windows.CREATE_NEW_PROCESS_GROUP}
	cmd.Cancel = func() error {
		err := cmd.Process.Kill()
		_ = windows.TerminateJobObject(job, 1) // fails where all have ended
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	// Where it cannot be put into the job, the command alone is stopped.
	_ = cmd.Process.WithHandle(func(h uintptr) { _ = windows.AssignProcessToJobObject(job, windows.Handle(h)) })
	return cmd.Wait()
}
