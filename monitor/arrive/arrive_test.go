package arrive_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"testing/synctest"
	"time"

	"asusual/monitor/arrive"
)

// A writable is a tree that a test can change, as a spectrometer does.
type writable interface {
	arrive.Tree
	write(name string, size int, modified time.Time)
	link(name, target string)
	rename(from, to string)
	remove(name string)
}

// A memory is a tree in memory. It is safe for concurrent use.
type memory struct {
	mu    sync.Mutex
	files fstest.MapFS
	gone  bool
}

func (m *memory) locked(do func()) {
	m.mu.Lock()
	defer m.mu.Unlock()
	do()
}

func (m *memory) Open(name string) (f fs.File, err error) {
	m.locked(func() { f, err = m.files.Open(name) })
	return f, err
}

func (m *memory) Stat(name string) (i fs.FileInfo, err error) {
	m.locked(func() { i, err = m.files.Stat(name) })
	return i, err
}

func (m *memory) Lstat(name string) (i fs.FileInfo, err error) {
	m.locked(func() { i, err = m.files.Lstat(name) })
	return i, err
}

func (m *memory) Renew() (err error) {
	m.locked(func() {
		if m.gone {
			err = &fs.PathError{Op: "open", Path: "spectra", Err: fs.ErrNotExist}
		}
	})
	return err
}

func (m *memory) write(name string, size int, modified time.Time) {
	m.locked(func() {
		m.files[name] = &fstest.MapFile{Data: bytes.Repeat([]byte("x"), size), Mode: 0o644, ModTime: modified}
	})
}

func (m *memory) link(name, target string) {
	m.locked(func() { m.files[name] = &fstest.MapFile{Data: []byte(target), Mode: fs.ModeSymlink | 0o777} })
}

func (m *memory) rename(from, to string) {
	m.locked(func() { m.files[to] = m.files[from]; delete(m.files, from) })
}

func (m *memory) remove(name string) { m.locked(func() { delete(m.files, name) }) }

// A disk is a real folder.
type disk struct {
	*arrive.Disk
	t *testing.T
}

func (d disk) at(name string) string { return filepath.Join(d.Path(), filepath.FromSlash(name)) }

func (d disk) must(err error) {
	d.t.Helper()
	if err != nil {
		d.t.Fatal(err)
	}
}

func (d disk) write(name string, size int, modified time.Time) {
	d.t.Helper()
	d.must(os.MkdirAll(filepath.Dir(d.at(name)), 0o755))
	d.must(os.WriteFile(d.at(name), bytes.Repeat([]byte("x"), size), 0o644))
	d.must(os.Chtimes(d.at(name), modified, modified))
}

func (d disk) link(name, target string) { d.t.Helper(); d.must(os.Symlink(target, d.at(name))) }
func (d disk) rename(from, to string)   { d.t.Helper(); d.must(os.Rename(d.at(from), d.at(to))) }
func (d disk) remove(name string)       { d.t.Helper(); d.must(os.Remove(d.at(name))) }

func openDisk(t *testing.T) disk {
	t.Helper()
	d, err := arrive.OpenDisk(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = d.Close() })
	return disk{d, t}
}

// eachTree runs a test on a real folder and on the one in memory that stands for it elsewhere.
func eachTree(t *testing.T, test func(t *testing.T, w writable)) {
	t.Run("disk", func(t *testing.T) { test(t, openDisk(t)) })
	t.Run("memory", func(t *testing.T) { test(t, &memory{files: fstest.MapFS{}}) })
}

var noon = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

