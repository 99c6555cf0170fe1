package spectrum

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
)

func TestUnits(t *testing.T) {
	for u := UnknownUnit; u <= Channel; u++ {
		b, err := json.Marshal(u)
		var back Unit
		if err != nil || json.Unmarshal(b, &back) != nil || back != u {
			t.Errorf("unit %v comes back as %v", u, back)
		}
	}
	for _, tt := range []struct {
		text string
		want Unit
	}{{"nm", Nanometre}, {" Nanometers ", Nanometre}, {"µm", Micrometre}, {"μm", Micrometre}, {"microns", Micrometre}, {"1/CM", ReciprocalCentimetre}, {"cm⁻¹", ReciprocalCentimetre}, {"cm^-1", ReciprocalCentimetre},
		{"pixel", Channel}, {"index", Channel}} {
		if got, err := ParseUnit(tt.text); err != nil || got != tt.want {
			t.Errorf("ParseUnit(%q) = %v, %v; want %v", tt.text, got, err, tt.want)
		}
	}
	for _, s := range []string{"", "furlong", "unknown", "n m"} {
		if got, err := ParseUnit(s); err == nil {
			t.Errorf("ParseUnit(%q) = %v, want an error", s, got)
		}
	}
}

func TestQuantities(t *testing.T) {
	for q := UnknownQuantity; q <= Intensity; q++ {
		b, err := json.Marshal(q)
		var back Quantity
		if err != nil || json.Unmarshal(b, &back) != nil || back != q {
			t.Errorf("quantity %v comes back as %v", q, back)
		}
	}
	if got, err := ParseQuantity("taste"); err == nil || !strings.Contains(err.Error(), `"taste" is not one of`) {
		t.Errorf("ParseQuantity(taste) = %v, %v; want an error", got, err)
	}
	for text, want := range map[string]Quantity{"%T": Transmittance, "log(1/R)": Absorbance, "LOG (1/R)": Absorbance, "Reflectance [%]": Reflectance, "raw counts": Intensity, "abs": Absorbance} {
		if got, _, ok := quantityIn(text); !ok || got != want {
			t.Errorf("quantityIn(%q) = %v, %t; want %v", text, got, ok, want)
		}
	}
}

func TestNewAxis(t *testing.T) {
	for _, tt := range []struct {
		unit Unit
		at   []float64
		want string // in the error; "" for none
	}{
		{Nanometre, []float64{900, 901}, ""}, {Nanometre, []float64{901, 900}, ""}, {Channel, []float64{0, 1}, ""}, {UnknownUnit, []float64{-1, 1}, ""},
		{Nanometre, nil, "at least 2 channels, found 0"}, {Nanometre, []float64{900}, "found 1"}, {Nanometre, []float64{900, 900}, "position 2 (900) does not go on"},
		{Nanometre, []float64{900, 902, 901}, "position 3 (901) does not go on from position 2 (902)"}, {Nanometre, []float64{902, 900, 901}, "position 3"},
		{Nanometre, []float64{-900, 900}, "positions in nm are above zero"}, {Nanometre, []float64{900, math.NaN()}, "position 2 is NaN"}, {Nanometre, []float64{900, math.Inf(1)}, "position 2 is +Inf"},
	} {
		a, err := NewAxis(tt.unit, tt.at)
		if (err == nil) != (tt.want == "") || err != nil && !strings.Contains(err.Error(), tt.want) {
			t.Errorf("NewAxis(%v, %v) = %v, %v; want error %q", tt.unit, tt.at, a, err, tt.want)
		}
	}
}

