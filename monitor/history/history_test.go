package history_test

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"asusual/model/finding"
	"asusual/model/spectrum"
	"asusual/monitor/history"
	"asusual/monitor/keep"
)

var noon = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

func open(t testing.TB, path string) *history.DB {
	t.Helper()
	d, err := history.Open(t.Context(), path, "test")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := d.Close(); err != nil {
			t.Error(err)
		}
	})
	return d
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

func digest(n uint64) (d history.Digest) {
	binary.LittleEndian.PutUint64(d[:], n*0x9e3779b97f4a7c15)
	return d
}

// judged returns one file of one spectrum, n seconds after noon.
func judged(n int) history.Judged {
	at := noon.Add(time.Duration(n) * time.Second)
	name := fmt.Sprintf("2026-11-25/s%06d.csv", n)
	return history.Judged{
		File: history.File{Name: name, Version: 1, Size: 4096, Modified: at, Digest: digest(uint64(n)), Bytes: 4096, Rows: 1, Received: at},
		Records: []history.Record{{Line: "Filler 3", File: name, Time: at, Received: at.Add(time.Second), Run: "2026-11-25", Condition: "usual",
			T2: 3.5, Q: 1e-6 * float64(n+1), Distance: 0.5, Inside: true, Verdict: "as usual",
			Scores: []float64{1, -2, math.Pi, 4, 5, float64(n)}, Map: [2]float32{0.25, -1.5}, Rough: [2]float32{1e-4, 2e-4},
			Instrument: "fit", Reference: "abc123", Mark: int64(n)}},
	}
}

func batch(from, to int) history.Batch {
	b := history.Batch{Line: "Filler 3"}
	for n := from; n < to; n++ {
		b.Files = append(b.Files, judged(n))
	}
	return b
}

func TestAppendAndReadBack(t *testing.T) { onBoth(t, testAppendAndReadBack) }

func testAppendAndReadBack(t *testing.T, where string) {
	d := open(t, where)
	b := batch(0, 250)
	b.Files[3].Records[0].Reasons = []finding.Finding{finding.Of(finding.AboveQ, "", 2, 1), finding.Of(finding.OffAxis, "<b>\n")}
	b.Files[3].Records[0].Inside = false
	b.State = history.State{Course: []byte(`{"n":1}`), Reference: "abc123", Newest: noon.Add(249 * time.Second)}
	b.Reference = &history.Reference{Since: noon, Fingerprint: "abc123", Name: "line 3"}
	b.Episodes = []history.Episode{{From: noon, ChangedSince: noon.Add(-time.Minute), Spectra: 3, Peak: 2.5, Group: "A", Reference: "abc123"}}
	if err := d.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	r, err := history.Read(t.Context(), where)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	got := all(t, r.Spectra(t.Context(), history.Query{Line: "Filler 3"}))
	if len(got) != 250 {
		t.Fatalf("Spectra = %d records, want 250", len(got))
	}
	for i := range got {
		if !reflect.DeepEqual(got[i], b.Files[i].Records[0]) {
			t.Fatalf("Spectra, record %d = %+v, want %+v", i, got[i], b.Files[i].Records[0])
		}
	}
	if s, err := r.State(t.Context(), "Filler 3"); err != nil || !reflect.DeepEqual(s, b.State) {
		t.Errorf("State = %+v, %v, want %+v", s, err, b.State)
	}
	refs := all(t, r.References(t.Context(), history.Query{Line: "Filler 3", From: noon.Add(time.Hour)}))
	if len(refs) != 1 || refs[0].Fingerprint != "abc123" || !refs[0].Since.Equal(noon) {
		t.Errorf("References an hour later = %+v, want the one that came before", refs)
	}
	if lines, err := r.Lines(t.Context()); err != nil || !reflect.DeepEqual(lines, []string{"Filler 3"}) {
		t.Errorf("Lines = %q, %v, want Filler 3", lines, err)
	}
	first, last, ok, err := r.Span(t.Context(), "Filler 3")
	if err != nil || !ok || !first.Equal(noon) || !last.Equal(noon.Add(249*time.Second)) {
		t.Errorf("Span = %v, %v, %v, %v, want noon to 249 s later", first, last, ok, err)
	}
	if _, _, ok, err := r.Span(t.Context(), "another"); ok || err != nil {
		t.Errorf("Span of a line that is not there = %v, %v, want false, nil", ok, err)
	}
}

