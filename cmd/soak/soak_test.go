package main

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"time"
)

// Each kind of job, small, with the watch in this process: nothing is lost, nothing doubled, and the table says so.
func TestSmall(t *testing.T) {
	var out, errOut bytes.Buffer
	dir := t.TempDir()
	args := []string{"-inside", "-rate", "100", "-for", "500ms", "-bursts", "300", "-standing", "300", "-dir", dir}
	if status := run(t.Context(), args, &out, &errOut); status != 0 {
		t.Fatalf("run(%q) = %d, want 0\n%s%s", args, status, out.String(), errOut.String())
	}
	for _, want := range []string{"| 100 files/s for 500ms | 50 of 50 | 0 | 0 |", "| 300 at once | 300 of 300 | 0 | 0 |",
		"| 300 there at the start | 300 of 300 | 0 | 0 | – | – | – |"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("run(%q) says\n%s, want a row that begins %q", args, out.String(), want)
		}
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 0 {
		t.Errorf("run(%q) leaves %v, %v; want nothing", args, left, err)
	}
}

func TestStopped(t *testing.T) {
	s := &soak{options: &options{channels: 64, seed: 1, inside: true}, dir: t.TempDir(), log: t.Output(),
		job: job{name: "stopped", files: 200, stops: 1}}
	r, err := s.run(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if r.judged != 200 || r.lost != 0 || r.doubled != 0 || len(r.byThen) != 1 || r.stopped <= 0 {
		t.Errorf("run of a watch that is stopped once = %+v, want 200 judged, none lost or doubled, a time to stop", r)
	}
}

func TestWrongUse(t *testing.T) {
	for _, args := range [][]string{{}, {"-rate", "-1"}, {"-rate", "50", "-for", "0s"}, {"-rate", "50", "-for", "25h"}, {"-bursts", "many"},
		{"-bursts", "3000000"}, {"-stops", "3"}, {"-standing", "10", "file"}, {"-standing", "10", "-channels", "8"}} {
		var out, errOut bytes.Buffer
		if status := run(t.Context(), args, &out, &errOut); status != 2 || errOut.Len() == 0 {
			t.Errorf("run(%q) = %d, %q; want 2 and a reason", args, status, errOut.String())
		}
	}
}

func TestMemory(t *testing.T) {
	samples := make([]int64, 5*240)
	for i := range samples {
		samples[i] = 20e6 + int64(i)*1e6/240 // a megabyte a minute
	}
	r := result{job: job{name: "five minutes"}, judged: 5000, course: course(samples)}
	want := "five minutes, memory after each minute, MB: 21.0 22.0 23.0 24.0 25.0; over the last 2 it grew by 2.0 MB, 1000 bytes a file.\n"
	if got := r.memory(); got != want {
		t.Errorf("memory() = %q, want %q", got, want)
	}
	if got := (&result{course: course(samples[:300])}).memory(); got != "" {
		t.Errorf("memory() of a minute = %q, want nothing", got)
	}
}

func TestSpan(t *testing.T) {
	for _, tt := range []struct {
		d    time.Duration
		want string
	}{{0, "–"}, {420 * time.Nanosecond, "0.42 µs"}, {1234 * time.Microsecond, "1.23 ms"}, {90 * time.Second, "90 s"}} {
		if got := span(tt.d); got != tt.want {
			t.Errorf("span(%v) = %q, want %q", tt.d, got, tt.want)
		}
	}
}