func newScanner(t *testing.T, opt arrive.Options) *arrive.Scanner {
	t.Helper()
	s, err := arrive.New(opt)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func once(t *testing.T, s *arrive.Scanner) []arrive.File {
	t.Helper()
	var files []arrive.File
	if err := s.Once(t.Context(), func(f arrive.File) error { files = append(files, f); return nil }); err != nil {
		t.Fatal(err)
	}
	return files
}

func names(files []arrive.File) []string {
	var ns []string
	for _, f := range files {
		ns = append(ns, f.Rel)
	}
	return ns
}

func TestOnceTakesEachFileOnceInOrder(t *testing.T) {
	eachTree(t, func(t *testing.T, w writable) {
		w.write("2026-11-25/b.csv", 5, noon)
		w.write("2026-11-25/a.csv", 7, noon)
		w.write("2026-11-24/z.csv", 5, noon.Add(-24*time.Hour))
		w.write("late.CSV", 5, noon.Add(time.Hour))
		w.write("notes.txt", 5, noon)
		for _, name := range []string{".hidden.csv", "x.csv.tmp", "x.csv.part", "x.csv~", "~$x.csv", ".cache/x.csv"} {
			w.write(name, 5, noon)
		}
		s := newScanner(t, arrive.Options{Tree: w, Patterns: arrive.Patterns{"*.csv"}})
		files := once(t, s)
		want := []string{"2026-11-24/z.csv", "2026-11-25/a.csv", "2026-11-25/b.csv", "late.CSV"}
		if got := names(files); !reflect.DeepEqual(got, want) {
			t.Fatalf("Once = %q, want %q", got, want)
		}
		if f := files[1]; f.Size != 7 || !f.Modified.Equal(noon) || f.Refused != "" {
			t.Errorf("Once, a.csv = %+v, want 7 bytes of noon", f)
		}
		if got := once(t, s); len(got) != 0 {
			t.Errorf("Once again = %q, want nothing", names(got))
		}
		w.write("2026-11-25/a.csv", 9, noon)
		w.rename("late.CSV", "later.csv")
		w.remove("2026-11-25/b.csv")
		if got := names(once(t, s)); !reflect.DeepEqual(got, []string{"2026-11-25/a.csv", "later.csv"}) {
			t.Errorf("Once after changes = %q, want the changed and the renamed one", got)
		}
		w.write("2026-11-25/b.csv", 5, noon)
		if got := names(once(t, s)); !reflect.DeepEqual(got, []string{"2026-11-25/b.csv"}) {
			t.Errorf("Once after a file came back = %q, want it (history knows it by its content)", got)
		}
	})
}

func TestOrders(t *testing.T) {
	eachTree(t, func(t *testing.T, w writable) {
		for i, name := range []string{"c", "a", "b", "d"} {
			w.write(name, 1, noon.Add(time.Duration(i)*time.Second))
		}
		for order, want := range map[arrive.Order]string{arrive.ByTime: "cabd", arrive.ByName: "abcd", arrive.NewestFirst: "dbac"} {
			for _, hold := range []int{0, 1, 3} { // with little room, several listings give the same order
				s := newScanner(t, arrive.Options{Tree: w, Order: order, Hold: hold})
				if got := strings.Join(names(once(t, s)), ""); got != want {
					t.Errorf("order %d, hold %d: Once = %s, want %s", order, hold, got, want)
				}
			}
		}
	})
}

func TestKnownFilesAreNotHandedOn(t *testing.T) {
	eachTree(t, func(t *testing.T, w writable) {
		for i := range 10 {
			w.write(fmt.Sprint("s", i), 1, noon)
		}
		fail := errors.New("history is locked")
		var err error
		asked := 0
		s := newScanner(t, arrive.Options{Tree: w, Known: func(_ context.Context, files []arrive.File) ([]bool, error) {
			asked += len(files)
			known := make([]bool, len(files))
			for i, f := range files {
				known[i] = f.Rel != "s7"
			}
			return known, err
		}})
		err = fail
		if got := s.Once(t.Context(), func(arrive.File) error { return nil }); !errors.Is(got, fail) {
			t.Errorf("Once where the look-up fails = %v, want %v", got, fail)
		}
		err, asked = nil, 0
		if got := names(once(t, s)); !reflect.DeepEqual(got, []string{"s7"}) {
			t.Errorf("Once = %q, want s7 alone", got)
		}
		once(t, s)
		if asked != 10 {
			t.Errorf("files looked up in two listings = %d, want 10: the second remembers", asked)
		}
	})
}

func TestWhatIsNoFileIsRefusedWithAReason(t *testing.T) {
	eachTree(t, func(t *testing.T, w writable) {
		outside := filepath.Join(t.TempDir(), "secret.csv")
		if err := os.WriteFile(outside, []byte("1,2"), 0o644); err != nil {
			t.Fatal(err)
		}
		w.write("in/real.csv", 3, noon)
		w.link("inside.csv", "in/real.csv")
		w.link("outside.csv", outside)
		w.link("up.csv", "../../../../etc/passwd")
		w.link("dangling.csv", "nowhere.csv")
		w.link("folder.csv", "in")
		got := map[string]string{}
		for _, f := range once(t, newScanner(t, arrive.Options{Tree: w})) {
			got[f.Rel] = f.Refused
		}
		out := "is a link that leads out of the folder or to nothing"
		want := map[string]string{"in/real.csv": "", "inside.csv": "", "outside.csv": out, "up.csv": out, "dangling.csv": out,
			"folder.csv": "is a link to a folder; only real folders are gone through"}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("Once = %q, want %q", got, want)
		}
	})
}