// What could not be read came, too, also where nothing else did.
func TestCame(t *testing.T) {
	onBoth(t, func(t *testing.T, where string) {
		d := open(t, where)
		if _, _, ok, err := d.Came(t.Context(), "Filler 3"); ok || err != nil {
			t.Errorf("Came of a line that is not there = %v, %v, want false, nil", ok, err)
		}
		bad := func(n int, at time.Time) history.Batch {
			name := fmt.Sprint("bad", n, ".csv")
			return history.Batch{Line: "Filler 3", Files: []history.Judged{{File: history.File{Name: name, Version: 1, Modified: at},
				Unreadable: []history.Unreadable{{Time: at, Received: at, Reason: "empty", Count: 1}}}}}
		}
		good := history.Batch{Line: "Filler 3", Files: []history.Judged{judged(3)}}
		at := good.Files[0].Records[0].Time
		for _, c := range []struct {
			batch       history.Batch
			first, last time.Time
		}{
			{bad(1, at.Add(time.Minute)), at.Add(time.Minute), at.Add(time.Minute)},
			{good, at, at.Add(time.Minute)},
			{bad(2, at.Add(-time.Hour)), at.Add(-time.Hour), at.Add(time.Minute)},
		} {
			if err := d.Append(t.Context(), c.batch); err != nil {
				t.Fatal(err)
			}
			if first, last, ok, err := d.Came(t.Context(), "Filler 3"); err != nil || !ok || !first.Equal(c.first) || !last.Equal(c.last) {
				t.Errorf("Came = %v, %v, %v, %v, want %v, %v", first, last, ok, err, c.first, c.last)
			}
		}
	})
}

// What is told of a line besides its spectra comes back as it was given, and what is given again replaces it.
func TestGroupsAlarmActsAndState(t *testing.T) { onBoth(t, testGroupsAlarmActsAndState) }

func testGroupsAlarmActsAndState(t *testing.T, where string) {
	d := open(t, where)
	at := func(min int) time.Time { return noon.Add(time.Duration(min) * time.Minute) }
	b := batch(0, 4)
	for i := range b.Files[1:] {
		b.Files[i+1].Records[0].Group, b.Files[i+1].Records[0].Condition = "group 2026-11-25 A", "uncharted"
	}
	axis, err := spectrum.NewAxis(spectrum.Nanometre, []float64{900, 1000, 1100})
	if err != nil {
		t.Fatal(err)
	}
	mean := func(n int, v float64) *history.Mean {
		return &history.Mean{Axis: axis, Count: n, Values: []float64{v, v, 0.5}}
	}
	b.Groups = []history.Group{{Name: "group 2026-11-25 A", From: at(0), To: at(1), Spectra: 3, Episode: at(0), Mean: mean(3, 1)}}
	b.Episodes = []history.Episode{{From: at(0), ChangedSince: at(0), Spectra: 3, Reference: "abc123", Instrument: "ageing",
		Reasons: []finding.Finding{finding.Of(finding.LikePath, "", 3, 98)}}}
	b.State = history.State{Course: []byte(`{"n":1}`), Groups: []byte(`{"day":"x"}`), Past: []byte(`[1]`), Reference: "abc123", Basis: "b", Newest: at(0)}
	b.Alarm = []byte(`{"state":"unacknowledged"}`)
	b.Acts = []history.Act{{Time: at(1), Act: "raised", State: "unacknowledged", Episode: at(0)},
		{Time: at(2), Act: "shelved", Who: "Ada <b>", Why: "cleaning", Until: at(60), State: "shelved", Request: "r1"}}
	if err := d.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	next := history.Batch{Line: "Filler 3", State: history.State{Course: []byte(`{"n":2}`), Reference: "new", Basis: "c"},
		Groups: []history.Group{{Name: "group 2026-11-25 A", From: at(0), To: at(9), Spectra: 12, Seen: "group 2026-11-12 B", Mean: mean(12, 2)}},
		Acts:   []history.Act{{Time: at(3), Act: "shelved", Request: "r1"}, {Time: at(4), Act: "acknowledged", Refused: "it is shelved", Request: "r2"}}}
	if err := d.Append(t.Context(), next); err != nil {
		t.Fatal(err)
	}
	q := history.Query{Line: "Filler 3"}
	want := history.Group{Line: "Filler 3", Name: "group 2026-11-25 A", From: at(0), To: at(9), Spectra: 12, Seen: "group 2026-11-12 B", Episode: at(0), Mean: mean(12, 2)}
	if got := all(t, d.Groups(t.Context(), q)); len(got) != 1 || !reflect.DeepEqual(got[0], want) {
		t.Errorf("Groups = %+v, want %+v", got, want)
	}
	wrong := history.Batch{Line: "Filler 3", Groups: []history.Group{{Name: "group 2026-11-25 A", From: at(0), To: at(9), Mean: &history.Mean{Axis: axis, Count: 1}}}}
	if err := d.Append(t.Context(), wrong); err == nil {
		t.Error("Append of a group's mean that does not fit its axis = nil, want an error")
	}
	without := history.Batch{Line: "Filler 3", Groups: []history.Group{want}}
	without.Groups[0].Mean = nil
	if err := d.Append(t.Context(), without); err != nil {
		t.Fatal(err)
	}
	if got := all(t, d.Groups(t.Context(), q)); len(got) != 1 || !reflect.DeepEqual(got[0], want) {
		t.Errorf("Groups after one without a mean = %+v, want %+v", got, want)
	}
	if got := all(t, d.Groups(t.Context(), history.Query{Line: "Filler 3", From: at(10)})); len(got) != 0 {
		t.Errorf("Groups after its end = %+v, want none", got)
	}
	if got := all(t, d.OfGroup(t.Context(), q, want.Name)); len(got) != 3 || got[0].File != "2026-11-25/s000001.csv" || got[0].Group != want.Name {
		t.Errorf("OfGroup = %+v, want records 1 to 3", got)
	}
	if got := all(t, d.Episodes(t.Context(), q)); len(got) != 1 || got[0].Instrument != "ageing" || !reflect.DeepEqual(got[0].Reasons, b.Episodes[0].Reasons) {
		t.Errorf("Episodes = %+v, want %+v", got, b.Episodes[0])
	}
	s := history.State{Course: []byte(`{"n":2}`), Groups: []byte(`{"day":"x"}`), Past: []byte(`[1]`), Reference: "new", Basis: "c"}
	if got, err := d.State(t.Context(), "Filler 3"); err != nil || !reflect.DeepEqual(got, s) {
		t.Errorf("State = %+v, %v, want %+v: what seldom changes stays", got, err, s)
	}
	if got, err := d.Alarm(t.Context(), "Filler 3"); err != nil || string(got) != string(b.Alarm) {
		t.Errorf("Alarm = %s, %v, want %s", got, err, b.Alarm)
	}
	if got, err := d.Alarm(t.Context(), "Filler 4"); err != nil || got != nil {
		t.Errorf("Alarm of another line = %s, %v, want none", got, err)
	}
	acts := all(t, d.Acts(t.Context(), q))
	for i := range b.Acts {
		b.Acts[i].Line = "Filler 3"
	}
	if len(acts) != 3 || acts[0] != b.Acts[0] || acts[1] != b.Acts[1] || acts[2].Refused != "it is shelved" {
		t.Errorf("Acts = %+v, want the first two, a request once, and what was refused", acts)
	}
	if a, ok, err := d.Answer(t.Context(), "Filler 3", "r1"); err != nil || !ok || a != b.Acts[1] {
		t.Errorf("Answer = %+v, %v, %v, want %+v", a, ok, err, b.Acts[1])
	}
	if _, ok, err := d.Answer(t.Context(), "Filler 3", "r3"); err != nil || ok {
		t.Errorf("Answer to what was not asked = %v, %v, want none", ok, err)
	}
}

