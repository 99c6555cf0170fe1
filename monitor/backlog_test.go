package monitor_test

import (
	"bufio"
	"bytes"
	"errors"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"asusual/monitor/history"
)

// backlogEnv says how many files TestABacklogWhoseWatchIsKilledAgainAndAgain begins with.
const backlogEnv = "ASUSUAL_TEST_BACKLOG"

// A process is killed at a random moment after it kept something, and another one started, again and again. What was kept stays
// kept, each start brings it forward, and at the end every spectrum of the backlog has been judged once.
func TestABacklogWhoseWatchIsKilledAgainAndAgain(t *testing.T) {
	files, kills := 4500, 5
	if s := os.Getenv(backlogEnv); s != "" {
		n, err := strconv.Atoi(s)
		if err != nil || n < 4500 {
			t.Fatalf("%s = %q, want a number from 4500 on", backlogEnv, s)
		}
		files, kills = n, 40
	}
	b := newBench(t)
	if err := b.db.Close(); err != nil { // the other process is the watcher
		t.Fatal(err)
	}
	dir := filepath.Dir(b.path)
	writeReference(t, filepath.Join(dir, "reference"))
	spectra := produced(t, files)
	for _, s := range spectra {
		path := filepath.Join(b.folder, fileName(s))
		if err := errors.Join(os.WriteFile(path, text(t, s), 0o644), os.Chtimes(path, s.Time, s.Time)); err != nil {
			t.Fatal(err)
		}
	}
	rng := rand.New(rand.NewPCG(2, uint64(kills)))
	before, last := 0, time.Duration(0)
	for k := range kills {
		said, lived := killedAfterKeeping(t, dir, time.Duration(rng.Int64N(int64(20*time.Millisecond))))
		db, err := history.Read(t.Context(), b.path) // not as a watcher, who would leave it as one that ended in good order
		if err != nil {
			t.Fatal(err)
		}
		c, err := db.Counts(t.Context(), everything, 0)
		if err := errors.Join(err, db.Close()); err != nil {
			t.Fatal(err)
		}
		now := c.Judged
		if now <= before {
			t.Fatalf("after start %d: %d files were judged, %d before it, want more", k, now, before)
		}
		if hurried := strings.Contains(said, "killed soon after its start"); hurried != (k > 0) && last < 8*time.Second {
			t.Errorf("start %d hurries: %v, want %v; the one before lived %v\n%s", k, hurried, k > 0, last, said)
		}
		before, last = now, lived
	}
	t.Logf("%d kills: %d of %d spectra were judged by the processes that were killed", kills, before, files)
	b.open()
	b.catchUp()
	b.expect("after all kills", spectra)
}

// killedAfterKeeping lets a process watch until it told that it kept something, and so long after that; it returns its log, and how
// long it lived: on a busy machine longer than the ten seconds within which a kill has the next one hurry.
func killedAfterKeeping(t *testing.T, dir string, after time.Duration) (log string, lived time.Duration) {
	t.Helper()
	cmd := exec.Command(os.Args[0], "-test.run=^$")
	cmd.Env = append(os.Environ(), crashEnv+"="+dir, crashTellEnv+"=1")
	var said bytes.Buffer
	cmd.Stderr = &said
	began := time.Now()
	out, err := cmd.StdoutPipe()
	if err == nil {
		err = cmd.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	in := bufio.NewScanner(out)
	for in.Scan() && !strings.HasPrefix(in.Text(), "kept") {
	}
	<-time.After(after) // by chance, in the midst of the next batch
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	lived = time.Since(began)
	if err := cmd.Wait(); err == nil || cmd.ProcessState.ExitCode() >= ownEnd || strings.Contains(said.String(), "level=ERROR") {
		t.Fatalf("the watch ended by itself: %v\n%s", err, said.String())
	}
	return said.String(), lived
}
