package history_test

import (
	"errors"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	"asusual/model/finding"
	"asusual/model/spectrum"
	"asusual/monitor/history"
	"asusual/monitor/keep"
)

const filler = "Filler 3"

// far joins a file with the server for a line.
func far(t *testing.T, near *history.DB, address string, lines ...string) *history.Far {
	t.Helper()
	f, err := history.OpenFar(t.Context(), near, address, "test")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	})
	for _, line := range lines {
		if _, err := f.Join(t.Context(), line); err != nil {
			t.Fatal(err)
		}
	}
	return f
}

func deliver(t *testing.T, f *history.Far, line string) (spectra int) {
	t.Helper()
	for more := true; more; {
		n, again, err := f.Deliver(t.Context(), line)
		if err != nil {
			t.Fatal(err)
		}
		spectra, more = spectra+n, again
	}
	return spectra
}

// everything is a batch with something of all that a history keeps.
func everything(t *testing.T, from, to int) history.Batch {
	t.Helper()
	b := batch(from, to)
	at := noon.Add(time.Duration(from) * time.Second)
	axis, err := spectrum.NewAxis(spectrum.Nanometre, []float64{1000, 1010, 1020})
	if err != nil {
		t.Fatal(err)
	}
	f := &b.Files[0]
	f.Unreadable = []history.Unreadable{{Time: at, Received: at, Reason: "empty", TextLine: 3}}
	f.Copies = []history.Copy{{Of: "x", Rows: 1, Time: at, Received: at}}
	f.Own = []history.Own{{Time: at, Received: at, Role: "dark", Mark: 5}}
	f.Records[0].Group, f.Records[0].Reasons = "A", []finding.Finding{finding.Of(finding.AboveQ, "", 2, 1)}
	b.Means = []history.Mean{{From: noon, Length: 2 * time.Minute, Condition: "usual", Axis: axis, Count: to - from, Values: []float64{1, 2, float64(from)}}}
	b.Episodes = []history.Episode{{From: noon, ChangedSince: noon, Spectra: to, Reference: "r"}}
	b.Groups = []history.Group{{Name: "A", From: noon, To: at, Spectra: to, Episode: noon}}
	b.Groups[0].Mean = &history.Mean{Axis: axis, Count: to, Values: []float64{float64(to), 2, 1}}
	b.Reference = &history.Reference{Since: at, Fingerprint: "f", Name: "n"}
	b.State = history.State{Course: []byte{'c', byte(to)}, Groups: []byte{'g', byte(to)}, Past: []byte("p"), Reference: "r", Basis: "b", Newest: at}
	b.Checks = []history.Check{{Time: at, Measure: "light level", Value: 1, State: "fit"}, {Time: at, Measure: "dark level", Value: 2}}
	b.Book, b.Alarm = []byte{'k', byte(to)}, []byte(`{"n":1}`)
	b.Acts = []history.Act{{Time: at, Act: "raised", State: "s"}, {Time: at, Act: "acknowledged", Who: "Ada", Request: at.String()}}
	return b
}

// all that can be asked of a line, as text; numbers of files are each side's own.
func told(t *testing.T, where string, line string) map[string]any {
	t.Helper()
	d, err := history.Read(t.Context(), where)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	ctx, q := t.Context(), history.Query{Line: line}
	m := map[string]any{"spectra": all(t, d.Spectra(ctx, q)), "unreadable": all(t, d.Unreadable(ctx, q)), "copies": all(t, d.Copies(ctx, q)),
		"own": all(t, d.Own(ctx, q)), "checks": all(t, d.Checks(ctx, q)), "episodes": all(t, d.Episodes(ctx, q)), "groups": all(t, d.Groups(ctx, q)),
		"acts": all(t, d.Acts(ctx, q)), "means": all(t, d.Means(ctx, q)), "references": all(t, d.References(ctx, q))}
	keep := func(key string, v any, err error) {
		if err != nil {
			t.Fatal(err)
		}
		m[key] = v
	}
	state, err := d.State(ctx, line)
	keep("state", state, err)
	book, err := d.Book(ctx, line)
	keep("book", string(book), err)
	alarm, err := d.Alarm(ctx, line)
	keep("alarm", string(alarm), err)
	counts, err := d.Counts(ctx, q, time.Second)
	keep("counts", counts, err)
	var names []string
	for _, r := range m["spectra"].([]history.Record) {
		names = append(names, r.File)
	}
	seen, err := d.Seen(ctx, line, names)
	for name, f := range seen {
		f.ID = 0
		seen[name] = f
	}
	keep("files", seen, err)
	return m
}

