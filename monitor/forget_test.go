package monitor_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"asusual/monitor"
	"asusual/monitor/history"
)

// forgetting takes the spectra of a bench out of history, and a week later what is known of files that are gone.
func (b *bench) forgetting(folder string, dry bool) (int, error) {
	b.t.Helper()
	k, now := history.Keep{Spectra: 30 * 24 * time.Hour}, monday.AddDate(1, 0, 0)
	if _, err := b.db.Prune(b.t.Context(), "Filler 3", k, now, false); err != nil {
		b.t.Fatal(err)
	}
	return monitor.Forget(b.t.Context(), b.db, "Filler 3", folder, k, now.AddDate(0, 0, 8), dry)
}

func (b *bench) restart() {
	b.t.Helper()
	if err := b.db.Close(); err != nil {
		b.t.Fatal(err)
	}
	b.open()
}

// A law: no file is judged again, whether it stayed in the folder or returns to it after it was forgotten, under its name or another.
func TestAForgottenFileIsNotJudgedAgain(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 20)
	b.putAll(spectra)
	b.put("day.csv", table(t, produced(t, 25)[20:]), monday)
	b.catchUp()
	b.expect("at first", produced(t, 25))
	path := func(i int) string { return filepath.Join(b.folder, fileName(spectra[i])) }
	for i := range 12 {
		if err := os.Remove(path(i)); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Remove(filepath.Join(b.folder, "day.csv")); err != nil {
		t.Fatal(err)
	}
	b.restart()
	for _, dry := range []bool{true, false} {
		if n, err := b.forgetting(b.folder, dry); err != nil || n != 12 {
			t.Fatalf("Forget, dry %v = %d, %v, want the 12 that are gone", dry, n, err)
		}
	}
	b.expect("once all were taken out", nil)
	b.restart()
	b.catchUp()
	if c := b.counts(); c.Received != 0 {
		t.Errorf("received after a restart = %+v, want nothing: the others are known by name", c)
	}

	b.putAll(spectra[:6]) // as they were
	for i := 6; i < 9; i++ {
		b.put("archive/"+fileName(spectra[i]), text(t, spectra[i]), monday.Add(time.Hour)) // elsewhere, written later
	}
	b.put("day.csv", table(t, produced(t, 25)[20:]), monday)
	fresh := produced(t, 27)[25:]
	b.put(fileName(spectra[9]), text(t, fresh[0]), fresh[0].Time) // a name that is used again
	b.putAll(fresh[1:])
	b.restart()
	b.catchUp()
	b.expect("once they returned", fresh)
	if c := b.counts(); c.Copies != 9 {
		t.Errorf("Counts = %+v, want 9 copies", c)
	}
	for _, c := range all(t, b.db.Copies(t.Context(), everything)) {
		if c.Of != history.TakenOut {
			t.Errorf("the copy %s is of %q, want %q", c.File, c.Of, history.TakenOut)
		}
	}
	if n := strings.Count(b.logged(), "judged before, left out"); n != 9 {
		t.Errorf("the log says of %d files that they were judged before, want 9:\n%s", n, b.logged())
	}
	before := b.counts()
	b.restart()
	b.catchUp()
	if after := b.counts(); fmt.Sprint(after) != fmt.Sprint(before) {
		t.Errorf("Counts after one more restart = %+v, want %+v", after, before)
	}
}

// Which files are gone cannot be told of a folder that is not there, or empty as the place of a share is: all stay known.
func TestForgetOfAFolderThatIsAway(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 5)
	b.putAll(spectra)
	b.catchUp()
	for _, folder := range []string{filepath.Join(b.folder, "none"), t.TempDir(), filepath.Join(b.folder, fileName(spectra[0]))} {
		if n, err := b.forgetting(folder, false); !errors.Is(err, monitor.ErrNoFolder) || n != 0 {
			t.Errorf("Forget of %s = %d, %v, want %v", folder, n, err, monitor.ErrNoFolder)
		}
	}
	if n, err := b.forgetting(b.folder, false); err != nil || n != 0 {
		t.Errorf("Forget where all are there = %d, %v, want none", n, err)
	}
	b.restart()
	b.catchUp()
	b.expect("once all were taken out", nil)
}
