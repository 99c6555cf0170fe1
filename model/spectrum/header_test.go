package spectrum

import (
	"strings"
	"testing"
	"time"
)

// TestHeaderLines asserts what is taken from the lines before the numbers, whatever they are set off by.
func TestHeaderLines(t *testing.T) {
	at := time.Date(2026, 11, 25, 6, 34, 12, 0, time.UTC)
	for _, tt := range []struct {
		head string
		want Spectrum
		unit Unit
	}{
		{"# time: 2026-11-25 06:34:12", Spectrum{Time: at}, Nanometre},
		{"#time=2026-11-25 06:34:12", Spectrum{Time: at}, Nanometre},
		{"## Timestamp : 2026-11-25 06:34:12", Spectrum{Time: at}, Nanometre},
		{"% measured: 2026-11-25 06:34:12", Spectrum{Time: at}, Nanometre},
		{"// Acquired: 2026-11-25 06:34:12", Spectrum{Time: at}, Nanometre},
		{"! Date: 2026-11-25\n! Time: 06:34:12", Spectrum{Time: at}, Nanometre},
		{"Date,2026-11-25\nTime,06:34:12", Spectrum{Time: at}, Nanometre},
		{"Date,2026-11-25\nTime,2026-11-25T06:34:12Z", Spectrum{Time: at}, Nanometre},
		{"Date,25.11.2026\nTime,25.11.2026 06:34:12", Spectrum{Time: at}, Nanometre},
		{"Date: 2026-11-25T06:34:12Z", Spectrum{Time: at}, Nanometre},
		{"\"Time\",\"2026-11-25 06:34:12\"", Spectrum{Time: at}, Nanometre},
		{"# Lot: 7", Spectrum{Run: "7"}, Nanometre},
		{"# Batch = seven eight ", Spectrum{Run: "seven eight"}, Nanometre},
		{"# condition: rinse", Spectrum{Label: "rinse"}, Nanometre},
		{"# title: Hafer, s\xfc\xdf", Spectrum{Label: "Hafer, süß"}, Nanometre},
		{"# x unit: micrometers", Spectrum{}, Micrometre},
		{"# axis: wavenumber (cm-1)", Spectrum{}, ReciprocalCentimetre},
		{"# axis: index", Spectrum{}, Channel},
		{"# y units: %R", Spectrum{Quantity: Reflectance}, Nanometre},
		{"# quantity: raw counts", Spectrum{Quantity: Intensity}, Nanometre},
		{"# remark: nothing that matters\n# : empty\n#\n# =\n###", Spectrum{}, Nanometre},
		{"Integration time [ms],20\nAverages,64", Spectrum{}, Nanometre},
		{"wavelength,absorbance", Spectrum{Quantity: Absorbance}, Nanometre},
		{"Wavenumber,Transmittance", Spectrum{Quantity: Transmittance}, ReciprocalCentimetre},
	} {
		ss, bad := collect(t, NewReader(Options{}), tt.head+"\n900,0.5\n901,0.25\n", "oat.csv")
		if len(ss) != 1 || len(bad) > 0 {
			t.Errorf("%q: Read gave %d spectra and %q, want 1 and none", tt.head, len(ss), bad)
			continue
		}
		s := ss[0]
		if tt.want.Quantity == UnknownQuantity {
			tt.want.Quantity = Absorbance
		}
		if !s.Time.Equal(tt.want.Time) || s.Run != tt.want.Run || s.Label != tt.want.Label || s.Quantity != tt.want.Quantity || s.Axis.Unit() != tt.unit {
			t.Errorf("%q: Read = time %v, run %q, label %q, %v, %v; want %+v, %v", tt.head, s.Time, s.Run, s.Label, s.Quantity, s.Axis.Unit(), tt.want, tt.unit)
		}
	}
}

// TestHeaderOptions asserts that what the options say is not questioned by what a file says.
func TestHeaderOptions(t *testing.T) {
	text := "# axis: furlong\n# quantity: taste\n# time: noon\n900,0.5\n901,0.25\n"
	opt := Options{Unit: Nanometre, Quantity: Reflectance, Time: TimeNone}
	ss, bad := collect(t, NewReader(opt), text, "oat.csv")
	if len(ss) != 1 || len(bad) > 0 || ss[0].Axis.Unit() != Nanometre || ss[0].Quantity != Reflectance {
		t.Errorf("Read = %v, %q; want nm and reflectance", ss, bad)
	}
	for _, tt := range []struct {
		opt  Options
		want string
	}{
		{Options{Quantity: Reflectance, Time: TimeNone}, `axis unit "furlong"`},
		{Options{Unit: Nanometre, Time: TimeNone}, `quantity "taste"`},
		{Options{Unit: Nanometre, Quantity: Reflectance}, `the time "noon" is in no form that is read; write it as 2026-11-25T06:34:12+01:00, or take the time from the name or the modification time`},
	} {
		if _, bad := collect(t, NewReader(tt.opt), text, "oat.csv"); len(bad) != 1 || !strings.Contains(bad[0], tt.want) {
			t.Errorf("Read with %+v said %q, want %q", tt.opt, bad, tt.want)
		}
	}
}

