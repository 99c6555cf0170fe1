package stretch

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/mat"

	"asusual/model/pretreat"
	"asusual/model/project"
	"asusual/model/spectrum"
)

func axis(t *testing.T, n int, falling bool) *spectrum.Axis {
	t.Helper()
	at := make([]float64, n)
	for i := range at {
		at[i] = 1000 + 5*float64(i)
		if falling {
			at[i] = 1000 + 5*float64(n-1-i)
		}
	}
	a, err := spectrum.NewAxis(spectrum.Nanometre, at)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func chainOf(t *testing.T, a *spectrum.Axis, steps ...pretreat.Step) *pretreat.Chain {
	t.Helper()
	c, err := pretreat.Fit(a, steps, nil)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// broad is a mean spectrum with two broad bands.
func broad(a *spectrum.Axis) []float64 {
	m := make([]float64, a.Len())
	lo, hi := a.Range()
	for i := range m {
		z := (a.At(i) - lo) / (hi - lo)
		m[i] = 0.3 + 0.8*math.Exp(-math.Pow((z-0.4)/0.15, 2)) + 0.5*math.Exp(-math.Pow((z-0.8)/0.1, 2))
	}
	return m
}

// TestShapes: one stretch each, of length 1, whatever the pretreatment and the direction of the axis; none where there are too
// few channels.
func TestShapes(t *testing.T) {
	for _, falling := range []bool{false, true} {
		a := axis(t, 200, falling)
		for name, steps := range map[string][]pretreat.Step{
			"none": nil, "snv": {{Name: pretreat.SNV}},
			"derivative": {{Name: pretreat.SNV}, {Name: pretreat.Derivative, Window: 45, Degree: 2, Order: 1}},
		} {
			shapes, err := Shapes(chainOf(t, a, steps...), broad(a))
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if len(shapes) != Most {
				t.Errorf("%s, falling %v: %d stretches of 200 channels, want %d", name, falling, len(shapes), Most)
			}
			for i, s := range shapes {
				if got := floats.Norm(s.Weights, 2); !scalar.EqualWithinAbs(got, 1, 1e-12) || s.From < 0 || s.From+len(s.Weights) > 200 {
					t.Errorf("%s: stretch %d from channel %d, %d channels, length %v; want length 1 within the axis", name, i, s.From, len(s.Weights), got)
				}
			}
		}
	}
	small := axis(t, 15, false)
	if shapes, err := Shapes(chainOf(t, small), broad(small)); err != nil || shapes != nil {
		t.Errorf("Shapes of 15 channels = %v, %v, want none", shapes, err)
	}
	gap := axis(t, 200, false)
	c := chainOf(t, gap, pretreat.Step{Name: pretreat.LeaveOut, From: 1300, To: 1700})
	shapes, err := Shapes(c, broad(gap))
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range shapes {
		if s.From+len(s.Weights) > c.Out().Len() {
			t.Errorf("with a gap: stretch %d ends at channel %d of %d", i, s.From+len(s.Weights), c.Out().Len())
		}
	}
}

// TestBankIsOfTheResidual: the short way gives the products with the residual written out; a difference of two spectra is the
// difference of their answers; it does not allocate.
func TestBankIsOfTheResidual(t *testing.T) {
	a := axis(t, 120, false)
	rng := rand.New(rand.NewPCG(1, 2))
	x := mat.NewDense(40, 120, nil)
	mean := broad(a)
	for i := range 40 {
		u, v := rng.NormFloat64(), rng.NormFloat64()
		for c := range 120 {
			x.Set(i, c, mean[c]*(1+0.1*u)+0.02*v*float64(c)/120+0.001*rng.NormFloat64())
		}
	}
	m, err := project.Fit(x, 3)
	if err != nil {
		t.Fatal(err)
	}
	shapes, err := Shapes(chainOf(t, a), mean)
	if err != nil {
		t.Fatal(err)
	}
	b := New(shapes, m)
	if err := b.Validate(3, 120); err != nil {
		t.Fatal(err)
	}
	scores, e, got := make([]float64, 3), make([]float64, 120), make([]float64, b.Len())
	for i := range 5 {
		row := x.RawRowView(i)
		m.Scores(scores, row)
		m.Residual(e, row, scores)
		b.Of(got, row, scores)
		for j, s := range shapes {
			if want := floats.Dot(s.Weights, e[s.From:s.From+len(s.Weights)]); !scalar.EqualWithinAbs(got[j], want, 1e-12) {
				t.Errorf("spectrum %d, stretch %d: %v, the residual written out gives %v", i, j, got[j], want)
			}
		}
	}
	if n := testing.AllocsPerRun(100, func() { b.Of(got, x.RawRowView(0), scores) }); n != 0 {
		t.Errorf("Of allocates %v times, want 0", n)
	}
	d, td, other := make([]float64, 120), make([]float64, 3), make([]float64, b.Len())
	floats.SubTo(d, x.RawRowView(1), x.RawRowView(0))
	for i := range td {
		td[i] = floats.Dot(m.Loading(i), d)
	}
	m.Scores(scores, x.RawRowView(0))
	b.Of(got, x.RawRowView(0), scores)
	m.Scores(scores, x.RawRowView(1))
	b.Of(other, x.RawRowView(1), scores)
	change := make([]float64, b.Len())
	b.Change(change, d, td)
	for j := range change {
		if !scalar.EqualWithinAbs(change[j], other[j]-got[j], 1e-12) {
			t.Errorf("stretch %d: a difference changes it by %v, want %v", j, change[j], other[j]-got[j])
		}
	}
	data, err := json.Marshal(b)
	if err != nil {
		t.Fatal(err)
	}
	var back Bank
	if err := json.Unmarshal(data, &back); err != nil {
		t.Fatal(err)
	}
	back.Of(other, x.RawRowView(1), scores)
	b.Of(got, x.RawRowView(1), scores)
	if !floats.Equal(other, got) {
		t.Errorf("a bank read back answers %v, want %v", other, got)
	}
}

// TestBankSeesABand: a narrow band stands out on its own stretch, by most of its length (a matched filter's answer to what it
// is matched to), and hardly anywhere else.
func TestBankSeesABand(t *testing.T) {
	a := axis(t, 240, false)
	c := chainOf(t, a)
	shapes, err := Shapes(c, broad(a))
	if err != nil {
		t.Fatal(err)
	}
	for place := range Most {
		d := make([]float64, 240)
		lo, hi := a.Range()
		at := lo + (hi-lo)*(float64(place)+0.5)/Most
		for i := range d {
			d[i] = math.Exp(-math.Pow((a.At(i)-at)/35, 2) / 2)
		}
		floats.Scale(1/floats.Norm(d, 2), d)
		for j, s := range shapes {
			got := floats.Dot(s.Weights, d[s.From:s.From+len(s.Weights)])
			if j == place && got < 0.9 || max(j, place)-min(j, place) > 1 && math.Abs(got) > 0.1 {
				t.Errorf("a band of length 1 in the middle of stretch %d answers %.2f on stretch %d", place, got, j)
			}
		}
	}
}

func TestValidate(t *testing.T) {
	var none *Bank
	if none.Len() != 0 || none.Validate(3, 10) != nil {
		t.Error("no bank is one of no stretches")
	}
	good := Bank{Shapes: []Shape{{From: 2, Weights: []float64{1, 0}}}, Mean: []float64{0}, Loads: []float64{1, 2, 3}}
	if err := good.Validate(3, 10); err != nil {
		t.Errorf("Validate = %v, want it good", err)
	}
	for name, b := range map[string]Bank{
		"means":  {Shapes: good.Shapes, Loads: good.Loads},
		"loads":  {Shapes: good.Shapes, Mean: good.Mean, Loads: good.Loads[:2]},
		"beyond": {Shapes: []Shape{{From: 9, Weights: []float64{1, 0}}}, Mean: good.Mean, Loads: good.Loads},
	} {
		if err := b.Validate(3, 10); err == nil {
			t.Errorf("%s: Validate accepts it", name)
		}
	}
}
