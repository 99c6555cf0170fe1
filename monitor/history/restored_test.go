package history_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"asusual/monitor/history"
)

// bring keeps spectra in the file and, unless they are to wait, carries them to the server.
func bring(t *testing.T, near *history.DB, f *history.Far, line string, from, to int) {
	t.Helper()
	b := everything(t, from, to)
	b.Line = line
	if line != filler { // a request is kept once in a file
		b.Acts = nil
	}
	if err := near.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	if f == nil {
		return
	}
	if n := deliver(t, f, line); n < to-from {
		t.Errorf("Deliver of %s = %d spectra, want at least %d", line, n, to-from)
	}
}

// putBack puts a backup in the place of a file that was closed.
func putBack(t *testing.T, backup, where string) {
	t.Helper()
	for _, beside := range []string{"-wal", "-shm"} {
		if err := os.Remove(where + beside); err != nil && !errors.Is(err, os.ErrNotExist) {
			t.Fatal(err)
		}
	}
	if err := os.Rename(backup, where); err != nil {
		t.Fatal(err)
	}
}

func closeAll(t *testing.T, all ...interface{ Close() error }) {
	t.Helper()
	for _, c := range all {
		if err := c.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

func join(t *testing.T, f *history.Far, line string, want history.Joined) {
	t.Helper()
	if did, err := f.Join(t.Context(), line); err != nil || did != want {
		t.Errorf("Join of %s = %d, %v, want %d", line, did, err, want)
	}
}

// An older copy of a line's own file is put back while the server has more: what the server has is there once, and what is judged
// from then on comes to it.
func TestAnOlderCopyOfTheFileIsPutBack(t *testing.T) {
	const other = "Filler 4"
	address, dir := onServer(t), t.TempDir()
	where, backup := filepath.Join(dir, "h"), filepath.Join(dir, "copy")
	near := open(t, where)
	f := far(t, near, address, filler, other)
	bring(t, near, f, filler, 0, 50)
	bring(t, near, f, other, 0, 10)
	bring(t, near, nil, filler, 50, 60) // it waits when the copy is made
	if err := near.Backup(t.Context(), backup); err != nil {
		t.Fatal(err)
	}
	for to := 80; to <= 160; to += 20 {
		bring(t, near, f, filler, to-20, to)
	}
	bring(t, near, f, other, 10, 30)
	closeAll(t, f, near)
	putBack(t, backup, where)

	near = open(t, where)
	f = far(t, near, address)
	if err := f.JoinAgain(t.Context(), filler); !errors.Is(err, history.ErrStartAgain) {
		t.Errorf("JoinAgain of a line that is watched = %v, want %v", err, history.ErrStartAgain)
	}
	for _, line := range []string{filler, other} {
		join(t, f, line, history.CaughtUp)
		expectSame(t, "after the copy was put back", address, where, line)
	}
	bring(t, near, f, other, 30, 35)
	for to := 170; to <= 200; to += 10 { // fewer parcels than were lost, and of them some with the numbers of those
		bring(t, near, f, filler, to-10, to)
	}
	closeAll(t, f)
	f = far(t, near, address) // and another watch
	join(t, f, filler, history.InStep)
	join(t, f, other, history.InStep)
	bring(t, near, f, filler, 200, 201)
	for line, want := range map[string]int{filler: 201, other: 35} {
		expectSame(t, "after what came since", where, address, line)
		if n := len(told(t, address, line)["spectra"].([]history.Record)); n != want {
			t.Errorf("the server has %d spectra of %s, want %d", n, line, want)
		}
	}
}

// A delivery whose answer was lost looks at first like a copy that was put back: the server is ahead of what the file knows. It has
// the parcel, though, and goes on.
func TestADeliveryWhoseAnswerWasLost(t *testing.T) {
	address, dir := onServer(t), t.TempDir()
	where, backup := filepath.Join(dir, "h"), filepath.Join(dir, "copy")
	near := open(t, where)
	f := far(t, near, address, filler)
	bring(t, near, f, filler, 0, 10)
	bring(t, near, nil, filler, 10, 20)
	if err := near.Backup(t.Context(), backup); err != nil { // as it is when the server has the parcel and the file has not heard of it
		t.Fatal(err)
	}
	deliver(t, f, filler)
	closeAll(t, f, near)
	putBack(t, backup, where)
	near = open(t, where)
	bring(t, near, nil, filler, 20, 30)
	f = far(t, near, address)
	if err := f.JoinAgain(t.Context(), filler); err != nil {
		t.Errorf("JoinAgain = %v, want nil", err)
	}
	join(t, f, filler, history.InStep)
	if n := deliver(t, f, filler); n != 10 {
		t.Errorf("Deliver = %d spectra, want the 10 that the server has not", n)
	}
	expectSame(t, "after the next delivery", where, address, filler)
}

// An older copy was put back and judged on while the server was away: two histories, whether fewer parcels came to it since than
// were lost or more. It is refused with how much that is, and the line goes on from the server's once the file is moved away.
func TestAnOlderCopyThatWasJudgedOn(t *testing.T) {
	for _, since := range []int{1, 3, 5} { // parcels; 3 were lost
		address, dir := onServer(t), t.TempDir()
		where, backup := filepath.Join(dir, "h"), filepath.Join(dir, "copy")
		near := open(t, where)
		f := far(t, near, address, filler)
		bring(t, near, f, filler, 0, 10)
		if err := near.Backup(t.Context(), backup); err != nil {
			t.Fatal(err)
		}
		for to := 20; to <= 40; to += 10 {
			bring(t, near, f, filler, to-10, to)
		}
		closeAll(t, f, near)
		putBack(t, backup, where)
		near = open(t, where)
		for i := range since {
			bring(t, near, nil, filler, 40+10*i, 50+10*i)
		}
		f = far(t, near, address)
		_, err := f.Join(t.Context(), filler)
		for when, err := range map[string]error{"Join": err, "JoinAgain": f.JoinAgain(t.Context(), filler)} {
			if !errors.Is(err, history.ErrTwoHistories) || !strings.Contains(err.Error(), fmt.Sprintf("older copy that was put back, and %d spectra", 10*since)) {
				t.Errorf("%s after %d parcels = %v, want %v with the number of spectra", when, since, err, history.ErrTwoHistories)
			}
		}
		closeAll(t, f, near)
		anew := filepath.Join(dir, "anew")
		near = open(t, anew)
		f = far(t, near, address)
		join(t, f, filler, history.Taken)
		bring(t, near, f, filler, 40, 40+10*since)
		expectSame(t, "from another file", address, anew, filler)
		if n := len(told(t, address, filler)["spectra"].([]history.Record)); n != 40+10*since {
			t.Errorf("the server has %d spectra, want %d", n, 40+10*since)
		}
	}
}