func TestHostileNames(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("Windows does not have such names")
	}
	w := openDisk(t)
	want := []string{"a\nb.csv", "<script>alert(1).csv", strings.Repeat("n", 251) + ".csv", "Spektrum_\xfc.csv", "-rf .csv", "\x1b[31m.csv"}
	if runtime.GOOS == "darwin" {
		want = slices.DeleteFunc(want, func(s string) bool { return s == "Spektrum_\xfc.csv" }) // APFS takes UTF-8 only
	}
	for _, name := range want {
		w.write(name, 3, noon)
	}
	files := once(t, newScanner(t, arrive.Options{Tree: w}))
	slices.Sort(want)
	if got := names(files); !reflect.DeepEqual(got, want) {
		t.Fatalf("Once = %q, want %q", got, want)
	}
	for _, f := range files {
		r, err := w.Open(f.Rel)
		if err != nil {
			t.Errorf("Open(%q) = %v, want nil", f.Rel, err)
			continue
		}
		if err := r.Close(); err != nil {
			t.Error(err)
		}
	}
}

func TestPatternsAndLeftovers(t *testing.T) {
	if err := (arrive.Patterns{"[a"}).Check(); err == nil || !strings.Contains(err.Error(), "[a") {
		t.Errorf("Check of [a = %v, want it named", err)
	}
	if _, err := arrive.New(arrive.Options{}); err == nil {
		t.Error("New without a folder = nil, want an error")
	}
	for _, c := range []struct {
		patterns arrive.Patterns
		name     string
		want     bool
	}{
		{nil, "x", true}, {arrive.Patterns{"*.csv"}, "day/X.CSV", true}, {arrive.Patterns{"*.csv"}, "x.csv.gz", false},
		{arrive.Patterns{"*.csv", "*.csv.gz"}, "x.csv.gz", true}, {arrive.Patterns{"day*/*.dx"}, "day1/x.dx", true},
		{arrive.Patterns{"day*/*.dx"}, "night/x.dx", false},
	} {
		if got := c.patterns.Take(c.name); got != c.want {
			t.Errorf("%q.Take(%q) = %v, want %v", c.patterns, c.name, got, c.want)
		}
	}
	for name, want := range map[string]bool{"a.csv": false, "A.TMP": true, "Thumbs.db": true, ".x": true, "a~": true, "tmp.csv": false, "a.csv.gz": false} {
		if got := arrive.Leftover(name); got != want {
			t.Errorf("Leftover(%q) = %v, want %v", name, got, want)
		}
	}
}

// hints is a source that a test speaks through.
type hints chan arrive.Event

func (h hints) Events() <-chan arrive.Event { return h }
func (h hints) Follow(string) error         { return nil }
func (h hints) Unfollow(string)             {}

// A follower is a source that knows of which folders notifications are asked for.
type follower struct {
	hints
	mu   sync.Mutex
	dirs map[string]bool
}

func (f *follower) Follow(dir string) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.dirs[dir] = true
	return nil
}

func (f *follower) Unfollow(dir string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	delete(f.dirs, dir)
}

func (f *follower) following() []string {
	f.mu.Lock()
	defer f.mu.Unlock()
	return slices.Sorted(maps.Keys(f.dirs))
}

// The notifications of a folder are given up once nothing has been written there for a week, and asked for again when something is.
func TestFoldersThatAreNotInUse(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		const week = 7 * 24 * time.Hour
		m := &memory{files: fstest.MapFS{}}
		folder := func(name string, age time.Duration) {
			m.locked(func() { m.files[name] = &fstest.MapFile{Mode: fs.ModeDir | 0o755, ModTime: time.Now().Add(-age)} })
		}
		folder("run 1", 2*week)
		folder("run 2", week-2*time.Minute)
		folder("run 3", 0)
		folder("run 4", 2*week)
		folder("run 5", 2*week)
		m.files["run 4/table.csv"] = &fstest.MapFile{ModTime: time.Now().Add(-time.Hour)} // it grows: the folder's time stands still
		m.files["run 5/day/run"] = &fstest.MapFile{Mode: fs.ModeDir | 0o755, ModTime: time.Now()}
		f := &follower{hints: make(hints), dirs: map[string]bool{}}
		r := startOn(t, m, arrive.Options{Tree: m, Source: f})
		defer r.stop(t)
		r.after(time.Minute)
		expect(t, "of those in use", f.following(), ".", "run 2", "run 3", "run 4", "run 5/day/run")
		r.after(3 * time.Minute)
		expect(t, "of one less in use", f.following(), ".", "run 3", "run 4", "run 5/day/run")
		folder("run 1", 0)
		r.after(2 * time.Minute)
		expect(t, "of one that is written to again", f.following(), ".", "run 1", "run 3", "run 4", "run 5/day/run")
	})
}

