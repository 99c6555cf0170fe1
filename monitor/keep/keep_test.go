package keep_test

import (
	"bufio"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"asusual/monitor/keep"
)

// holdEnv makes the test binary hold the lock of that path until it is killed.
const holdEnv = "ASUSUAL_TEST_HOLD"

func TestMain(m *testing.M) {
	if path := os.Getenv(holdEnv); path != "" {
		h, err := keep.Take(path, keep.Holder{Name: "first <b>", PID: os.Getpid(), Since: time.Unix(1764057600, 0)})
		if err != nil {
			os.Stdout.WriteString(err.Error() + "\n")
			os.Exit(1)
		}
		os.Stdout.WriteString("held\n")
		<-time.After(time.Hour) // a process in which nothing can happen any more ends by itself
		_ = h.Release()
	}
	os.Exit(m.Run())
}

func TestWriteFileIsWholeAtEveryMoment(t *testing.T) {
	path := filepath.Join(t.TempDir(), "state.json")
	a, b := strings.Repeat("a", 1<<16), strings.Repeat("b", 1<<15)
	if err := keep.WriteFile(path, []byte(a)); err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	begun := make(chan struct{}, 1)
	wg.Go(func() {
		for range begun { // and pauses: on Windows it could not be replaced if it were open all the time
			for range 10 {
				if got, err := keep.ReadFile(path); err != nil || string(got) != a && string(got) != b {
					t.Errorf("ReadFile while it is written = %d bytes, %v, want all of the old or of the new content", len(got), err)
				}
			}
		}
	})
	for range 30 {
		for _, s := range []string{b, a} {
			begun <- struct{}{}
			if err := keep.WriteFile(path, []byte(s)); err != nil {
				t.Errorf("WriteFile = %v, want nil", err)
			}
		}
	}
	close(begun)
	wg.Wait()
	if left, _ := os.ReadDir(filepath.Dir(path)); len(left) != 1 {
		t.Errorf("files in the folder after WriteFile = %d, want 1", len(left))
	}
}

