package condition

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/mat"

	"asusual/model/project"
)

// usualRows returns pretreated spectra of p channels: two directions and some noise, times by.
func usualRows(seed uint64, n, p int, by float64) [][]float64 {
	rng := rand.New(rand.NewPCG(seed, 3))
	rows := make([][]float64, n)
	for i := range rows {
		rows[i] = make([]float64, p)
		a, b := 3*rng.NormFloat64(), rng.NormFloat64()
		for j := range rows[i] {
			at := float64(j) / float64(p)
			rows[i][j] = by * (1 + a*math.Sin(math.Pi*at) + b*math.Cos(2*math.Pi*at) + 0.1*rng.NormFloat64())
		}
	}
	return rows
}

// TestSignatureOfUsual: in each place, usual spectra have a mean of 0 and a variance of 1.
func TestSignatureOfUsual(t *testing.T) {
	for _, p := range []int{5, 24, 30, 100} {
		rows := usualRows(1, 200, p, 1)
		m, s := signature(t, rows, 2)
		if want := 2 + min(p, maxBands); s.Len() != want {
			t.Fatalf("p = %d: %d places, want %d", p, s.Len(), want)
		}
		if err := s.Validate(m); err != nil {
			t.Errorf("p = %d: %v", p, err)
		}
		mean, square := make([]float64, s.Len()), make([]float64, s.Len())
		for _, x := range rows {
			for i, v := range sign(s, m, x) {
				mean[i] += v / 200
				square[i] += v * v / 199
			}
		}
		for i := range mean {
			if !scalar.EqualWithinAbs(mean[i], 0, 1e-9) || !scalar.EqualWithinAbs(square[i], 1, 1e-9) {
				t.Errorf("p = %d, place %d: mean %g and mean square %g, want 0 and 1", p, i+1, mean[i], square[i])
			}
		}
	}
}

// TestSignatureIgnoresTheUnit: spectra in another unit, and rows in another order, have the same signatures.
func TestSignatureIgnoresTheUnit(t *testing.T) {
	rows := usualRows(2, 60, 48, 1)
	m, s := signature(t, rows, 2)
	x := usualRows(3, 1, 48, 1)[0]
	x[7] += 2
	want := sign(s, m, x)
	same := func(what string, got []float64) {
		t.Helper()
		for i, v := range got {
			if !scalar.EqualWithinAbsOrRel(v, want[i], 1e-7, 1e-7) {
				t.Errorf("%s: place %d = %.10g, want %.10g", what, i+1, v, want[i])
			}
		}
	}
	m5, s5 := signature(t, usualRows(2, 60, 48, 1e5), 2)
	scaled := make([]float64, len(x))
	for i, v := range x {
		scaled[i] = 1e5 * v
	}
	same("times 10⁵", sign(s5, m5, scaled))
	rand.New(rand.NewPCG(4, 4)).Shuffle(len(rows), func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
	mo, so := signature(t, rows, 2)
	same("rows in another order", sign(so, mo, x))
}

// TestSignaturePointsAtTheBand: an absorber that usual does not know shows in the places of its channels, in proportion, and
// not in the scores of directions without it.
func TestSignaturePointsAtTheBand(t *testing.T) {
	const p = 48
	m := &project.PCA{Mean: make([]float64, p), Loadings: make([]float64, p), K: 1, P: p, N: 9, Eigenvalues: []float64{4}}
	m.Loadings[47] = 1
	s := &Signature{Edges: []int{0, 4, 20, 47, 48}, Scale: []float64{2, 0.1, 0.1, 0.5, 1}}
	if err := s.Validate(m); err != nil {
		t.Fatal(err)
	}
	x := make([]float64, p)
	for j := 8; j < 16; j++ {
		x[j] = 3 // half of the second band
	}
	x[47] = 10
	want := []float64{5, 0, 15, 0, 0} // 10/2; 3·8/16/0.1
	for i, v := range sign(s, m, x) {
		if !scalar.EqualWithinAbs(v, want[i], 1e-12) {
			t.Errorf("place %d = %g, want %g", i+1, v, want[i])
		}
	}
}

// TestSignatureBands: the bands cover every channel once.
func TestSignatureBands(t *testing.T) {
	for p := 3; p < 60; p++ {
		_, s := signature(t, usualRows(5, 8, p, 1), 1)
		if s.Edges[0] != 0 || s.Edges[len(s.Edges)-1] != p {
			t.Fatalf("p = %d: bands %v do not reach from 0 to p", p, s.Edges)
		}
		widest, narrowest := 0, p
		for b := 1; b < len(s.Edges); b++ {
			widest, narrowest = max(widest, s.Edges[b]-s.Edges[b-1]), min(narrowest, s.Edges[b]-s.Edges[b-1])
		}
		if narrowest < 1 || widest > narrowest+1 {
			t.Errorf("p = %d: bands of %d to %d channels", p, narrowest, widest)
		}
	}
}

func TestNewSignatureRefuses(t *testing.T) {
	rows := usualRows(6, 20, 10, 1)
	x := mat.NewDense(20, 10, nil)
	for i, r := range rows {
		x.SetRow(i, r)
	}
	m, err := project.Fit(x, 2)
	if err != nil {
		t.Fatal(err)
	}
	from := func(rows ...[]float64) func() []float64 {
		return func() []float64 {
			if len(rows) == 0 {
				return nil
			}
			x := rows[0]
			rows = rows[1:]
			return x
		}
	}
	for name, c := range map[string]struct {
		rows func() []float64
		want string
	}{
		"none":              {from(), "0 usual spectra"},
		"one":               {from(rows[0]), "1 usual spectra"},
		"twice the mean":    {from(m.Mean, m.Mean), "spread of"},
		"a value too large": {from(rows[0], append([]float64{math.Inf(1)}, rows[0][1:]...)), "spread of"},
	} {
		if s, err := NewSignature(m, c.rows); s != nil || err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("NewSignature(%s) = %v, %v; want an error with %q", name, s, err, c.want)
		}
	}
}

