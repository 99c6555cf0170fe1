package compare

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gonum.org/v1/gonum/floats/scalar"

	"asusual/model/verdict"
)

var monday = time.Date(2026, 11, 16, 6, 0, 0, 0, time.UTC)

// shop makes runs whose means differ with a standard deviation of 1 in each of d features, and whose spectra wander
// within the run.
type shop struct {
	rng *rand.Rand
	d   int
}

func (s shop) run(n int, shift float64) [][]float64 {
	out := make([][]float64, n)
	offset, wander := make([]float64, s.d), make([]float64, s.d)
	for i := range offset {
		offset[i], wander[i] = s.rng.NormFloat64(), s.rng.NormFloat64()
	}
	offset[0] += shift
	for i := range out {
		out[i] = make([]float64, s.d)
		for j := range out[i] {
			wander[j] = 0.9*wander[j] + math.Sqrt(1-0.81)*s.rng.NormFloat64()
			out[i][j] = offset[j] + 0.5*wander[j]
		}
	}
	return out
}

func (s shop) side(runs, n int, shift float64) *Side {
	side := &Side{Gap: 10 * time.Minute}
	for r := range runs {
		for i, f := range s.run(n, shift) {
			side.Add(monday.AddDate(0, 0, r).Add(time.Duration(i)*20*time.Second), f)
		}
	}
	return side
}

// spread measures the usual spread as a reference does: from so many good runs.
func (s shop) spread(t *testing.T, runs, n int) Spread {
	t.Helper()
	var good [][][]float64
	for range runs {
		good = append(good, s.run(n, 0))
	}
	out, err := SpreadOf(good)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestFalseAlarms measures how often two stretches of usual production are said to differ, over many simulated lines,
// each with a reference of its own.
func TestFalseAlarms(t *testing.T) {
	const lines = 1000
	for _, tt := range []struct{ good, this, that, n int }{{8, 1, 5, 30}, {8, 2, 10, 30}, {20, 3, 15, 30}, {8, 1, 5, 10}} {
		rng := rand.New(rand.NewPCG(7, uint64(tt.good)))
		false_ := 0
		for range lines {
			s := shop{rng, 3}
			usual := s.spread(t, tt.good, 30)
			if Compare(s.side(tt.this, tt.n, 0), s.side(tt.that, 30, 0), usual).Verdict == verdict.Changed {
				false_++
			}
		}
		share := float64(false_) / lines
		t.Logf("%d good runs, %d of %d spectra against %d: said to differ %.2f %% of the time, promised %.0f %%", tt.good, tt.this, tt.n, tt.that, 100*share, 100*alpha)
		// 1 % of 1,000 has a standard deviation of 0.31 %.
		if share > alpha+3*0.0031 {
			t.Errorf("Compare of usual stretches (%+v): %.2f %% said to differ, want at most %.0f %%", tt, 100*share, 100*alpha)
		}
	}
}

// TestSees: a difference of six usual spreads is seen nearly always, with its size within the interval, which takes the
// usual spread for known.
func TestSees(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	const lines = 200
	seen, covered := 0, 0
	for range lines {
		s := shop{rng, 3}
		r := Compare(s.side(3, 30, 6), s.side(10, 30, 0), s.spread(t, 20, 30))
		if r.Verdict == verdict.Changed && r.Feature == 0 {
			seen++
		}
		if r.Low <= 6 && 6 <= r.High {
			covered++
		}
	}
	if seen < 190 || covered < 180 {
		t.Errorf("Compare(6 spreads apart): seen %d and covered %d times of %d, want at least 190 and 180", seen, covered, lines)
	}
}

// TestClosedForm: with one feature, p is that of Student's t-test with a known number of degrees of freedom; the value
// 0.05 for t = 2.262 and 9 degrees of freedom is in every table of Student's t.
func TestClosedForm(t *testing.T) {
	usual := Spread{Runs: 10, Length: 1, SD: []float64{1}}
	this, that := &Side{}, &Side{}
	this.Add(monday, []float64{2.262157 * math.Sqrt2})
	that.Add(monday, []float64{0})
	r := Compare(this, that, usual)
	if !scalar.EqualWithinAbs(r.Chance, 2.262157*math.Sqrt2, 1e-5) {
		t.Errorf("Chance = %g, want 2.262157 times the root of two", r.Chance)
	}
	if !scalar.EqualWithinAbs(r.P, 0.05, 1e-6) || r.Verdict != verdict.AsUsual {
		t.Errorf("Compare = p %.7f, %v; want 0.05, as usual", r.P, r.Verdict)
	}
}

func TestTooLittle(t *testing.T) {
	usual := Spread{Runs: 10, Length: 100, SD: []float64{1}}
	little, enough := &Side{}, &Side{}
	for range 9 {
		little.Add(monday, []float64{50})
	}
	for range 100 {
		enough.Add(monday, []float64{0})
	}
	for name, r := range map[string]Result{
		"9 spectra against a run": Compare(little, enough, usual),
		"a run against 9 spectra": Compare(enough, little, usual),
		"nothing against a run":   Compare(&Side{}, enough, usual),
		"a run against nothing":   Compare(enough, &Side{}, usual),
		"nothing at all":          Compare(&Side{}, &Side{}, usual),
	} {
		if r.Verdict != verdict.CannotSay {
			t.Errorf("Compare(%s) = %v, want cannot say", name, r.Verdict)
		}
	}
}

func TestPausesCutRuns(t *testing.T) {
	s := &Side{Gap: time.Minute}
	for _, second := range []int{0, 30, 60, 300, 330, 1000} {
		s.Add(monday.Add(time.Duration(second)*time.Second), []float64{0})
	}
	if s.Runs() != 3 || s.Spectra != 6 {
		t.Errorf("Runs() = %d of %d spectra, want 3 of 6", s.Runs(), s.Spectra)
	}
}

func BenchmarkAdd(b *testing.B) {
	s := &Side{Gap: time.Minute}
	f := []float64{0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7}
	b.ReportAllocs()
	for b.Loop() {
		s.Add(monday, f)
	}
}
