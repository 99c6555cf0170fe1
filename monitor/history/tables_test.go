package history_test

import (
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"asusual/monitor/history"
)

// tableOf is a version of a table in which rows with these marks were judged, the first of them in row from, and others left out that had
// been judged under other names.
func tableOf(name string, version, from int, marks []int64, of ...string) history.Judged {
	at := noon.Add(time.Duration(version) * time.Hour)
	j := history.Judged{File: history.File{Name: name, Version: version, Size: 1, Modified: at, Bytes: 1, Rows: from - 1 + len(marks), Received: at}}
	for i, m := range marks {
		r := judged(0).Records[0]
		r.File, r.Time, r.Row, r.Mark = name, at.Add(time.Duration(i)), from+i, m
		j.Records = append(j.Records, r)
	}
	for i, o := range of {
		j.Copies = append(j.Copies, history.Copy{Line: "Filler 3", File: name, Of: o, Rows: from - 1, Time: at, Received: at.Add(time.Duration(i))})
	}
	return j
}

func appended(t *testing.T, d *history.DB, all ...history.Judged) {
	t.Helper()
	for _, j := range all {
		if err := d.Append(t.Context(), history.Batch{Line: "Filler 3", Files: []history.Judged{j}}); err != nil {
			t.Fatal(err)
		}
	}
}

func TestRowsOfATableAndOfThoseItCameFrom(t *testing.T) { onBoth(t, testRowsOf) }

func testRowsOf(t *testing.T, where string) {
	d := open(t, where)
	appended(t, d, tableOf("now", 1, 1, []int64{1, 2, 2}), tableOf("old", 1, 4, []int64{4}, "now"), tableOf("now", 2, 1, []int64{11}),
		tableOf("older", 1, 5, []int64{5, 6}, "old", "elsewhere"), tableOf("older", 2, 7, nil, "older"), tableOf("alone", 1, 1, []int64{7}))
	for _, c := range []struct {
		names []string
		size  int
		want  []history.TableRows
	}{
		{[]string{"alone"}, 9, []history.TableRows{{Name: "alone", Marks: map[int64]int{7: 1}}}},
		{[]string{"now"}, 9, []history.TableRows{{Name: "now", Marks: map[int64]int{1: 1, 2: 2, 11: 1}}}},
		{[]string{"old"}, 9, []history.TableRows{{Name: "old", Marks: map[int64]int{4: 1}}, {Name: "now", Marks: map[int64]int{1: 1, 2: 2}}}},
		{[]string{"older", "now"}, 9, []history.TableRows{{Name: "older", Marks: map[int64]int{5: 1, 6: 1}},
			{Name: "now", Marks: map[int64]int{1: 1, 2: 2, 11: 1}}, {Name: "elsewhere", Marks: map[int64]int{}}, {Name: "old", Marks: map[int64]int{4: 1}}}},
		{[]string{"missing"}, 9, []history.TableRows{{Name: "missing", Marks: map[int64]int{}}}},
	} {
		got, err := d.RowsOf(t.Context(), "Filler 3", c.names, c.size)
		byName := func(a, b history.TableRows) int {
			return slices.Index(names(c.want), a.Name) - slices.Index(names(c.want), b.Name)
		}
		slices.SortStableFunc(got, byName)
		if err != nil || !reflect.DeepEqual(got, c.want) {
			t.Errorf("RowsOf %q = %v, %v, want %v", c.names, got, err, c.want)
		}
	}
	if got, err := d.RowsOf(t.Context(), "another line", []string{"now"}, 9); err != nil || len(got[0].Marks) > 0 {
		t.Errorf("RowsOf in another line = %v, %v, want no rows", got, err)
	}
	heads, err := d.NewestTables(t.Context(), "Filler 3", 4, 5)
	want := []history.TableHead{{Name: "old", Marks: map[int]int64{4: 4}, Of: []string{"now"}}, {Name: "now", Marks: map[int]int64{1: 11}},
		{Name: "older", Marks: map[int]int64{5: 5}, Of: []string{"elsewhere", "old"}}, {Name: "alone", Marks: map[int]int64{1: 7}}}
	for i := range heads {
		slices.Sort(heads[i].Of)
	}
	if err != nil || !reflect.DeepEqual(heads, want) {
		t.Errorf("NewestTables = %v, %v, want %v", heads, err, want)
	}
}

func names(all []history.TableRows) (names []string) {
	for _, t := range all {
		names = append(names, t.Name)
	}
	return names
}

// A name that is written to again and again: what is asked of it does not grow with it, and has the newest.
func TestRowsOfANameThatIsWrittenToWithoutEnd(t *testing.T) {
	d := open(t, t.TempDir()+"/h")
	const n = 3000
	b := history.Batch{Line: "Filler 3"}
	for v := range n {
		b.Files = append(b.Files, tableOf("now", v+1, 1, []int64{int64(v)}))
	}
	if err := d.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	for _, size := range []int{1, 500, n} {
		got, err := d.RowsOf(t.Context(), "Filler 3", []string{"now"}, size)
		if err != nil || len(got) != 1 || len(got[0].Marks) != min(n, 2*size+64) || got[0].Marks[n-1] != 1 {
			t.Errorf("RowsOf a table of %d rows = %d rows, %v, want the newest %d", size, len(got[0].Marks), err, min(n, 2*size+64))
		}
	}
	if seen, err := d.Seen(t.Context(), "Filler 3", []string{"now"}); err != nil || seen["now"].Version != n {
		t.Errorf("Seen = %+v, %v, want version %d", seen["now"], err, n)
	}
}

// What it costs to look up a name that was written to so often, and the rows of a table under it.
func BenchmarkOverwritten(b *testing.B) {
	for _, n := range []int{100, 86_400} {
		d := open(b, b.TempDir()+"/h")
		for from := 0; from < n; from += 10_000 {
			batch := history.Batch{Line: "Filler 3"}
			for v := from; v < min(n, from+10_000); v++ {
				batch.Files = append(batch.Files, tableOf("now", v+1, 1, []int64{int64(v)}))
			}
			if err := d.Append(b.Context(), batch); err != nil {
				b.Fatal(err)
			}
		}
		b.Run(fmt.Sprintf("seen/versions=%d", n), func(b *testing.B) {
			for b.Loop() {
				if s, err := d.Seen(b.Context(), "Filler 3", []string{"now"}); err != nil || s["now"].Version != n {
					b.Fatal(s, err)
				}
			}
		})
		b.Run(fmt.Sprintf("rows/versions=%d", n), func(b *testing.B) {
			for b.Loop() {
				if r, err := d.RowsOf(b.Context(), "Filler 3", []string{"now"}, 1); err != nil || len(r[0].Marks) != 66 {
					b.Fatal(r, err)
				}
			}
		})
	}
}
