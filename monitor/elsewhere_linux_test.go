package monitor_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// A folder of the instrument's own spectra that comes later, a file in it that another program holds for a moment, and a broken one:
// the first two are taken in, and the third stands among what could not be read, once.
func TestElsewhereIsTriedAgain(t *testing.T) {
	b := newBench(t)
	_, spectra := rawDay(t, 2)
	checks := filepath.Join(t.TempDir(), "checks")
	line := b.withOwn()
	line.Settle = 100 * time.Millisecond // the file is given up after 1.5 s
	line.Instrument.Folders = []string{checks}
	stop := watching(t, line)
	defer stop()
	eventually(t, "the log says that the folder is missing", func() bool { return strings.Contains(b.logged(), "not watched; trying again") })
	made := checks + ".new"
	if err := os.Mkdir(made, 0o755); err != nil {
		t.Fatal(err)
	}
	var held string
	for i := range 2 {
		s := counts("dark", spectra[0].Axis, spectra[0].Time.Add(time.Duration(i-5)*time.Hour), 0, nil)
		held = filepath.Base(s.name)
		if err := os.WriteFile(filepath.Join(made, held), s.text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	broken := "1000,0.1\n1001,zero\n1002,0.1\n"
	if err := os.WriteFile(filepath.Join(made, "white-broken.csv"), []byte(broken), 0o644); err != nil {
		t.Fatal(err)
	}
	release := lease(t, filepath.Join(made, held))
	if err := os.Rename(made, checks); err != nil {
		t.Fatal(err)
	}
	eventually(t, "the log says that a file is kept", func() bool { return strings.Contains(b.logged(), "cannot be read yet") })
	release()
	eventually(t, "both darks are at hand", func() bool { return len(b.saved()) == 2 })
	eventually(t, "the broken one is listed", func() bool { return b.counts().Unreadable > 0 })
	stop()
	again := b.withOwn()
	again.Instrument.Folders = []string{checks}
	n := strings.Count(b.logged(), "white-broken.csv")
	stop = watching(t, again)
	defer stop()
	s := counts("dark", spectra[0].Axis, spectra[0].Time, 0, nil)
	aside := filepath.Join(t.TempDir(), s.name)
	if err := errors.Join(os.WriteFile(aside, s.text, 0o644), os.Rename(aside, filepath.Join(checks, s.name))); err != nil {
		t.Fatal(err)
	}
	eventually(t, "a third dark is at hand", func() bool { return len(b.saved()) == 3 })
	stop()
	us := all(t, b.db.Unreadable(t.Context(), everything))
	if len(us) != 1 || !strings.HasSuffix(us[0].File, "checks/white-broken.csv") || !strings.Contains(us[0].Reason, "zero") {
		t.Errorf("Unreadable = %+v, want the broken file once", us)
	}
	if strings.Count(b.logged(), "white-broken.csv") != n {
		t.Errorf("the second watch tells of the broken file again:\n%s", b.logged())
	}
}
