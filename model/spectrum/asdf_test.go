package spectrum

import (
	"math"
	"strings"
	"testing"
)

// decode decodes lines of ordinates, without their abscissae.
func decode(lines ...string) ([]float64, error) {
	var o ordinates
	for _, l := range lines {
		if err := o.line([]byte(l)); err != nil {
			return nil, err
		}
	}
	return o.y, nil
}

func sameFloats(a, b []float64) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] && !(math.IsNaN(a[i]) && math.IsNaN(b[i])) {
			return false
		}
	}
	return true
}

// tableVI are the 53 ordinates of Table VI of McDonald and Wilks, Applied Spectroscopy 42 (1988) 151–162.
var tableVI = []float64{0, 0, 0, 0, 2, 4, 4, 4, 7, 5, 4, 4, 5, 5, 7, 10, 11, 11, 6, 5, 7, 6, 9, 9, 7, 10, 10, 9, 10, 11, 12, 15, 16, 16, 14, 17, 38, 38, 35,
	38, 42, 47, 54, 59, 66, 75, 78, 88, 96, 104, 110, 121, 128}

func TestOrdinates(t *testing.T) {
	tableVIIb := []float64{1, 2, 3, 3, 2, 1, 0, -1, -2, -3}
	falling := []float64{99, 98, 97, 96, 98, 93}
	thousands := []float64{1000, 2000, 2001, 2002, 2003, 2003, 2003}
	nan := math.NaN()
	for _, tt := range []struct {
		source string
		lines  []string
		want   []float64
	}{
		// McDonald and Wilks 1988, Table VIIb, as the test suite of the Perl module JCAMP::DX quotes it.
		{"Table VIIb FIX", []string{"1 2 3 3 2 1 0 -1 -2 -3"}, tableVIIb},
		{"Table VIIb PAC", []string{"1+2+3+3+2+1+0-1-2-3"}, tableVIIb},
		{"Table VIIb PAC with blanks", []string{"1 2 3 3 2 1 0-1-2-3"}, tableVIIb},
		{"Table VIIb SQZ", []string{"1BCCBA@abc"}, tableVIIb},
		{"Table VIIb DIF", []string{"1JJ%jjjjjj"}, tableVIIb},
		{"Table VIIb DIFDUP", []string{"1JT%jX"}, tableVIIb},
		// Table VI, with the DIFDUP string as corrected by Baumbach and others, 2001 (the print of 1988 has typing errors).
		{"Table VI DIFDUP", []string{"@VKT%TLkj%J%KLJ%njKjL%kL%jJULJ%kLK1%lLMNPNPRLJ0QTOJ1P", "A28"}, tableVI},
		// Lancashire, University of the West Indies, page on the JCAMP-DX format, examples of the forms.
		{"West Indies blanks", []string{"99 98 97 96 98 93"}, falling},
		{"West Indies commas", []string{"99,98,97,96,98,93"}, falling},
		{"West Indies PAC", []string{"99+98+97+96+98+93"}, falling},
		{"West Indies SQZ", []string{"99I8I7I6I8I3"}, falling},
		{"West Indies DIF", []string{"99jjjKn"}, falling},
		{"West Indies DIFDUP", []string{"99jUKn"}, falling},
		// Draft of JCAMP-DX 6.00, examples of the forms.
		{"draft 6 AFFN", []string{"1000 2000 2001 2002 2003 2003 2003"}, thousands},
		{"draft 6 PAC", []string{"+1000+2000+2001+2002+2003+2003+2003"}, thousands},
		{"draft 6 SQZ", []string{"A000B000B001B002B003B003B003"}, thousands},
		{"draft 6 DIF", []string{"A000J000JJJ%%"}, thousands},
		{"draft 6 DIFDUP", []string{"A000J000JU%%"}, thousands},
		// Section 5 of the standard: counts include the first; equal differences are counted.
		{"50 four times", []string{"50V"}, []float64{50, 50, 50, 50}},
		{"50%%% counted", []string{"50%U"}, []float64{50, 50, 50, 50}},
		// Exponents: AFFN examples and E as the digit 5, as public decoders' tests quote them.
		{"AFFN", []string{"1.23 4.5E23 4.5e2 7.89E-14 600 1E2"}, []float64{1.23, 4.5e23, 450, 7.89e-14, 600, 100}},
		{"E is 5", []string{"1E2 B23C34D45E56"}, []float64{100, 223, 334, 445, 556}},
		{"E with a sign", []string{"1.5E+02 -2.0E-01 3"}, []float64{150, -.2, 3}},
		// By hand.
		{"count of two digits", []string{"A2S2"}, append([]float64{12}, fill(11, 12)...)},
		{"s counts nine", []string{"1s"}, fill(9, 1)},
		{"missing", []string{"1 ? 3"}, []float64{1, nan, 3}},
		{"missing counted", []string{"1?U 3"}, []float64{1, nan, nan, nan, 3}},
		{"decimals in a pseudo-number", []string{"A.5J.25"}, []float64{1.5, 2.75}},
		{"Y check holds", []string{"A2KJ", "A5j"}, []float64{12, 14, 15, 14}},
		{"Y check of decimals", []string{"A.1J.2", "B.3J"}, []float64{1.1, 2.3, 3.3}},
		{"no Y check after a value", []string{"A2B3", "B3"}, []float64{12, 23, 23}},
		{"Y check after counted differences", []string{"A0JU", "A3"}, []float64{10, 11, 12, 13}},
	} {
		t.Run(tt.source, func(t *testing.T) {
			got, err := decode(tt.lines...)
			if err != nil || !sameFloats(got, tt.want) {
				t.Errorf("decode(%q) = %v, %v; want %v", tt.lines, got, err, tt.want)
			}
		})
	}
}

