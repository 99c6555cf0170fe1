package main

import (
	"fmt"
	"os"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"time"
)

// resident returns the memory that a process holds now, in bytes; 0: not known here.
func resident(pid int) int64 { return memory(pid, "VmRSS:") }

// peak returns the most memory that it held at a time.
func peak(pid int) int64 { return memory(pid, "VmHWM:") }

// memory reads a line of /proc/PID/status, which only Linux has.
func memory(pid int, key string) int64 {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0
	}
	for line := range strings.Lines(string(text)) {
		if f := strings.Fields(line); len(f) == 3 && f[0] == key {
			kb, _ := strconv.ParseInt(f[1], 10, 64) // 0: not known
			return kb << 10
		}
	}
	return 0
}

// tick is the unit of processor time in /proc: USER_HZ is 100 on every architecture that Go runs on (man 5 proc).
const tick = 10 * time.Millisecond

// busy returns the processor time that a process has used; 0: not known here.
func busy(pid int) time.Duration {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return 0
	}
	_, rest, _ := strings.Cut(string(text), ") ") // the program's name may hold anything
	f := strings.Fields(rest)
	if len(f) < 13 {
		return 0
	}
	user, err := strconv.Atoi(f[11])
	system, err2 := strconv.Atoi(f[12])
	if err != nil || err2 != nil {
		return 0
	}
	return time.Duration(user+system) * tick
}

// followEvery is how often the memory of a process is noted.
const followEvery = 250 * time.Millisecond

// course thins what follow noted to the last of each whole minute.
func course(samples []int64) []int64 {
	const minute = int(time.Minute / followEvery)
	var each []int64
	for i := minute - 1; i < len(samples); i += minute {
		each = append(each, samples[i])
	}
	return each
}

// follow notes the memory of a process four times a second until its return value is called, which returns what it noted.
func follow(pid int) (end func() []int64) {
	stop := make(chan struct{})
	var samples []int64
	var running sync.WaitGroup
	running.Go(func() {
		t := time.NewTicker(followEvery)
		defer t.Stop()
		for {
			select {
			case <-stop:
				return
			case <-t.C:
				samples = append(samples, resident(pid))
			}
		}
	})
	return sync.OnceValue(func() []int64 {
		close(stop)
		running.Wait()
		return samples
	})
}

// load returns the load of the machine over the last minute; "–": not known here.
func load() string {
	text, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return "–"
	}
	one, _, _ := strings.Cut(string(text), " ")
	return fmt.Sprintf("%s on %d", one, runtime.NumCPU())
}
