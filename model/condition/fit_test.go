package condition

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"asusual/model/holdout"
	"asusual/model/spectrum"
)

// A placeOf yields normal spectra of 24 channels: three directions with standard deviations of 5, 3 and 2, and noise of
// standard deviation sigma in all.
type placeOf struct {
	rng  *rand.Rand
	turn []float64 // a mirror that turns the first three channels into directions over all of them
}

const (
	channels = 24
	sigma    = 0.4
)

var deviations = []float64{5, 3, 2}

func newPlace(seed uint64) placeOf {
	g := placeOf{rng: rand.New(rand.NewPCG(seed, 7)), turn: make([]float64, channels)}
	for i := range g.turn {
		g.turn[i] = math.Sqrt(1. / channels)
		if i%2 == 1 {
			g.turn[i] = -g.turn[i]
		}
	}
	return g
}

func (g placeOf) next() []float64 {
	x := make([]float64, channels)
	for i := range x {
		x[i] = sigma * g.rng.NormFloat64()
		if i < len(deviations) {
			x[i] = deviations[i] * g.rng.NormFloat64()
		}
	}
	along := 2 * dot(g.turn, x)
	for i, v := range g.turn {
		x[i] += 10 - along*v
	}
	return x
}

// axis returns one of so many channels.
func axis(p int) *spectrum.Axis {
	at := make([]float64, p)
	for i := range at {
		at[i] = 900 + 10*float64(i)
	}
	a, err := spectrum.NewAxis(spectrum.Nanometre, at)
	if err != nil {
		panic(err)
	}
	return a
}

// sample returns so many runs of so many spectra, all with the same look.
func (g placeOf) sample(name string, runs, each int) Sample {
	s := Sample{Name: name, Set: holdout.Set{Axis: axis(channels), X: mat.NewDense(runs*each, channels, nil)}}
	for r := range runs {
		s.Set.Runs = append(s.Set.Runs, holdout.Range{Name: fmt.Sprintf("run %02d", r), From: r * each, To: (r + 1) * each})
	}
	for i := range runs * each {
		s.Set.X.SetRow(i, g.next())
		s.Looks = append(s.Looks, Look{1, 0})
	}
	return s
}