func fill(n int, v float64) []float64 {
	s := make([]float64, n)
	for i := range s {
		s[i] = v
	}
	return s
}

func TestOrdinatesRefused(t *testing.T) {
	for _, tt := range []struct {
		source string
		lines  []string
		want   string
	}{
		// As the tests of public decoders quote them.
		{"DIF without a value", []string{"jjj"}, "no ordinate before it"},
		{"two DUP", []string{"1VZ"}, "follows a count"},
		{"illegal character", []string{"123 u45"}, `"u" is no digit`},
		{"Y check", []string{"+1jj", "+4jj"}, "the line before ends with -1, this one begins with 4"},
		{"DIF after missing", []string{"1 ? J"}, "follows a missing"},
		// By hand.
		{"DUP without a value", []string{"V1"}, "no ordinate before it"},
		{"DIF at the start of the second line", []string{"1 2", "J"}, "no ordinate before it on its line"},
		{"DIF after counted missing", []string{"1?TJ"}, "follows a missing"},
		{"count with a fraction", []string{"1S.5"}, "count (DUP) of 1.5"},
		{"count beyond all bounds", []string{"1S99999999"}, "count (DUP)"},
		{"counts that add up beyond all bounds", []string{"1S040000 2S040000"}, "more than"},
		{"two points", []string{"1.2.3"}, "no number"},
		{"sign alone", []string{"+"}, "no number"},
		{"two points in SQZ", []string{"A.2.3"}, "no number"},
		{"too large", []string{"1E+999"}, "no number"},
		{"too long", []string{"A" + strings.Repeat("0", 100)}, "101 characters"},
		{"Y check in SQZ", []string{"1jj", "a1K"}, "ends with -1, this one begins with -11"},
		{"empty", []string{""}, "no ordinate"},
		{"blank second line", []string{"A2J", "  "}, "no ordinate"},
	} {
		if got, err := decode(tt.lines...); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: decode(%q) = %v, %v; want an error that says %q", tt.source, tt.lines, got, err, tt.want)
		}
	}
}
