package project

import (
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats/scalar"
)

// The products that turn their matrices first are those that the definitions give, for any sizes and strides.
func TestProductsAreThoseOfTheDefinition(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	filled := func(rows, cols int) blas64.General {
		x := blas64.General{Rows: rows, Cols: cols, Stride: cols + r.IntN(3)}
		x.Data = make([]float64, rows*x.Stride)
		for i := range x.Data {
			x.Data[i] = r.NormFloat64()
		}
		return x
	}
	at := func(x blas64.General, i, j int) float64 { return x.Data[i*x.Stride+j] }
	var turned []float64 // used again, too large and too small
	for range 12 {
		n, p, b := 1+r.IntN(chunk), 1+r.IntN(2*block), 1+r.IntN(9)
		x, v := filled(n, p), filled(b, p)
		xtx := zeros(p, p) // as it is written: Σ xᵢxᵢᵀ
		for i := range n {
			for j := range p {
				for k := range p {
					xtx.Data[j*p+k] += at(x, i, j) * at(x, i, k)
				}
			}
		}
		c := newSquare(p)
		turned = c.addProducts(x, 0.5, turned)
		w := zeros(b, p)
		turned = addMultiplied(w, v, x, 0.25, make([]float64, b*chunk), turned)
		cube := 0.0
		for j := range p {
			for k := range p {
				if j <= k && !scalar.EqualWithinAbsOrRel(at(c.General, j, k), 0.5*at(xtx, j, k), 1e-10, 1e-12) {
					t.Fatalf("addProducts of %d×%d: element %d, %d = %g, want %g", n, p, j, k, at(c.General, j, k), 0.5*at(xtx, j, k))
				}
				cube += at(xtx, j, k) * at(xtx, j, k)
			}
			for i := range b {
				want := 0.0
				for k := range p {
					want += 0.25 * at(v, i, k) * at(xtx, k, j)
				}
				if got := at(w, i, j); !scalar.EqualWithinAbsOrRel(got, want, 1e-9, 1e-11) {
					t.Fatalf("addMultiplied of %d directions with %d×%d: element %d, %d = %g, want %g", b, n, p, i, j, got, want)
				}
			}
		}
		third := 0.0 // tr (xᵀx)³, as it is written
		for i := range p {
			for j := range p {
				for k := range p {
					third += at(xtx, i, j) * at(xtx, j, k) * at(xtx, k, i)
				}
			}
		}
		if th := c.traces(); !scalar.EqualWithinRel(th[1], cube/4, 1e-11) || !scalar.EqualWithinRel(th[2], third/8, 1e-11) {
			t.Fatalf("traces of %d×%d: Σλ² = %g and Σλ³ = %g, want %g and %g", n, p, th[1], th[2], cube/4, third/8)
		}
	}
}