func fitted(t testing.TB, s Sample) *Fitted {
	t.Helper()
	f, err := Fit(s, nil)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// TestAcceptanceIsTheClosedForm: on normal spectra whose runs do not differ, a class accepts what a closed form says that it does.
// For a spectrum that was not learned from, n(n−k)/(k(n²−1)) T² is F with k and n−k degrees of freedom (Tracy, Young, Mason,
// Multivariate control charts for individual observations, Journal of Quality Technology 24, 1992, 88–95), Q/σ² is χ² with
// p−k, and the two are independent.
func TestAcceptanceIsTheClosedForm(t *testing.T) {
	const runs, each, k, fresh = 16, 60, 3, 40000
	g := newPlace(1)
	f := fitted(t, g.sample("rinse", runs, each))
	c := f.Class
	if c.PCA.K != k {
		t.Fatalf("Fit chose %d components, want %d", c.PCA.K, k)
	}
	n := float64(runs * each)
	onF := n * (n - k) / (k * (n*n - 1))
	F, chi2 := distuv.F{D1: k, D2: n - k}, distuv.ChiSquared{K: channels - k}
	want := F.CDF(onF*c.T2) * chi2.CDF(c.Q/(sigma*sigma))

	accepted, room := 0, make([]float64, k)
	for range fresh {
		if c.Match(g.next(), Look{1, 0}, room).Distance <= 1 {
			accepted++
		}
	}
	// Two standard errors of the count are 0.001; the rest is left to λ and σ² of one training.
	if got := float64(accepted) / fresh; !scalar.EqualWithinAbs(got, want, 0.002) {
		t.Errorf("the class accepts %.4f of its own spectra, by the closed form %.4f", got, want)
	}
	if want < 1-alpha-0.002 || want > 1-alpha+0.007 {
		t.Errorf("by the closed form the class accepts %.4f, want a little more than %.2f", want, 1-alpha)
	}
	side := math.Sqrt(1 - alpha) // so that both sides together leave alpha outside
	t2, q := F.Quantile(side)/onF, sigma*sigma*chi2.Quantile(side)
	if !scalar.EqualWithinRel(c.T2, t2, 0.2) || !scalar.EqualWithinRel(c.Q, q, 0.1) {
		t.Errorf("limits of T² %.3g and Q %.3g, by the closed form %.3g and %.3g", c.T2, c.Q, t2, q)
	}
	if !scalar.EqualWithinRel(c.Spread, 1, 0.1) || !scalar.EqualWithinRel(c.Noise, sigma*sigma, 0.1) {
		t.Errorf("spread %.3g and noise %.3g, want about 1 and %.3g", c.Spread, c.Noise, sigma*sigma)
	}
	out := 0
	for _, m := range f.Held {
		if m.Distance > 1 {
			out++
		}
	}
	if share := float64(out) / n; share > 2*alpha {
		t.Errorf("%.3f of the held-out spectra lie outside, want about %.2f", share, alpha)
	}
}

// TestFitIgnoresTheOrder of the runs, to rounding.
func TestFitIgnoresTheOrder(t *testing.T) {
	const runs, each = 7, 15
	s := newPlace(2).sample("rinse", runs, each)
	other := Sample{Name: s.Name, Looks: s.Looks, Set: holdout.Set{Axis: axis(channels), X: mat.NewDense(runs*each, channels, nil)}}
	order := []int{3, 0, 6, 1, 5, 2, 4}
	for to, r := range order {
		other.Set.Runs = append(other.Set.Runs, holdout.Range{Name: s.Set.Runs[r].Name, From: to * each, To: (to + 1) * each})
		for i := range each {
			other.Set.X.SetRow(to*each+i, s.Set.X.RawRowView(r*each+i))
		}
	}
	a, b := fitted(t, s), fitted(t, other)
	alike(t, "runs in another order", b.Class, a.Class, 1)
	for to, r := range order {
		for i := range each {
			if got, want := b.Held[to*each+i].Distance, a.Held[r*each+i].Distance; !scalar.EqualWithinRel(got, want, 1e-8) {
				t.Errorf("held-out distance of spectrum %d of run %d = %.10g, want %.10g", i, r, got, want)
			}
		}
	}
}

// TestFitIgnoresTheUnit: a factor on all spectra changes no distance.
func TestFitIgnoresTheUnit(t *testing.T) {
	s := newPlace(3).sample("rinse", 6, 15)
	a := fitted(t, s)
	for _, by := range []float64{1e-4, 3, 1e5} {
		scaled := s
		scaled.Set.X = mat.DenseCopyOf(s.Set.X)
		scaled.Set.X.Scale(by, scaled.Set.X)
		b := fitted(t, scaled)
		alike(t, fmt.Sprintf("spectra times %g", by), b.Class, a.Class, by)
		for i, m := range b.Held {
			if want := a.Held[i].Distance; !scalar.EqualWithinRel(m.Distance, want, 1e-7) {
				t.Fatalf("spectra times %g: held-out distance %d = %.10g, want %.10g", by, i, m.Distance, want)
			}
		}
	}
}

// alike compares two classes of which the first was learned from spectra by times as large.
func alike(t *testing.T, what string, got, want *Class, by float64) {
	t.Helper()
	for _, v := range []struct {
		name      string
		got, want float64
	}{
		{"k", float64(got.PCA.K), float64(want.PCA.K)},
		{"limit of T²", got.T2, want.T2},
		{"limit of Q", got.Q, want.Q * by * by},
		{"spread", got.Spread, want.Spread},
		{"noise", got.Noise, want.Noise * by * by},
		{"first eigenvalue", got.PCA.Eigenvalues[0], want.PCA.Eigenvalues[0] * by * by},
	} {
		if !scalar.EqualWithinRel(v.got, v.want, 1e-7) {
			t.Errorf("%s: %s = %.10g, want %.10g", what, v.name, v.got, v.want)
		}
	}
}

// TestFitOnBlocks: with one run, blocks of time are held out, and the class says so.
func TestFitOnBlocks(t *testing.T) {
	f := fitted(t, newPlace(4).sample("rinse", 1, 60))
	if len(f.Class.Findings) == 0 || f.Class.Findings[0].About != "rinse" {
		t.Errorf("findings %v, want one about the condition", f.Class.Findings)
	}
	if len(f.Held) != 60 || f.Class.Runs != 1 || f.Class.Spectra != 60 {
		t.Errorf("%d matches of %d spectra in %d runs, want 60, 60, 1", len(f.Held), f.Class.Spectra, f.Class.Runs)
	}
	for i, m := range f.Held {
		if !(m.Distance > 0) {
			t.Errorf("spectrum %d was not placed", i)
		}
	}
}

func TestFitRefuses(t *testing.T) {
	g := newPlace(5)
	lookless, still := g.sample("rinse", 5, 10), g.sample("rinse", 5, 10)
	lookless.Looks = lookless.Looks[1:]
	still.Set.X.Zero()
	tests := []struct {
		name   string
		sample Sample
		want   string
	}{
		{"too few", g.sample("rinse", 2, 7), "condition rinse: 14 spectra, at least 15"},
		{"a look too few", lookless, "condition rinse: 49 looks of 50 spectra"},
		{"spectra that do not differ", still, "condition rinse: "},
	}
	for _, tt := range tests {
		if f, err := Fit(tt.sample, nil); f != nil || err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("Fit(%s) = %v, %v; want an error with %q", tt.name, f, err, tt.want)
		}
	}
	for runs := 1; runs <= 5; runs++ { // as few as may be
		if _, err := Fit(g.sample("rinse", runs, (fewest+runs-1)/runs), nil); err != nil {
			t.Errorf("Fit of %d runs of %d spectra: %v", runs, (fewest+runs-1)/runs, err)
		}
	}
}