func TestQueriesKeepToTheirPeriodAndLine(t *testing.T) {
	onBoth(t, testQueriesKeepToTheirPeriodAndLine)
}

func testQueriesKeepToTheirPeriodAndLine(t *testing.T, where string) {
	d := open(t, where)
	other := batch(0, 100)
	other.Line = "Filler 4"
	for _, b := range []history.Batch{batch(0, 60), other, batch(60, 100)} {
		if err := d.Append(t.Context(), b); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct{ from, to, want int }{{0, 100, 100}, {10, 20, 10}, {10, 10, 0}, {-50, 5, 5}, {95, 500, 5}} {
		q := history.Query{Line: "Filler 3", From: noon.Add(time.Duration(c.from) * time.Second), To: noon.Add(time.Duration(c.to) * time.Second)}
		if got := all(t, d.Spectra(t.Context(), q)); len(got) != c.want {
			t.Errorf("Spectra from %d to %d s = %d records, want %d", c.from, c.to, len(got), c.want)
		}
		counts, err := d.Counts(t.Context(), q, 0)
		if err != nil || counts.Judged != c.want || counts.Inside != c.want || counts.Received != c.want {
			t.Errorf("Counts from %d to %d s = %+v, %v, want %d judged", c.from, c.to, counts, err, c.want)
		}
	}
	early, late := noon.AddDate(-526, 0, 0), noon.AddDate(1000, 0, 0) // beyond what nanoseconds in 64 bits hold
	for _, c := range []struct {
		from, to time.Time
		want     int
	}{{late, time.Time{}, 0}, {time.Time{}, early, 0}, {late, late.Add(1), 0}, {early, late, 100}} {
		q := history.Query{Line: "Filler 3", From: c.from, To: c.to}
		if got := all(t, d.Spectra(t.Context(), q)); len(got) != c.want {
			t.Errorf("Spectra from %v to %v = %d records, want %d", c.from, c.to, len(got), c.want)
		}
	}
	newest := all(t, d.Newest(t.Context(), history.Query{Line: "Filler 3"}, 3))
	if len(newest) != 3 || !newest[0].Time.Equal(noon.Add(99*time.Second)) || !newest[2].Time.Equal(noon.Add(97*time.Second)) {
		t.Errorf("Newest 3 = %v, want 99, 98, 97 s", newest)
	}
	for range d.Spectra(t.Context(), history.Query{Line: "Filler 3"}) {
		break // leaving early gives the connection back
	}
}

func TestAppendIsAllOrNothing(t *testing.T) { onBoth(t, testAppendIsAllOrNothing) }

func testAppendIsAllOrNothing(t *testing.T, where string) {
	d := open(t, where)
	if err := d.Append(t.Context(), batch(0, 10)); err != nil {
		t.Fatal(err)
	}
	again := batch(9, 20) // file 9 is there already
	again.State = history.State{Course: []byte("x"), Reference: "new"}
	if err := d.Append(t.Context(), again); err == nil {
		t.Error("Append of a file version that is there = nil, want an error")
	}
	cancelled, cancel := context.WithCancel(t.Context())
	cancel()
	if err := d.Append(cancelled, batch(10, 20)); !errors.Is(err, context.Canceled) {
		t.Errorf("Append with a cancelled context = %v, want %v", err, context.Canceled)
	}
	bad := batch(10, 500)
	bad.Files[489].Records[0].Time = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)
	if err := d.Append(t.Context(), bad); err == nil || !strings.Contains(err.Error(), "9999") {
		t.Errorf("Append of a time that cannot be kept = %v, want it named", err)
	}
	counts, err := d.Counts(t.Context(), history.Query{Line: "Filler 3"}, 0)
	if err != nil || counts.Judged != 10 {
		t.Errorf("Counts after three Appends that went wrong = %+v, %v, want 10 judged", counts, err)
	}
	if s, err := d.State(t.Context(), "Filler 3"); err != nil || s.Course != nil {
		t.Errorf("State after them = %+v, %v, want none", s, err)
	}
	if err := d.Append(t.Context(), batch(10, 20)); err != nil {
		t.Errorf("Append after them = %v, want nil", err)
	}
}