// TestTableColumns asserts which columns are taken for what.
func TestTableColumns(t *testing.T) {
	at := time.Date(2026, 11, 25, 6, 34, 12, 0, time.UTC)
	for _, tt := range []struct {
		head, row string
		opt       Options
		want      Spectrum
	}{
		{"time,run,label,", "2026-11-25T06:34:12Z,7,rinse,", Options{}, Spectrum{Time: at, Run: "7", Label: "rinse"}},
		{"Timestamp,Batch,Condition,", "2026-11-25 06:34:12,7,rinse,", Options{}, Spectrum{Time: at, Run: "7", Label: "rinse"}},
		{"DATE,LOT,CLASS,", "2026-11-25 06:34:12,7,rinse,", Options{}, Spectrum{Time: at, Run: "7", Label: "rinse"}},
		{"time,date,", "06:34:12,2026-11-25,", Options{}, Spectrum{Time: at}},
		{"time,timestamp,", "noon,1795588452,", Options{}, Spectrum{Time: at}},
		{"lot,run,", "7,8,", Options{}, Spectrum{Run: "8"}},
		{"lot,run,", "7,8,", Options{RunColumn: "LOT"}, Spectrum{Run: "7"}},
		{"when,which,what,", "2026-11-25 06:34:12,7,rinse,", Options{TimeColumn: "when", RunColumn: "which", LabelColumn: "What"}, Spectrum{Time: at, Run: "7", Label: "rinse"}},
		{"id,", "42,", Options{}, Spectrum{}},
		{"run,", ",", Options{}, Spectrum{}},
		{"label,", "s\xfc\xdf,", Options{}, Spectrum{Label: "süß"}},
	} {
		text := tt.head + "900,901,902,903\n" + tt.row + "0.1,0.2,0.3,0.4\n"
		ss, bad := collect(t, NewReader(tt.opt), text, "day.csv")
		if len(ss) != 1 || len(bad) > 0 {
			t.Errorf("%q: Read gave %d spectra and %q, want 1 and none", tt.head, len(ss), bad)
			continue
		}
		if s := ss[0]; !s.Time.Equal(tt.want.Time) || s.Run != tt.want.Run || s.Label != tt.want.Label || s.Row != 1 || !sameFloats(s.Values, []float64{.1, .2, .3, .4}) {
			t.Errorf("%q: Read = time %v, run %q, label %q, row %d, %v; want %+v", tt.head, s.Time, s.Run, s.Label, s.Row, s.Values, tt.want)
		}
	}
}

// TestTableHeader asserts that a table takes what lines above it say for all rows that do not say it themselves.
func TestTableHeader(t *testing.T) {
	text := "# time: 2026-11-25 06:34:12\n# run: 7\n# label: usual\n# axis: um\n# quantity: %T\nOat drink, barista\nid,run,0.9,0.91,0.92,0.93\n1,8,10,20,30,40\n"
	ss, bad := collect(t, NewReader(Options{}), text, "day.csv")
	if len(ss) != 1 || len(bad) > 0 {
		t.Fatalf("Read gave %d spectra and %q, want 1 and none", len(ss), bad)
	}
	s := ss[0]
	if s.Time.Hour() != 6 || s.Run != "8" || s.Label != "usual" || s.Axis.Unit() != Micrometre || s.Quantity != Transmittance || !sameFloats(s.Values, []float64{.1, .2, .3, .4}) {
		t.Errorf("Read = %+v on %v; want the lines above the table to hold, but the run column before them", s, s.Axis)
	}
}

// A writer that was started again may write the names of the columns once more: they are no spectrum, and the rows behind them go on.
func TestTableNamesItsColumnsAgain(t *testing.T) {
	for _, names := range []string{"id,900,910,920\n", "id,920,910,900\n"} {
		ss, bad := collect(t, NewReader(Options{Unit: Nanometre, Quantity: Absorbance}), names+"1,0.1,0.2,0.3\n"+names+"2,0.4,0.5,0.6\n", "day.csv")
		if len(ss) != 2 || ss[1].Row != 3 || len(bad) != 1 || !strings.Contains(strings.Join(bad, "\n"), "the names of the columns once more") {
			t.Errorf("Read of a table with %q twice = %d spectra and %q, want 2, and that it is no spectrum", names, len(ss), bad)
		}
	}
}
