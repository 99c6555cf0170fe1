//go:build unix

package testserver

import (
	"errors"
	"os"
	"os/exec"
	"os/user"
	"strconv"
	"syscall"
)

// another is the user as whom root runs a server: the package's own, or one who has nothing.
func another() (uid, gid uint32, ok bool) {
	if os.Geteuid() != 0 {
		return 0, 0, false
	}
	for _, name := range []string{"postgres", "nobody"} {
		if u, err := user.Lookup(name); err == nil {
			uid, err1 := strconv.ParseUint(u.Uid, 10, 32)
			gid, err2 := strconv.ParseUint(u.Gid, 10, 32)
			return uint32(uid), uint32(gid), err1 == nil && err2 == nil
		}
	}
	return 0, 0, false
}

func asAnother(c *exec.Cmd) {
	// A group of its own, so that what interrupts a test does not end the server before the test is done with it.
	c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	if uid, gid, ok := another(); ok {
		c.SysProcAttr.Credential = &syscall.Credential{Uid: uid, Gid: gid}
		c.Env = append(os.Environ(), "HOME=/")
	}
}

func giveAway(dir string) error {
	if uid, gid, ok := another(); ok {
		return os.Chown(dir, int(uid), int(gid))
	}
	return nil
}

// gone reports whether no process has the number.
func gone(pid int) bool { return errors.Is(syscall.Kill(pid, 0), syscall.ESRCH) }