func TestFilesAreKnownByNameAndContent(t *testing.T) { onBoth(t, testFilesAreKnownByNameAndContent) }

func testFilesAreKnownByNameAndContent(t *testing.T, where string) {
	d := open(t, where)
	if err := d.Append(t.Context(), batch(0, 700)); err != nil {
		t.Fatal(err)
	}
	names := []string{"missing.csv", "2026-11-25/s000699.csv"}
	for n := range 600 {
		names = append(names, fmt.Sprintf("2026-11-25/s%06d.csv", n))
	}
	seen, err := d.Seen(t.Context(), "Filler 3", names)
	if err != nil || len(seen) != 601 {
		t.Fatalf("Seen = %d files, %v, want 601", len(seen), err)
	}
	f := seen["2026-11-25/s000699.csv"]
	want := judged(699).File
	want.ID = f.ID
	if f != want {
		t.Errorf("Seen = %+v, want %+v", f, want)
	}

	f.Size, f.Bytes, f.Rows, f.Digest = 8192, 8192, 2, digest(5000) // it grew by a row
	resaved := judged(698)
	resaved.File.Version, resaved.File.Digest = 2, digest(6000)
	if err := d.Append(t.Context(), history.Batch{Line: "Filler 3", Files: []history.Judged{{File: f}, resaved}}); err != nil {
		t.Fatal(err)
	}
	seen, err = d.Seen(t.Context(), "Filler 3", []string{f.Name, resaved.File.Name})
	if err != nil || seen[f.Name].Rows != 2 || seen[f.Name].Version != 1 || seen[resaved.File.Name].Version != 2 {
		t.Errorf("Seen after growth and a re-save = %+v, %v, want 2 rows and version 2", seen, err)
	}
	same, ok, err := d.SameContent(t.Context(), "Filler 3", digest(6000))
	if err != nil || !ok || same.Name != resaved.File.Name {
		t.Errorf("SameContent = %+v, %v, %v, want %s", same, ok, err, resaved.File.Name)
	}
	if _, ok, err := d.SameContent(t.Context(), "another", digest(6000)); ok || err != nil {
		t.Errorf("SameContent in another line = %v, %v, want false, nil", ok, err)
	}
	digests := []history.Digest{digest(6000), digest(6000), digest(7777)}
	for n := range 100 {
		digests = append(digests, digest(uint64(n)))
	}
	all, err := d.SameContents(t.Context(), "Filler 3", digests)
	if err != nil || len(all) != 101 || all[digest(99)].Name != "2026-11-25/s000099.csv" {
		t.Errorf("SameContents = %d files, %v, content 99 in %q, want 101, s000099.csv", len(all), err, all[digest(99)].Name)
	}
	if of, err := d.JudgedBefore(t.Context(), "Filler 3", noon.Add(5*time.Second), 5); err != nil || of != "2026-11-25/s000005.csv" {
		t.Errorf("JudgedBefore = %q, %v, want s000005.csv", of, err)
	}
	if of, err := d.JudgedBefore(t.Context(), "Filler 3", noon.Add(5*time.Second), 6); err != nil || of != "" {
		t.Errorf("JudgedBefore with another mark = %q, %v, want none", of, err)
	}
}

func TestUnreadableCopiesAndGapsAreCounted(t *testing.T) {
	onBoth(t, testUnreadableCopiesAndGapsAreCounted)
}

