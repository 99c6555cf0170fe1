package position

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"

	"asusual/model/project"
)

// imhof is the chance that Σλᵢ·χ²₁ passes q, by numerical integration of its characteristic function, good to about 1e-6:
// Imhof, "Computing the Distribution of Quadratic Forms in Normal Variables", Biometrika 48 (1961), eq. 3.2.
func imhof(roots []float64, q float64) float64 {
	lead := slices.Max(roots)
	roots = slices.Clone(roots)
	slices.Sort(roots)
	distinct := slices.Compact(slices.Clone(roots))
	times := make([]float64, len(distinct))
	for _, l := range roots {
		times[slices.Index(distinct, l)]++
	}
	f := func(u float64) float64 {
		angle, size := -q/lead*u/2, 0.0
		for i, n := range times {
			v := distinct[i] / lead * u
			angle += n * math.Atan(v) / 2
			size += n * math.Log1p(v*v) / 4
		}
		return math.Sin(angle) / (u * math.Exp(size))
	}
	// Simpson's rule in u = sinh(s), which spends few points on the slow tail.
	const n, end = 3000, 6.5
	var sum float64
	for i := range n {
		a, b := end*float64(i)/n, end*float64(i+1)/n
		for j, s := range []float64{max(a, 1e-9), (a + b) / 2, b} {
			sum += []float64{1, 4, 1}[j] * f(math.Sinh(s)) * math.Cosh(s)
		}
	}
	return 0.5 + sum*end/n/6/math.Pi
}

func theta(roots []float64) (th [3]float64) {
	for _, l := range roots {
		th[0] += l
		th[1] += l * l
		th[2] += l * l * l
	}
	return th
}

// Ballistic missiles: Jackson, Technometrics 1 (1959); Jackson, Mudholkar (1979); Jackson (1991). Covariance from memory;
// the published roots and, within its rounding, the published limit 140.45 come out of it. Other limits computed from
// the definitions.
func TestMissileExample(t *testing.T) {
	s := mat.NewSymDense(4, []float64{102.74, 88.67, 67.04, 54.06, 88.67, 142.74, 86.56, 80.03, 67.04, 86.56, 84.57, 69.42, 54.06, 80.03, 69.42, 99.06})
	full, err := project.FitCovariance(make([]float64, 4), s, 40, 4, nil)
	if err != nil {
		t.Fatal(err)
	}
	roots := full.Eigenvalues
	all(t, "roots", roots, []float64{335.34, 48.03, 29.33, 16.41}, 6e-3)
	all(t, "roots", roots, []float64{335.3355, 48.0344, 29.3305, 16.4096}, 6e-5)
	for i, want := range [][]float64{{.4681, .6079, .4590, .4479}, {-.6215, -.1788, .1387, .7500}, {-.5716, .7595, -.1677, -.2615}, {-.2606, -.1473, .8614, -.4104}} {
		all(t, fmt.Sprintf("Loading(%d)", i), full.Loading(i), want, 1e-4)
	}
	m, err := project.FitCovariance(make([]float64, 4), s, 40, 2, nil)
	if err != nil {
		t.Fatal(err)
	}
	all(t, "Theta, k = 2", m.Theta[:], []float64{45.740, 1129.55, 29651.1}, 0.06)
	near(t, "h₀", h0(m.Theta), .29135, 1e-5)
	near(t, "QLimitJM, as published", QLimitJM(m.Theta, .05), 140.45, 0.1/140)
	for _, c := range []struct {
		k                    int
		alpha, jm, box, true float64
	}{
		{2, .05, 140.417, 140.808, 139.8}, {2, .01, 226.052, 218.990, 221.1}, {1, .05, 259.614, 257.809, 256.7},
		{1, .01, 402.470, 382.463, 391.5}, {3, .05, 61.483, 63.037, 63.05}, {3, .01, 108.070, 108.876, 108.90},
	} {
		th := theta(roots[c.k:])
		name := fmt.Sprintf(", k = %d, α = %g", c.k, c.alpha)
		near(t, "QLimitJM"+name, QLimitJM(th, c.alpha), c.jm, 1e-5)
		near(t, "QLimitBox"+name, QLimitBox(th, c.alpha), c.box, 1e-5)
		// The quantile simulated with 4 million draws.
		near(t, "QLimitJM against the simulated quantile"+name, QLimitJM(th, c.alpha), c.true, .03)
		near(t, "QLimitBox against the simulated quantile"+name, QLimitBox(th, c.alpha), c.true, .025)
		near(t, "qLimitPearson against the simulated quantile"+name, qLimitPearson(th, c.alpha), c.true, .01)
	}
}

