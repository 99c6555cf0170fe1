//go:build unix

package main

import (
	"os"
	"runtime"
	"syscall"
	"time"
)

// busy returns the processor time that this process has used.
func busy() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// peak returns the most memory that a process which has ended held at a time, in bytes; 0: not known.
func peak(s *os.ProcessState) int64 {
	u, ok := s.SysUsage().(*syscall.Rusage)
	switch {
	case !ok:
		return 0
	case runtime.GOOS == "darwin":
		return int64(u.Maxrss)
	}
	return int64(u.Maxrss) << 10
}