func testUnreadableCopiesAndGapsAreCounted(t *testing.T, where string) {
	d := open(t, where)
	b := batch(0, 3)
	b.Files = append(b.Files, judged(600)) // after ten minutes of nothing
	bad := history.Judged{File: history.File{Name: "bad\n<i>.csv", Version: 1, Modified: noon}, Unreadable: []history.Unreadable{
		{Time: noon, Received: noon, Reason: "empty"}}}
	copied := history.Judged{File: history.File{Name: "copy.csv", Version: 1, Modified: noon}, Copies: []history.Copy{
		{Of: "2026-11-25/s000000.csv", Rows: 4, Time: noon, Received: noon}}}
	b.Files = append(b.Files, bad, copied)
	if err := d.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	q := history.Query{Line: "Filler 3"}
	c, err := d.Counts(t.Context(), q, time.Minute)
	want := history.Counts{Received: 9, Judged: 4, Inside: 4, Unreadable: 1, Copies: 4, Conditions: map[string]int{"usual": 4},
		Gaps: []history.Gap{{From: noon.Add(2 * time.Second), To: noon.Add(600 * time.Second)}}}
	if err != nil || !reflect.DeepEqual(c, want) {
		t.Errorf("Counts = %+v, %v, want %+v", c, err, want)
	}
	if us := all(t, d.Unreadable(t.Context(), q)); len(us) != 1 || us[0].File != "bad\n<i>.csv" || us[0].Reason != "empty" || us[0].Count != 1 || us[0].Mended {
		t.Errorf("Unreadable = %+v, want the bad file, one, not mended", us)
	}
	mended := history.Judged{File: history.File{Name: bad.File.Name, Version: 2, Modified: noon.Add(time.Second), Rows: 1}}
	if err := d.Append(t.Context(), history.Batch{Line: "Filler 3", Files: []history.Judged{mended}}); err != nil {
		t.Fatal(err)
	}
	if us := all(t, d.Unreadable(t.Context(), q)); len(us) != 1 || !us[0].Mended {
		t.Errorf("Unreadable after the file was saved again = %+v, want it mended", us)
	}
	if cs := all(t, d.Copies(t.Context(), q)); len(cs) != 1 || cs[0].Of != "2026-11-25/s000000.csv" || cs[0].Rows != 4 {
		t.Errorf("Copies = %+v, want one of s000000.csv", cs)
	}
}

func TestEpisodesAreKnownByTheirBeginning(t *testing.T) {
	onBoth(t, testEpisodesAreKnownByTheirBeginning)
}

func testEpisodesAreKnownByTheirBeginning(t *testing.T, where string) {
	d := open(t, where)
	e := history.Episode{From: noon, ChangedSince: noon.Add(-time.Hour), Spectra: 1, Peak: 2, Reference: "r"}
	for _, change := range []func(){func() {}, func() { e.Spectra = 9; e.Peak = math.Inf(1) }, func() { e.To = noon.Add(time.Hour) }} {
		change()
		if err := d.Append(t.Context(), history.Batch{Line: "a", Episodes: []history.Episode{e}}); err != nil {
			t.Fatal(err)
		}
	}
	got := all(t, d.Episodes(t.Context(), history.Query{Line: "a", From: noon.Add(30 * time.Minute)}))
	if len(got) != 1 || got[0].Spectra != 9 || !got[0].To.Equal(e.To) || got[0].Peak != math.MaxFloat64 {
		t.Errorf("Episodes = %+v, want one of 9 spectra that ended", got)
	}
	if got := all(t, d.Episodes(t.Context(), history.Query{Line: "a", From: noon.Add(2 * time.Hour)})); len(got) != 0 {
		t.Errorf("Episodes after its end = %+v, want none", got)
	}
}

// A law: the mean of a stretch does not depend on how its spectra were dealt into batches.
func TestMeansAddUp(t *testing.T) { onBoth(t, testMeansAddUp) }

func testMeansAddUp(t *testing.T, where string) {
	d := open(t, where)
	axis, err := spectrum.NewAxis(spectrum.Nanometre, []float64{900, 1000, 1100})
	if err != nil {
		t.Fatal(err)
	}
	n, sum := 0, 0.0
	for _, part := range []struct {
		count int
		value float64
	}{{1, 1}, {10, 1.25}, {3, 0.5}, {1000, 1.125}} {
		n += part.count
		sum += float64(part.count) * part.value
		b := history.Batch{Line: "a", Means: []history.Mean{{From: noon, Condition: "usual", Axis: axis, Count: part.count,
			Values: []float64{part.value, -part.value, 0}}}}
		if err := d.Append(t.Context(), b); err != nil {
			t.Fatal(err)
		}
	}
	got := all(t, d.Means(t.Context(), history.Query{Line: "a"}))
	if len(got) != 1 || got[0].Count != n || !got[0].Axis.Equal(axis) || got[0].Condition != "usual" || !got[0].From.Equal(noon) {
		t.Fatalf("Means = %+v, want one of %d spectra on %v", got, n, axis)
	}
	for i, want := range []float64{sum / float64(n), -sum / float64(n), 0} {
		if !(math.Abs(got[0].Values[i]-want) <= 1e-6) { // float32 keeps seven digits
			t.Errorf("mean of channel %d = %v, want %v", i, got[0].Values[i], want)
		}
	}
	if got[0].Length != 5*time.Minute {
		t.Errorf("a mean of which nothing else was said is of %v, want 5m", got[0].Length)
	}
	wrong := history.Mean{From: noon, Condition: "usual", Axis: axis, Count: 1, Values: []float64{1}}
	if err := d.Append(t.Context(), history.Batch{Line: "a", Means: []history.Mean{wrong}}); err == nil {
		t.Error("Append of a mean that does not fit its axis = nil, want an error")
	}
}

