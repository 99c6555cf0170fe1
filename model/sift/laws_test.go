package sift

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"asusual/model/finding"
	"asusual/model/holdout"
	"asusual/model/oatline"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// On normal data without outliers, squared distances of the rows are those of χ²: the 97.5 % quantile is 9.348 for
// 3 degrees of freedom (NIST/SEMATECH e-Handbook, table 1.3.6.7.4); the median, 2.366, is computed.
func TestMCDOfNormalData(t *testing.T) {
	const n, m = 4000, 3
	rng := rand.New(rand.NewPCG(1, 1))
	x := make([]float64, n*m)
	for i := range n {
		a, b, c := rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()
		x[i*m], x[i*m+1], x[i*m+2] = 10*a, 3*a+b, 0.1*c+b
	}
	c := mcd(x, m, 0.5, rng, nil)
	d2, work := make([]float64, n), make([]float64, m)
	for i := range n {
		d2[i] = c.distance2(x[i*m:(i+1)*m], work)
	}
	for _, q := range []struct{ share, want float64 }{{0.5, 2.366}, {0.975, 9.348}} {
		if got := quantile(d2, q.share); !(math.Abs(got-q.want) <= 0.06*q.want) {
			t.Errorf("quantile %g of squared distances = %.3f, want about %.3f", q.share, got, q.want)
		}
		if chi := (distuv.ChiSquared{K: m}).Quantile(q.share); !(math.Abs(chi-q.want) <= 0.001) {
			t.Errorf("χ² quantile = %g, want %g", chi, q.want)
		}
	}
}

// quantile is that of the sorted values.
func TestQuantile(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 1))
	for _, n := range []int{1, 2, 3, 10, 101} {
		x := make([]float64, n)
		for i := range x {
			x[i] = math.Round(rng.NormFloat64() * 3) // many ties
		}
		sorted := slices.Clone(x)
		slices.Sort(sorted)
		for _, q := range []float64{0, 0.1, 0.25, 0.5, 0.84, 0.99, 1} {
			at := q * float64(n-1)
			i := int(at)
			want := sorted[i]
			if i+1 < n {
				want += (at - float64(i)) * (sorted[i+1] - sorted[i])
			}
			if got := quantile(slices.Clone(x), q); math.Abs(got-want) > 1e-12 {
				t.Errorf("quantile(%d values, %g) = %g, want %g", n, q, got, want)
			}
		}
	}
}

// A third of far rows does not move centre and scatter.
func TestMCDIgnoresAThird(t *testing.T) {
	const n, m = 900, 4
	rng := rand.New(rand.NewPCG(2, 1))
	x := make([]float64, n*m)
	for i := range x {
		x[i] = rng.NormFloat64()
		if i/m%3 == 0 {
			x[i] += 20
		}
	}
	c := mcd(x, m, 0.5, rng, nil)
	for a := range m {
		if math.Abs(c.center[a]) > 0.2 {
			t.Errorf("centre %d = %.2f, want 0 within 0.2", a+1, c.center[a])
		}
		if s := c.chol[a*m+a]; s < 0.8 || s > 1.2 {
			t.Errorf("scatter %d = %.2f, want 1 within 0.2", a+1, s)
		}
	}
}

// Distances do not change when the scores are mixed: T² is the same in any coordinates.
func TestMCDFollowsAnyCoordinates(t *testing.T) {
	const n, m = 200, 3
	rng := rand.New(rand.NewPCG(3, 1))
	x := make([]float64, n*m)
	for i := range x {
		x[i] = rng.NormFloat64()
	}
	y := make([]float64, n*m)
	mix := [m][m]float64{{3, 0, 0}, {-2, 0.5, 0}, {7, 1, 0.01}}
	for i := range n {
		for a := range m {
			for b := range m {
				y[i*m+a] += mix[a][b] * x[i*m+b]
			}
		}
	}
	all := even(n, n)
	c, d := cloudOf(x, m, all), cloudOf(y, m, all)
	work := make([]float64, m)
	for i := range n {
		a, b := c.distance2(x[i*m:(i+1)*m], work), d.distance2(y[i*m:(i+1)*m], work)
		if !(math.Abs(a-b) <= 1e-6*(1+a)) {
			t.Fatalf("row %d: squared distance %g, mixed %g", i+1, a, b)
		}
	}
}