func expectSame(t *testing.T, when, one, other, line string) {
	t.Helper()
	a, b := told(t, one, line), told(t, other, line)
	for key := range a {
		if !reflect.DeepEqual(a[key], b[key]) {
			t.Errorf("%s: %s of %s = %+v, want as in %s: %+v", when, key, other, b[key], one, a[key])
		}
	}
}

// SQLite documentation, "PRAGMA synchronous": 1 is NORMAL, with which a commit in WAL mode may be lost in a power cut; 2 is FULL, with which
// it is not.
func TestWhatIsCarriedIsOnTheDisk(t *testing.T) {
	const normal, full = 1, 2
	path := filepath.Join(t.TempDir(), "h")
	d := open(t, path)
	is := func(when string, want int) {
		t.Helper()
		if got, err := d.Synchronous(t.Context()); err != nil || got != want {
			t.Errorf("%s: synchronous = %d, %v; want %d", when, got, err, want)
		}
	}
	is("a new history", normal)
	for _, on := range []bool{true, false, true} {
		if err := d.Carry(t.Context(), on); err != nil {
			t.Fatal(err)
		}
		if on {
			is("carried", full)
		} else {
			is("not carried any more", normal)
		}
	}
	if err := d.Append(t.Context(), batch(0, 3)); err != nil {
		t.Fatal(err)
	}
	is("after a batch", full)
	if err := d.Close(); err != nil {
		t.Fatal(err)
	}
	d = open(t, path)
	is("opened again", full)
}

