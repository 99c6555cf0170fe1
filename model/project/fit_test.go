package project

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/mat"
)

// cooley is 10×3: NIST/SEMATECH e-Handbook of Statistical Methods, section 6.5.5.2.
var cooley = mat.NewDense(10, 3, []float64{7, 4, 3, 4, 1, 8, 6, 3, 5, 8, 6, 1, 8, 5, 7, 7, 2, 9, 5, 3, 3, 9, 5, 8, 7, 4, 5, 8, 2, 2})

func mustFit(t testing.TB, x *mat.Dense, k int) *PCA {
	t.Helper()
	m, err := Fit(x, k)
	if err != nil {
		n, p := x.Dims()
		t.Fatalf("Fit(%d×%d, %d) = %v", n, p, k, err)
	}
	return m
}

func near64(t testing.TB, call string, got, want, tol float64) {
	t.Helper()
	if !scalar.EqualWithinAbsOrRel(got, want, tol, tol) {
		t.Errorf("%s = %.12g, want %.12g", call, got, want)
	}
}

// share64 is near64 for what may be small beside the tolerance, such as sums of squared and cubed eigenvalues.
func share64(t testing.TB, call string, got, want, tol float64) {
	t.Helper()
	if !scalar.EqualWithinRel(got, want, tol) {
		t.Errorf("%s = %.12g, want %.12g within %g of it", call, got, want, tol)
	}
}

// spectra are n rows of p channels: bands of falling strength, an offset and noise.
func spectra(n, p, bands int, noise float64) *mat.Dense {
	rnd := rand.New(rand.NewPCG(7, 11))
	x := mat.NewDense(n, p, nil)
	for i := range n {
		r := x.RawRowView(i)
		for j := range r {
			r[j] = 0.5 + 0.1*float64(j)/float64(p) + noise*rnd.NormFloat64()
		}
		for b := range bands {
			a := rnd.NormFloat64() * math.Pow(0.5, float64(b)) * 0.1
			mid, w := (float64(b)+0.5)/float64(bands)*float64(p), 0.04*float64(p)
			for j := range r {
				d := (float64(j) - mid) / w
				r[j] += a * math.Exp(-d*d/2)
			}
		}
	}
	return x
}

// The quick way gives what the full decomposition gives.
func TestKrylovIsFull(t *testing.T) {
	for _, c := range []struct{ n, p, bands, k int }{{300, 120, 5, 4}, {90, 400, 8, 6}, {500, 60, 3, 10}} {
		x := spectra(c.n, c.p, c.bands, 1e-3)
		mean, err := meanOf(x)
		if err != nil {
			t.Fatal(err)
		}
		r := &rows{x: x, mean: mean}
		v, u, ok := leading(r, c.p, c.k, guards, nil)
		if !ok {
			t.Fatalf("%+v: leading did not converge", c)
		}
		fv, fu, err := r.decompose(c.k)
		if err != nil {
			t.Fatal(err)
		}
		for i := range c.k {
			near64(t, fmt.Sprintf("%+v: eigenvalue %d", c, i), v[i], fv[i], 1e-10)
			d := floats.Dot(u[i*c.p:(i+1)*c.p], fu[i*c.p:(i+1)*c.p])
			near64(t, fmt.Sprintf("%+v: vector %d", c, i), math.Abs(d), 1, 1e-9)
		}
	}
}

func TestMomentsAreFit(t *testing.T) {
	x := spectra(400, 100, 5, 1e-3)
	want := mustFit(t, x.Slice(100, 400, 0, 100).(*mat.Dense), 4)
	all, run := NewMoments(x.RawRowView(0)), NewMoments(x.RawRowView(0))
	if err := all.Add(x); err != nil {
		t.Fatal(err)
	}
	if err := run.Add(x.Slice(0, 100, 0, 100).(*mat.Dense)); err != nil {
		t.Fatal(err)
	}
	for _, warm := range []*PCA{nil, mustFit(t, x, 4)} {
		got, err := all.FitWithout(run, 4, warm)
		if err != nil {
			t.Fatal(err)
		}
		for i := range 4 {
			near64(t, "eigenvalue", got.Eigenvalues[i], want.Eigenvalues[i], 1e-9)
			near64(t, "product of loadings", floats.Dot(got.Loading(i), want.Loading(i)), 1, 1e-9)
		}
		share64(t, "Theta[0]", got.Theta[0], want.Theta[0], 1e-9)
		if warm == nil {
			share64(t, "Theta[2]", got.Theta[2], want.Theta[2], 1e-9)
		}
	}
}