// A run is a scanner at work in a bubble, whose time stands still until all wait.
type run struct {
	*memory
	s      *arrive.Scanner
	log    *bytes.Buffer
	mu     sync.Mutex
	got    []arrive.File
	at     []time.Duration // since the start
	start  time.Time
	cancel context.CancelFunc
	done   chan error
}

func start(t *testing.T, opt arrive.Options) *run {
	t.Helper()
	m := &memory{files: fstest.MapFS{}}
	opt.Tree = m
	return startOn(t, m, opt)
}

func startOn(t *testing.T, m *memory, opt arrive.Options) *run {
	t.Helper()
	r := &run{memory: m, log: &bytes.Buffer{}, start: time.Now(), done: make(chan error, 1)}
	opt.Log = slog.New(slog.NewTextHandler(r.log, nil))
	r.s = newScanner(t, opt)
	ctx, cancel := context.WithCancel(t.Context())
	r.cancel = cancel
	go func() {
		r.done <- r.s.Run(ctx, func(f arrive.File) error {
			r.mu.Lock()
			defer r.mu.Unlock()
			r.got, r.at = append(r.got, f), append(r.at, time.Since(r.start))
			return nil
		})
	}()
	synctest.Wait()
	return r
}

func (r *run) stop(t *testing.T) {
	t.Helper()
	r.cancel()
	if err := <-r.done; !errors.Is(err, context.Canceled) {
		t.Errorf("Run = %v, want %v", err, context.Canceled)
	}
}

// after lets time pass and returns what was handed on since the last call.
func (r *run) after(d time.Duration) []string {
	time.Sleep(d) // a bubble's time: nobody waits
	synctest.Wait()
	r.mu.Lock()
	defer r.mu.Unlock()
	got := names(r.got)
	r.got = nil
	return got
}

func expect(t *testing.T, when string, got []string, want ...string) {
	t.Helper()
	if !slices.Equal(got, want) {
		t.Errorf("%s: handed on %q, want %q", when, got, want)
	}
}

func TestFilesSettle(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := make(hints)
		r := start(t, arrive.Options{Source: h})
		defer r.stop(t)
		r.write("a.csv", 10, time.Now())
		h <- arrive.Event{Hint: arrive.Changed, Rel: "a.csv"}
		expect(t, "0.9 s after it appeared", r.after(900*time.Millisecond))
		r.write("a.csv", 20, time.Now())
		h <- arrive.Event{Hint: arrive.Changed, Rel: "a.csv"}
		expect(t, "0.9 s after it was written to", r.after(900*time.Millisecond))
		expect(t, "1.1 s after it was written to", r.after(200*time.Millisecond), "a.csv")

		r.write("b.csv", 10, time.Now())
		h <- arrive.Event{Hint: arrive.Changed, Rel: "b.csv"}
		r.after(500 * time.Millisecond)
		r.write("b.csv", 20, time.Now()) // and no notification of it
		expect(t, "1.2 s, changed without a word at 0.5 s", r.after(700*time.Millisecond))
		expect(t, "2.1 s", r.after(900*time.Millisecond), "b.csv")

		r.write("c.csv.tmp", 10, time.Now())
		h <- arrive.Event{Hint: arrive.Changed, Rel: "c.csv.tmp"}
		expect(t, "a temporary name", r.after(5*time.Second))
		r.rename("c.csv.tmp", "c.csv")
		h <- arrive.Event{Hint: arrive.Complete, Rel: "c.csv"}
		expect(t, "renamed", r.after(0), "c.csv")
		h <- arrive.Event{Hint: arrive.Changed, Rel: "c.csv"}
		expect(t, "a second notification of it", r.after(5*time.Second))
	})
}

func TestWithoutNotificationsTheListingFinds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := start(t, arrive.Options{})
		defer r.stop(t)
		r.write("2026/a.csv", 10, time.Now())
		expect(t, "after a poll and the settle time", r.after(3100*time.Millisecond), "2026/a.csv")
		r.write("old.csv", 10, time.Now().Add(-time.Hour))
		expect(t, "an old one, after a poll", r.after(2100*time.Millisecond), "old.csv")
		r.write("future.csv", 10, time.Now().Add(time.Hour)) // the server's clock is ahead
		expect(t, "one of the future", r.after(3100*time.Millisecond), "future.csv")
		r.write("2026/a.csv", 11, time.Now())
		expect(t, "one that grew", r.after(3100*time.Millisecond), "2026/a.csv")
	})
}