// What a file keeps comes to the server once, whether it was there before it was told of the server, came while the server was
// there, or is delivered again since nobody knows whether it was.
func TestAFileIsCarriedToAServer(t *testing.T) {
	address := onServer(t)
	where := filepath.Join(t.TempDir(), "h")
	near := open(t, where)
	for i, other := range []string{"Filler 1", filler} {
		b := everything(t, 0, 300)
		b.Line = other
		if i == 0 {
			b = batch(0, 7) // so that the numbers of files differ on the two sides
			b.Line = other
		}
		if err := near.Append(t.Context(), b); err != nil {
			t.Fatal(err)
		}
	}
	f := far(t, near, address, filler)
	expectSame(t, "what was there before", where, address, filler)
	for _, to := range []int{320, 340, 360} {
		if err := near.Append(t.Context(), everything(t, to-20, to)); err != nil {
			t.Fatal(err)
		}
		if to == 320 {
			continue // two parcels at once
		}
		want := 20
		if to == 340 {
			want = 40
		}
		if w, err := near.Waiting(t.Context(), filler); err != nil || w.Spectra != want {
			t.Errorf("Waiting = %+v, %v, want %d spectra", w, err, want)
		}
		if n := deliver(t, f, filler); n != want {
			t.Errorf("Deliver = %d spectra, want %d", n, want)
		}
		expectSame(t, "after a delivery", where, address, filler)
	}
	// A file that grows, and one that was saved anew.
	seen, err := near.Seen(t.Context(), filler, []string{judged(1).File.Name})
	if err != nil {
		t.Fatal(err)
	}
	grown := judged(1)
	grown.File = seen[grown.File.Name]
	grown.File.Rows, grown.File.Bytes = 2, 8192
	grown.Records[0].Row, grown.Records[0].Time = 2, noon.Add(time.Hour)
	anew := judged(2)
	anew.File.Version, anew.Records[0].Time = 2, noon.Add(2*time.Hour)
	for range 2 { // the second time with the same file of the same delivery
		if err := near.Append(t.Context(), history.Batch{Line: filler, Files: []history.Judged{grown, anew}}); err != nil {
			t.Fatal(err)
		}
		grown.Records[0].Row, grown.File.Rows = 3, 3
		anew.File.Version = 3
	}
	if n := deliver(t, f, filler); n != 4 {
		t.Errorf("Deliver = %d spectra, want 4", n)
	}
	expectSame(t, "after files that grew", where, address, filler)
	if n := deliver(t, f, filler); n != 0 {
		t.Errorf("Deliver, again = %d spectra, want none", n)
	}
	// Another watch of the same file goes on where this one was.
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	if err := near.Append(t.Context(), batch(400, 410)); err != nil {
		t.Fatal(err)
	}
	f = far(t, near, address, filler)
	if n := deliver(t, f, filler); n != 10 {
		t.Errorf("Deliver by the next watch = %d spectra, want 10", n)
	}
	expectSame(t, "after the next watch", where, address, filler)
	d, err := history.Read(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	if lines, err := d.Lines(t.Context()); err != nil || !reflect.DeepEqual(lines, []string{filler}) {
		t.Errorf("Lines at the server = %q, %v, want the one that is watched", lines, err)
	}
}

// A line goes on at another computer where the first left it, and back again; who did not get rid of what it has is refused.
func TestALineMovesToAnotherComputer(t *testing.T) {
	address, dir := onServer(t), t.TempDir()
	one := open(t, filepath.Join(dir, "one"))
	before := time.Now().Truncate(time.Second)
	f := far(t, one, address, filler)
	if err := one.Append(t.Context(), everything(t, 0, 50)); err != nil {
		t.Fatal(err)
	}
	deliver(t, f, filler)
	after := time.Now()
	two := open(t, filepath.Join(dir, "two"))
	b := batch(0, 12)
	b.Line = "Filler 4"
	if err := two.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	g, err := history.OpenFar(t.Context(), two, address, "second")
	if err != nil {
		t.Fatal(err)
	}
	defer g.Close()
	var held *keep.Held
	if _, err := g.Join(t.Context(), filler); !errors.As(err, &held) || !strings.HasPrefix(held.By.Name, "test on ") || held.By.Since.Before(before) || held.By.Since.After(after) {
		t.Errorf("Join of a line that is watched = %v, want it refused with the first's name and time", err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := g.Join(t.Context(), filler); err != nil {
		t.Fatalf("Join after the first has gone = %v, want nil", err)
	}
	expectSame(t, "the second computer", filepath.Join(dir, "one"), filepath.Join(dir, "two"), filler)
	if err := two.Append(t.Context(), everything(t, 50, 80)); err != nil {
		t.Fatal(err)
	}
	if n := deliver(t, g, filler); n != 30 {
		t.Errorf("Deliver from the second = %d spectra, want 30", n)
	}
	expectSame(t, "after the second's delivery", filepath.Join(dir, "two"), address, filler)
	if err := g.Close(); err != nil {
		t.Fatal(err)
	}
	f = far(t, one, address, filler)
	expectSame(t, "back at the first", filepath.Join(dir, "two"), filepath.Join(dir, "one"), filler)
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	if err := one.Append(t.Context(), batch(80, 90)); err != nil {
		t.Fatal(err)
	}
	g = far(t, two, address, filler)
	if err := g.Close(); err != nil {
		t.Fatal(err)
	}
	f, err = history.OpenFar(t.Context(), one, address, "test")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.Join(t.Context(), filler); !errors.Is(err, history.ErrTwoHistories) || !strings.Contains(err.Error(), "10 spectra") {
		t.Errorf("Join with spectra that were never delivered, of a line that went on elsewhere = %v, want %v", err, history.ErrTwoHistories)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	three := open(t, filepath.Join(dir, "three"))
	if err := three.Append(t.Context(), batch(0, 5)); err != nil {
		t.Fatal(err)
	}
	h, err := history.OpenFar(t.Context(), three, address, "test")
	if err != nil {
		t.Fatal(err)
	}
	defer h.Close()
	if _, err := h.Join(t.Context(), filler); !errors.Is(err, history.ErrTwoHistories) {
		t.Errorf("Join of another line of that name = %v, want %v", err, history.ErrTwoHistories)
	}
}

// Many write at the same time, each its line, and the words that all of them use are kept once.
func TestManyWatchersAtTheSameTime(t *testing.T) {
	address, dir := onServer(t), t.TempDir()
	const watchers, batches = 6, 5
	var all sync.WaitGroup
	for i := range watchers {
		all.Go(func() {
			line := string(rune('A' + i))
			near, err := history.Open(t.Context(), filepath.Join(dir, line), "test")
			if err != nil {
				t.Error(err)
				return
			}
			defer near.Close()
			f, err := history.OpenFar(t.Context(), near, address, "test")
			if err != nil {
				t.Error(err)
				return
			}
			defer f.Close()
			if _, err := f.Join(t.Context(), line); err != nil {
				t.Error(err)
				return
			}
			for n := range batches {
				b := batch(100*n, 100*(n+1))
				b.Line = line
				for j := range b.Files {
					r := &b.Files[j].Records[0]
					r.Run = string(rune('a' + (j+i)%26))
				}
				if err := near.Append(t.Context(), b); err != nil {
					t.Error(err)
				}
				if got, _, err := f.Deliver(t.Context(), line); err != nil || got != 100 {
					t.Errorf("Deliver of line %s = %d, %v, want 100", line, got, err)
				}
			}
		})
	}
	all.Wait()
	for i := range watchers {
		line := string(rune('A' + i))
		expectSame(t, "line "+line, filepath.Join(dir, line), address, line)
	}
}
