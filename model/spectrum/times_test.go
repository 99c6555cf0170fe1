package spectrum

import (
	"strings"
	"testing"
	"time"
)

func TestParseTime(t *testing.T) {
	rome := time.FixedZone("", 3600)
	utc := func(h, m, s, ns int) time.Time { return time.Date(2026, 11, 25, h, m, s, ns, time.UTC) }
	for _, tt := range []struct {
		text string
		zone *time.Location
		want time.Time
	}{
		// RFC 3339 (Klyne, Newman, Date and Time on the Internet: Timestamps, 2002), section 5.8, examples.
		{"1985-04-12T23:20:50.52Z", nil, time.Date(1985, 4, 12, 23, 20, 50, 520e6, time.UTC)},
		{"1996-12-19T16:39:57-08:00", nil, time.Date(1996, 12, 20, 0, 39, 57, 0, time.UTC)},
		{"1937-01-01T12:00:27.87+00:20", nil, time.Date(1937, 1, 1, 11, 40, 27, 870e6, time.UTC)},
		// JCAMP-DX 5.01, LONG DATE (Lampen and others, Pure and Applied Chemistry 71, 1999), form YYYY/MM/DD HH:MM:SS.SSSS ±UUUU.
		{"1998/09/15 09:30:00.0000 -0500", nil, time.Date(1998, 9, 15, 14, 30, 0, 0, time.UTC)},
		// Usual forms, by hand.
		{"2026-11-25 06:34:12", nil, utc(6, 34, 12, 0)}, {"2026-11-25 06:34:12", rome, utc(5, 34, 12, 0)},
		{"2026-11-25T06:34:12.250", rome, utc(5, 34, 12, 250e6)}, {"2026-11-25 06:34:12,250", nil, utc(6, 34, 12, 250e6)},
		{"2026-11-25 06:34:12+01:00", nil, utc(5, 34, 12, 0)}, {"2026-11-25T06:34:12+0100", nil, utc(5, 34, 12, 0)}, {"2026-11-25 06:34:12 UTC", rome, utc(6, 34, 12, 0)},
		{"2026/11/25 06:34:12", nil, utc(6, 34, 12, 0)}, {"2026-11-25 06:34", nil, utc(6, 34, 0, 0)}, {"2026-11-25", nil, utc(0, 0, 0, 0)},
		{"25.11.2026 06:34:12", nil, utc(6, 34, 12, 0)}, {"20261125T063412Z", rome, utc(6, 34, 12, 0)}, {" 20261125-063412 ", nil, utc(6, 34, 12, 0)},
		{"20261125063412", nil, utc(6, 34, 12, 0)}, {"1795588452", nil, utc(6, 34, 12, 0)}, {"1795588452.25", rome, utc(6, 34, 12, 250e6)}, {"1795588452250", nil, utc(6, 34, 12, 250e6)},
	} {
		if got, err := ParseTime(tt.text, tt.zone); err != nil || !got.Equal(tt.want) {
			t.Errorf("ParseTime(%q, %v) = %v, %v; want %v", tt.text, tt.zone, got, err, tt.want)
		}
	}
	for _, s := range []string{"", "noon", "06:34:12", "03/04/2026", "2026-13-01", "2026-02-30 10:00", "25.11.26", "2026-11-25 06:34:12 CET", "17955884", "-795588452", "1795588452.-5",
		"1795588452.1234567890", "179558845", strings.Repeat("9", 500)} {
		if got, err := ParseTime(s, nil); err == nil {
			t.Errorf("ParseTime(%q) = %v, want an error", s, got)
		}
	}
}

func TestTimeInName(t *testing.T) {
	at := time.Date(2026, 11, 25, 6, 34, 12, 0, time.UTC)
	for _, tt := range []struct {
		path, layout string
		want         time.Time
	}{
		{"20261125-063412.csv", "", at}, {"2026-11-25T06-34-12.csv", "", at}, {"filler3_2026-11-25_06.34.12.csv", "", at}, {"oat 2026-11-25 06:34:12.jdx", "", at},
		{"20261125063412.csv", "", at}, {"20261125T063412Z_0001.csv", "", at}, {"s20261125_063412_17.csv", "", at},
		{"2026-11-25T06-34-12.250.csv", "", at.Add(250 * time.Millisecond)}, {"20261125-063412-250.csv", "", at.Add(250 * time.Millisecond)},
		{"20261125_063412_000001.csv", "", at.Add(time.Microsecond)},
		{"2026-11-25/063412.csv", "", at}, {`D:\lines\2026\11\25\06-34-12.csv`, "", at}, {"2025-01-01/20261125-063412.csv", "", at},
		{"12345_20261125-063412.csv", "", at}, {"20261125-0634.csv", "", at.Truncate(time.Minute)}, {"2026-11-25_06h34.csv", "", at.Truncate(time.Minute)},
		{"2026-11-24/lot7/20261125-063412.csv", "", at},
		{"oat-251126-063412.csv", "020106-150405", at}, {"oat 25Nov2026 6.34.12.csv", "2Jan2006 15.04.05", at}, {"oat-20261125-063412.5.csv", "20060102-150405", at.Add(500 * time.Millisecond)},
		{"25 November 2026, 06-34-12.csv", "2 January 2006, 15-04-05", at},
	} {
		if got, err := TimeInName(tt.path, tt.layout, nil); err != nil || !got.Equal(tt.want) {
			t.Errorf("TimeInName(%q, %q) = %v, %v; want %v", tt.path, tt.layout, got, err, tt.want)
		}
	}
	for _, path := range []string{"", "oat.csv", "20261125.csv", "lot-20261399-000000.csv", "2026-02-30T10-00-00.csv", "99991125-063412.csv", "20261125-253412.csv", "0042.csv", "202611250634129.csv",
		strings.Repeat("20", 5000), strings.Repeat("x", 300) + ".csv"} {
		if got, err := TimeInName(path, "", nil); err == nil {
			t.Errorf("TimeInName(%.40q) = %v, want an error", path, got)
		}
	}
}