// On a disk of this computer's own, what nobody wrote to for the settle time is taken at once by a new scanner, so that a
// watch that does not live long gets on; on another's, whose clock may differ, it has to stand still.
func TestWhatStoodStillIsTakenAtOnce(t *testing.T) {
	for _, one := range []bool{true, false} {
		synctest.Test(t, func(t *testing.T) {
			tree := &clocked{memory: &memory{files: fstest.MapFS{}}, one: one}
			now := time.Now()
			tree.write("still.csv", 10, now.Add(-2*time.Second))
			tree.write("fresh.csv", 10, now.Add(-time.Second/2))
			tree.write("empty.csv", 0, now.Add(-2*time.Second))
			tree.write("ahead.csv", 10, now.Add(time.Hour))
			r := startOn(t, tree.memory, arrive.Options{Tree: tree, Source: make(hints)})
			defer r.stop(t)
			first, rest := []string{"still.csv"}, []string{"fresh.csv", "ahead.csv"}
			if !one {
				first, rest = nil, append(first, rest...)
			}
			expect(t, fmt.Sprintf("one clock %v: at once", one), r.after(0), first...)
			expect(t, "later", r.after(1100*time.Millisecond), rest...)
			expect(t, "an empty one", r.after(15*time.Second), "empty.csv")
		})
	}
}

// A clocked is a tree that says whose clock its times are by.
type clocked struct {
	*memory
	one bool
}

func (c *clocked) OneClock() bool { return c.one }

// What is remembered is bounded; what was forgotten is looked up.
func TestMoreFilesThanAreRemembered(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		const n, most = 300, 100
		var handed sync.Map
		var asked atomic.Int64
		known := func(_ context.Context, files []arrive.File) ([]bool, error) {
			is := make([]bool, len(files))
			for i, f := range files {
				_, is[i] = handed.Load(f.Rel)
			}
			asked.Add(int64(len(files)))
			return is, nil
		}
		m := &memory{files: fstest.MapFS{}}
		for i := range n {
			m.write(fmt.Sprintf("%03d", i), 1, noon)
		}
		r := startOn(t, m, arrive.Options{Tree: m, Remember: most, Known: known, Poll: time.Minute})
		defer r.stop(t)
		got := r.after(time.Second)
		for _, name := range got {
			handed.Store(name, true)
		}
		if len(got) != n || asked.Load() != n {
			t.Errorf("first listing: %d files handed on, %d looked up, want %d, %[3]d", len(got), asked.Load(), n)
		}
		asked.Store(0)
		if again := r.after(3*time.Minute - 2*time.Second); len(again) != 0 || asked.Load() < 2*(n-most) || asked.Load() > 2*n {
			t.Errorf("two more listings: %d files handed on, %d looked up, want none, and %d or more", len(again), asked.Load(), 2*(n-most))
		}
	})
}

// A folder that sends notifications is listed once a minute; one that turns out to send none is listed every two seconds.
func TestPollingIsFoundOutByItself(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := make(hints)
		r := start(t, arrive.Options{Source: h})
		defer r.stop(t)
		r.write("a", 1, time.Now())
		expect(t, "before any notification has come", r.after(3100*time.Millisecond), "a")
		r.write("b", 1, time.Now())
		h <- arrive.Event{Hint: arrive.Changed, Rel: "b"}
		expect(t, "with one", r.after(3100*time.Millisecond), "b")
		r.write("c", 1, time.Now())
		expect(t, "without one, now that they come", r.after(30*time.Second))
		expect(t, "at the listing of the minute", r.after(35*time.Second), "c")
		if !strings.Contains(r.log.String(), "no notification came for a new file") {
			t.Errorf("log = %q, want it said that no notification came", r.log)
		}
		r.write("d", 1, time.Now())
		expect(t, "polling from then on", r.after(3100*time.Millisecond), "d")
	})
}

func TestLostNotificationsAreMadeUpFor(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := make(hints)
		r := start(t, arrive.Options{Source: h})
		defer r.stop(t)
		r.write("a", 1, time.Now())
		h <- arrive.Event{Hint: arrive.Changed, Rel: "a"}
		r.after(3 * time.Second)
		var want []string
		for i := range 5000 {
			want = append(want, fmt.Sprintf("burst/%04d", i))
			r.write(want[i], 1, time.Now())
		}
		h <- arrive.Event{Hint: arrive.Lost, Rel: "."}
		got := r.after(1100 * time.Millisecond)
		slices.Sort(got)
		if !slices.Equal(got, want) {
			t.Errorf("after notifications were lost: %d files, want %d, each once", len(got), len(want))
		}
	})
}

func TestANewFolderIsListedAtOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := make(hints)
		r := start(t, arrive.Options{Source: h})
		defer r.stop(t)
		r.write("2026-11-26/a", 1, time.Now()) // both before the folder is followed
		r.write("2026-11-26/deep/b", 1, time.Now())
		h <- arrive.Event{Hint: arrive.Changed, Rel: "2026-11-26"}
		expect(t, "after the settle time", r.after(1100*time.Millisecond), "2026-11-26/a", "2026-11-26/deep/b")
	})
}

