package position

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
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

// T² does not change with the unit of the spectra, nor with the sign of a component.
func TestT2OfUnitsAndSigns(t *testing.T) {
	rnd := rand.New(rand.NewPCG(2, 3))
	x := mat.NewDense(40, 12, nil)
	for i := range 40 {
		for j := range 12 {
			x.Set(i, j, rnd.NormFloat64()*float64(1+j)+float64(j))
		}
	}
	for k := 1; k <= 12; k++ {
		m := model(t, x, k)
		var big mat.Dense
		big.Scale(1000, x)
		t2, _ := place(t, m, x)
		t2big, _ := place(t, model(t, &big, k), &big)
		all(t, fmt.Sprintf("T² in other units, k = %d", k), t2big, t2, 1e-9)
		for i := range 40 {
			s := make([]float64, k)
			m.Scores(s, x.RawRowView(i))
			near(t, "T² with flipped signs", T2(scaled(s, -1), m.Eigenvalues), t2[i], 0)
		}
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

func BenchmarkQLimit(b *testing.B) {
	th := theta([]float64{5, 4, 3, 2, 1})
	b.Run("JM", func(b *testing.B) {
		for b.Loop() {
			QLimitJM(th, .01)
		}
	})
	b.Run("Pearson", func(b *testing.B) {
		for b.Loop() {
			qLimitPearson(th, .01)
		}
	})
}