// The spatial median of a symmetric cloud is its centre, and 40 % of far rows move it by less than the spread of the rest.
func TestSpatialMedian(t *testing.T) {
	x := mat.NewDense(5, 2, []float64{0, 0, 1, 0, -1, 0, 0, 1, 0, -1})
	for j, v := range spatialMedian(x) {
		if math.Abs(v) > 1e-9 {
			t.Errorf("spatialMedian of a cross: coordinate %d is %g, want 0", j+1, v)
		}
	}
	rng := rand.New(rand.NewPCG(4, 1))
	y := mat.NewDense(100, 3, nil)
	for i := range 100 {
		for j := range 3 {
			y.Set(i, j, rng.NormFloat64())
			if i < 40 {
				y.Set(i, j, 1000)
			}
		}
	}
	if d := math.Sqrt(distance2(spatialMedian(y), make([]float64, 3))); d > 2.5 {
		t.Errorf("spatialMedian with 40 %% of far rows lies %g from the rest, want less than 2.5", d)
	}
}

// standardised is |x−m|/s of the tightest three quarters: by hand, of 0, 1, 2 and 100 these are 0, 1, 2 with mean 1 and s 1.
func TestStandardised(t *testing.T) {
	got := standardised([]float64{100, 1, 0, 2}, 0)
	for i, want := range []float64{99, 0, 1, 1} {
		if !(math.Abs(got[i]-want) <= 1e-12) {
			t.Errorf("standardised[%d] = %g, want %g", i, got[i], want)
		}
	}
}

// Sets of runs of one normal population lose a run as often as the level of the cut says, five times in a hundred: 15 of 300 sets,
// with a standard deviation of 3.8.
func TestRunCutKeepsItsLevel(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	for _, c := range []struct{ r, m int }{{6, 2}, {8, 10}, {20, 10}} {
		cut, _ := runCut(c.r, c.m, 0.05)
		const sets = 300
		passed := 0
		x := mat.NewDense(c.r, c.m, nil)
		for range sets {
			for i := range c.r {
				for j := range c.m {
					x.Set(i, j, rng.NormFloat64())
				}
			}
			if slices.Max(outlyingness(x, 0)) > cut {
				passed++
			}
		}
		if passed < 7 || passed > 26 {
			t.Errorf("%d runs in %d dimensions pass the cut of 5 %% in %d of %d sets, want about %d", c.r, c.m, passed, sets, sets/20)
		}
	}
}