func TestAxis(t *testing.T) {
	at := []float64{1000, 998, 996}
	a := axisOf(t, ReciprocalCentimetre, at...)
	at[0] = 7
	if v := a.Values(); v[0] != 1000 || a.At(2) != 996 || a.Len() != 3 || a.Rising() || a.Unit() != ReciprocalCentimetre {
		t.Errorf("axis = %v, rising %t, %v; want 1000 998 996, falling, cm⁻¹, untouched by the caller", v, a.Rising(), a.Unit())
	}
	a.Values()[0] = 7
	if lo, hi := a.Range(); lo != 996 || hi != 1000 || a.At(0) != 1000 {
		t.Errorf("Range = %v, %v; want 996, 1000", lo, hi)
	}
	b, err := json.Marshal(a)
	var back Axis
	if err != nil || json.Unmarshal(b, &back) != nil || !a.Equal(&back) {
		t.Errorf("axis comes back as %v from %s, %v", &back, b, err)
	}
	for _, s := range []string{`{"unit":"nm","at":[1]}`, `{"unit":"ell","at":[1,2]}`, `7`} {
		if json.Unmarshal([]byte(s), &back) == nil {
			t.Errorf("axis of %s is taken, want an error", s)
		}
	}
	if a.Equal(nil) || a.Equal(axisOf(t, Nanometre, 1000, 998, 996)) || a.Equal(axisOf(t, ReciprocalCentimetre, 1000, 998)) || !a.Equal(a) {
		t.Error("Equal takes axes for equal that are not, or the other way round")
	}
}

func axisOf(t testing.TB, u Unit, at ...float64) *Axis {
	t.Helper()
	a, err := NewAxis(u, at)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestSpectrumNames(t *testing.T) {
	if s := (Spectrum{File: "oat.csv"}); s.Name() != "oat.csv" {
		t.Errorf("Name = %q", s.Name())
	}
	if s := (Spectrum{File: "day.csv", Row: 3}); s.Name() != "day.csv: row 3" {
		t.Errorf("Name = %q", s.Name())
	}
	for _, tt := range []struct {
		u    Unreadable
		want string
	}{{Unreadable{File: "a", Line: 2, Row: 1, Reason: "r"}, "a: line 2: r"}, {Unreadable{File: "a", Row: 1, Reason: "r"}, "a: row 1: r"}, {Unreadable{File: "a", Reason: "r"}, "a: r"}} {
		if got := tt.u.Error(); got != tt.want {
			t.Errorf("Error = %q, want %q", got, tt.want)
		}
	}
}

func TestGuessUnit(t *testing.T) {
	for _, tt := range []struct {
		lo, hi, step float64
		want         Unit
	}{
		{350, 2600, 10, Nanometre}, {900, 1700, 1.5, Nanometre}, {0.35, 2.6, 0.01, Micrometre}, {2.5, 25, 0.5, Micrometre}, {4000, 12500, 8, ReciprocalCentimetre}, {400, 4000, 4, ReciprocalCentimetre},
		{0, 511, 1, Channel}, {1, 512, 1, Channel}, {0, 511, 2, UnknownUnit}, {-5, 5, .1, UnknownUnit}, {1e6, 2e6, 1e4, UnknownUnit},
	} {
		var at []float64
		for x := tt.lo; x <= tt.hi; x += tt.step {
			at = append(at, x)
		}
		if got := GuessUnit(at); got != tt.want {
			t.Errorf("GuessUnit(%g…%g) = %v, want %v", tt.lo, tt.hi, got, tt.want)
		}
		if tt.want == Channel {
			continue
		}
		for i, k := 0, len(at)-1; i < k; i, k = i+1, k-1 {
			at[i], at[k] = at[k], at[i]
		}
		if got := GuessUnit(at); got != tt.want {
			t.Errorf("GuessUnit(%g…%g falling) = %v, want %v", tt.lo, tt.hi, got, tt.want)
		}
	}
	if got := GuessUnit(nil); got != UnknownUnit {
		t.Errorf("GuessUnit of nothing = %v", got)
	}
}

func TestGuessQuantity(t *testing.T) {
	for _, tt := range []struct {
		v    []float64
		want Quantity
	}{{[]float64{.1, 2.5}, Absorbance}, {[]float64{.1, 9.9}, Absorbance}, {[]float64{.1, 10}, Intensity}, {[]float64{-30, 0}, Intensity}, {nil, Absorbance}} {
		if got := GuessQuantity(tt.v); got != tt.want {
			t.Errorf("GuessQuantity(%v) = %v, want %v", tt.v, got, tt.want)
		}
	}
}
