package monitor_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"asusual/model/spectrum"
	"asusual/monitor"
)

// A stage is a folder that a watch looks at while a test plays in it.
type stage struct {
	*bench
	t       *testing.T
	spectra []spectrum.Spectrum
	at      time.Time
	steps   int
	anew    bool // the watch is started anew before each step
	stop    func()
}

// play plays a story before a watch that goes on, and before one that is started anew before each step of it. At its end each of so many
// spectra has been judged, once.
func play(t *testing.T, n int, story func(s *stage)) {
	for _, anew := range []bool{false, true} {
		t.Run(fmt.Sprintf("started anew %t", anew), func(t *testing.T) {
			s := &stage{bench: newBench(t), t: t, spectra: produced(t, n), at: monday, anew: anew, stop: func() {}}
			defer func() { s.stop() }()
			story(s)
			s.stop()
			s.once(n)
		})
	}
}

// once checks that each of so many spectra was judged once, told by their values.
func (b *bench) once(n int) {
	b.t.Helper()
	marks := map[int64]int{}
	rs := b.records()
	for _, r := range rs {
		marks[r.Mark]++
	}
	if len(rs) != n || len(marks) != n {
		b.t.Errorf("%d records of %d spectra, want %d of as many\n%s", len(rs), len(marks), n, b.logged())
	}
}

// begin begins a step: later than the one before, and where the watch is started anew, with that.
func (s *stage) begin() {
	s.t.Helper()
	s.at = s.at.Add(time.Minute)
	if s.steps++; s.anew || s.steps == 1 {
		s.stop()
		line := s.line()
		line.Group = time.Millisecond // there are many steps
		s.stop = watching(s.t, line)
	}
}

// rows is a table without times that has these rows.
func (s *stage) rows(from, to int) []byte { return timeless(s.t, s.spectra[from:to]) }

// table puts such a table, under a header of its own, and waits until it was taken in.
func (s *stage) table(name, header string, from, to int) {
	s.t.Helper()
	s.begin()
	s.put(name, append([]byte(header), s.rows(from, to)...), s.at)
	s.taken(name)
}

// taken waits until history has the file as it is.
func (s *stage) taken(name string) {
	s.t.Helper()
	eventually(s.t, name+" is taken in", func() bool { return known(s.bench, name) })
}

func known(b *bench, name string) bool {
	b.t.Helper()
	seen, err := b.db.Seen(context.Background(), "Filler 3", []string{name})
	if err != nil {
		b.t.Fatal(err)
	}
	info, err := os.Stat(filepath.Join(b.folder, name))
	if err != nil {
		b.t.Fatal(err)
	}
	f := seen[name]
	return f.Size == info.Size() && f.Modified.Equal(info.ModTime()) && f.Bytes == f.Size && !f.Partial
}

// moved gives a file another name and another content at once, as one that grew and was renamed before the watch saw either.
func (s *stage) moved(from, to string, content []byte) {
	s.t.Helper()
	s.begin()
	s.move(from, to, content)
	s.taken(to)
}

func (s *stage) move(from, to string, content []byte) {
	s.t.Helper()
	s.put("aside.tmp", content, s.at) // not looked at under that name
	for _, err := range []error{os.Rename(filepath.Join(s.folder, "aside.tmp"), filepath.Join(s.folder, to)), os.Remove(filepath.Join(s.folder, from))} {
		if err != nil {
			s.t.Fatal(err)
		}
	}
}

