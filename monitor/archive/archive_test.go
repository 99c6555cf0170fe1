package archive_test

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"iter"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/model/finding"
	"asusual/model/spectrum"
	"asusual/monitor/archive"
	"asusual/monitor/history"
	"asusual/monitor/keep"
)

var helsinki = time.FixedZone("EET", 2*3600)

var november = archive.Month{Name: "2026-11", Zone: helsinki, Lines: []string{"Filler 3", `Filler "4", new`}}

func open(t *testing.T) *history.DB {
	t.Helper()
	d, err := history.Open(t.Context(), filepath.Join(t.TempDir(), "h"), "test")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { d.Close() })
	return d
}

func all[T any](t *testing.T, seq iter.Seq2[T, error]) (vs []T) {
	t.Helper()
	for v, err := range seq {
		if err != nil {
			t.Fatal(err)
		}
		vs = append(vs, v)
	}
	return vs
}

// fill writes all that a history can hold of a line, some of it before and after November, drawn by the seed.
func fill(t *testing.T, d *history.DB, line string, seed uint64) {
	t.Helper()
	rnd := rand.New(rand.NewPCG(seed, 1))
	at := func(h float64) time.Time {
		return time.Date(2026, 11, 1, 0, 0, 0, 0, helsinki).Add(time.Duration(h * float64(time.Hour))).UTC()
	}
	why := []finding.Finding{finding.Of(finding.AboveQ, "run \"a\",\nb", 2.0/3, 1), finding.Of(finding.OffAxis, "<b>")}
	axis, err := spectrum.NewAxis(spectrum.Nanometre, []float64{1000, 1010.1, 1020.3})
	if err != nil {
		t.Fatal(err)
	}
	b := history.Batch{Line: line, Reference: &history.Reference{Since: at(-5), Fingerprint: "abc", Name: "line"}}
	for i := range 300 {
		name := fmt.Sprintf("day/%d, %d.csv", seed, i)
		r := history.Record{Line: line, File: name, Time: at(-24 + 2.6*float64(i)), Received: at(float64(i)), Run: "a", Condition: "usual", T2: rnd.ExpFloat64(),
			Q: rnd.ExpFloat64() * 1e-9, Distance: rnd.Float64(), Inside: i%3 > 0, Late: i%50 == 7, Verdict: "as usual", Scores: []float64{rnd.NormFloat64(), rnd.NormFloat64() / 3},
			Map: [2]float32{rnd.Float32(), -rnd.Float32()}, Rough: [2]float32{rnd.Float32() * 1e-5, 0}, Group: []string{"", "group A"}[i%2], Instrument: "fit", Reference: "abc", Mark: rnd.Int64() - 1<<62}
		if i%10 == 0 {
			r.Reasons, r.Condition, r.Run, r.Instrument = why, "unfit", "", ""
		}
		j := history.Judged{File: history.File{Name: name, Version: 1, Modified: r.Time}, Records: []history.Record{r}}
		if i == 40 { // a table that was saved anew with another spectrum of one time and row
			again := j
			r.Mark++
			again.File.Version, again.Records = 2, []history.Record{r}
			b.Files = append(b.Files, again)
		}
		switch i {
		case 50:
			j.Own = []history.Own{{Line: line, File: name, Row: 3, Time: at(100), Received: at(101), Role: "dark", Late: true, Mark: -7}}
		case 60:
			j.Unreadable = []history.Unreadable{{Line: line, File: name, Row: 2, TextLine: 14, Time: at(110), Received: at(111), Reason: "no \"number\"\nat all", Count: 3}}
		case 61:
			j.Records, j.Unreadable = nil, []history.Unreadable{{Line: line, File: name, Time: at(112), Received: at(112), Reason: "half a file", Count: 1}}
			mended := history.Judged{File: history.File{Name: name, Version: 2, Modified: at(113)}}
			b.Files = append(b.Files, mended)
		case 70:
			j.Copies = []history.Copy{{Line: line, File: name, Of: "other.csv", Rows: 2, Time: at(120), Received: at(121)}}
		}
		b.Files = append(b.Files, j)
	}
	for i := range 20 {
		b.Means = append(b.Means, history.Mean{Line: line, From: at(40 * float64(i)), Length: time.Duration(i%3) * time.Minute, Condition: "usual", Axis: axis, Count: 1 + i, Values: []float64{float64(rnd.Float32()), 0.5, float64(rnd.Float32())}})
		b.Checks = append(b.Checks, history.Check{Line: line, Time: at(39 * float64(i)), Measure: "light", About: "all", Value: rnd.Float64(), Unit: "%", Ageing: 20, Unfit: 50, State: "fit", Reasons: why[:i%3]})
	}
	b.Episodes = []history.Episode{{From: at(-30), To: at(2), ChangedSince: at(-31), Spectra: 4, Peak: 2.5, Group: "group A", Instrument: "fit", Reasons: why, Reference: "abc"},
		{From: at(-60), To: at(-40), ChangedSince: at(-61), Reference: "abc"}, {From: at(700), ChangedSince: at(699), Spectra: 9, Peak: 1.0 / 3, Reference: "abc"}}
	b.Groups = []history.Group{{Name: "group A", From: at(1), To: at(3), Spectra: 5, Seen: "rinse", Episode: at(700)}, {Name: "group B", From: at(-9), To: at(-8), Spectra: 1}}
	b.Acts = []history.Act{{Time: at(5), Act: "raised", State: "unacknowledged", Episode: at(-30)},
		{Time: at(6), Act: "shelved", Who: "Ada", Why: "a, \"b\"", Until: at(8), State: "shelved", Refused: "no", Request: fmt.Sprint("r", seed)}}
	if err := d.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	if err := d.Append(t.Context(), history.Batch{Line: line, Reference: &history.Reference{Since: at(200), Fingerprint: "def", Name: "line"}}); err != nil {
		t.Fatal(err)
	}
}

