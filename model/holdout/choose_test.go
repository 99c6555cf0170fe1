package holdout

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"asusual/model/oatline"
	"asusual/model/pretreat"

	"gonum.org/v1/gonum/mat"
)

// The closed form of the prediction error is that of the conditional mean of a normal population,
// x̂_B = Σ_BO Σ_OO⁻¹ x_O (Anderson 2003, An introduction to multivariate statistical analysis, §2.5), worked out in full.
func TestPressIsConditionalMean(t *testing.T) {
	const n, p, k, gap = 30, 12, 3, 1
	rng := rand.New(rand.NewPCG(1, 2))
	x := mat.NewDense(n, p, nil)
	for i := range n {
		a, b := rng.NormFloat64(), rng.NormFloat64()
		for j := range p {
			x.Set(i, j, a*math.Sin(float64(j))+b*float64(j)/5+0.3*rng.NormFloat64())
		}
	}
	tr := newTrial(gather(x), k, nil)
	got, _ := tr.press(mat.DenseCopyOf(x), gap)
	noise := tr.total
	for _, v := range tr.values[:k] {
		noise -= v
	}
	noise /= p - k
	sigma := mat.NewDense(p, p, nil)
	for i := range p {
		for j := range p {
			for a := range k {
				sigma.Set(i, j, sigma.At(i, j)+(tr.values[a]-noise)*tr.axes.At(a, i)*tr.axes.At(a, j))
			}
		}
		sigma.Set(i, i, sigma.At(i, i)+noise)
	}
	want := 0.0
	for j := range p {
		var keep []int
		for q := range p {
			if q < j-gap || q > j+gap {
				keep = append(keep, q)
			}
		}
		oo, jo := mat.NewDense(len(keep), len(keep), nil), mat.NewVecDense(len(keep), nil)
		for r, q := range keep {
			jo.SetVec(r, sigma.At(j, q))
			for c, u := range keep {
				oo.Set(r, c, sigma.At(q, u))
			}
		}
		var w mat.VecDense
		if err := w.SolveVec(oo, jo); err != nil {
			t.Fatal(err)
		}
		for i := range n {
			e := x.At(i, j) - tr.mean[j]
			for r, q := range keep {
				e -= w.AtVec(r) * (x.At(i, q) - tr.mean[q])
			}
			want += e * e
		}
	}
	near(t, fmt.Sprintf("press of %d components", k), got[k], want, 1e-9)
}

// What is left when rows are taken away is what the others give.
func TestScatterWithout(t *testing.T) {
	x := noise(5, 8, []float64{1, 2, 3, 4}, 3).X
	seen := []int{0, 3, 4, 5, 9, 20, 21, 39}
	var rest []int
	for i := range 40 {
		if !slices.Contains(seen, i) {
			rest = append(rest, i)
		}
	}
	got, want := gather(x).without(chosen(x, rest)), gather(chosen(x, seen))
	if got.n != want.n {
		t.Fatalf("n = %d, want %d", got.n, want.n)
	}
	for i := range 4 {
		near(t, "mean", got.mean[i], want.mean[i], 1e-12)
		for j := range 4 {
			near(t, "sum", got.sum.At(i, j), want.sum.At(i, j), 1e-10)
		}
	}
}

// Spectra of a known number of factors with independent noise need that many components.
func TestChooseKFindsTheFactors(t *testing.T) {
	for _, factors := range []int{1, 2, 4, 6} {
		for seed := range uint64(3) {
			const runs, each, p = 12, 30, 80
			rng := rand.New(rand.NewPCG(seed, uint64(factors)))
			s := noise(runs, each, make([]float64, p), 1)
			for r := range runs {
				lot := make([]float64, factors)
				for a := range lot {
					lot[a] = rng.NormFloat64()
				}
				for i := range each {
					row := s.X.RawRowView(r*each + i)
					for a := range factors {
						f := lot[a] + 0.5*rng.NormFloat64()
						for j := range row {
							z := (float64(j) - float64(p)*(float64(a)+0.5)/float64(factors)) / 6
							row[j] += f * math.Exp(-z*z/2) / float64(a+1)
						}
					}
					for j := range row {
						row[j] += 0.05 * rng.NormFloat64()
					}
				}
			}
			c, err := ChooseK(s, Options{})
			if err != nil {
				t.Fatal(err)
			}
			if c.K != factors {
				t.Errorf("seed %d: ChooseK of %d factors = %d components, want %d; %v", seed, factors, c.K, factors, c.Table)
			}
		}
	}
}

