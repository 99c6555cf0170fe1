package pretreat

import (
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"slices"
	"testing"

	"asusual/model/spectrum"
)

// integers are convolution integers and their norm, in the order of rising channels: the first values of each row, up
// to the middle one at least; the rest follows by symmetry. Savitzky, Golay, Analytical Chemistry 36 (1964), 1627,
// tables I to XI, as far as those are right (Steinier, Termonia, Deltour, Analytical Chemistry 44 (1972), 1906, correct
// several): from memory, and each is recomputed here by exact rational least squares.
var integers = []struct {
	order, degree, points int
	first                 []int64
	norm                  int64
}{
	{0, 2, 5, []int64{-3, 12, 17}, 35},
	{0, 2, 7, []int64{-2, 3, 6, 7}, 21},
	{0, 2, 9, []int64{-21, 14, 39, 54, 59}, 231},
	{0, 2, 11, []int64{-36, 9, 44, 69, 84, 89}, 429},
	{0, 2, 15, []int64{-78, -13, 42, 87, 122, 147, 162, 167}, 1105},
	{0, 2, 21, []int64{-171, -76, 9, 84, 149, 204, 249, 284, 309, 324, 329}, 3059},
	{0, 2, 25, []int64{-253, -138, -33, 62, 147, 222, 287, 342, 387, 422, 447, 462, 467}, 5175},
	{0, 4, 7, []int64{5, -30, 75, 131}, 231},
	{0, 4, 9, []int64{15, -55, 30, 135, 179}, 429},
	{0, 4, 11, []int64{18, -45, -10, 60, 120, 143}, 429},
	{1, 2, 5, []int64{-2, -1, 0}, 10},
	{1, 2, 7, []int64{-3, -2, -1, 0}, 28},
	{1, 2, 9, []int64{-4, -3, -2, -1, 0}, 60},
	{1, 2, 11, []int64{-5, -4, -3, -2, -1, 0}, 110},
	{1, 2, 15, []int64{-7, -6, -5, -4, -3, -2, -1, 0}, 280},
	{1, 2, 21, []int64{-10, -9, -8, -7, -6, -5, -4, -3, -2, -1, 0}, 770},
	{1, 2, 25, []int64{-12, -11, -10, -9, -8, -7, -6, -5, -4, -3, -2, -1, 0}, 1300},
	{1, 4, 5, []int64{1, -8, 0}, 12},
	{1, 4, 7, []int64{22, -67, -58, 0}, 252},
	{1, 4, 9, []int64{86, -142, -193, -126, 0}, 1188},
	{1, 4, 11, []int64{300, -294, -532, -503, -296, 0}, 5148},
	{2, 2, 5, []int64{2, -1, -2}, 7},
	{2, 2, 7, []int64{5, 0, -3, -4}, 42},
	{2, 2, 9, []int64{28, 7, -8, -17, -20}, 462},
	{2, 2, 11, []int64{15, 6, -1, -6, -9, -10}, 429},
	{2, 2, 15, []int64{91, 52, 19, -8, -29, -44, -53, -56}, 6188},
	{2, 2, 21, []int64{190, 133, 82, 37, -2, -35, -62, -83, -98, -107, -110}, 33649},
	{2, 4, 7, []int64{-13, 67, -19, -70}, 132},
	{2, 4, 9, []int64{-126, 371, 151, -211, -370}, 1716},
	{2, 4, 11, []int64{-90, 174, 146, 1, -136, -190}, 1716},
}

// exact returns the weights of the derivative of that order, at the middle of the window, by solving the normal
// equations in rational numbers.
func exact(order, degree, points int) []*big.Rat {
	n, m := degree+1, int64(points/2)
	power := func(j int64, e int) *big.Rat {
		return new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(j), big.NewInt(int64(e)), nil))
	}
	// a·c = unit vector of order; weight j is order!·Σ c_k j^k.
	a := make([][]*big.Rat, n)
	for r := range n {
		a[r] = make([]*big.Rat, n+1)
		for c := range n {
			a[r][c] = new(big.Rat)
			for j := -m; j <= m; j++ {
				a[r][c].Add(a[r][c], power(j, r+c))
			}
		}
		a[r][n] = new(big.Rat)
	}
	a[order][n].SetInt64([]int64{1, 1, 2}[order])
	for c := range n {
		p := c
		for a[p][c].Sign() == 0 {
			p++
		}
		a[c], a[p] = a[p], a[c]
		inv := new(big.Rat).Inv(a[c][c])
		for r := range n {
			if r == c {
				continue
			}
			f := new(big.Rat).Mul(a[r][c], inv)
			for k := c; k <= n; k++ {
				a[r][k].Sub(a[r][k], new(big.Rat).Mul(f, a[c][k]))
			}
		}
	}
	w := make([]*big.Rat, points)
	for i := range w {
		w[i] = new(big.Rat)
		for k := range n {
			c := new(big.Rat).Quo(a[k][n], a[k][k])
			w[i].Add(w[i], c.Mul(c, power(int64(i)-m, k)))
		}
	}
	return w
}