func zipped(t *testing.T, text []byte) []byte {
	t.Helper()
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	if _, err := z.Write(text); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

const otherHeader, thirdHeader = "# saved again\n", "# saved a third time\n"

// Tables whose rows carry no time, and what becomes of them: they grow, are renamed with a row more, renamed again, packed, saved anew, made
// empty, copied. Whatever it is, a row that was judged is not judged again, and none is left out.
func TestTablesWithoutTimes(t *testing.T) {
	for name, c := range map[string]struct {
		n     int
		story func(s *stage)
	}{
		"made empty and written again": {6, func(s *stage) {
			s.table("now.csv", "", 0, 5)
			s.begin()
			s.put("now.csv", nil, s.at)
			s.taken("now.csv")
			s.table("now.csv", "", 0, 6)
		}},
		"renamed and packed": {6, func(s *stage) {
			s.table("now.csv", "", 0, 5)
			s.moved("now.csv", "1.csv", s.rows(0, 6))
			s.moved("1.csv", "1.csv.gz", zipped(s.t, s.rows(0, 6)))
		}},
		"renamed twice": {9, func(s *stage) {
			s.table("now.csv", "", 0, 5)
			s.moved("now.csv", "1.csv", s.rows(0, 6))
			s.table("now.csv", "", 7, 9)
			s.moved("1.csv", "2.csv", s.rows(0, 7))
		}},
		"renamed and saved anew": {7, func(s *stage) {
			s.table("now.csv", "", 0, 5)
			s.moved("now.csv", "1.csv", s.rows(0, 6))
			s.table("1.csv", otherHeader, 0, 6)
			s.table("1.csv", thirdHeader, 0, 7)
		}},
		"renamed as it was and saved anew": {6, func(s *stage) {
			s.table("now.csv", "", 0, 5)
			s.moved("now.csv", "1.csv", s.rows(0, 5))
			s.table("1.csv", otherHeader, 0, 6)
		}},
		"renamed beyond its beginning and saved anew": {302, func(s *stage) {
			s.table("now.csv", "", 0, 300)
			s.moved("now.csv", "1.csv", s.rows(0, 301))
			s.moved("1.csv", "2.csv", append([]byte(otherHeader), s.rows(0, 302)...))
			s.table("2.csv", thirdHeader, 0, 302)
		}},
		"packed and read half written": {6, func(s *stage) {
			s.table("now.csv", "", 0, 5)
			whole := zipped(s.t, s.rows(0, 6))
			s.moved("now.csv", "1.csv.gz", whole[:len(whole)-300])
			s.begin()
			s.put("1.csv.gz", whole, s.at)
			s.taken("1.csv.gz")
		}},
		"begun anew and the old one saved anew": {9, func(s *stage) {
			s.table("now.csv", "", 0, 5)
			s.moved("now.csv", "1.csv", s.rows(0, 6))
			for i := range 3 {
				s.table("now.csv", "", 6+i, 7+i)
			}
			s.table("1.csv", otherHeader, 0, 6)
		}},
		"an earlier state of it is copied": {6, func(s *stage) {
			s.table("now.csv", "", 0, 5)
			s.table("now.csv", "", 0, 6)
			s.table("now.1.csv", "", 0, 5)
			s.table("now.2.csv", otherHeader, 0, 4)
		}},
		"saved anew many times and renamed": {41, func(s *stage) {
			s.table("first.csv", "", 0, 5)
			for i := range 30 {
				s.table("now.csv", fmt.Sprintf("# saved at %d\n", i), 5, 11+i)
			}
			s.moved("first.csv", "1.csv", append([]byte(otherHeader), s.rows(0, 5)...))
			s.moved("now.csv", "2.csv", append([]byte(otherHeader), s.rows(5, 41)...))
		}},
		"a time above the rows that is another one each time it is saved": {6, func(s *stage) {
			s.table("now.csv", "# time: 2026-11-23T07:00:00Z\n", 0, 4)
			s.table("now.csv", "# time: 2026-11-23T08:00:00Z\n", 0, 5)
			s.moved("now.csv", "1.csv", append([]byte("# time: 2026-11-23T09:00:00Z\n"), s.rows(0, 6)...))
		}},
	} {
		t.Run(name, func(t *testing.T) { play(t, c.n, c.story) })
	}
}

// Many tables without times grow in one folder and are renamed with a row more, after tables with times came that are newer.
func TestManyTablesAreRenamed(t *testing.T) {
	const tables, timed = 40, 20
	play(t, 3*tables+timed, func(s *stage) {
		rows := func(i, n int) []byte { return timeless(t, s.spectra[3*i:3*i+n]) }
		s.begin()
		for i := range tables {
			s.put(fmt.Sprintf("probe %d.csv", i), rows(i, 2), s.at)
		}
		for i := range tables {
			s.taken(fmt.Sprintf("probe %d.csv", i))
		}
		for i := range timed {
			s.put(fmt.Sprintf("timed %d.csv", i), table(t, s.spectra[3*tables+i:3*tables+i+1]), s.at)
		}
		for i := range timed {
			s.taken(fmt.Sprintf("timed %d.csv", i))
		}
		for i := range tables {
			s.move(fmt.Sprintf("probe %d.csv", i), fmt.Sprintf("old %d.csv", i), rows(i, 3))
		}
		s.begin()
		for i := range tables {
			s.taken(fmt.Sprintf("old %d.csv", i))
		}
	})
}

// A long table is left in its midst, by a stop or a kill, and gone on with by the next watch: it had been saved anew, or renamed.
func TestATableIsTakenUpInItsMidst(t *testing.T) {
	const n = 3001
	spectra := produced(t, n)
	for name, c := range map[string]struct {
		second string
		header string
	}{"saved anew": {"day.csv", otherHeader}, "renamed": {"1.csv", ""}} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t)
			b.put("day.csv", timeless(t, spectra[:n-1]), monday)
			b.catchUp()
			b.once(n - 1)
			line := b.line()
			line.Group = time.Nanosecond
			ctx, cancel := context.WithCancel(t.Context())
			partial := false
			line.Kept = func(monitor.Status) {
				if seen, err := b.db.Seen(context.Background(), line.Name, []string{c.second}); err == nil && seen[c.second].Partial {
					partial = true
					cancel()
				}
			}
			if c.second != "day.csv" {
				if err := os.Remove(filepath.Join(b.folder, "day.csv")); err != nil {
					t.Fatal(err)
				}
			}
			b.put(c.second, append([]byte(c.header), timeless(t, spectra)...), monday.Add(time.Hour))
			if err := monitor.Watch(ctx, line); err != nil || !partial {
				t.Fatalf("Watch = %v, in the midst of the table %t, want nil, true", err, partial)
			}
			b.catchUp()
			b.once(n)
			if c := b.counts(); c.Copies != n-1 {
				t.Errorf("Copies = %d, want the %d rows of before", c.Copies, n-1)
			}
		})
	}
}