// Where the length of means is set anew, each spectrum is in one mean, which is as long as it says.
func TestMeansOfAnotherLength(t *testing.T) { onBoth(t, testMeansOfAnotherLength) }

func testMeansOfAnotherLength(t *testing.T, where string) {
	d := open(t, where)
	axis, err := spectrum.NewAxis(spectrum.Nanometre, []float64{900, 1000})
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range []history.Mean{{From: noon, Length: time.Minute}, {From: noon.Add(time.Minute), Length: time.Minute}, {From: noon, Length: 5 * time.Minute},
		{From: noon.Add(5 * time.Minute), Length: 5 * time.Minute}, {From: noon.Add(5 * time.Minute), Length: time.Minute}, {From: noon.Add(9 * time.Minute), Length: time.Minute}} {
		m.Condition, m.Axis, m.Count, m.Values = "usual", axis, 1, []float64{1, 2}
		if err := d.Append(t.Context(), history.Batch{Line: "a", Means: []history.Mean{m}}); err != nil {
			t.Fatal(err)
		}
	}
	want := []struct {
		after, length time.Duration
		n             int
	}{{0, 5 * time.Minute, 2}, {time.Minute, time.Minute, 1}, {5 * time.Minute, 5 * time.Minute, 2}, {9 * time.Minute, time.Minute, 1}}
	got := all(t, d.Means(t.Context(), history.Query{Line: "a"}))
	if len(got) != len(want) {
		t.Fatalf("Means = %+v, want %v", got, want)
	}
	for i, m := range got {
		if !m.From.Equal(noon.Add(want[i].after)) || m.Length != want[i].length || m.Count != want[i].n {
			t.Errorf("mean %d = %d spectra of %v from %v, want %v", i, m.Count, m.Length, m.From, want[i])
		}
	}
}

// Means of before their length was kept are of five minutes.
func TestMeansOfAnOldVersion(t *testing.T) {
	path := filepath.Join(t.TempDir(), "h")
	copyFile(t, filepath.Join("testdata", "version6.history"), path)
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	_, err = db.Exec(`INSERT INTO axis VALUES (1, 'f', '{"unit":"nm","at":[900,1000]}');
		INSERT INTO mean VALUES (1, ?, (SELECT id FROM word WHERE text = 'usual'), 1, 3, x'0000803f00000040')`, noon.UnixNano())
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	got := all(t, open(t, path).Means(t.Context(), history.Query{Line: "Filler 3"}))
	if len(got) != 1 || got[0].Length != 5*time.Minute || got[0].Count != 3 || got[0].Values[1] != 2 {
		t.Errorf("Means = %+v, want one of 3 spectra in 5m", got)
	}
}

func TestNoNumberIsReadBackThatIsNone(t *testing.T) { onBoth(t, testNoNumberIsReadBackThatIsNone) }

func testNoNumberIsReadBackThatIsNone(t *testing.T, where string) {
	d := open(t, where)
	b := batch(0, 1)
	r := &b.Files[0].Records[0]
	r.T2, r.Q, r.Distance, r.Scores = math.NaN(), math.Inf(1), math.Inf(-1), []float64{math.NaN(), math.Inf(1)}
	if err := d.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	got := all(t, d.Spectra(t.Context(), history.Query{Line: "Filler 3"}))[0]
	for _, v := range append(got.Scores, got.T2, got.Q, got.Distance) {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Errorf("a value read back = %v, want a number", v)
		}
	}
}

func TestOneWatcherAndManyReaders(t *testing.T) { onBoth(t, testOneWatcherAndManyReaders) }

