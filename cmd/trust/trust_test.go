package main

import (
	"bytes"
	"context"
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/mat"

	"asusual/model/limits"
	"asusual/model/project"
	"asusual/model/stretch"
)

// TestShort runs a small study through all that the large one runs through.
func TestShort(t *testing.T) {
	var out, errOut bytes.Buffer
	args := []string{"-short", "-seeds", "2", "-fresh", "4", "-changed", "1", "-rivals", "40", "-promise", "1 per day"}
	if code := run(context.Background(), args, &out, &errOut); code != 0 {
		t.Fatalf("run = %d: %s", code, &errOut)
	}
	for _, want := range []string{"False episodes", "8 runs, 64 channels, whole", "| absorber 8 |", "Goals", "1 per day"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("the report lacks %q:\n%s", want, &out)
		}
	}
	if strings.Contains(out.String(), "NaN") {
		t.Errorf("the report holds a NaN:\n%s", &out)
	}
	var again bytes.Buffer
	if run(context.Background(), args, &again, &errOut); again.String() != out.String() {
		t.Error("the same command line gave another report")
	}
}

// TestCompare runs a small study of comparisons: of periods that are usual, few are said to differ.
func TestCompare(t *testing.T) {
	var out, errOut bytes.Buffer
	if code := run(context.Background(), []string{"-compare", "-short", "-seeds", "4", "-fresh", "10"}, &out, &errOut); code != 0 {
		t.Fatalf("run = %d: %s", code, &errOut)
	}
	m := regexp.MustCompile(`Altogether (\d+) of (\d+) comparisons`).FindStringSubmatch(out.String())
	if m == nil || m[2] != "240" {
		t.Fatalf("the report does not say how many of 240 comparisons:\n%s", &out)
	}
	if n, _ := strconv.Atoi(m[1]); n > 10 { // 1 % are accepted
		t.Errorf("%d of 240 usual periods are said to differ, want few", n)
	}
}