// Scaling, shifting and the order of channels change nothing; nor does asking twice.
func TestFindLaws(t *testing.T) {
	b := newBlend(t, oatline.Settings{Seed: 3, Channels: 64}, 8, 50, &spoilers[1], 0.15)
	first, err := Find(b.x, b.runs, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	n, p := b.x.Dims()
	scaled, turned := mat.NewDense(n, p, nil), mat.NewDense(n, p, nil)
	for i := range n {
		for j := range p {
			scaled.Set(i, j, 4*b.x.At(i, j)+float64(j))
			turned.Set(i, j, b.x.At(i, p-1-j))
		}
	}
	for name, x := range map[string]*mat.Dense{"again": b.x, "scaled and shifted": scaled, "channels turned round": turned} {
		s, err := Find(x, b.runs, 1, nil)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(s.Keep, first.Keep) {
			t.Errorf("%s: Find keeps %d rows, want the same %d", name, s.Kept(), first.Kept())
		}
	}
}

func TestFindOfLittle(t *testing.T) {
	few := newBlend(t, oatline.Settings{Seed: 1, Channels: 64}, 2, 10, nil, 0)
	s, err := Find(few.x, few.runs, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	if s.Kept() != 20 || len(s.Findings) != 1 || s.Findings[0].Kind != finding.TooFewToSift {
		t.Errorf("Find of 20 spectra keeps %d and says %v, want all and that they are too few", s.Kept(), s.Findings)
	}
	runs := newBlend(t, oatline.Settings{Seed: 1, Channels: 64}, 4, 40, nil, 0)
	if s, err = Find(runs.x, runs.runs, 1, nil); err != nil {
		t.Fatal(err)
	}
	if len(s.Runs) != 0 || len(s.Findings) != 1 || s.Findings[0].Kind != finding.TooFewRunsToSift {
		t.Errorf("Find of 4 runs leaves out %v and says %v, want none and that runs are too few", s.Runs, s.Findings)
	}
	each := newBlend(t, oatline.Settings{Seed: 1, Channels: 64}, 100, 2, nil, 0)
	for i := range each.x.RawRowView(37) {
		each.x.Set(37, i, 0.1)
	}
	if s, err = Find(each.x, each.runs, 1, nil); err != nil {
		t.Fatal(err)
	}
	if s.Keep[37] || s.Kept() < 190 || len(s.Runs) != 0 || len(s.Findings) != 1 || s.Findings[0].Kind != finding.ShortRunsToSift {
		t.Errorf("Find of 100 runs of 2 and an empty beam keeps %d of 200, leaves out the runs %v and says %v; want all but one, none, and that runs are short", s.Kept(), s.Runs, s.Findings)
	}
	same := mat.NewDense(60, 64, nil)
	if s, err = Find(same, []holdout.Range{{Name: "a", From: 0, To: 60}}, 1, nil); err != nil || s.Kept() != 60 {
		t.Errorf("Find of 60 spectra that are all alike keeps %v, %v; want all", s, err)
	}
}

// TestFindOfOneBadRun: where a start-up and strays leave next to nothing of one short run, that is what is said.
func TestFindOfOneBadRun(t *testing.T) {
	least := 30
	for seed := range uint64(60) {
		const n, p = 30, 20
		rng := rand.New(rand.NewPCG(seed, 1))
		height, tau := 10+200*rng.Float64(), 2+10*rng.Float64()
		x := mat.NewDense(n, p, nil)
		for i := range n {
			for j := range p {
				v := rng.NormFloat64() + height*math.Exp(-float64(i)/tau)*float64(j%3-1)
				if i >= 25 && i%2 == 1 {
					v += 30 * rng.NormFloat64()
				}
				x.Set(i, j, v)
			}
		}
		s, err := Find(x, []holdout.Range{{Name: "a", From: 0, To: n}}, 1, nil)
		if err != nil {
			t.Fatal(err)
		}
		for i, keep := range s.Keep {
			if keep != (s.Why[i].Kind == "") {
				t.Fatalf("line %d: spectrum %d is kept: %v, because of %v", seed, i+1, keep, s.Why[i])
			}
		}
		least = min(least, s.Kept())
	}
	if least >= fewestKept {
		t.Errorf("Find keeps %d or more of 60 such runs, want fewer of some: the test asks nothing", least)
	}
}

func TestFindRefuses(t *testing.T) {
	b := newBlend(t, oatline.Settings{Seed: 1, Channels: 64}, 6, 10, nil, 0)
	for name, do := range map[string]func() error{
		"a hole between runs": func() error {
			_, err := Find(b.x, []holdout.Range{{From: 0, To: 20}, {From: 30, To: 60}}, 1, nil)
			return err
		},
		"runs that end too soon": func() error { _, err := Find(b.x, b.runs[:3], 1, nil); return err },
		"no number": func() error {
			x := mat.DenseCopyOf(b.x)
			x.Set(3, 4, math.NaN())
			_, err := Find(x, b.runs, 1, nil)
			return err
		},
	} {
		if do() == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// Many runs are no more work than the square of some.
func TestFindManyRuns(t *testing.T) {
	b := newBlend(t, oatline.Settings{Seed: 2, Channels: 64}, 300, 6, &spoilers[0], 0.02)
	s, err := Find(b.x, b.runs, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	bad := count(b.bad)
	if kept := s.Kept(); kept > len(b.bad)-bad || kept < len(b.bad)-bad-18 {
		t.Errorf("Find of 300 runs keeps %d of %d rows, %d of them bad; want all that are good but at most 3 runs", kept, len(b.bad), bad)
	}
}