func TestSignatureValidate(t *testing.T) {
	m := model(1, []float64{1, 0, 0}, 0, 0, 0)
	tests := []struct {
		s    Signature
		want string
	}{
		{Signature{[]int{0, 1, 3}, []float64{1, 1, 1}}, ""},
		{Signature{[]int{0, 3}, []float64{1, 1}}, ""},
		{Signature{}, "0 places"},
		{Signature{[]int{0, 1, 3}, []float64{1, 1}}, "2 places"},
		{Signature{[]int{0, 1, 2}, []float64{1, 1, 1}}, "on 1 components and 3 channels"},
		{Signature{[]int{1, 2, 3}, []float64{1, 1, 1}}, "3 places"},
		{Signature{[]int{0, 2, 2, 3}, []float64{1, 1, 1, 1}}, "band 2 of the signature is empty"},
		{Signature{[]int{0, 3}, []float64{1, 0}}, "place 2 of the signature has the scale 0"},
		{Signature{[]int{0, 3}, []float64{math.NaN(), 1}}, "place 1"},
		{Signature{[]int{0, 3}, []float64{math.Inf(1), 1}}, "place 1"},
	}
	for _, tt := range tests {
		err := tt.s.Validate(m)
		if tt.want == "" && err != nil || tt.want != "" && (err == nil || !strings.Contains(err.Error(), tt.want)) {
			t.Errorf("Validate(%+v) = %v, want an error with %q", tt.s, err, tt.want)
		}
	}
}

// TestSignatureRoundTrip: read back from JSON it says the same, to the last digit, and Of makes no garbage.
func TestSignatureRoundTrip(t *testing.T) {
	rows := usualRows(7, 30, 40, 1)
	m, s := signature(t, rows, 2)
	b, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	var back *Signature
	if err := json.Unmarshal(b, &back); err != nil {
		t.Fatal(err)
	}
	got, want := sign(back, m, rows[3]), sign(s, m, rows[3])
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("place %d after reading = %g, want %g", i+1, got[i], want[i])
		}
	}
	y, tt, e := make([]float64, s.Len()), make([]float64, 2), make([]float64, 40)
	m.Scores(tt, rows[3])
	if n := testing.AllocsPerRun(100, func() { s.Of(y, m, rows[3], tt, e) }); n != 0 {
		t.Errorf("Of makes %g allocations, want none", n)
	}
}
