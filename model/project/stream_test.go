package project

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// streamOf hands out the rows of x, some at a time, and counts how often that is done.
func streamOf(x *mat.Dense, some int, readings *int) Stream {
	return func(take func([]float64) error) error {
		*readings++
		n, p := x.Dims()
		for from := 0; from < n; from += some {
			to := min(from+some, n)
			if err := take(x.RawMatrix().Data[from*p : to*p]); err != nil {
				return err
			}
		}
		return nil
	}
}

// The streamed model is that of spectra that are held: on random spectra of many shapes, however they are cut.
func TestStreamIsFit(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 9))
	for range 6 {
		n, p, k := sampled+1+rnd.IntN(sampled), 20+rnd.IntN(40), 1+rnd.IntN(6)
		bands, noise, some := k+rnd.IntN(6), math.Pow(10, -1-4*rnd.Float64()), 1+rnd.IntN(700)
		name := fmt.Sprintf("n %d, p %d, k %d, %d bands, noise %.2g, %d at a time", n, p, k, bands, noise, some)
		x := spectra(n, p, bands, noise)
		readings := 0
		got, err := FitStream(streamOf(x, some, &readings), p, k)
		if err != nil {
			t.Fatalf("%s: FitStream = %v", name, err)
		}
		want := mustFit(t, x, k)
		if got.N != n || got.K != k || got.P != p {
			t.Errorf("%s: FitStream has n %d, k %d, p %d", name, got.N, got.K, got.P)
		}
		same(t, name+": mean", got.Mean, want.Mean, 1e-13)
		for i := range k {
			near64(t, fmt.Sprintf("%s: eigenvalue %d", name, i), got.Eigenvalues[i], want.Eigenvalues[i], 1e-10)
		}
		for i := range k { // the space is surer than one loading in it
			var in float64
			for j := range k {
				d := floats.Dot(got.Loading(i), want.Loading(j))
				in += d * d
			}
			near64(t, fmt.Sprintf("%s: loading %d within the space", name, i), in, 1, 1e-8)
		}
		near64(t, name+": θ₁", got.Theta[0], want.Theta[0], 1e-8)
		for i, tol := range []float64{0, 0.1, 0.3} {
			if i > 0 {
				near64(t, fmt.Sprintf("%s: θ%d", name, i+1), got.Theta[i]/want.Theta[i], 1, tol)
			}
		}
		if readings > 30 {
			t.Errorf("%s: read %d times", name, readings)
		}
	}
}

// Few spectra are held altogether, so the model is Fit's to the last bit.
func TestStreamOfFew(t *testing.T) {
	x := spectra(200, 60, 5, 1e-3)
	readings := 0
	got, err := FitStream(streamOf(x, 7, &readings), 60, 4)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "loadings", got.Loadings, mustFit(t, x, 4).Loadings, 0)
	if readings != 1 {
		t.Errorf("FitStream of 200 spectra reads them %d times, want once", readings)
	}
}

// Where nothing but noise is there, and the search gives up or goes on for long, the answer is right all the same.
func TestStreamOfNoise(t *testing.T) {
	const n, p, k = 2 * sampled, 60, 3
	rnd := rand.New(rand.NewPCG(2, 3))
	x := mat.NewDense(n, p, nil)
	for i := range n {
		for j := range p {
			x.Set(i, j, rnd.NormFloat64())
		}
	}
	readings := 0
	got, err := FitStream(streamOf(x, 100, &readings), p, k)
	if err != nil {
		t.Fatal(err)
	}
	want := mustFit(t, x, k)
	for i := range k {
		near64(t, fmt.Sprintf("eigenvalue %d", i), got.Eigenvalues[i], want.Eigenvalues[i], 1e-10)
	}
	s := &stream{each: streamOf(x, 100, &readings), p: p}
	if err := s.survey(); err != nil {
		t.Fatal(err)
	}
	full, err := s.fallback(k)
	if err != nil {
		t.Fatal(err)
	}
	for i := range k {
		near64(t, fmt.Sprintf("eigenvalue %d of the fallback", i), full.Eigenvalues[i], want.Eigenvalues[i], 1e-10)
	}
}

func TestStreamErrors(t *testing.T) {
	const n, p = sampled + 100, 12
	good := spectra(n, p, 4, 1e-3)
	nan := mat.DenseCopyOf(good)
	nan.Set(sampled+9, 3, math.NaN())
	flat := mat.NewDense(n, p, nil)
	broken := errors.New("the disk is gone")
	var readings int
	for _, c := range []struct {
		name string
		each Stream
		k    int
		want string
	}{
		{"nothing", func(func([]float64) error) error { return nil }, 2, "at least 2 spectra, found 0"},
		{"too many components", streamOf(good, 50, &readings), 13, "1 to 12 can be had"},
		{"not a number", streamOf(nan, 50, &readings), 2, fmt.Sprintf("spectrum %d has a value", sampled+10)},
		{"all the same", streamOf(flat, 50, &readings), 2, "all the same"},
		{"half a spectrum", func(take func([]float64) error) error { return take(make([]float64, p+1)) }, 2, "gave 13 values at once"},
		{"breaks off later", after(1, good, func(func([]float64) error) error { return broken }), 2, broken.Error()},
		{"shorter later", after(1, good, streamOf(good.Slice(0, 50, 0, p).(*mat.Dense), 50, &readings)), 2, "gave 4196 at first and 50 when read again"},
	} {
		if m, err := FitStream(c.each, p, c.k); err == nil || m != nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: FitStream = %v, %v; want an error with %q", c.name, m, err, c.want)
		}
	}
}

// after is the stream of x for n readings, and then another.
func after(n int, x *mat.Dense, then Stream) Stream {
	first := streamOf(x, 64, new(int))
	return func(take func([]float64) error) error {
		n--
		if n >= 0 {
			return first(take)
		}
		return then(take)
	}
}

func BenchmarkFitStream(b *testing.B) {
	for _, c := range []struct{ n, p, k int }{{20000, 512, 6}, {20000, 1024, 6}} {
		x := spectra(c.n, c.p, 12, 1e-3)
		b.Run(fmt.Sprintf("n=%d/p=%d/k=%d", c.n, c.p, c.k), func(b *testing.B) {
			b.ReportAllocs()
			readings, times := 0, 0
			for b.Loop() {
				times++
				if _, err := FitStream(streamOf(x, 256, &readings), c.p, c.k); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(readings)/float64(times), "readings")
		})
	}
}