// How near the limits come to the true quantile, by Imhof's integral, for roots as models leave them over: the worst
// share of good spectra outside, at a nominal 5 and 1 %.
func TestQLimitsAgainstImhof(t *testing.T) {
	falling := make([]float64, 60)
	for i := range falling {
		falling[i] = math.Pow(.8, float64(i))
	}
	noise := make([]float64, 500)
	for i := range noise {
		noise[i] = 1
	}
	lone := []float64{10}
	for range 1000 {
		lone = append(lone, .01)
	}
	near(t, "imhof of χ²₂ at 5.9915", imhof([]float64{1, 1}, 5.991464547), .05, 1e-6)
	for _, c := range []struct {
		name             string
		roots            []float64
		jm, box, pearson [2]float64 // how far the share may be from the nominal one, as a factor, at 5 % and 1 %
	}{
		{"two alike", []float64{2, 2}, [2]float64{1.03, 1.05}, [2]float64{1.001, 1.001}, [2]float64{1.001, 1.001}},
		{"falling", falling, [2]float64{1.08, 1.21}, [2]float64{1.05, 1.30}, [2]float64{1.03, 1.02}},
		{"noise", noise, [2]float64{1.01, 1.01}, [2]float64{1.001, 1.001}, [2]float64{1.001, 1.001}},
		{"lone root", lone, [2]float64{1.01, 1.01}, [2]float64{1.2, 2}, [2]float64{1.01, 1.01}},
	} {
		th := theta(c.roots)
		for i, alpha := range []float64{.05, .01} {
			for _, l := range []struct {
				name  string
				limit float64
				allow float64
			}{{"JM", QLimitJM(th, alpha), c.jm[i]}, {"Box", QLimitBox(th, alpha), c.box[i]}, {"Pearson", qLimitPearson(th, alpha), c.pearson[i]}} {
				share := imhof(c.roots, l.limit)
				if f := share / alpha; f > l.allow || 1/f > l.allow {
					t.Errorf("%s: QLimit%s(%g) = %g, passed by %.4f of good spectra, allowed a factor of %g", c.name, l.name, alpha, l.limit, share, l.allow)
				}
			}
		}
	}
	// One large root and very many small ones: h₀ is negative, and the bare formula is as far off as QLimitJM says.
	th := theta(lone)
	if h0(th) >= 0 {
		t.Fatalf("h₀ = %g, want it negative", h0(th))
	}
	for i, want := range []float64{52.8, 111.9} {
		alpha := []float64{.05, .01}[i]
		near(t, "bare formula with negative h₀", jacksonMudholkar(th, alpha), want, 5e-3)
		near(t, "QLimitJM with negative h₀", QLimitJM(th, alpha), qLimitPearson(th, alpha), 0)
		near(t, "excess of the bare formula", jacksonMudholkar(th, alpha)/qLimitPearson(th, alpha), []float64{1.09, 1.47}[i], 5e-3)
	}
}

// With equal roots h₀ is 1/3 and the formula is Wilson and Hilferty's cube root. Computed: 22.087892 for five roots of 2,
// where the exact limit is 22.140995.
func TestEqualRoots(t *testing.T) {
	th := theta([]float64{2, 2, 2, 2, 2})
	near(t, "h₀", h0(th), 1./3, 1e-15)
	near(t, "QLimitJM", QLimitJM(th, .05), 22.087892, 1e-7)
	near(t, "QLimitBox", QLimitBox(th, .05), 22.140995, 1e-7)
	near(t, "qLimitPearson", qLimitPearson(th, .05), 22.140995, 1e-7)
}

// A limit scales as the spectra do, grows as alpha falls, and Box's is that of its moments.
func TestQLimitLaws(t *testing.T) {
	for _, roots := range [][]float64{{3}, {5, 1}, {5, 4, 3, 2, 1}, {100, 1, 1, 1, 1, 1, 1, 1, 1, 1}} {
		th := theta(roots)
		for _, f := range []func([3]float64, float64) float64{QLimitJM, QLimitBox, qLimitPearson} {
			last := 0.0
			for _, alpha := range []float64{.5, .2, .1, .05, .01, .001, 1e-5} {
				q := f(th, alpha)
				near(t, "limit of spectra in other units", f(theta(scaled(roots, 1e-6)), alpha)/1e-6, q, 1e-9)
				if q <= last {
					t.Errorf("limit at α %g = %g, not above %g", alpha, q, last)
				}
				last = q
			}
		}
		near(t, "qLimitMoments", qLimitMoments(th[0], 2*th[1], .05), QLimitBox(th, .05), 1e-15)
	}
	if got := qLimitMoments(3, 0, .05); got != 3 {
		t.Errorf("qLimitMoments without variance = %g, want the mean, 3", got)
	}
	if got := QLimitJM(theta([]float64{1, 1e-3, 1e-3}), .9999); math.IsNaN(got) || got < 0 {
		t.Errorf("QLimitJM at α = .9999 = %g", got)
	}
}

func scaled(x []float64, f float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = f * v
	}
	return y
}
