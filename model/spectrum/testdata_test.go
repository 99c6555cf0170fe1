package spectrum

import (
	"os"
	"path/filepath"
	"testing"
	"time"
)

// TestReadTestdata reads the files of testdata, all of which hold one invented band at 1450 nm, and asserts what each is.
func TestReadTestdata(t *testing.T) {
	at := time.Date(2026, 11, 25, 5, 34, 12, 0, time.UTC)
	rome := time.FixedZone("", 3600)
	for _, tt := range []struct {
		file     string
		format   Format
		axis     string
		quantity Quantity
		unitFrom Known
		quFrom   Known
		time     time.Time
		timeFrom TimeFrom
		spectra  int
		bad      int
	}{
		{"oat-barista_20261125-063412.csv", TwoColumns, "33 channels, 900–1700 nm", Absorbance, Said, Said, at, TimeName, 1, 0},
		{"oat-vanilla_decimal-comma.csv", TwoColumns, "33 channels, 900–1700 nm", Transmittance, Said, Said, at, TimeHeader, 1, 0},
		{"oat-chocolate_intensities.tsv", Intensities, "33 channels, 900–1700 nm", Absorbance, Said, Said, at, TimeHeader, 1, 0},
		{"oat-day.csv", Table, "17 channels, 6000–10000 cm⁻¹", Absorbance, Said, Said, time.Date(2026, 11, 25, 5, 0, 0, 0, time.UTC), TimeHeader, 3, 1},
		{"oat-barista.jdx", JCAMP, "41 channels, 6000–10000 cm⁻¹", Absorbance, Said, Said, at, TimeHeader, 1, 0},
	} {
		f, err := os.Open(filepath.Join("testdata", tt.file))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		rd := NewReader(Options{Zone: rome})
		var ss []Spectrum
		bad := 0
		for s, err := range rd.Read(f, Source{Name: tt.file}) {
			if err != nil {
				bad++
				continue
			}
			check(t, s)
			ss = append(ss, s)
		}
		if len(ss) != tt.spectra || bad != tt.bad {
			t.Errorf("%s: %d spectra and %d reasons, want %d and %d", tt.file, len(ss), bad, tt.spectra, tt.bad)
			continue
		}
		info := rd.Info()
		if info.Format != tt.format || ss[0].Axis.String() != tt.axis || info.Axis != tt.axis || ss[0].Quantity != tt.quantity || info.UnitFrom != tt.unitFrom || info.QuantityFrom != tt.quFrom || info.TimeFrom != tt.timeFrom {
			t.Errorf("%s: %+v, want %+v", tt.file, info, tt)
		}
		if !ss[0].Time.Equal(tt.time) {
			t.Errorf("%s: time %v, want %v", tt.file, ss[0].Time, tt.time)
		}
		a, err := ss[0].Absorbance()
		if err != nil {
			t.Errorf("%s: %v", tt.file, err)
			continue
		}
		// The band's top is 0.25 + 0.9 at 1450 nm; the coarsest of the axes misses it by 21 nm, where 1.08 is left.
		top, where := 0.0, 0
		for i, v := range a.Values {
			if v > top {
				top, where = v, i
			}
		}
		nm, err := convert(a.Axis.At(where), a.Axis.Unit(), Nanometre)
		if err != nil || nm < 1425 || nm > 1475 || top < 1.08 || top > 1.16 {
			t.Errorf("%s: its highest value is %v at %v nm, want about 1.15 at about 1450 nm", tt.file, top, nm)
		}
	}
}