// Noise that a filter made alike in neighbouring channels is no component.
func TestChooseKOfFilteredNoise(t *testing.T) {
	const runs, each, p = 10, 40, 100
	sd := make([]float64, p)
	for j := range sd {
		sd[j] = 0.01
	}
	s := noise(runs, each, sd, 7)
	rng := rand.New(rand.NewPCG(7, 7))
	for i := range runs * each {
		a := rng.NormFloat64()
		for j, row := 0, s.X.RawRowView(i); j < p; j++ {
			row[j] += a * math.Exp(-math.Pow((float64(j)-40)/8, 2))
		}
	}
	steps := []pretreat.Step{{Name: pretreat.Smooth, Window: 11}}
	c, err := ChooseK(s, Options{Steps: steps})
	if err != nil {
		t.Fatal(err)
	}
	if c.K > 2 {
		t.Errorf("ChooseK of one factor and filtered noise = %d, want 1 or 2; %v", c.K, c.Table)
	}
}

func TestChooseKOnTheLine(t *testing.T) {
	for _, steps := range [][]pretreat.Step{nil, {{Name: pretreat.SNV}}, snvDerivative} {
		for _, runs := range []int{6, 12, 24} {
			s := oats(t, oatline.Settings{Seed: 3, Channels: 128}, runs, 40)
			c, err := ChooseK(s, Options{Steps: steps})
			if err != nil {
				t.Fatal(err)
			}
			lo, hi := 3, 5 // the line's spectra are mixed of five things
			if len(steps) > 1 {
				lo, hi = 2, 10 // as bent by scatter and seen through more noise
			}
			if c.K < lo || c.K > hi {
				t.Errorf("%v, %d runs: ChooseK = %d, want %d to %d", steps, runs, c.K, lo, hi)
			}
			line := ""
			for _, r := range c.Table {
				line += fmt.Sprintf(" %.2f", r.Ratio)
			}
			t.Logf("%v, %d runs: %d components; ratios%s; within %.4f", steps, runs, c.K, line, c.Table[c.K-1].Within)
		}
	}
}

func BenchmarkChooseK(b *testing.B) {
	for _, c := range []struct{ runs, each, p int }{{10, 200, 256}, {10, 2000, 512}, {40, 500, 512}} {
		b.Run(fmt.Sprintf("n=%d/p=%d/runs=%d", c.runs*c.each, c.p, c.runs), func(b *testing.B) {
			s := oats(b, oatline.Settings{Seed: 1, Channels: c.p}, c.runs, c.each)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := ChooseK(s, Options{Steps: snvDerivative, Each: atOnce}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// Pretreated spectra of few channels have fewer directions than channels: no more components than directions are tried, and of each what it
// gives is a number. A second derivative of degree 2 makes the m channels at each end from the ones within: of p channels p − 2m directions
// are left. One is left over, as of full spectra.
func TestChooseKWithinTheDirections(t *testing.T) {
	for _, c := range []struct {
		channels, runs, most int
		step                 pretreat.Step
	}{
		{16, 2, 7, pretreat.Step{Name: pretreat.Derivative, Order: 2}},
		{18, 16, 15, pretreat.Step{Name: pretreat.Derivative}},
		{10, 2, 6, pretreat.Step{Name: pretreat.Detrend}},
	} {
		sd := make([]float64, c.channels)
		for j := range sd {
			sd[j] = 0.01
		}
		s := noise(c.runs, 60, sd, 3)
		got, err := ChooseK(s, Options{Steps: []pretreat.Step{c.step}})
		if err != nil {
			t.Fatal(err)
		}
		if len(got.Table) > c.most || got.K > c.most {
			t.Errorf("%s of %d channels: %d components of %d tried, want at most %d", c.step.Name, c.channels, got.K, len(got.Table), c.most)
		}
		for _, row := range got.Table {
			if v := row.Press + row.Ratio + row.Within; math.IsNaN(v) || math.IsInf(v, 0) {
				t.Errorf("%s of %d channels: %+v", c.step.Name, c.channels, row)
			}
		}
	}
}

// Of one run as many spectra are needed as are said to be.
func TestFewestOfOneRun(t *testing.T) {
	for n := 8; n < 16; n++ {
		_, _, err := noise(1, n, []float64{1, 1, 1}, 1).plan()
		if (err == nil) != (n >= 13) || err != nil && !strings.Contains(err.Error(), "; 13 are needed") {
			t.Errorf("%d spectra of one run: %v, want an error below 13, which names it", n, err)
		}
	}
}