func TestAFolderThatVanishesAndReturns(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := make(hints)
		r := start(t, arrive.Options{Source: h})
		defer r.stop(t)
		r.write("a", 1, time.Now())
		r.after(4 * time.Second)
		r.locked(func() { r.gone = true })
		h <- arrive.Event{Hint: arrive.Gone, Rel: "."}
		expect(t, "while it is gone", r.after(time.Hour))
		r.locked(func() { r.gone = false })
		r.write("b", 1, time.Now())
		expect(t, "when it is back", r.after(4*time.Second), "b")
		for _, says := range []string{"cannot be listed", "can be listed again"} {
			if n := strings.Count(r.log.String(), says); n != 1 {
				t.Errorf("log lines with %q = %d, want 1:\n%s", says, n, r.log)
			}
		}
	})
}

func TestAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := make(hints)
		r := start(t, arrive.Options{Source: h})
		defer r.stop(t)
		r.write("table.csv", 10, time.Now())
		h <- arrive.Event{Hint: arrive.Changed, Rel: "table.csv"}
		r.after(900 * time.Millisecond)
		r.after(200 * time.Millisecond)
		f, _ := r.Stat("table.csv")
		again := arrive.File{Rel: "table.csv", Size: f.Size(), Modified: f.ModTime()}
		for _, quiet := range []bool{false, true} {
			if quiet {
				r.s.Rest(again, time.Minute)
			} else {
				r.s.Again(again, time.Minute)
			}
			synctest.Wait()
			if got := r.s.Behind(); got != map[bool]int{false: 0, true: 1}[quiet] { // whoever waits for the line does not wait for tries
				t.Errorf("quiet %t: Behind = %d meanwhile", quiet, got)
			}
			expect(t, "before the minute", r.after(59*time.Second))
			r.mu.Lock()
			r.got = nil
			r.mu.Unlock()
			time.Sleep(2 * time.Second)
			synctest.Wait()
			r.mu.Lock()
			if len(r.got) != 1 || r.got[0].Quiet != quiet {
				t.Errorf("after a minute without a change = %+v, want it once, quiet: %t", r.got, quiet)
			}
			r.got = nil
			r.mu.Unlock()
		}

		r.s.Again(again, time.Minute)
		r.after(time.Second)
		r.write("table.csv", 20, time.Now())
		h <- arrive.Event{Hint: arrive.Changed, Rel: "table.csv"}
		expect(t, "1.1 s after it grew", r.after(1100*time.Millisecond), "table.csv")
		expect(t, "and not again", r.after(5*time.Minute))
	})
}

func TestRunEndsWithTheErrorOfItsTaker(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := &memory{files: fstest.MapFS{}}
		m.write("a", 1, time.Now().Add(-time.Hour))
		want := errors.New("the history is gone")
		if err := newScanner(t, arrive.Options{Tree: m}).Run(t.Context(), func(arrive.File) error { return want }); err != want {
			t.Errorf("Run = %v, want %v", err, want)
		}
	})
}

// A listing does not overtake notifications: of two files that come with old times, it may see the second alone.
func TestAListingDoesNotOvertakeNotifications(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := make(hints)
		r := start(t, arrive.Options{Source: h})
		defer r.stop(t)
		r.write("first", 1, time.Now())
		h <- arrive.Event{Hint: arrive.Changed, Rel: "first"}
		expect(t, "with a notification", r.after(3100*time.Millisecond), "first")
		old := time.Now().Add(-2 * time.Hour)
		r.write("b", 1, old.Add(time.Second))
		expect(t, "until the listing of the minute is over", r.after(59300*time.Millisecond))
		r.write("a", 1, old)
		h <- arrive.Event{Hint: arrive.Complete, Rel: "a"}
		h <- arrive.Event{Hint: arrive.Complete, Rel: "b"}
		expect(t, "with the notifications of both", r.after(100*time.Millisecond), "a", "b")
		r.write("c", 1, old.Add(2*time.Second))
		expect(t, "a file that no notification tells of, at a listing and settled", r.after(65*time.Second), "c")
	})
}

// A slow is a folder whose names come one a second.
type slow struct{ *memory }

func (s slow) Open(name string) (fs.File, error) {
	f, err := s.memory.Open(name)
	if d, ok := f.(fs.ReadDirFile); ok && err == nil {
		return slowDir{d}, nil
	}
	return f, err
}

type slowDir struct{ fs.ReadDirFile }