func filterOf(order, degree int, window float64) Step {
	if order == 0 {
		return Step{Name: Smooth, Window: window, Degree: degree}
	}
	return Step{Name: Derivative, Order: order, Window: window, Degree: degree}
}

func TestSavitzkyGolayIntegers(t *testing.T) {
	for _, c := range integers {
		name := fmt.Sprintf("order %d, degree %d, %d points", c.order, c.degree, c.points)
		want := exact(c.order, c.degree, c.points)
		m := c.points / 2
		for j := range c.points {
			k, sign := j, int64(1)
			if j > m {
				k = c.points - 1 - j
				if c.order == 1 {
					sign = -1
				}
			}
			if r := big.NewRat(sign*c.first[k], c.norm); r.Cmp(want[j]) != 0 {
				t.Errorf("%s: table value %d is %v, exact %v", name, j, r, want[j])
			}
		}
		chain := fit(t, evenAxis(t, 3*c.points, 1, 1), nil, filterOf(c.order, c.degree, float64(c.points)))
		for j := range c.points { // the weights, one by one, from impulses
			x := make([]float64, 3*c.points)
			x[c.points+j] = 1
			w, _ := want[j].Float64()
			equal(t, name, apply(t, chain, x)[c.points+m:][:1], []float64{w}, 1e-14)
		}
	}
}

// SciPy 1.1.0, documentation of savgol_coeffs: the polynomial of a window read off at its last but one point, in the
// order of convolution, and the derivative of t² at the last of −1 … 3.
func TestSavitzkyGolayEnds(t *testing.T) {
	chain := fit(t, evenAxis(t, 5, 1, 1), nil, filterOf(0, 2, 5))
	var got []float64
	for j := range 5 {
		x := make([]float64, 5)
		x[4-j] = 1
		got = append(got, apply(t, chain, x)[3])
	}
	equal(t, "weights at the last but one", got, []float64{.25714286, .37142857, .34285714, .17142857, -.14285714}, 1e-8)
	slope := apply(t, fit(t, evenAxis(t, 5, 1, 1), nil, filterOf(1, 2, 5)), []float64{1, 0, 1, 4, 9})
	equal(t, "slope at the end", slope[4:], []float64{6}, 1e-12)
}

// grids are the kinds of axis that filters must treat alike.
func grids(t testing.TB) map[string]*spectrum.Axis {
	rnd := rand.New(rand.NewPCG(1, 2))
	even, uneven, gap := make([]float64, 80), make([]float64, 80), make([]float64, 80)
	for i := range even {
		even[i] = 900 + 2.5*float64(i)
		uneven[i] = 900 + 2.5*float64(i) + 0.004*float64(i*i) + rnd.Float64()
		gap[i] = even[i]
		if i >= 30 {
			gap[i] += 50
		}
	}
	return map[string]*spectrum.Axis{
		"even": axis(t, spectrum.Nanometre, even...), "uneven": axis(t, spectrum.Nanometre, uneven...),
		"gap": axis(t, spectrum.Nanometre, gap...),
	}
}

func falling(t testing.TB, a *spectrum.Axis) *spectrum.Axis {
	at := a.Values()
	slices.Reverse(at)
	return axis(t, a.Unit(), at...)
}

// A polynomial of a degree up to that of the filter comes through exactly, and its derivative is exact, ends included,
// on any grid, in either direction.
func TestPolynomialsComeThrough(t *testing.T) {
	for name, a := range grids(t) {
		for _, a := range []*spectrum.Axis{a, falling(t, a)} {
			for degree := 1; degree <= 5; degree++ {
				for order := range 3 {
					if order > degree {
						continue
					}
					x, want := make([]float64, a.Len()), make([]float64, a.Len())
					for i, z := range a.Values() {
						u := (z - 1000) / 100
						for k := degree; k >= 0; k-- { // Σ u^k, and its derivative by the same scheme
							x[i] = x[i]*u + 1
						}
						want[i] = x[i]
						for k := degree; order > 0 && k >= order; k-- {
							if k == degree {
								want[i] = 0
							}
							f := float64(k) / 100
							if order == 2 {
								f *= float64(k-1) / 100
							}
							want[i] = want[i]*u + f
						}
					}
					c := fit(t, a, nil, filterOf(order, degree, 33))
					equal(t, fmt.Sprintf("%s: %v of a polynomial", name, c), apply(t, c, x), want, 1e-10)
				}
			}
		}
	}
}

