package monitor_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"iter"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"asusual/model"
	"asusual/model/oatline"
	"asusual/model/pretreat"
	"asusual/model/spectrum"
	"asusual/monitor"
	"asusual/monitor/history"
)

// channels of the invented line's spectra: few, so that many files are quick to read.
const channels = 64

var monday = time.Date(2026, 11, 23, 6, 0, 0, 0, time.UTC)

// learn learns a reference of the invented line from six runs, scaled by its standard normal variate.
func learn(seed uint64) (*model.Reference, error) {
	return learnBy(seed, pretreat.Step{Name: "snv"})
}

// learnBy is learn with other steps of pretreatment, or none.
func learnBy(seed uint64, steps ...pretreat.Step) (*model.Reference, error) {
	line, err := oatline.New(oatline.Settings{Channels: channels, Seed: seed})
	if err != nil {
		return nil, err
	}
	t := &model.Training{}
	for run := range 6 {
		s, err := line.Series(oatline.Stretch{Run: fmt.Sprint("good ", run), From: monday.AddDate(0, 0, run-20), Every: time.Minute, N: 120})
		if err != nil {
			return nil, err
		}
		for sp := range s.All() {
			t.Add(model.Usual, sp)
		}
	}
	return model.Learn(t, model.Options{Name: "test", Now: monday, Components: 3, Pretreat: steps})
}

// learned is the reference of the tests, learned once.
var learned = sync.OnceValues(func() (*model.Reference, error) { return learn(1) })

func reference(t testing.TB) *model.Reference {
	t.Helper()
	r, err := learned()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// produced returns n spectra of the line, a minute apart, with what went wrong.
func produced(t testing.TB, n int, upsets ...oatline.Upset) []spectrum.Spectrum {
	t.Helper()
	line, err := oatline.New(oatline.Settings{Channels: channels, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	s, err := line.Series(oatline.Stretch{Run: "day", From: monday, Every: time.Minute, N: n, Upsets: upsets})
	if err != nil {
		t.Fatal(err)
	}
	all := slices.Collect(s.All())
	for i := range all {
		all[i].Run, all[i].Label = "", ""
	}
	return all
}

// A bench is a line's folder and history, and what it logged.
type bench struct {
	t      testing.TB
	folder string
	path   string // of the history
	db     *history.DB
	log    bytes.Buffer
	mu     sync.Mutex
}

func newBench(t testing.TB) *bench {
	t.Helper()
	dir := t.TempDir()
	b := &bench{t: t, folder: filepath.Join(dir, "spectra"), path: filepath.Join(dir, "history")}
	if err := os.Mkdir(b.folder, 0o755); err != nil {
		t.Fatal(err)
	}
	b.open()
	t.Cleanup(func() {
		if err := b.db.Close(); err != nil {
			t.Error(err)
		}
	})
	return b
}

func (b *bench) open() {
	b.t.Helper()
	var err error
	if b.db, err = history.Open(context.Background(), b.path, "test"); err != nil {
		b.t.Fatal(err)
	}
}

// Write takes the log.
func (b *bench) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.log.Write(p)
}

func (b *bench) logged() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.log.String()
}

func (b *bench) line() monitor.Line {
	return monitor.Line{Name: "Filler 3", Folder: b.folder, References: monitor.Always{Reference: monitor.Of(reference(b.t))}, History: b.db,
		Settle: 20 * time.Millisecond, Poll: 50 * time.Millisecond, Log: slog.New(slog.NewTextHandler(b, nil))}
}

func (b *bench) catchUp() {
	b.t.Helper()
	if err := monitor.CatchUp(b.t.Context(), b.line()); err != nil {
		b.t.Fatalf("CatchUp = %v, want nil", err)
	}
}

// put writes a file whole, under a temporary name first.
func (b *bench) put(name string, content []byte, modified time.Time) {
	b.t.Helper()
	path := filepath.Join(b.folder, filepath.FromSlash(name))
	for _, err := range []error{os.MkdirAll(filepath.Dir(path), 0o755), os.WriteFile(path+".tmp", content, 0o644),
		os.Chtimes(path+".tmp", modified, modified), os.Rename(path+".tmp", path)} {
		if err != nil {
			b.t.Fatal(err)
		}
	}
}

func text(t testing.TB, s spectrum.Spectrum) []byte {
	t.Helper()
	out, err := oatline.AppendTwoColumns(nil, s)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func fileName(s spectrum.Spectrum) string { return s.Time.Format("20060102-150405") + ".csv" }

func (b *bench) putAll(spectra []spectrum.Spectrum) {
	b.t.Helper()
	for _, s := range spectra {
		b.put(fileName(s), text(b.t, s), s.Time)
	}
}

// table returns the spectra as a table, a row each.
func table(t testing.TB, spectra []spectrum.Spectrum) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := oatline.WriteTable(&out, slices.Values(spectra)); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func all[T any](t testing.TB, seq iter.Seq2[T, error]) []T {
	t.Helper()
	var vs []T
	for v, err := range seq {
		if err != nil {
			t.Fatal(err)
		}
		vs = append(vs, v)
	}
	return vs
}

var everything = history.Query{Line: "Filler 3"}

func (b *bench) records() []history.Record {
	b.t.Helper()
	return all(b.t, b.db.Spectra(context.Background(), everything))
}

// expect checks that each of the spectra was judged once, and nothing else was.
func (b *bench) expect(when string, want []spectrum.Spectrum) {
	b.t.Helper()
	got := map[time.Time]int{}
	for _, r := range b.records() {
		got[r.Time]++
	}
	wanted := map[time.Time]bool{}
	for _, s := range want {
		wanted[s.Time.UTC()] = true
		if n := got[s.Time.UTC()]; n != 1 {
			b.t.Errorf("%s: the spectrum of %v was judged %d times, want once", when, s.Time, n)
		}
	}
	for at, n := range got {
		if !wanted[at] {
			b.t.Errorf("%s: %d records of %v, which was never measured", when, n, at)
		}
	}
}

func (b *bench) counts() history.Counts {
	b.t.Helper()
	c, err := b.db.Counts(context.Background(), everything, 0)
	if err != nil {
		b.t.Fatal(err)
	}
	return c
}

// patience is how long a test waits before it takes it that what it waits for does not come.
const patience = 2 * time.Minute

// watching runs a watch until stop is called.
func watching(t testing.TB, line monitor.Line) (stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- monitor.Watch(ctx, line) }()
	return sync.OnceFunc(func() {
		t.Helper()
		cancel()
		select {
		case err := <-done:
			if err != nil {
				t.Errorf("Watch = %v, want nil", err)
			}
		case <-time.After(patience):
			t.Errorf("Watch does not stop within %v", patience)
		}
	})
}

// kept sets the hook of a line, and returns a function that waits until so many spectra were kept.
func kept(t testing.TB, line *monitor.Line) (wait func(n int)) {
	t.Helper()
	states := make(chan monitor.Status, 1<<14)
	line.Kept = func(s monitor.Status) {
		select {
		case states <- s:
		default:
		}
	}
	return func(n int) {
		t.Helper()
		late := time.After(patience)
		for {
			select {
			case s := <-states:
				if s.Spectra >= n {
					return
				}
			case <-late:
				t.Fatalf("%d spectra were not kept within %v", n, patience)
			}
		}
	}
}

var errNone = errors.New("none")