// Two days of a detector that gives one value for all, in tables that begin anew under one name: their times tell the rows apart.
func TestRowsOfOneValueAreToldByTheirTimes(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 60)
	for i := range spectra {
		spectra[i].Values = spectra[0].Values
	}
	b.put("now.csv", table(t, spectra[:30]), monday)
	b.catchUp()
	b.put("now.csv", table(t, spectra[30:]), monday.Add(time.Hour))
	b.catchUp()
	b.expect("after both days", spectra)
}

// A row is written in two parts, with more time between them than that after which a rest counts: it is judged when it is whole.
func TestARowInTwoParts(t *testing.T) {
	for name, of := range map[string]func(testing.TB, []spectrum.Spectrum) []byte{
		"with times":    table,
		"without times": func(_ testing.TB, s []spectrum.Spectrum) []byte { return timeless(t, s) },
	} {
		t.Run(name, func(t *testing.T) {
			spectra := produced(t, 4)
			whole := of(t, spectra)
			third := len(of(t, spectra[:3]))
			b := newBench(t)
			b.put("day.csv", whole[:third-200], monday)
			line := b.line()
			line.Quiet = 50 * time.Millisecond
			stop := watching(t, line)
			defer func() { stop() }()
			eventually(t, "the half row counts as unreadable", func() bool { return b.counts().Unreadable == 1 })
			eventually(t, "the half row is taken in", func() bool { return known(b, "day.csv") })
			b.put("day.csv", whole, monday.Add(time.Minute))
			eventually(t, "the whole table is taken in", func() bool { return known(b, "day.csv") })
			stop()
			b.once(4)
		})
	}
}