func TestCommandLine(t *testing.T) {
	for _, args := range [][]string{{"-seeds", "0"}, {"-nothing"}, {"word"}, {"-promise", "never"}, {"-only", "no such line"}} {
		var out, errOut bytes.Buffer
		if code := run(context.Background(), args, &out, &errOut); code != 2 || errOut.Len() == 0 || out.Len() > 0 {
			t.Errorf("run %q = %d, says %q, want 2 and a reason", args, code, &errOut)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	var out, errOut bytes.Buffer
	if code := run(ctx, []string{"-short"}, &out, &errOut); code != 1 || !strings.Contains(errOut.String(), "canceled") {
		t.Errorf("an interrupted run = %d, says %q, want 1 and that it was", code, &errOut)
	}
}

// TestKnowing compares the running sums with the likelihood ratio worked out from covariance matrices: for a series with
// covariance V and a change g, log ratio = gᵀV⁻¹y − ½ gᵀV⁻¹g.
func TestKnowing(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, phi := range []float64{0, 0.7} {
		for _, b := range []float64{0, 1.5} {
			for _, slope := range []bool{false, true} {
				const n = 12
				y := make([]float64, n)
				for i := range y {
					y[i] = rng.NormFloat64()
				}
				d := knowing{phi, b, slope, 0.6, func(r production) []float64 { return r.along }}
				got := d.path(production{along: y})
				for i := 1; i < n; i++ {
					want := math.Inf(-1)
					for from := 1; from <= i; from++ {
						want = max(want, plain(y[:i+1], d, from))
					}
					if !scalar.EqualWithinAbsOrRel(got[i], want, 1e-9, 1e-9) {
						t.Errorf("φ %v, b %v, slope %v: ratio after %d = %v, want %v", phi, b, slope, i+1, got[i], want)
					}
				}
			}
		}
	}
}

func plain(y []float64, d knowing, from int) float64 {
	n := len(y)
	v := mat.NewSymDense(n, nil)
	g := mat.NewVecDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			v.SetSym(i, j, math.Pow(d.phi, float64(j-i))+d.b*d.b)
		}
		switch {
		case i >= from && d.slope:
			g.SetVec(i, d.size*float64(i-from))
		case i >= from:
			g.SetVec(i, d.size)
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(v) {
		panic("covariance without a factor")
	}
	var w mat.VecDense
	if err := chol.SolveVecTo(&w, g); err != nil {
		panic(err)
	}
	return mat.Dot(&w, mat.NewVecDense(n, y)) - mat.Dot(&w, g)/2
}

func made(t *testing.T, l line) maker {
	t.Helper()
	m, err := l.maker()
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// TestStretchesAreAsMade: what the stretches have left over is the same by both ways of making spectra: through the short cut
// of the residual's frame, and by the bank applied to whole spectra.
func TestStretchesAreAsMade(t *testing.T) {
	const n = 4000
	for _, bump := range []float64{0, 8} {
		var moments [2][]float64
		for w, whole := range []bool{false, true} {
			l := made(t, line{0.3, 0, 8, 120, whole, n})
			r := l.make(rand.New(rand.NewPCG(7, 7)), change{"absorber", bump}, 0)
			m := len(l.bank)
			if m < 8 {
				t.Fatalf("%d stretches on 120 channels, want at least 8", m)
			}
			if whole {
				ideal := stretch.New(l.bank, l.truth())
				r.parts = make([]float64, n*m)
				for j := range n {
					var tt [components]float64
					x := r.x[j*120 : (j+1)*120]
					l.truth().Scores(tt[:], x)
					ideal.Of(r.parts[j*m:(j+1)*m], x, tt[:])
				}
			}
			moments[w] = make([]float64, m+m*m)
			for j := range n {
				at := r.parts[j*m : (j+1)*m]
				for a, v := range at {
					moments[w][a] += v / n
					for b, u := range at {
						moments[w][m+a*m+b] += v * u / n
					}
				}
			}
		}
		for i, want := range moments[1] {
			if got := moments[0][i]; !scalar.EqualWithinAbsOrRel(got, want, 0.15, 0.06) {
				t.Errorf("absorber %v: moment %d is %.3f by the short cut, %.3f by whole spectra", bump, i, got, want)
			}
		}
	}
}

// truth returns the model that the line is made by.
func (l maker) truth() *project.PCA {
	m := &project.PCA{K: components, P: l.Channels, Mean: make([]float64, l.Channels)}
	for c := range m.Mean {
		m.Mean[c] = level
	}
	for i := range l.loadings {
		m.Loadings = append(m.Loadings, l.loadings[i]...)
	}
	return m
}

// TestLineIsAsSaid: the simulated spectra have the moments that the line promises, both ways of making them.
func TestLineIsAsSaid(t *testing.T) {
	for _, whole := range []bool{false, true} {
		l := made(t, line{0.6, 1.5, 8, 40, whole, 400})
		rng := rand.New(rand.NewPCG(4, 4))
		var within, lagged, between, size, shape float64
		const runs = 60
		for range runs {
			r := l.make(rng, change{}, 0)
			m := 0.0
			for _, v := range r.along {
				m += v / float64(l.Length)
			}
			between += m * m / runs
			for j, v := range r.along {
				within += (v - m) * (v - m)
				if j > 0 {
					lagged += (v - m) * (r.along[j-1] - m)
				}
				size += r.size[j] / float64(runs*l.Length)
				shape += r.shape[j] * r.shape[j] / float64(runs*l.Length)
			}
		}
		if got := lagged / within; !scalar.EqualWithinAbs(got, 0.6, 0.03) {
			t.Errorf("whole %v: neighbours have correlation %.3f, want 0.6", whole, got)
		}
		if got := within / float64(runs*l.Length); !scalar.EqualWithinAbs(got, 1, 0.05) {
			t.Errorf("whole %v: variance within runs %.3f, want 1", whole, got)
		}
		if got := math.Sqrt(between); !scalar.EqualWithinAbs(got, 1.5, 0.35) {
			t.Errorf("whole %v: runs differ by %.2f, want 1.5", whole, got)
		}
		if !scalar.EqualWithinAbs(size, 0, 0.15) || !scalar.EqualWithinAbs(shape, 1, 0.05) {
			t.Errorf("whole %v: residual of mean size %.3f and variance %.3f along a shape, want 0 and 1", whole, size, shape)
		}
	}
}

func TestWholeIsPlacedLikeScores(t *testing.T) {
	l := made(t, line{0.3, 1, 8, 40, true, 150})
	rng := rand.New(rand.NewPCG(6, 6))
	runs := make([]production, l.Runs)
	for i := range runs {
		runs[i] = l.make(rng, change{}, 0)
	}
	p, tracks, err := l.learn(runs, limits.Promise{})
	if err != nil {
		t.Fatal(err)
	}
	if len(tracks) != l.Runs {
		t.Errorf("%d tracks, want %d", len(tracks), l.Runs)
	}
	sum, scores := 0.0, make([]float64, components)
	r := l.make(rng, change{"absorber", 8}, 0)
	for j := range l.Length {
		sum += p.place(scores, r, j) / float64(l.Length)
	}
	if want := 35 + 64.0; !scalar.EqualWithinRel(sum, want, 0.1) {
		t.Errorf("mean Q residual with an absorber of length 8 = %.1f, want about %v: 40 channels less 5, and 8²", sum, want)
	}
}

// TestRate: Garwood's interval, from tables of exact Poisson limits (common in handbooks; from memory): for 10 events
// 5.425 to 16.962 at 90 %, for none an upper 2.996.
func TestRate(t *testing.T) {
	p := plan{promise: limits.Promise{Episodes: 1, Per: time.Hour}}
	lo, rate, hi := result{hours: 10, episodes: []int{2, 3, 2, 3}}.rate(p)
	if !scalar.EqualWithinAbs(lo, 0.5425, 1e-4) || rate != 1 || !scalar.EqualWithinAbs(hi, 1.6962, 1e-4) {
		t.Errorf("rate of 10 in 10 = %.4f, %.4f, %.4f, want 0.5425, 1, 1.6962", lo, rate, hi)
	}
	if _, _, hi := (result{hours: 1, episodes: []int{0, 0}}).rate(p); !scalar.EqualWithinAbs(hi, 2.9957, 1e-4) {
		t.Errorf("upper bound of none = %.4f, want 2.9957", hi)
	}
	if _, _, wide := (result{hours: 10, episodes: []int{0, 0, 0, 10}}).rate(p); wide <= hi {
		t.Errorf("upper bound where one set has all 10 = %.3f, want more than %.3f", wide, hi)
	}
}

func TestTables(t *testing.T) {
	inf := math.Inf(1)
	for _, tt := range []struct {
		x    []float64
		want string
	}{{[]float64{3, 5, inf}, "67 %, 5"}, {[]float64{inf, inf, 1}, "33 %, –"}, {[]float64{4}, "100 %, 4"}} {
		if got := say(tt.x); got != tt.want {
			t.Errorf("say(%v) = %q, want %q", tt.x, got, tt.want)
		}
	}
	if got := first([]float64{5, 0, 0, 2}, 1, 1, 1); got != 3 {
		t.Errorf("first = %v, want 3", got)
	}
	if got := first([]float64{5, 0}, 1, 1, 1); !math.IsInf(got, 1) {
		t.Errorf("first of none = %v, want +Inf", got)
	}
	if got := first([]float64{5, 5, 0, 2, 2, 2}, 1, 1, 3); got != 5 {
		t.Errorf("first, three in a row = %v, want 5", got)
	}
}