func testOneWatcherAndManyReaders(t *testing.T, where string) {
	before := time.Now().Truncate(time.Second)
	d := open(t, where)
	if err := d.Hold(t.Context(), "Filler 3"); err != nil {
		t.Fatal(err)
	}
	after := time.Now()
	second, err := history.Open(t.Context(), where, "second")
	if err == nil { // on a server, where each line has a writer of its own
		defer second.Close()
		if err := second.Hold(t.Context(), "Filler 4"); err != nil {
			t.Errorf("Hold of another line = %v, want nil", err)
		}
		err = second.Append(t.Context(), batch(0, 1))
	}
	var held *keep.Held
	if !errors.As(err, &held) || !strings.HasPrefix(held.By.Name, "test") || held.By.PID != os.Getpid() ||
		held.By.Since.Before(before) || held.By.Since.After(after) {
		t.Errorf("second Open = %v, want it refused with the first's name, process and time", err)
	}
	if err := d.Append(t.Context(), batch(0, 10)); err != nil {
		t.Fatal(err)
	}
	r, err := history.Read(t.Context(), where)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	if err := r.Append(t.Context(), batch(10, 11)); !errors.Is(err, history.ErrNotWatcher) {
		t.Errorf("Append by a reader = %v, want %v", err, history.ErrNotWatcher)
	}
	n := 0
	for _, err := range r.Spectra(t.Context(), history.Query{Line: "Filler 3"}) {
		if err != nil {
			t.Fatal(err)
		}
		if n++; n == 2 { // the reader does not hold the watch up, and does not see what came after it began
			if err := d.Append(t.Context(), batch(10, 20)); err != nil {
				t.Fatal(err)
			}
		}
	}
	if n != 10 {
		t.Errorf("Spectra while a batch is written = %d records, want the 10 from before", n)
	}
	if got := all(t, r.Spectra(t.Context(), history.Query{Line: "Filler 3"})); len(got) != 20 {
		t.Errorf("Spectra after it = %d records, want 20", len(got))
	}
}

func TestOpenRefusesWithAReason(t *testing.T) {
	dir := t.TempDir()
	write := func(name string, data string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(data), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	database := func(name, statements string) string {
		path := filepath.Join(dir, name)
		db, err := sql.Open("sqlite", path)
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		if _, err := db.Exec(statements); err != nil {
			t.Fatal(err)
		}
		return path
	}
	newer := filepath.Join(dir, "newer")
	if err := open(t, newer).Close(); err != nil {
		t.Fatal(err)
	}
	database("newer", "PRAGMA user_version = 99")
	cut := filepath.Join(dir, "cut")
	if err := open(t, cut).Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(cut, 5000); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		path, says string
		want       error
	}{
		{write("text", strings.Repeat("no database\n", 100)), "not a history", history.ErrNotHistory},
		{database("other", "CREATE TABLE milk (id INTEGER)"), "another program", history.ErrNotHistory},
		{newer, "schema 99, this program knows up to 8", history.ErrNewer},
		{dir, "not a regular file", history.ErrNotHistory},
		{cut, "damaged", history.ErrDamaged},
	} {
		for how, open := range map[string]func() (*history.DB, error){
			"Open": func() (*history.DB, error) { return history.Open(t.Context(), c.path, "test") },
			"Read": func() (*history.DB, error) { return history.Read(t.Context(), c.path) },
		} {
			d, err := open()
			if d != nil || !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), filepath.Base(c.path)) {
				t.Errorf("%s(%s) = %v, %v, want %q", how, filepath.Base(c.path), d, err, c.says)
			}
		}
	}
	if _, err := history.Read(t.Context(), filepath.Join(dir, "none")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("Read of nothing = %v, want %v", err, os.ErrNotExist)
	}
	if _, err := history.Open(t.Context(), filepath.Join(dir, "none", "h"), "test"); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("Open in a folder that is not there = %v, want %v", err, os.ErrNotExist)
	}
	if _, err := history.Read(t.Context(), write("empty", "")); !errors.Is(err, history.ErrNotHistory) {
		t.Errorf("Read of an empty file = %v, want %v", err, history.ErrNotHistory)
	}
}

func TestAnotherProgramsLockIsSaid(t *testing.T) {
	path := filepath.Join(t.TempDir(), "h")
	d := open(t, path)
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if _, err := db.Exec("BEGIN IMMEDIATE"); err != nil {
		t.Fatal(err)
	}
	if err := d.SetBusy(t.Context(), "50"); err != nil {
		t.Fatal(err)
	}
	err = d.Append(t.Context(), batch(0, 1))
	if !errors.Is(err, history.ErrBusy) || !history.Passing(err) {
		t.Errorf("Append while another program holds the write lock = %v, want %v, passing", err, history.ErrBusy)
	}
	if _, err := db.Exec("ROLLBACK"); err != nil {
		t.Fatal(err)
	}
	if err := d.Append(t.Context(), batch(0, 1)); err != nil {
		t.Errorf("Append after it = %v, want nil", err)
	}
}

func TestCloseTwice(t *testing.T) { onBoth(t, testCloseTwice) }

func testCloseTwice(t *testing.T, where string) {
	d := open(t, where)
	if err := errors.Join(d.Close(), d.Close()); err != nil {
		t.Errorf("Close, twice = %v, want nil", err)
	}
	if err := d.Append(t.Context(), batch(0, 1)); !errors.Is(err, history.ErrNotWatcher) {
		t.Errorf("Append after Close = %v, want %v", err, history.ErrNotWatcher)
	}
}

