package history_test

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"asusual/model/spectrum"
	"asusual/monitor/history"
)

// old is a history of 12,000 spectra, one a second from noon on, with all else that grows old.
func old(t *testing.T, where string) *history.DB {
	t.Helper()
	d := open(t, where)
	b := batch(0, 12_000)
	at := func(s int) time.Time { return noon.Add(time.Duration(s) * time.Second) }
	axis, err := spectrum.NewAxis(spectrum.Nanometre, []float64{1000, 1010, 1020})
	if err != nil {
		t.Fatal(err)
	}
	b.Files[1].Unreadable = []history.Unreadable{{Time: at(1), Reason: "empty"}}
	b.Files[11_999].Copies = []history.Copy{{Of: "x", Rows: 1, Time: at(11_999)}}
	for i := range 40 {
		b.Means = append(b.Means, history.Mean{From: at(300 * i), Condition: "usual", Axis: axis, Count: 1, Values: []float64{1, 2, 3}})
	}
	b.Episodes = []history.Episode{{From: at(10), To: at(20), ChangedSince: at(9), Reference: "r"}, {From: at(50), ChangedSince: at(9), Reference: "r"}}
	mean := &history.Mean{Axis: axis, Count: 1, Values: []float64{1, 2, 3}}
	b.Groups = []history.Group{{Name: "A", From: at(1), To: at(10), Mean: mean}, {Name: "B", From: at(1), To: at(11_000), Mean: mean}}
	b.Acts = []history.Act{{Time: at(10), Act: "raised"}, {Time: at(11_000), Act: "raised"}}
	if err := d.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	return d
}

func TestPrune(t *testing.T) { onBoth(t, testPrune) }

func testPrune(t *testing.T, where string) {
	d := old(t, where)
	now := noon.Add(12_000 * time.Second)
	k := history.Keep{Spectra: 500 * time.Second, Means: 3000 * time.Second, Episodes: 10_000 * time.Second}
	want := history.Pruned{Spectra: 11_500, Unreadable: 1, Means: 30, Episodes: 1, Groups: 1, Acts: 1}
	for _, dry := range []bool{true, false} {
		if got, err := d.Prune(t.Context(), "Filler 3", k, now, dry); err != nil || got != want {
			t.Errorf("Prune, dry %v = %+v, %v, want %+v", dry, got, err, want)
		}
	}
	if got, err := d.Prune(t.Context(), "Filler 3", k, now, false); err != nil || got != (history.Pruned{}) {
		t.Errorf("Prune, again = %+v, %v, want nothing", got, err)
	}
	if got, err := d.Prune(t.Context(), "Filler 3", history.Keep{}, now.AddDate(100, 0, 0), false); err != nil || got != (history.Pruned{}) {
		t.Errorf("Prune where all is kept = %+v, %v, want nothing", got, err)
	}
	if got, err := d.Prune(t.Context(), "Filler 4", k, now, false); err != nil || got != (history.Pruned{}) {
		t.Errorf("Prune of another line = %+v, %v, want nothing", got, err)
	}
	q := history.Query{Line: "Filler 3"}
	if first, last, _, err := d.Span(t.Context(), q.Line); err != nil || !first.Equal(noon.Add(11_500*time.Second)) || !last.Equal(noon.Add(11_999*time.Second)) {
		t.Errorf("Span = %v, %v, %v, want the last 500 s", first, last, err)
	}
	if first, last, ok, err := d.Came(t.Context(), q.Line); err != nil || !ok || !first.Equal(noon.Add(11_500*time.Second)) || !last.Equal(noon.Add(11_999*time.Second)) {
		t.Errorf("Came = %v, %v, %v, %v, want the last 500 s", first, last, ok, err)
	}
	if es := all(t, d.Episodes(t.Context(), q)); len(es) != 1 || !es[0].To.IsZero() {
		t.Errorf("Episodes = %+v, want the one that lasts", es)
	}
	name := judged(3).File.Name
	if seen, err := d.Seen(t.Context(), q.Line, []string{name}); err != nil || seen[name].ID == 0 {
		t.Errorf("Seen of a file whose record was taken out = %+v, %v, want it known", seen, err)
	}
	read, err := history.Read(t.Context(), where)
	if err != nil {
		t.Fatal(err)
	}
	defer read.Close()
	if _, err := read.Prune(t.Context(), q.Line, k, now, false); !errors.Is(err, history.ErrNotWatcher) {
		t.Errorf("Prune of a history that is read = %v, want %v", err, history.ErrNotWatcher)
	}
}

func TestBackupWhileItIsWritten(t *testing.T) {
	d := open(t, filepath.Join(t.TempDir(), "h"))
	if err := d.Append(t.Context(), batch(0, 3000)); err != nil {
		t.Fatal(err)
	}
	read, err := history.Read(t.Context(), d.Path())
	if err != nil {
		t.Fatal(err)
	}
	defer read.Close()
	stop, done := make(chan struct{}), make(chan error, 1)
	go func() {
		for n := 3000; ; n += 10 {
			select {
			case <-stop:
				done <- nil
				return
			default:
			}
			if err := d.Append(t.Context(), batch(n, n+10)); err != nil {
				done <- err
				return
			}
		}
	}()
	dir := t.TempDir()
	to := filepath.Join(dir, "it's a copy")
	if err := read.Backup(t.Context(), to); err != nil {
		t.Errorf("Backup = %v, want nil", err)
	}
	close(stop)
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	if err := read.Backup(t.Context(), to); err == nil || !strings.Contains(err.Error(), "writes over nothing") {
		t.Errorf("Backup over a file = %v, want it refused", err)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 1 {
		t.Errorf("left beside the backup: %v, %v, want nothing", left, err)
	}
	c, err := history.Read(t.Context(), to)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	got := all(t, c.Spectra(t.Context(), history.Query{Line: "Filler 3"}))
	if n := len(got); n < 3000 || n%10 != 0 || !reflect.DeepEqual(got[n-1], judged(n - 1).Records[0]) {
		t.Errorf("the copy has %d records, want at least 3,000 in whole batches", n)
	}
}
