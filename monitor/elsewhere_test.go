package monitor_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"asusual/model/check"
	"asusual/model/spectrum"
	"asusual/monitor"
)

// TestOwnArrivesElsewhere: a dark and a reference that come to a folder besides the watched one while it is watched are checked, and make
// the spectra that come after them absorbances. What was there at the start is taken once.
func TestOwnArrivesElsewhere(t *testing.T) {
	b := newBench(t)
	checks := newBench(t)
	steps, spectra := rawDay(t, 4)
	steps, last := steps[:len(steps)-1], steps[len(steps)-1]
	line := b.withOwn()
	line.Instrument.Folders = []string{checks.folder, filepath.Join(checks.folder, "gone")}
	old := counts("dark", spectra[0].Axis, spectra[0].Time.Add(-time.Hour), 0, nil)
	checks.put("dark/"+old.name, old.text, old.at)
	wait := kept(t, &line)
	stop := watching(t, line)
	defer stop()
	for _, s := range steps[:2] { // a dark and a reference
		checks.put("new/"+s.name, s.text, s.at)
	}
	checks.put("new/white-broken.csv", []byte("1000,0.1\n1001,zero\n1002,0.1\n"), monday)
	for end := time.Now().Add(time.Minute); time.Now().Before(end); {
		if s := b.saved(); len(s) == 3 {
			break
		}
		<-time.After(20 * time.Millisecond)
	}
	if got := b.saved(); len(got) != 3 {
		t.Fatalf("%d darks and references are at hand, want 3: %v\n%s", len(got), got, b.logged())
	}
	for _, s := range steps[2:] {
		b.put(s.name, s.text, s.at)
	}
	wait(3)
	stop()
	b.expect("with a reference from elsewhere", spectra[:3])
	for _, r := range b.records() {
		if r.Condition == "unfit" {
			t.Errorf("%s is unfit: %v", r.File, r.Reasons)
		}
	}
	n := len(all(t, b.db.Checks(t.Context(), everything)))
	line = b.withOwn()
	line.Instrument.Folders = []string{checks.folder}
	wait = kept(t, &line)
	stop = watching(t, line)
	b.put(last.name, last.text, last.at)
	wait(1)
	stop()
	if again := len(all(t, b.db.Checks(t.Context(), everything))); again != n {
		t.Errorf("%d results of checks after another start, want %d", again, n)
	}
	if _, err := os.Stat(filepath.Join(checks.folder, "gone")); err == nil {
		t.Error("a folder was made")
	}
}

// saved are the darks and references at hand, as history has them.
func (b *bench) saved() (all []spectrum.Spectrum) {
	s, ok, err := monitorChecks(b)
	if err != nil {
		b.t.Fatal(err)
	}
	if !ok {
		return nil
	}
	return append(append(all, s.Darks...), s.References...)
}

func monitorChecks(b *bench) (check.BookState, bool, error) {
	return monitor.Checks(context.Background(), b.db, "Filler 3")
}
