package monitor_test

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// lease holds a file so that nobody else can open it: a write lease, which Linux breaks only after a while (man 2 fcntl,
// "Leases"; a program that opens the file and does not want to wait is told EWOULDBLOCK). So does a program on Windows that
// opens a file for itself alone.
func lease(t *testing.T, path string) (release func()) {
	t.Helper()
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	set := func(kind uintptr) syscall.Errno {
		_, _, e := syscall.Syscall(syscall.SYS_FCNTL, f.Fd(), syscall.F_SETLEASE, kind)
		return e
	}
	if e := set(syscall.F_WRLCK); e != 0 {
		_ = f.Close()
		t.Skipf("no leases on this disk: %v", e)
	}
	return func() {
		if err := f.Close(); err != nil { // which gives it up
			t.Error(err)
		}
	}
}

// A file that another program keeps for itself is told after some tries, and judged once when it is let go, though it did not
// change by that.
func TestAFileThatAnotherProgramKeepsForItself(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 3)
	b.putAll(spectra)
	release := lease(t, filepath.Join(b.folder, fileName(spectra[1])))
	line := b.line()
	line.Settle = 2 * time.Millisecond // after which the tries begin
	wait := kept(t, &line)
	stop := watching(t, line)
	defer stop()
	told := false
	for range 3000 {
		if told = b.counts().Unreadable == 1; told {
			break
		}
		<-time.After(10 * time.Millisecond)
	}
	release()
	if !told {
		t.Errorf("a file that is kept is not listed as unreadable; the log:\n%s", b.logged())
	}
	wait(len(spectra))
	stop()
	b.expect("after it was let go", spectra)
	if n := strings.Count(b.logged(), "cannot be read yet"); n != 1 {
		t.Errorf("the log tells %d times that a file cannot be read, want once:\n%s", n, b.logged())
	}
}

// A table without times that grows, and that another program then keeps for itself for longer than it is tried: the rows of before are
// not judged again when it is let go.
func TestATableThatAnotherProgramKeepsForItself(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 6)
	b.put("now.csv", timeless(t, spectra[:5]), monday)
	b.catchUp()
	b.put("now.csv", timeless(t, spectra), monday.Add(time.Hour))
	release := lease(t, filepath.Join(b.folder, "now.csv"))
	line := b.line()
	line.Settle = 2 * time.Millisecond
	stop := watching(t, line)
	defer stop()
	eventually(t, "it is listed as unreadable", func() bool { return b.counts().Unreadable == 1 })
	release()
	eventually(t, "it is taken in", func() bool { return known(b, "now.csv") })
	stop()
	b.once(6)
}

// It is too large for a while: as above.
func TestATableThatIsRefusedForAWhile(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 6)
	for _, c := range []struct{ rows, most int64 }{{5, 0}, {6, 100}, {6, 0}} {
		b.put("now.csv", timeless(t, spectra[:c.rows]), monday.Add(time.Duration(c.most+c.rows)*time.Minute))
		line := b.line()
		line.Read.MaxBytes = c.most
		b.pass(line)
	}
	if n := b.counts().Unreadable; n != 1 {
		t.Errorf("%d files were refused, want one", n)
	}
	b.once(6)
}