func TestWriteFileLeavesNothingWhereItCannotWrite(t *testing.T) {
	dir := t.TempDir()
	if err := keep.WriteFile(filepath.Join(dir, "missing", "x"), nil); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("WriteFile in a missing folder = %v, want %v", err, os.ErrNotExist)
	}
	if err := os.MkdirAll(filepath.Join(dir, "taken", "full"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := keep.WriteFile(filepath.Join(dir, "taken"), []byte("x")); err == nil || errors.Is(err, os.ErrClosed) {
		t.Errorf("WriteFile over a folder = %v, want an error that says nothing else", err)
	}
	if left, _ := os.ReadDir(dir); len(left) != 1 {
		t.Errorf("entries after WriteFile that was refused = %v, want the folder alone", left)
	}
}

func TestSweepTakesOnlyUnfinishedWrites(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{".asusual-unfinished-123", "report.html", ".hidden"} {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := keep.Sweep(dir, time.Now().Add(time.Minute)); err != nil {
		t.Fatal(err)
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 2 {
		t.Errorf("Sweep left %v, %v, want .hidden and report.html", left, err)
	}
}

// A folder into which a large file is being written for hours is not a leftover, though the folder itself is as old.
func TestSweepLeavesWhatIsStillWritten(t *testing.T) {
	dir := t.TempDir()
	hours := time.Now().Add(-3 * time.Hour)
	for name, written := range map[string]time.Time{"written": time.Now(), "left": hours} {
		folder := filepath.Join(dir, keep.Prefix+name)
		file := filepath.Join(folder, "history")
		for _, err := range []error{os.Mkdir(folder, 0o755), os.WriteFile(file, nil, 0o644), os.Chtimes(file, written, written), os.Chtimes(folder, hours, hours)} {
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := keep.Sweep(dir, time.Now().Add(-time.Hour)); err != nil {
		t.Fatal(err)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 1 || left[0].Name() != keep.Prefix+"written" {
		t.Errorf("Sweep left %v, %v, want the folder whose file is written", left, err)
	}
}

func TestTakeNamesTheFirstHolder(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.lock")
	first := keep.Holder{Name: "watch", PID: 4711, Since: time.Unix(1764057600, 0)}
	h, err := keep.Take(path, first)
	if err != nil {
		t.Fatal(err)
	}
	_, err = keep.Take(path, keep.Holder{Name: "second"})
	var held *keep.Held
	if !errors.As(err, &held) || held.By.Name != "watch" || held.By.PID != 4711 || !held.By.Since.Equal(first.Since) {
		t.Fatalf("second Take = %v, want it refused with watch, 4711 and its time", err)
	}
	if err := errors.Join(h.Release(), h.Release()); err != nil {
		t.Errorf("Release, twice = %v, want nil", err)
	}
	again, err := keep.Take(path, keep.Holder{Name: "second"})
	if err != nil {
		t.Fatalf("Take after Release = %v, want nil", err)
	}
	if err := again.Release(); err != nil {
		t.Error(err)
	}
}

func TestTakeAfterTheHolderWasKilled(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.lock")
	cmd := exec.Command(os.Args[0], "-test.run=^$")
	cmd.Env = append(os.Environ(), holdEnv+"="+path)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil || line != "held\n" {
		t.Fatalf("the other process said %q, %v, want held", line, err)
	}
	_, err = keep.Take(path, keep.Holder{Name: "second"})
	var held *keep.Held
	if !errors.As(err, &held) || held.By.PID != cmd.Process.Pid || held.By.Name != "first <b>" {
		t.Errorf("Take while another process holds = %v, want its process %d", err, cmd.Process.Pid)
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait()                                   // killed: its status says so
	for _, want := range []int{cmd.Process.Pid, 0} { // the second finds it released
		h, err := keep.Take(path, keep.Holder{Name: "second", PID: 1})
		if err != nil {
			t.Fatalf("Take after the holder was killed = %v, want nil", err)
		}
		if left := h.Left(); left.PID != want {
			t.Errorf("Left = %+v, want process %d", left, want)
		}
		if err := h.Release(); err != nil {
			t.Error(err)
		}
	}
}

// Of two who replace a file at once the second neither loses what the first writes nor waits for ever: it is told that the file is held, and
// once the first is done, it sees what that wrote. What is beside the file is hidden.
func TestReplaceAlone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "line.reference")
	if err := keep.WriteFile(path, []byte("before")); err != nil {
		t.Fatal(err)
	}
	looks, goOn, done := make(chan struct{}), make(chan struct{}), make(chan error, 1)
	go func() {
		done <- keep.ReplaceAlone(path, []byte("first"), func() error { close(looks); <-goOn; return nil })
	}()
	<-looks
	lock := filepath.Join(filepath.Dir(path), ".line.reference.lock")
	if info, err := os.Stat(lock); err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o666 {
		t.Errorf("the lock has %v, %v; want that every user may take it who may write the file", info.Mode(), err)
	}
	if err := os.Chmod(lock, 0o444); err != nil { // as of another user, whose program was older
		t.Fatal(err)
	}
	var held *keep.Held
	err := keep.ReplaceAlone(path, []byte("second"), func() error { t.Error("the second looks while the first is about it"); return nil })
	if b, read := os.ReadFile(path); !errors.As(err, &held) || read != nil || string(b) != "before" {
		t.Errorf("ReplaceAlone while another is about it = %v, the file holds %q, %v; want a *Held, and what was there before", err, b, read)
	}
	close(goOn)
	if err := <-done; err != nil {
		t.Errorf("the first: %v", err)
	}
	changed := errors.New("changed")
	err = keep.ReplaceAlone(path, []byte("second"), func() error {
		if b, err := os.ReadFile(path); err != nil || string(b) != "first" {
			t.Errorf("the second sees %q, %v, want what the first wrote", b, err)
		}
		return changed
	})
	if b, read := os.ReadFile(path); !errors.Is(err, changed) || read != nil || string(b) != "first" {
		t.Errorf("ReplaceAlone = %v, the file holds %q, %v; want the error of who looked, and what the first wrote", err, b, read)
	}
	beside, err := os.ReadDir(filepath.Dir(path))
	if err != nil || len(beside) != 2 || beside[0].Name() != ".line.reference.lock" {
		t.Errorf("in the folder lie %v, %v; want the file and its hidden lock", beside, err)
	}
}
