package position

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"asusual/model/project"
)

func TestDistance(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct{ t2, tl, q, ql, want float64 }{
		{9, 9, 1, 4, 1}, {4, 16, 4, 4, 1}, {36, 9, 1, 4, 2}, {1, 4, 1, 16, .5}, {0, 9, 0, 4, 0},
		{1, 1, 0, 0, 1}, {1, 1, 1e-20, 0, inf}, {5, inf, 1, 4, .5}, {inf, 9, 0, 1, inf}, {0, 0, 0, 0, 0},
	} {
		if got := Distance(c.t2, c.tl, c.q, c.ql); got != c.want {
			t.Errorf("Distance(%g, %g, %g, %g) = %g, want %g", c.t2, c.tl, c.q, c.ql, got, c.want)
		}
		if p := At(c.t2, c.q, c.tl, c.ql); p != (Position{c.t2, c.q, c.want}) {
			t.Errorf("At = %+v", p)
		}
	}
	rnd := rand.New(rand.NewPCG(1, 1))
	for range 1000 {
		t2, tl, q, ql := rnd.ExpFloat64(), rnd.ExpFloat64(), rnd.ExpFloat64(), rnd.ExpFloat64()
		d := Distance(t2, tl, q, ql)
		if (d <= 1) != (t2 <= tl && q <= ql) {
			t.Errorf("Distance(%g, %g, %g, %g) = %g: at most 1 and inside both limits are not the same", t2, tl, q, ql, d)
		}
	}
}

// The contributions sum up to what they explain; nothing changes with the sign of a component, and T² not with the
// unit of the spectra.
func TestContributions(t *testing.T) {
	rnd := rand.New(rand.NewPCG(2, 3))
	x := mat.NewDense(40, 12, nil)
	for i := range 40 {
		for j := range 12 {
			x.Set(i, j, rnd.NormFloat64()*float64(1+j)+float64(j))
		}
	}
	for k := 1; k <= 12; k++ {
		m := model(t, x, k)
		flipped := *m
		flipped.Loadings = scaled(m.Loadings, -1)
		var big mat.Dense
		big.Scale(1000, x)
		t2, _ := place(t, m, x)
		t2big, _ := place(t, model(t, &big, k), &big)
		all(t, fmt.Sprintf("T² in other units, k = %d", k), t2big, t2, 1e-9)
		for i := range 40 {
			row := x.RawRowView(i)
			s, e, c := make([]float64, k), make([]float64, 12), make([]float64, 12)
			m.Scores(s, row)
			m.Residual(e, row, s)
			near(t, "ΣContributionsQ", floats.Sum(ContributionsQ(c, e)), m.SquaredResidual(row, s), 1e-9)
			near(t, "ΣContributionsT2", floats.Sum(ContributionsT2(c, s, m.Eigenvalues, m.Loadings)), t2[i], 1e-9)
			if floats.Min(c) < 0 {
				t.Errorf("ContributionsT2 = %v, want none below 0", c)
			}
			other := ContributionsT2(make([]float64, 12), scaled(s, -1), m.Eigenvalues, flipped.Loadings)
			all(t, "ContributionsT2 with flipped signs", other, c, 1e-15)
		}
	}
}

// A spectrum moved along one channel is explained by that channel.
func TestContributionsPoint(t *testing.T) {
	m := &project.PCA{Mean: []float64{1, 2, 3}, Loadings: []float64{1, 0, 0}, K: 1, P: 3, N: 9, Eigenvalues: []float64{4}}
	x, s, e := []float64{5, 2, 6}, make([]float64, 1), make([]float64, 3)
	m.Scores(s, x)
	m.Residual(e, x, s)
	all(t, "ContributionsT2", ContributionsT2(make([]float64, 3), s, m.Eigenvalues, m.Loadings), []float64{4, 0, 0}, 0)
	all(t, "ContributionsQ", ContributionsQ(e, e), []float64{0, 0, 9}, 0)
	for name, f := range map[string]func(){
		"ContributionsQ":  func() { ContributionsQ(make([]float64, 2), e) },
		"ContributionsT2": func() { ContributionsT2(make([]float64, 2), s, m.Eigenvalues, m.Loadings) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s of other lengths does not panic", name)
				}
			}()
			f()
		}()
	}
}

func Example() {
	// Four scores' worth of a model of 200 spectra, and what it left over.
	t2 := T2([]float64{1.2, -0.4}, []float64{0.36, 0.04})
	limit := T2LimitF(200, 2, 0.01)
	q, qLimit := 2.1e-4, QLimitJM([3]float64{1e-4, 1e-9, 2e-14}, 0.01)
	fmt.Printf("T² %.1f (limit %.1f), Q %.2g (limit %.2g), distance %.2f\n", t2, limit, q, qLimit, Distance(t2, limit, q, qLimit))
	// Output: T² 8.0 (limit 9.5), Q 0.00021 (limit 0.00026), distance 0.92
}

func BenchmarkContributionsT2(b *testing.B) {
	p, k := 512, 6
	dst, s, l, loadings := make([]float64, p), make([]float64, k), make([]float64, k), make([]float64, k*p)
	for i := range l {
		l[i], s[i] = 1, 1
	}
	b.Run(fmt.Sprintf("p=%d/k=%d", p, k), func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			ContributionsT2(dst, s, l, loadings)
		}
	})
}

func BenchmarkQLimit(b *testing.B) {
	th := theta([]float64{5, 4, 3, 2, 1})
	b.Run("JM", func(b *testing.B) {
		for b.Loop() {
			QLimitJM(th, .01)
		}
	})
	b.Run("Pearson", func(b *testing.B) {
		for b.Loop() {
			QLimitPearson(th, .01)
		}
	})
}
