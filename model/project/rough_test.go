package project

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// Where eigenvalues are far apart, a few sweeps give what a full eigendecomposition gives.
func TestRoughFindsSeparateDirections(t *testing.T) {
	const p, b = 60, 8
	rng := rand.New(rand.NewPCG(3, 1))
	a := mat.NewDense(p, p, nil)
	for i := range p {
		for j := range p {
			a.Set(i, j, rng.NormFloat64()*math.Pow(3, -float64(j)))
		}
	}
	var c mat.Dense
	c.Mul(a, a.T())
	sym := mat.NewSymDense(p, nil)
	for i := range p {
		for j := i; j < p; j++ {
			sym.SetSym(i, j, c.At(i, j))
		}
	}
	want, vec := falling(sym, 4)
	values, axes := Rough(func(w, v *mat.Dense) { w.Mul(v, sym) }, RoughStart(b, p, 1), 4)
	for i, v := range want {
		if math.Abs(values[i]-v) > 1e-9*want[0] {
			t.Errorf("Rough: value %d is %g, want %g", i+1, values[i], v)
		}
		if d := math.Abs(floats.Dot(axes.RawRowView(i), vec.Data[i*p:(i+1)*p])); d < 1-1e-9 {
			t.Errorf("Rough: direction %d has cosine %g with the eigenvector, want 1", i+1, d)
		}
	}
	var g mat.Dense
	g.Mul(axes, axes.T())
	for i := range b {
		for j := range b {
			want := 0.0
			if i == j {
				want = 1
			}
			if math.Abs(g.At(i, j)-want) > 1e-12 {
				t.Errorf("Rough: rows %d and %d have the product %g, want %g", i+1, j+1, g.At(i, j), want)
			}
		}
	}
}