// Rising and falling data are the same data.
func TestRisingIsFalling(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	for name, a := range grids(t) {
		x := make([]float64, a.Len())
		for i := range x {
			x[i] = rnd.NormFloat64()
		}
		back := slices.Clone(x)
		slices.Reverse(back)
		for _, words := range []string{"none", "snv", "detrend", "smooth", "derivative", "second-derivative", "offset", "snv,derivative"} {
			steps, err := Parse(words)
			if err != nil {
				t.Fatal(err)
			}
			up := apply(t, fit(t, a, nil, steps...), x)
			down := apply(t, fit(t, falling(t, a), nil, steps...), back)
			slices.Reverse(down)
			equal(t, name+": "+words+" falling", down, up, 1e-11)
		}
	}
}

// The running sums give what the weights give, however long the spectrum.
func TestSumsArePlain(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	for _, p := range []int{41, 105, 106, 512, 4096} {
		for _, points := range []float64{7, 11, 21, 41} {
			for _, s := range []Step{filterOf(0, 1, points), filterOf(0, 3, points), filterOf(1, 2, points), filterOf(2, 3, points)} {
				if points < 11 && s.Degree == 3 {
					continue
				}
				f, err := newFilter(evenAxis(t, p, 1, 1), s)
				if err != nil {
					t.Fatal(err)
				}
				e := f.runs[0].(*evenly)
				if !e.sums {
					t.Fatalf("%+v: no running sums", s)
				}
				x, quick, plain := make([]float64, p), make([]float64, p), make([]float64, p)
				for i := range x {
					x[i] = 1 + rnd.NormFloat64()
				}
				e.apply(quick, x)
				e.sums = false
				e.apply(plain, x)
				equal(t, fmt.Sprintf("%+v of %d channels", s, p), quick, plain, 4e-13)
			}
		}
	}
}

// On an even grid the weights for real positions are the one set of weights.
func TestUnevenIsEven(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 8))
	for _, h := range []float64{1.5, -1.5} {
		at, x := make([]float64, 60), make([]float64, 60)
		for i := range at {
			at[i], x[i] = 1000+h*float64(i), rnd.NormFloat64()
		}
		for _, s := range []Step{filterOf(0, 2, 16.5), filterOf(0, 4, 18), filterOf(1, 2, 10), filterOf(1, 3, 21), filterOf(2, 2, 15)} {
			e, err := newEven(stretch{0, 60}, at, h, s)
			if err != nil {
				t.Fatal(err)
			}
			u, err := newUneven(stretch{0, 60}, at, s)
			if err != nil {
				t.Fatal(err)
			}
			a, b := make([]float64, 60), make([]float64, 60)
			e.apply(a, x)
			u.apply(b, x)
			equal(t, fmt.Sprintf("%+v at spacing %g", s, h), b, a, 1e-12)
		}
	}
}

// What lies beyond a gap does not reach across it.
func TestNothingCrossesAGap(t *testing.T) {
	a := grids(t)["gap"]
	c := fit(t, a, nil, filterOf(1, 2, 33))
	x := make([]float64, a.Len())
	for i := range x[:30] {
		x[i] = math.Sin(float64(i))
	}
	y := apply(t, c, x)
	for i, v := range y[30:] {
		if v != 0 {
			t.Errorf("channel %d, beyond the gap, is %g, want 0", i+30, v)
		}
	}
	alone := fit(t, axis(t, a.Unit(), a.Values()[:30]...), nil, filterOf(1, 2, 33))
	equal(t, "stretch before the gap", y[:30], apply(t, alone, x[:30]), 1e-13)
}

// Positions printed with one decimal keep the quick way, and move the derivative by less than 1 %.
func TestRoundedPositions(t *testing.T) {
	rounded, real := make([]float64, 200), make([]float64, 200)
	for i := range real {
		real[i] = 900 + 1.5656*float64(i)
		rounded[i] = math.Round(real[i]*10) / 10
	}
	if _, ok := even(rounded); !ok {
		t.Error("even(rounded) = false, want true")
	}
	x := hills(200)
	got := apply(t, fit(t, axis(t, spectrum.Nanometre, rounded...), nil, filterOf(1, 2, 16)), x)
	want := apply(t, fit(t, axis(t, spectrum.Nanometre, real...), nil, filterOf(1, 2, 16)), x)
	for i := range got {
		if !(math.Abs(got[i]-want[i]) <= 0.01*math.Abs(want[i])+1e-6) {
			t.Errorf("channel %d: derivative %g on rounded positions, %g on real ones", i, got[i], want[i])
		}
	}
}