func (d slowDir) ReadDir(int) ([]fs.DirEntry, error) {
	time.Sleep(time.Second) // a bubble's time
	return d.ReadDirFile.ReadDir(1)
}

// While a folder is listed, which takes long where there are many files, notifications do not wait for the end of it.
func TestNotificationsDoNotWaitForAListing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := make(hints)
		m := &memory{files: fstest.MapFS{}}
		for i := range 10 {
			m.write(fmt.Sprint("before ", i), 1, time.Now().Add(-time.Hour))
		}
		r := startOn(t, m, arrive.Options{Tree: slow{m}, Source: h, Rescan: 20 * time.Second})
		defer r.stop(t)
		r.after(time.Minute) // listed, once or more
		var want []string
		for i := range 60 {
			name := fmt.Sprintf("%02d", i)
			want = append(want, name)
			r.write(name, 1, time.Now())
			came := time.Now()
			h <- arrive.Event{Hint: arrive.Complete, Rel: name}
			synctest.Wait()
			if took := time.Since(came); i > 0 && took > time.Second {
				t.Errorf("%s waited %v, want at most what it takes to read one name", name, took)
			}
			time.Sleep(3 * time.Second)
		}
		expect(t, "while the folder was listed again and again", r.after(3*time.Minute), want...)
	})
}

// A file that was written just before the start settles; one that is renamed into place meanwhile does not overtake it.
func TestARenameDoesNotOvertakeWhatWasThere(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h, m := make(hints), &memory{files: fstest.MapFS{}}
		m.write("1.csv", 10, time.Now().Add(-500*time.Millisecond))
		r := startOn(t, m, arrive.Options{Tree: m, Source: h})
		defer r.stop(t)
		expect(t, "at once", r.after(300*time.Millisecond))
		for _, name := range []string{"2.csv", "3.csv"} {
			r.write(name, 10, time.Now())
			h <- arrive.Event{Hint: arrive.Complete, Rel: name}
			expect(t, "while the first settles", r.after(100*time.Millisecond))
		}
		expect(t, "settled", r.after(2*time.Second), "1.csv", "2.csv", "3.csv")
		r.write("4.csv", 10, time.Now())
		h <- arrive.Event{Hint: arrive.Complete, Rel: "4.csv"}
		expect(t, "later, at once", r.after(time.Millisecond), "4.csv")
	})
}

// Until the whole folder was seen once, nobody may take it that nothing waits in it; a folder that is not there holds nothing up.
func TestBehindBeforeTheFirstListing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := &memory{files: fstest.MapFS{}}
		for i := range 3 {
			m.write(fmt.Sprint(i, ".csv"), 10, time.Now().Add(-time.Hour))
		}
		r := startOn(t, m, arrive.Options{Tree: slow{m}, Poll: 2 * time.Second})
		defer r.stop(t)
		synctest.Wait()
		if r.s.Behind() != 1 {
			t.Errorf("while the folder is listed for the first time: Behind = %d, want 1", r.s.Behind())
		}
		expect(t, "listed", r.after(time.Minute), "0.csv", "1.csv", "2.csv")
		if r.s.Behind() != 0 || r.s.Unseen() < 5*time.Second {
			t.Errorf("afterwards: Behind = %d, Unseen = %v, want 0 and five times what a listing takes", r.s.Behind(), r.s.Unseen())
		}
	})
	synctest.Test(t, func(t *testing.T) {
		m := &memory{files: fstest.MapFS{}, gone: true}
		r := startOn(t, m, arrive.Options{Tree: m, Poll: 2 * time.Second})
		defer r.stop(t)
		r.after(time.Minute)
		if r.s.Behind() != 0 || r.s.Unseen() != 2*time.Second {
			t.Errorf("without the folder: Behind = %d, Unseen = %v, want 0, 2s", r.s.Behind(), r.s.Unseen())
		}
	})
}

