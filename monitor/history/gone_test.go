package history_test

import (
	"encoding/binary"
	"errors"
	"fmt"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"asusual/monitor/history"
)

// goneBut returns what says that files are gone, but for those whose names have one of the parts, and counts how many it was asked about.
func goneBut(asked *int, parts ...string) func([]string) ([]bool, error) {
	return func(names []string) ([]bool, error) {
		is := make([]bool, len(names))
		for i, name := range names {
			is[i] = true
			for _, part := range parts {
				is[i] = is[i] && !strings.Contains(name, part)
			}
		}
		*asked += len(names)
		return is, nil
	}
}

const week = 7 * 24 * time.Hour

func TestForget(t *testing.T) {
	d := open(t, filepath.Join(t.TempDir(), "h"))
	b := batch(0, 3000)
	b.Files[7].Records[0].Row, b.Files[7].File.Rows = 1, 1 // a table, of one row so far
	b.Files[8].Records[0].Row, b.Files[8].File.Rows = 2, 2
	b.Files[9].Unreadable = []history.Unreadable{{Time: noon.Add(30 * week), Reason: "later"}}
	b.Files[10].Records, b.Files[10].Own = nil, []history.Own{{Time: noon.Add(10 * time.Second), Role: "dark", Mark: 10}}
	b.Files[11].Records = nil // nothing says when it was measured
	if err := d.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	k, now := history.Keep{Spectra: 3 * week}, noon.Add(3*week+2000*time.Second)
	asked := 0
	forget := func(at time.Time, dry bool) int {
		t.Helper()
		asked = 0
		n, err := d.Forget(t.Context(), filler, k, at, goneBut(&asked, "s000003", "s000004"), dry)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	if n := forget(now.Add(week), false); n != 0 || asked != 0 {
		t.Errorf("Forget before any spectrum was taken out = %d of %d looked for, want none", n, asked)
	}
	if _, err := d.Prune(t.Context(), filler, k, now, false); err != nil {
		t.Fatal(err)
	}
	if n := forget(now.Add(week-time.Second), false); n != 0 || asked != 0 {
		t.Errorf("Forget within a week = %d of %d looked for, want none", n, asked)
	}
	const want = 2000 - 2 - 2 - 2 // in the folder, tables, with something unreadable and with nothing
	for _, dry := range []bool{true, false} {
		if n := forget(now.Add(week), dry); n != want || asked != want+2 {
			t.Errorf("Forget, dry %v = %d of %d looked for, want %d of %d", dry, n, asked, want, want+2)
		}
	}
	if n := forget(now.Add(week), false); n != 0 || asked != 2 {
		t.Errorf("Forget again = %d of %d looked for, want none of 2", n, asked)
	}
	for n, known := range map[int]bool{0: false, 3: true, 4: true, 5: false, 7: true, 8: true, 9: true, 10: false, 11: true, 1999: false, 2000: true, 2999: true} {
		f := judged(n).File
		seen, err := d.Seen(t.Context(), filler, []string{f.Name})
		if _, ok := seen[f.Name]; err != nil || ok != known {
			t.Errorf("Seen of file %d = %v, %v, want it known %v", n, seen, err, known)
		}
		// Digests ask for many at a time as well as for one.
		same, err := d.SameContents(t.Context(), filler, []history.Digest{digest(7777), f.Digest, digest(8888)})
		name := f.Name
		if !known {
			name = history.TakenOut
		}
		if got := same[f.Digest]; err != nil || len(same) != 1 || got.Name != name || got.Rows == 0 {
			t.Errorf("SameContents of file %d = %+v, %v, want %q", n, same, err, name)
		}
		if got, ok, err := d.SameContent(t.Context(), filler, f.Digest); err != nil || !ok || got.Name != name {
			t.Errorf("SameContent of file %d = %+v, %v, %v, want %q", n, got, ok, err, name)
		}
	}
	if _, ok, err := d.SameContent(t.Context(), "another line", judged(0).File.Digest); err != nil || ok {
		t.Errorf("SameContent in another line = %v, %v, want none", ok, err)
	}
}

// A content that nothing could be read in, and that was judged in a file that is forgotten, is known to have been judged.
func TestAForgottenContentAmongUnreadableFiles(t *testing.T) {
	d := open(t, filepath.Join(t.TempDir(), "h"))
	if err := d.Append(t.Context(), batch(0, 2)); err != nil {
		t.Fatal(err)
	}
	k := history.Keep{Spectra: week}
	if _, err := d.Prune(t.Context(), filler, k, noon.Add(2*week), false); err != nil {
		t.Fatal(err)
	}
	asked := 0
	if n, err := d.Forget(t.Context(), filler, k, noon.Add(4*week), goneBut(&asked), false); err != nil || n != 1 {
		t.Fatalf("Forget = %d, %v, want the one before the newest", n, err)
	}
	again := judged(0)
	again.Records, again.File.Rows = nil, 0
	again.Unreadable = []history.Unreadable{{Time: noon, Reason: "settings that do not fit"}}
	if err := d.Append(t.Context(), history.Batch{Line: filler, Files: []history.Judged{again}}); err != nil {
		t.Fatal(err)
	}
	if got, ok, err := d.SameContent(t.Context(), filler, again.File.Digest); err != nil || !ok || got.Name != history.TakenOut || got.Rows == 0 {
		t.Errorf("SameContent = %+v, %v, %v, want %q", got, ok, err, history.TakenOut)
	}
}

// The number of the newest file is not given again, though all of the line are gone.
func TestForgetKeepsTheNewest(t *testing.T) {
	path := filepath.Join(t.TempDir(), "h")
	d := open(t, path)
	if err := d.Append(t.Context(), batch(0, 5)); err != nil {
		t.Fatal(err)
	}
	k := history.Keep{Spectra: week}
	if _, err := d.Prune(t.Context(), filler, k, noon.Add(2*week), false); err != nil {
		t.Fatal(err)
	}
	asked := 0
	if n, err := d.Forget(t.Context(), filler, k, noon.Add(4*week), goneBut(&asked), false); err != nil || n != 4 {
		t.Fatalf("Forget = %d, %v, want all but the newest", n, err)
	}
	if err := d.Close(); err != nil {
		t.Fatal(err)
	}
	d = open(t, path)
	if err := d.Append(t.Context(), batch(5, 6)); err != nil {
		t.Fatal(err)
	}
	seen, err := d.Seen(t.Context(), filler, []string{judged(5).File.Name})
	if f := seen[judged(5).File.Name]; err != nil || f.ID != 6 || f.Version != 2 {
		t.Errorf("Seen of the next file = %+v, %v, want number 6 and a version that no file before it had", f, err)
	}
}

// Where it cannot be told which files are gone, all stay.
func TestForgetWhereItCannotBeTold(t *testing.T) {
	d := open(t, filepath.Join(t.TempDir(), "h"))
	if err := d.Append(t.Context(), batch(0, 5)); err != nil {
		t.Fatal(err)
	}
	k := history.Keep{Spectra: week}
	if _, err := d.Prune(t.Context(), filler, k, noon.Add(2*week), false); err != nil {
		t.Fatal(err)
	}
	away := errors.New("the share is away")
	if n, err := d.Forget(t.Context(), filler, k, noon.Add(4*week), func([]string) ([]bool, error) { return nil, away }, false); !errors.Is(err, away) || n != 0 {
		t.Errorf("Forget = %d, %v, want %v", n, err, away)
	}
	if seen, err := d.Seen(t.Context(), filler, []string{judged(0).File.Name}); err != nil || len(seen) != 1 {
		t.Errorf("Seen = %v, %v, want the file known", seen, err)
	}
}

// A server keeps what it knows of files. A name that is used again after its file was forgotten at the line comes there as a later
// version, and another computer that takes the line over knows the old one.
func TestForgetAtTheLineOfAServer(t *testing.T) {
	address := onServer(t)
	dir := t.TempDir()
	near := open(t, filepath.Join(dir, "near"))
	if err := near.Append(t.Context(), batch(0, 20)); err != nil {
		t.Fatal(err)
	}
	f := far(t, near, address, filler)
	k := history.Keep{Spectra: week}
	asked := 0
	if _, err := near.Prune(t.Context(), filler, k, noon.Add(2*week), false); err != nil {
		t.Fatal(err)
	}
	if n, err := near.Forget(t.Context(), filler, k, noon.Add(4*week), goneBut(&asked), false); err != nil || n != 19 {
		t.Fatalf("Forget = %d, %v, want 19", n, err)
	}
	again := judged(30)
	again.File.Name, again.Records[0].File = judged(3).File.Name, judged(3).File.Name
	if err := near.Append(t.Context(), history.Batch{Line: filler, Files: []history.Judged{again}}); err != nil {
		t.Fatal(err)
	}
	if n := deliver(t, f, filler); n != 1 {
		t.Errorf("delivered %d spectra, want the one under a name used again", n)
	}
	server := open(t, address)
	if _, err := server.Forget(t.Context(), filler, k, noon.Add(4*week), goneBut(&asked), false); !errors.Is(err, history.ErrOnServer) {
		t.Errorf("Forget on a server = %v, want %v", err, history.ErrOnServer)
	}
	seen, err := server.Seen(t.Context(), filler, []string{judged(3).File.Name, judged(4).File.Name})
	if err != nil || len(seen) != 2 || seen[judged(3).File.Name].Version != 2 {
		t.Errorf("Seen on the server = %+v, %v, want both, that used again as version 2", seen, err)
	}
	if err := errors.Join(f.Close(), near.Close(), server.Close()); err != nil {
		t.Fatal(err)
	}
	other := open(t, filepath.Join(dir, "other"))
	far(t, other, address, filler)
	for _, n := range []int{3, 4, 30} {
		if got, ok, err := other.SameContent(t.Context(), filler, judged(n).File.Digest); err != nil || !ok || got.Rows == 0 {
			t.Errorf("SameContent of file %d on another computer = %+v, %v, %v, want it known", n, got, ok, err)
		}
	}
}

// What is forgotten goes to a server with the line, and from there to another computer.
func TestWhatIsForgottenIsCarried(t *testing.T) {
	address := onServer(t)
	dir := t.TempDir()
	near := open(t, filepath.Join(dir, "near"))
	if err := near.Append(t.Context(), batch(0, 20)); err != nil {
		t.Fatal(err)
	}
	k := history.Keep{Spectra: week}
	asked := 0
	if _, err := near.Prune(t.Context(), filler, k, noon.Add(2*week), false); err != nil {
		t.Fatal(err)
	}
	if n, err := near.Forget(t.Context(), filler, k, noon.Add(4*week), goneBut(&asked), false); err != nil || n != 19 {
		t.Fatalf("Forget = %d, %v, want 19", n, err)
	}
	f := far(t, near, address, filler)
	if err := errors.Join(f.Close(), near.Close()); err != nil {
		t.Fatal(err)
	}
	other := open(t, filepath.Join(dir, "other"))
	far(t, other, address, filler)
	var names []string
	for n := range 20 {
		got, ok, err := other.SameContent(t.Context(), filler, judged(n).File.Digest)
		if err != nil || !ok {
			t.Fatalf("SameContent of file %d = %v, %v, want it known", n, ok, err)
		}
		names = append(names, got.Name)
	}
	want := make([]string, 19, 20)
	for i := range want {
		want[i] = history.TakenOut
	}
	if want = append(want, judged(19).File.Name); !reflect.DeepEqual(names, want) {
		t.Errorf("names = %q, want %q", names, want)
	}
	if err := other.Append(t.Context(), batch(20, 21)); err != nil {
		t.Fatal(err)
	}
	seen, err := other.Seen(t.Context(), filler, []string{judged(20).File.Name})
	if f := seen[judged(20).File.Name]; err != nil || f.Version != 2 {
		t.Errorf("Seen of the next file = %+v, %v, want version 2", f, err)
	}
}

// BenchmarkForget forgets files, and says how many bytes of history a known and a forgotten one cost.
func BenchmarkForget(b *testing.B) {
	const n = 200_000
	for b.Loop() {
		path := filepath.Join(b.TempDir(), "h")
		d := open(b, path)
		size := func(what string) {
			var pages, free, bytes float64
			if err := d.Pages(b.Context(), &pages, &free, &bytes); err != nil {
				b.Fatal(err)
			}
			b.ReportMetric((pages-free)*bytes/n, what)
		}
		for i := 0; i < n; i += 2000 {
			in := batch(i, i+2000)
			for j := range in.Files { // digests have no order
				g := &in.Files[j].File.Digest
				*g = digest(uint64(i+j) * 0xbf58476d1ce4e5b9)
				binary.LittleEndian.PutUint64(g[8:], uint64(i+j)*0x94d049bb133111eb)
				in.Files[j].File.Name = fmt.Sprintf("2026-11-25/scan_20261125_%06d.csv", i+j)
			}
			if err := d.Append(b.Context(), in); err != nil {
				b.Fatal(err)
			}
		}
		k := history.Keep{Spectra: week}
		if _, err := d.Prune(b.Context(), filler, k, noon.Add(2*week), false); err != nil {
			b.Fatal(err)
		}
		size("known-B/file")
		asked := 0
		began := time.Now()
		if got, err := d.Forget(b.Context(), filler, k, noon.Add(4*week), goneBut(&asked), false); err != nil || got != n-1 {
			b.Fatalf("Forget = %d, %v, want %d", got, err, n-1)
		}
		b.ReportMetric(float64(time.Since(began).Nanoseconds())/n, "ns/file")
		size("forgotten-B/file")
		if err := d.Close(); err != nil {
			b.Fatal(err)
		}
	}
}