func TestLongest(t *testing.T) {
	at := func(minutes ...float64) (out []time.Time) {
		for _, m := range minutes {
			out = append(out, start.Add(time.Duration(m*float64(time.Minute))))
		}
		return out
	}
	tests := []struct {
		name  string
		times []time.Time
		runs  []int // the first row of each
		want  time.Duration
	}{
		{"no times", nil, []int{0}, 0},
		{"one spectrum", at(3), []int{0}, 0},
		{"one run", at(0, 1, 2, 3), []int{0}, 3 * time.Minute},
		{"two runs", at(0, 1, 2, 60, 61, 62, 63), []int{0, 3}, 3 * time.Minute},
		{"two stays in one run", at(0, 1, 2, 60, 61, 62, 63), []int{0}, 3 * time.Minute},
		{"some spectra missed", at(0, 1, 2, 10, 11), []int{0}, 11 * time.Minute},
		{"several spectra at once", at(0, 0, 0, 1, 1, 1, 2, 2, 2), []int{0}, 2 * time.Minute},
		{"all at once", at(5, 5, 5), []int{0}, 0},
	}
	for _, tt := range tests {
		s := holdout.Set{Times: tt.times}
		for i, from := range tt.runs {
			to := len(tt.times)
			if i+1 < len(tt.runs) {
				to = tt.runs[i+1]
			}
			s.Runs = append(s.Runs, holdout.Range{From: from, To: to})
		}
		if got := longest(s); got != tt.want {
			t.Errorf("longest(%s) = %v, want %v", tt.name, got, tt.want)
		}
	}
}

// TestFitRunsAtOnce: who runs the work in another order gets the same class.
func TestFitRunsAtOnce(t *testing.T) {
	s := newPlace(6).sample("rinse", 6, 12)
	a := fitted(t, s)
	b, err := Fit(s, func(n int, f func(i int)) {
		for i := range n {
			f(n - 1 - i)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(a.Held, b.Held) {
		t.Error("Fit with the work in another order gives another result")
	}
}