// Who waits until nothing waits, waits for what settles, not for a file that is tried again for ever.
func TestAFileThatIsTriedAgainForLongIsNotBehind(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := make(hints)
		r := start(t, arrive.Options{Source: h})
		defer r.stop(t)
		waits := func(when string, behind, settling int) {
			t.Helper()
			synctest.Wait()
			if r.s.Behind() != behind || r.s.Settling() != settling {
				t.Errorf("%s: Behind = %d, Settling = %d, want %d, %d", when, r.s.Behind(), r.s.Settling(), behind, settling)
			}
		}
		r.write("kept.csv", 10, time.Now())
		h <- arrive.Event{Hint: arrive.Changed, Rel: "kept.csv"}
		waits("while it settles", 1, 1)
		expect(t, "settled", r.after(1100*time.Millisecond), "kept.csv")
		f, _ := r.Stat("kept.csv")
		again := arrive.File{Rel: "kept.csv", Size: f.Size(), Modified: f.ModTime()}
		r.s.Again(again, 2*time.Second)
		waits("tried again soon", 1, 1)
		expect(t, "soon", r.after(2*time.Second), "kept.csv")
		for range 3 {
			r.s.Again(again, 64*time.Second)
			waits("tried again for long", 0, 0)
			expect(t, "after long", r.after(64*time.Second), "kept.csv")
		}
		r.s.Again(again, 64*time.Second)
		synctest.Wait()
		r.write("kept.csv", 20, time.Now())
		h <- arrive.Event{Hint: arrive.Changed, Rel: "kept.csv"}
		waits("once it changed", 1, 1)
		expect(t, "after it changed", r.after(1100*time.Millisecond), "kept.csv")
		r.s.Again(again, 64*time.Second)
		synctest.Wait()
		r.remove("kept.csv")
		h <- arrive.Event{Hint: arrive.Gone, Rel: "kept.csv"}
		waits("gone", 0, 0)
	})
}

// A file that is written to without a pause is handed on as growing, again and again, with notifications and without, and as a whole when
// it stands still; for those who do not ask for that, only then.
func TestAFileThatGrowsWithoutAPause(t *testing.T) {
	for _, c := range []struct {
		name             string
		notified, wanted bool
		from, to         int // how often it comes as growing in 30 s
	}{
		{"notified", true, true, 4, 6},
		{"polled", false, true, 3, 6},
		{"notified, not asked for", true, false, 0, 0},
		{"polled, not asked for", false, false, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				h := make(hints)
				opt := arrive.Options{Growing: c.wanted}
				if c.notified {
					opt.Source = h
				}
				r := start(t, opt)
				defer r.stop(t)
				size := 0
				for range 100 {
					size += 10
					r.write("day.csv", size, time.Now())
					if c.notified {
						h <- arrive.Event{Hint: arrive.Changed, Rel: "day.csv"}
					}
					synctest.Wait()
					time.Sleep(300 * time.Millisecond)
					synctest.Wait()
				}
				r.mu.Lock()
				grown, last := len(r.got), 0
				for _, f := range r.got {
					if !f.Growing || f.Size <= int64(last) || f.Quiet {
						t.Errorf("while it grows %+v is handed on, want it larger than %d and growing", f, last)
					}
					last = int(f.Size)
				}
				r.got = nil
				r.mu.Unlock()
				if grown < c.from || grown > c.to {
					t.Errorf("in 30 s it is handed on %d times, want %d to %d", grown, c.from, c.to)
				}
				time.Sleep(5 * time.Second)
				synctest.Wait()
				r.mu.Lock()
				defer r.mu.Unlock()
				// It may come with its last bytes while it counts as growing: whoever has not read all of it asks for it again.
				if last != size && (len(r.got) != 1 || r.got[0].Size != int64(size) || r.got[0].Growing && !c.wanted) {
					t.Errorf("when it stands still %+v is handed on, want it once, with %d bytes", r.got, size)
				}
			})
		})
	}
}

// A listing that a notification asks for while another one goes on follows that one, and does not wait for its time.
func TestAListingThatIsAskedForDuringAnother(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := make(hints)
		m := &memory{files: fstest.MapFS{}}
		for i := range 5 {
			m.write(fmt.Sprint("before ", i), 1, time.Now().Add(-time.Hour))
		}
		tree := &listed{slow: slow{m}, fails: "odd"}
		r := startOn(t, m, arrive.Options{Tree: tree, Source: h, Rescan: time.Hour})
		defer r.stop(t)
		r.write("first", 1, time.Now())
		h <- arrive.Event{Hint: arrive.Changed, Rel: "first"} // they come
		r.after(time.Minute)
		before := tree.times.Load()
		h <- arrive.Event{Hint: arrive.Changed, Rel: "."}
		r.after(2 * time.Second) // half of the listing
		h <- arrive.Event{Hint: arrive.Changed, Rel: "odd"}
		r.after(5 * time.Minute)
		if n := tree.times.Load() - before; n != 2 {
			t.Errorf("the folder was listed %d times, want once and once more", n)
		}
	})
}

// A listed counts how often a slow folder is listed, and cannot describe one of its files.
type listed struct {
	slow
	fails string
	times atomic.Int64
}

func (l *listed) Open(name string) (fs.File, error) {
	l.times.Add(1)
	return l.slow.Open(name)
}

func (l *listed) Lstat(name string) (fs.FileInfo, error) {
	if name == l.fails {
		return nil, fs.ErrPermission
	}
	return l.slow.Lstat(name)
}
