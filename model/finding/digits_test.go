package finding

import (
	"math"
	"regexp"
	"strings"
	"testing"
)

func TestDigits(t *testing.T) {
	for _, c := range []struct {
		v      float64
		digits int
		want   string
	}{
		{54.17, rough, "54"}, {5.417, rough, "5.4"}, {0.5417, rough, "0.54"}, {0.0005417, rough, "0.00054"}, {541.7, rough, "542"}, {99.6, rough, "100"}, {2.04, rough, "2"},
		{1222.5, exact, "1222.5"}, {10300.25, exact, "10300.2"}, {905.5, exact, "905.5"}, {1222.5, plain, "1222"},
		{14.371, plain, "14.4"}, {0.00012345, plain, "0.000123"}, {0.000012345, plain, "1.23e-05"}, {-3.14159, plain, "-3.14"},
		{0, rough, "0"}, {1_234_567, rough, "1234567"}, {-7, rough, "-7"}, {math.NaN(), plain, "–"}, {math.Inf(-1), plain, "–"},
		{1e18, rough, "1e+18"},
	} {
		if got := number(c.v, c.digits); got != c.want {
			t.Errorf("number(%v, %d) = %q, want %q", c.v, c.digits, got, c.want)
		}
	}
}

// What is above its limit is said to be: two numbers that differ do so in words.
func TestNumbersThatDifferAreSaidToDiffer(t *testing.T) {
	for _, c := range []struct {
		f    Finding
		want string
	}{
		{Of(AboveT2, "", 14.211, 14.209), "inside the pattern of usual variation, but further out than usual (T² 14.211, limit 14.209)"},
		{Of(AboveQ, "", 3.14159, 2.5), "has a shape that usual spectra do not have (Q residual 3.14, limit 2.5)"},
		{Of(DarkNoise, "", 1.52, 1.5), "dark spectra are 1.52 times as noisy as the first ones, limit 1.5: look at the detector's cooling"},
		{Of(MovesAs, "a shift", 54.17, 54.2), "moves as a shift would make it (54 % of the departure): check the instrument first"}, // the second is not said
		{Of(LeaveOutCO2, "cm-1", 2280, 2390.5), "2280–2390.5 cm-1 is left out: there the air's carbon dioxide absorbs, and changes with who breathes nearby"},
		{Of(OutHere, "nm", 2, 1222.5, 54.17), "2 channels stand out alone from those beside them, the first, at 1222.5 nm, in 54 % of the latest spectra: look at the detector, or leave it out"},
		{Of(OutHere, "nm", 1, 1222.5, 54.17, 3), "the channel at 1222.5 nm stands out alone from those beside it, in 54 % of the latest spectra: look at the detector, or leave it out"},
	} {
		if got := c.f.String(); got != c.want {
			t.Errorf("%v = %q, want %q", c.f, got, c.want)
		}
	}
	if got, want := Of(DarkNoise, "", 1.52, 1.5).In(German()), "Dunkelspektren rauschen 1,52-mal so stark wie die ersten, Grenze 1,5: Kühlung des Detektors ansehen"; got != want {
		t.Errorf("in German %q, want %q", got, want)
	}
}

// A law: no percentage and no multiple that stands alone has more than two digits, but for those of whole numbers.
func TestSharesHaveTwoDigits(t *testing.T) {
	share := regexp.MustCompile(`\{(\d)\}(?: %| times|-mal|-fach)`)
	for kind, text := range English() {
		for _, m := range share.FindAllStringSubmatch(text, -1) {
			kind := Kind(strings.TrimSuffix(string(kind), string(single)))
			if i := int(m[1][0] - '0'); digits(kind, i) != rough {
				t.Errorf("%s: number %d of %q has %d digits, want %d", kind, i, text, digits(kind, i), rough)
			}
		}
	}
}