// told is all that a history tells of a line and a month.
func told(t *testing.T, d *history.DB, line string) []any {
	t.Helper()
	from, to, err := november.Period()
	if err != nil {
		t.Fatal(err)
	}
	q, ctx := history.Query{Line: line, From: from, To: to}, context.Background()
	counts, err := d.Counts(ctx, q, time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	return []any{all(t, d.Spectra(ctx, q)), all(t, d.Episodes(ctx, q)), all(t, d.Groups(ctx, q)), all(t, d.Own(ctx, q)), all(t, d.Checks(ctx, q)),
		all(t, d.Unreadable(ctx, q)), all(t, d.Copies(ctx, q)), all(t, d.Acts(ctx, q)), all(t, d.References(ctx, q)), all(t, d.Means(ctx, q)), counts}
}

// What is read back tells the same of the month, to the last digit, whatever stands in it.
func TestAMonthThereAndBack(t *testing.T) {
	d, dir := open(t), t.TempDir()
	for i, line := range november.Lines {
		fill(t, d, line, uint64(i))
	}
	folder, a, err := archive.Write(t.Context(), d, november, dir)
	if err != nil {
		t.Fatal(err)
	}
	if folder != filepath.Join(dir, "2026-11") || len(a.Tables) != 11 || a.Rows("spectra.csv") < 400 || a.Rows("axes.csv") != 1 || a.Rows("none") != 0 {
		t.Errorf("Write = %s, %+v, want eleven tables, more than 400 spectra and one axis", folder, a)
	}
	back := open(t)
	if _, err := archive.Read(t.Context(), folder, back); err != nil {
		t.Fatal(err)
	}
	for _, line := range november.Lines {
		was, is := told(t, d, line), told(t, back, line)
		for i := range was {
			if a, b := reflect.ValueOf(was[i]), reflect.ValueOf(is[i]); a.Kind() == reflect.Slice && (a.Len() == 0 || a.Len() != b.Len()) {
				t.Fatalf("%s: %T: %d were written and %d read back, want the same and some", line, was[i], a.Len(), b.Len())
			}
			if fmt.Sprintf("%+v", was[i]) != fmt.Sprintf("%+v", is[i]) {
				t.Errorf("%s: %T read back:\n%+v\nwant\n%+v", line, was[i], is[i], was[i])
			}
		}
	}
	if _, err := archive.Read(t.Context(), folder, back); !errors.Is(err, archive.ErrThere) {
		t.Errorf("Read, again = %v, want %v", err, archive.ErrThere)
	}
	if _, _, err := archive.Write(t.Context(), back, november, dir); !errors.Is(err, archive.ErrExists) {
		t.Errorf("Write, again = %v, want %v", err, archive.ErrExists)
	}
	again, _, err := archive.Write(t.Context(), back, november, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	for _, table := range a.Tables {
		one, err := os.ReadFile(filepath.Join(folder, table.File))
		if err != nil {
			t.Fatal(err)
		}
		if other, err := os.ReadFile(filepath.Join(again, table.File)); err != nil || string(one) != string(other) {
			t.Errorf("%s of what was read back differs, %v", table.File, err)
		}
	}
}

// A month whose spectra were taken out before it was written is read in once, too: whatever is left of it stands there once.
func TestAMonthWithoutSpectra(t *testing.T) {
	axis, err := spectrum.NewAxis(spectrum.Nanometre, []float64{1000, 1010, 1020})
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 11, 10, 8, 0, 0, 0, time.UTC)
	for name, b := range map[string]history.Batch{
		"means":  {Means: []history.Mean{{Line: "Filler 3", From: at, Condition: "usual", Axis: axis, Count: 4, Values: []float64{1, 2, 3}}}},
		"checks": {Checks: []history.Check{{Line: "Filler 3", Time: at, Measure: "light", Value: 1, State: "fit"}}},
		"acts":   {Acts: []history.Act{{Time: at, Act: "raised", State: "unacknowledged", Episode: at}}},
	} {
		d, back := open(t), open(t)
		b.Line = "Filler 3"
		if err := d.Append(t.Context(), b); err != nil {
			t.Fatal(err)
		}
		folder, _, err := archive.Write(t.Context(), d, archive.Month{Name: "2026-11", Lines: []string{"Filler 3"}}, t.TempDir())
		if err != nil {
			t.Fatal(err)
		}
		if _, err := archive.Read(t.Context(), folder, back); err != nil {
			t.Fatal(err)
		}
		if _, err := archive.Read(t.Context(), folder, back); !errors.Is(err, archive.ErrThere) {
			t.Errorf("Read of %s alone, again = %v, want %v", name, err, archive.ErrThere)
		}
	}
}

// What ends amid the reading says that a part is there.
func TestReadThatEndsAmid(t *testing.T) {
	d, back := open(t), open(t)
	fill(t, d, "Filler 3", 1)
	folder, a, err := archive.Write(t.Context(), d, archive.Month{Name: "2026-11", Lines: []string{"Filler 3"}}, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	about, checks := filepath.Join(folder, "archive.json"), filepath.Join(folder, "checks.csv")
	text, err1 := os.ReadFile(about)
	table, err2 := os.ReadFile(checks)
	table = append(table, "half a row\n"...)
	i := slices.IndexFunc(a.Tables, func(t archive.Table) bool { return t.File == "checks.csv" })
	text = []byte(strings.Replace(string(text), a.Tables[i].SHA256, fmt.Sprintf("%x", sha256.Sum256(table)), 1))
	if err := errors.Join(err1, err2, os.WriteFile(about, text, 0o644), os.WriteFile(checks, table, 0o644)); err != nil {
		t.Fatal(err)
	}
	if _, err := archive.Read(t.Context(), folder, back); !errors.Is(err, archive.ErrPart) {
		t.Errorf("Read that ends amid = %v, want %v", err, archive.ErrPart)
	}
}

// The months on both sides can be read into one history: what touches both stands there once.
func TestMonthsIntoOneHistory(t *testing.T) {
	d, dir, back := open(t), t.TempDir(), open(t)
	fill(t, d, "Filler 3", 5)
	for _, m := range []string{"2026-10", "2026-11", "2026-12"} {
		folder, _, err := archive.Write(t.Context(), d, archive.Month{Name: m, Zone: helsinki, Lines: []string{"Filler 3"}}, dir)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := archive.Read(t.Context(), folder, back); err != nil {
			t.Fatal(err)
		}
	}
	q := history.Query{Line: "Filler 3"}
	if was, is := all(t, d.Spectra(t.Context(), q)), all(t, back.Spectra(t.Context(), q)); !reflect.DeepEqual(was, is) {
		t.Errorf("Spectra of three months = %d, want the same %d", len(is), len(was))
	}
	if was, is := all(t, d.Episodes(t.Context(), q)), all(t, back.Episodes(t.Context(), q)); !reflect.DeepEqual(was, is) {
		t.Errorf("Episodes of three months = %+v, want %+v", is, was)
	}
}

func TestReadRefuses(t *testing.T) {
	d, dir := open(t), t.TempDir()
	fill(t, d, "Filler 3", 1)
	folder, _, err := archive.Write(t.Context(), d, archive.Month{Name: "2026-11", Lines: []string{"Filler 3"}}, dir)
	if err != nil {
		t.Fatal(err)
	}
	about := filepath.Join(folder, "archive.json")
	whole, err := os.ReadFile(about)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, file, text string
		want             error
	}{
		{"a newer version", about, strings.Replace(string(whole), `"version": 1`, `"version": 9`, 1), archive.ErrNewer},
		{"another file", about, `{"format":"recipe","version":1}`, archive.ErrNotArchive},
		{"half of it", about, string(whole[:40]), archive.ErrNotArchive},
		{"a table elsewhere", about, strings.Replace(string(whole), "acts.csv", "../acts.csv", 1), archive.ErrNotArchive},
		{"a table that was altered", filepath.Join(folder, "acts.csv"), "time,line\n", archive.ErrAltered},
	} {
		was, err := os.ReadFile(c.file)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(c.file, []byte(c.text), 0o644); err != nil {
			t.Fatal(err)
		}
		back := open(t)
		if _, err := archive.Read(t.Context(), folder, back); !errors.Is(err, c.want) {
			t.Errorf("Read of %s = %v, want %v", c.name, err, c.want)
		}
		if lines, err := back.Lines(t.Context()); err != nil || len(lines) != 0 {
			t.Errorf("Read of %s left %v, %v, want nothing read in", c.name, lines, err)
		}
		if err := os.WriteFile(c.file, was, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := archive.Look(t.TempDir()); !errors.Is(err, archive.ErrNotArchive) {
		t.Errorf("Look at an empty folder = %v, want %v", err, archive.ErrNotArchive)
	}
	for _, m := range []string{"", "2026", "2026-13", "november"} {
		if _, _, err := archive.Write(t.Context(), d, archive.Month{Name: m}, dir); err == nil || !strings.Contains(err.Error(), "2026-11") {
			t.Errorf("Write of month %q = %v, want an error that shows a month", m, err)
		}
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 1 {
		t.Errorf("in the folder lie %v, %v, want the month alone and no %s", left, err, keep.Prefix)
	}
}

// A stop in between leaves nothing under the month's name.
func TestWriteThatIsStoppedLeavesNothing(t *testing.T) {
	d, dir := open(t), t.TempDir()
	fill(t, d, "Filler 3", 1)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, _, err := archive.Write(ctx, d, archive.Month{Name: "2026-11", Lines: []string{"Filler 3"}}, dir); !errors.Is(err, context.Canceled) {
		t.Errorf("Write that is stopped = %v, want %v", err, context.Canceled)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 0 {
		t.Errorf("a stopped Write left %v, %v, want nothing", left, err)
	}
}
