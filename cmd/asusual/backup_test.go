package main

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"iter"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"asusual/model/oatline"
	"asusual/model/spectrum"
)

const backedUp = `[site]
time-zone = "UTC"
[[line]]
name = "Filler 3"
watch = "spectra"
good = "good"
reference = "line.reference"
`

// ran runs the program in the folder, which has to succeed.
func ran(t *testing.T, dir string, args ...string) {
	t.Helper()
	c := exec.Command("asusual", args...)
	c.Dir = dir
	if said, err := c.CombinedOutput(); err != nil {
		t.Fatalf("asusual %v: %v\n%s", args, err, said)
	}
}

// watchIn starts a watch in the folder. stop ends it as a person does.
func watchIn(t *testing.T, dir string) (stop func()) {
	t.Helper()
	var said bytes.Buffer
	c := exec.Command("asusual", "watch")
	c.Dir, c.Stdout, c.Stderr = dir, &said, &said
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = c.Process.Kill() }) // of one that has ended it is an error
	return func() {
		t.Helper()
		if err := c.Process.Signal(os.Interrupt); err != nil {
			t.Fatal(err)
		}
		if err := c.Wait(); err != nil {
			t.Errorf("asusual watch: %v\n%s", err, said.String())
		}
	}
}

// asked is the only row of a query of an SQLite file, by the library alone.
func asked(path, query string, into ...any) error {
	d, err := sql.Open("sqlite", "file:"+path+"?mode=ro&_pragma=busy_timeout(1000)")
	if err != nil {
		return err
	}
	defer d.Close()
	return d.QueryRow(query).Scan(into...)
}

// judgedIn waits until so many spectra are in the history, as long as more come.
func judgedIn(t *testing.T, path string, want int) {
	t.Helper()
	look := time.NewTicker(patience / 300)
	defer look.Stop()
	n := 0
	for had, since := 0, time.Now(); n < want; <-look.C {
		_ = asked(path, "SELECT count(*) FROM record", &n) // there is no history at first
		if n > had {
			had, since = n, time.Now()
		}
		if time.Since(since) > patience {
			t.Fatalf("%d spectra are judged, and no more in %v; want %d", n, patience, want)
		}
	}
}

// bursts puts bursts of 50 spectra into the folder, 250 a second, until the context ends, and returns how many.
func bursts(ctx context.Context, folder string, next func() (spectrum.Spectrum, bool)) (n int, err error) {
	beat := time.NewTicker(200 * time.Millisecond)
	defer beat.Stop()
	for {
		for range 50 {
			s, ok := next()
			if !ok {
				return n, fmt.Errorf("no more than %d spectra", n)
			}
			text, err := oatline.AppendTwoColumns(nil, bare(s))
			if err != nil {
				return n, err
			}
			path := filepath.Join(folder, s.Time.Format("20060102-150405")+".csv")
			if err := os.WriteFile(path+".tmp", text, 0o644); err != nil {
				return n, err
			}
			if err := os.Rename(path+".tmp", path); err != nil {
				return n, err
			}
			n++
		}
		select {
		case <-ctx.Done():
			return n, nil
		case <-beat.C:
		}
	}
}

// Backups are made while a watch takes in 250 spectra a second: each opens, is sound, and holds what was judged up to some moment,
// without a hole. A watch goes on from one that is put back, and what came after it is judged once.
func TestBackupsOfAWatchThatIsBusy(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("an interrupt cannot be sent from here")
	}
	dir := t.TempDir()
	kept, spectra := filepath.Join(dir, "asusual.history"), filepath.Join(dir, "spectra")
	for _, err := range []error{writeOats(filepath.Join(dir, "good"), "good", writeTable), os.Mkdir(spectra, 0o755),
		os.WriteFile(filepath.Join(dir, "asusual.toml"), []byte(backedUp), 0o644)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	ran(t, dir, "learn", "--pretreat", "snv")
	line, err := oatline.New(oatline.Settings{Seed: 1, Channels: 64})
	if err != nil {
		t.Fatal(err)
	}
	series, err := line.Series(oatline.Stretch{Run: "day", From: time.Date(2026, 11, 20, 6, 0, 0, 0, time.UTC), Every: time.Second, N: 40000})
	if err != nil {
		t.Fatal(err)
	}
	next, stopSeries := iter.Pull(series.All())
	defer stopSeries()

	stop := watchIn(t, dir)
	ctx, enough := context.WithCancel(t.Context())
	defer enough()
	put := make(chan int, 1)
	go func() {
		n, err := bursts(ctx, spectra, next)
		if err != nil {
			t.Error(err)
		}
		put <- n
	}()
	const copies = 4
	copied := func(i int) string { return filepath.Join(dir, fmt.Sprintf("copy %d.history", i)) }
	for i := range copies {
		judgedIn(t, kept, 100+200*i)
		ran(t, dir, "backup", copied(i))
	}
	judgedIn(t, kept, 100+200*copies)
	enough()
	n := <-put
	judgedIn(t, kept, n)
	stop()
	for i := range copies {
		soundCopy(t, copied(i), kept)
	}

	if err := os.Rename(copied(0), kept); err != nil {
		t.Fatal(err)
	}
	stop = watchIn(t, dir)
	judgedIn(t, kept, n)
	stop()
	var records, times int
	if err := asked(kept, "SELECT count(*), count(DISTINCT time) FROM record", &records, &times); err != nil || records != n || times != n {
		t.Errorf("after a copy was put back %d spectra of %d times are judged, %v, want %d", records, times, err, n)
	}
}

// soundCopy checks that a copy is sound, and the beginning of what the history holds now.
func soundCopy(t *testing.T, path, whole string) {
	t.Helper()
	var is string
	if err := asked(path, "PRAGMA integrity_check", &is); err != nil || is != "ok" {
		t.Errorf("%s: integrity_check = %q, %v, want ok", path, is, err)
	}
	var files, last, records, of int
	var newest, latest int64
	if err := asked(path, `SELECT (SELECT count(*) FROM file), (SELECT max(id) FROM file), (SELECT count(*) FROM record), (SELECT count(DISTINCT file) FROM record),
		(SELECT newest FROM state), (SELECT max(time) FROM record)`, &files, &last, &records, &of, &newest, &latest); err != nil {
		t.Fatal(err)
	}
	if files < 100 || last != files || records != files || of != files || newest != latest {
		t.Errorf("%s: %d files up to number %d, %d records of %d files, state of %d, newest record %d; want all the same, and at least 100",
			path, files, last, records, of, newest, latest)
	}
	const sum = "SELECT count(*), sum(f.digest %% 1000003), sum(CAST(r.t2 * 1e6 AS INTEGER)), sum(r.time %% 1000003) FROM record r JOIN file f ON f.id = r.file WHERE f.id <= %d"
	var n, m, digests, digests2, t2, t22, times, times2 int
	for _, err := range []error{asked(path, fmt.Sprintf(sum, last), &n, &digests, &t2, &times), asked(whole, fmt.Sprintf(sum, last), &m, &digests2, &t22, &times2)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	if n != m || digests != digests2 || t2 != t22 || times != times2 {
		t.Errorf("%s: %d records, sums %d, %v, %d, want as the first of the history: %d, %d, %v, %d", path, n, digests, t2, times, m, digests2, t22, times2)
	}
	t.Logf("%s holds the first %d", filepath.Base(path), n)
}