func TestTimeFrom(t *testing.T) {
	header, name, modified := time.Date(2026, 11, 25, 1, 0, 0, 0, time.UTC), time.Date(2026, 11, 25, 2, 0, 0, 0, time.UTC), time.Date(2026, 11, 25, 3, 0, 0, 0, time.UTC)
	src := Source{"20261125-020000.csv", modified}
	said := "# time: 2026-11-25T01:00:00Z\n"
	for _, tt := range []struct {
		from TimeFrom
		head string
		src  Source
		want time.Time
		how  TimeFrom
	}{
		{TimeAuto, said, src, header, TimeHeader}, {TimeAuto, "", src, name, TimeName}, {TimeAuto, "", Source{"oat.csv", modified}, modified, TimeModified},
		{TimeAuto, "", Source{Name: "oat.csv"}, time.Time{}, TimeNone}, {TimeHeader, said, src, header, TimeHeader}, {TimeName, said, src, name, TimeName},
		{TimeModified, said, src, modified, TimeModified}, {TimeNone, said, src, time.Time{}, TimeNone},
	} {
		rd := NewReader(Options{Time: tt.from})
		for s, err := range rd.Read(strings.NewReader(tt.head+"900,1\n901,2\n"), tt.src) {
			if err != nil || !s.Time.Equal(tt.want) || rd.Info().TimeFrom != tt.how {
				t.Errorf("time %v of %q in %q = %v from %v, %v; want %v from %v", tt.from, tt.head, tt.src.Name, s.Time, rd.Info().TimeFrom, err, tt.want, tt.how)
			}
		}
	}
	// The form of a name that was stated is what a name has to have, but for the files that need not.
	stated := Options{NameLayout: "2006-01-02 15h04", Undated: func(file, label string) bool { return file == "dark.csv" || label == "tile" }}
	jcamp := "##TITLE=tile\n##JCAMP-DX=4.24\n##DATA TYPE=INFRARED SPECTRUM\n##XUNITS=NANOMETERS\n##YUNITS=ABSORBANCE\n##FIRSTX=900\n##LASTX=902\n##XFACTOR=1\n##YFACTOR=1\n" +
		"##NPOINTS=3\n##FIRSTY=1\n##XYDATA=(X++(Y..Y))\n900 1 2 3\n##END=\n"
	for _, tt := range []struct {
		file, text string
		want       time.Time
	}{
		{"2026-11-25 02h00.csv", "900,1\n901,2\n", name}, {"dark.csv", "900,1\n901,2\n", modified}, {src.Name, "900,1\n901,2\n", time.Time{}},
		{"w.csv", "# label: tile\n900,1\n901,2\n", modified}, {"w.csv", "# label: oat\n900,1\n901,2\n", time.Time{}}, {"w.jdx", jcamp, modified},
		{"w.jdx", strings.Replace(jcamp, "tile", "oat", 1), time.Time{}},
		{"w.csv", "label,900,901,902\ntile,1,2,3\n", modified}, {"w.csv", "label,900,901,902\noat,1,2,3\n", time.Time{}},
	} {
		n := 0
		for s, err := range NewReader(stated).Read(strings.NewReader(tt.text), Source{tt.file, modified}) {
			if n++; !s.Time.Equal(tt.want) || (err != nil) != tt.want.IsZero() {
				t.Errorf("the time of %q, %q, by the form %q = %v, %v; want %v", tt.file, tt.text, stated.NameLayout, s.Time, err, tt.want)
			}
		}
		if n != 1 {
			t.Errorf("%q gave %d spectra and errors, want 1", tt.text, n)
		}
	}
	// A time without an offset stands in the zone of the options; a day column is joined with the time of day beside it.
	berlin := time.FixedZone("", 3600)
	table := "no,date,time,900,901,902\n1,2026-11-25,02:00:00,1,2,3\n"
	for s, err := range Read(strings.NewReader(table), Source{Name: "day.csv"}, Options{Zone: berlin}) {
		if err != nil || !s.Time.Equal(header) {
			t.Errorf("day and time of day = %v, %v; want %v", s.Time, err, header)
		}
	}
}

func TestTimeFromWords(t *testing.T) {
	for from := TimeAuto; from <= TimeNone; from++ {
		b, err := from.MarshalText()
		var back TimeFrom
		if err != nil || back.UnmarshalText(b) != nil || back != from {
			t.Errorf("%v comes back as %v", from, back)
		}
	}
	if got, err := ParseTimeFrom(""); err != nil || got != TimeAuto {
		t.Errorf(`ParseTimeFrom("") = %v, %v; want auto`, got, err)
	}
	if _, err := ParseTimeFrom("clock"); err == nil || !strings.Contains(err.Error(), `time "clock" is not one of`) {
		t.Errorf("ParseTimeFrom(clock) = %v, want an error", err)
	}
}

func BenchmarkTimeInName(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := TimeInName("spectra/2026-11-25/filler3_20261125-063412.csv", "", nil); err != nil {
			b.Fatal(err)
		}
	}
}
