package monitor_test

import (
	"io"
	"os"
	"strings"
	"syscall"
	"testing"
)

// lockReaders holds all places of readers in the index of an SQLite history, as a program may that brings it in order, until release
// is called. They are the bytes 123 to 127 ("The WAL-Index File Format" in SQLite's documentation, section 2.2). The locks belong to
// the open file (man 2 fcntl, "Open file description locks"), so that those of this very process are refused, too.
func lockReaders(t *testing.T, path string) (release func()) {
	t.Helper()
	f, err := os.OpenFile(path+"-shm", os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	const setOFD = 37 // F_OFD_SETLK
	eventually(t, "the readers' places are free", func() bool {
		l := syscall.Flock_t{Type: syscall.F_WRLCK, Whence: io.SeekStart, Start: 123, Len: 5}
		return syscall.FcntlFlock(f.Fd(), setOFD, &l) == nil
	})
	return func() {
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	}
}

// A history that cannot be read for a while makes judging wait, and ends no watch.
func TestAHistoryThatCannotBeRead(t *testing.T) {
	if testing.Short() {
		t.Skip("SQLite itself waits for ten seconds before it gives up")
	}
	b := newBench(t)
	spectra := produced(t, 3)
	line := b.line()
	wait := kept(t, &line)
	stop := watching(t, line)
	defer stop()
	b.putAll(spectra[:1])
	wait(1)
	release := lockReaders(t, b.path)
	b.putAll(spectra[1:])
	eventually(t, "the log says that history cannot be read", func() bool { return strings.Contains(b.logged(), "history cannot be read") })
	release()
	wait(3)
	stop()
	b.expect("after the readers were let in", spectra)
}