// TestOldVersionsReadForEver reads histories that each version wrote.
func TestOldVersionsReadForEver(t *testing.T) {
	newest := filepath.Join("testdata", "version8.history")
	if os.Getenv("ASUSUAL_REGEN") != "" { // of this version only: the others cannot be written any more
		writeKept(t, newest)
	}
	olds, err := filepath.Glob(filepath.Join("testdata", "version*.history"))
	if err != nil || len(olds) < 5 {
		t.Fatalf("histories of old versions = %q, %v, want one of each", olds, err)
	}
	for _, kept := range olds {
		path := filepath.Join(t.TempDir(), "h")
		copyFile(t, kept, path)
		d := open(t, path)
		got := all(t, d.Spectra(t.Context(), history.Query{Line: "Filler 3"}))
		if len(got) != 5 || !reflect.DeepEqual(got[4], judged(4).Records[0]) {
			t.Errorf("Spectra of %s = %d records, the last %+v, want 5, %+v", kept, len(got), got[len(got)-1], judged(4).Records[0])
		}
		if err := d.Append(t.Context(), batch(5, 6)); err != nil {
			t.Errorf("Append to %s = %v, want nil", kept, err)
		}
	}
}

func writeKept(t *testing.T, path string) {
	made := filepath.Join(t.TempDir(), "made")
	d := open(t, made)
	if err := d.Append(t.Context(), batch(0, 5)); err != nil {
		t.Fatal(err)
	}
	if err := d.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	copyFile(t, made, path)
}

func copyFile(t *testing.T, from, to string) {
	t.Helper()
	in, err := os.Open(from)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	out, err := os.Create(to)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.Copy(out, in); err != nil {
		t.Fatal(err)
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
}

// A history has one watcher, by whatever link it is named.
func TestALinkToAHistoryHasItsLock(t *testing.T) {
	dir := t.TempDir()
	path, link := filepath.Join(dir, "a.history"), filepath.Join(dir, "link.history")
	if err := os.Symlink("a.history", link); err != nil {
		t.Skip(err)
	}
	for _, order := range [][2]string{{link, path}, {path, link}, {link, link}} { // at first the link leads to nothing
		first, err := history.Open(t.Context(), order[0], "first")
		if err != nil {
			t.Fatal(err)
		}
		var held *keep.Held
		if second, err := history.Open(t.Context(), order[1], "second"); !errors.As(err, &held) || held.By.Name != "first" {
			t.Errorf("Open(%s) beside %s = %v, %v, want it held by the first", filepath.Base(order[1]), filepath.Base(order[0]), second, err)
		}
		if err := first.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

func TestOpenRefusesAFileThatCannotBeWritten(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("root may write everywhere")
	}
	path := filepath.Join(t.TempDir(), "a.history")
	db, err := history.Open(t.Context(), path, "test")
	if err == nil {
		err = db.Close()
	}
	if err == nil {
		err = os.Chmod(path, 0o444)
	}
	if err != nil {
		t.Fatal(err)
	}
	if db, err := history.Open(t.Context(), path, "test"); !errors.Is(err, history.ErrReadOnly) {
		t.Errorf("Open(file with 0444) = %v, %v, want ErrReadOnly", db, err)
	}
}

func TestNamesOfOldInstruments(t *testing.T) { onBoth(t, testNamesOfOldInstruments) }

// testNamesOfOldInstruments: names that are no UTF-8, hold a zero byte or are longer than an index takes are kept, told apart and known
// again; so is one that looks as such a name is written out.
func testNamesOfOldInstruments(t *testing.T, where string) {
	d := open(t, where)
	names := []string{"\xe4.csv", "\xff.csv", `\xff.csv`, "a\x00b.csv", strings.Repeat("long/", 900) + "1.csv", strings.Repeat("long/", 900) + "2.csv"}
	for round := range 2 { // a few, and as many as go at once
		b := history.Batch{Line: "Filler 3"}
		for i, name := range names {
			for n := range 1 + 3*round {
				j := judged(100*round + 10*i + n)
				j.File.Name = name
				if n > 0 || round > 0 {
					j.File.Name += fmt.Sprint(round, n)
				}
				for r := range j.Records {
					j.Records[r].Run = name
				}
				b.Files = append(b.Files, j)
			}
		}
		if err := d.Append(t.Context(), b); err != nil {
			t.Fatal(err)
		}
		var asked []string
		for _, f := range b.Files {
			asked = append(asked, f.File.Name)
		}
		seen, err := d.Seen(t.Context(), "Filler 3", asked)
		if err != nil || len(seen) != len(asked) {
			t.Fatalf("Seen = %d files, %v, want %d", len(seen), err, len(asked))
		}
		for _, f := range b.Files {
			if got := seen[f.File.Name]; got.Name != f.File.Name || got.Digest != f.File.Digest {
				t.Errorf("Seen of %.20q = %.20q with content %v, want content %v", f.File.Name, got.Name, got.Digest, f.File.Digest)
			}
		}
	}
}
