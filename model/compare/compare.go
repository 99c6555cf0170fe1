package compare

import (
	"fmt"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"asusual/model/verdict"
)

// A Spread is how much whole runs of known-good production differ: the standard deviation of the run means of each
// of the d features, held out.
type Spread struct {
	Runs   int       `json:"runs"`
	Length int       `json:"length"` // spectra in a run, the median
	SD     []float64 `json:"sd"`     // d
}

// SpreadOf returns the spread of runs given by their features, one run a slice of spectra of d features each.
// It needs at least two runs.
func SpreadOf(runs [][][]float64) (Spread, error) {
	if len(runs) < 2 {
		return Spread{}, fmt.Errorf("%d runs; a spread between runs needs 2", len(runs))
	}
	side := Side{}
	var lengths []int
	for _, r := range runs {
		for i, f := range r {
			side.add(i == 0, f)
		}
		lengths = append(lengths, len(r))
	}
	slices.Sort(lengths)
	d, n := len(side.runs[0].mean), float64(len(runs))
	s := Spread{Runs: len(runs), Length: lengths[len(lengths)/2], SD: make([]float64, d)}
	for i := range s.SD {
		mean := 0.0
		for _, r := range side.runs {
			mean += r.mean[i] / n
		}
		for _, r := range side.runs {
			s.SD[i] += (r.mean[i] - mean) * (r.mean[i] - mean) / (n - 1)
		}
		s.SD[i] = max(math.Sqrt(s.SD[i]), 1e-9)
	}
	return s, nil
}

// Validate reports whether the spread has d features.
func (s Spread) Validate(d int) error {
	if len(s.SD) != d || s.Runs < 2 || s.Length < 1 {
		return fmt.Errorf("a spread of %d features over %d runs of %d spectra, expected %d features", len(s.SD), s.Runs, s.Length, d)
	}
	for _, v := range s.SD {
		if !(v > 0) || math.IsInf(v, 0) {
			return fmt.Errorf("a spread between runs is %g", v)
		}
	}
	return nil
}

// A Side is one of the two stretches, gathered a spectrum at a time.
type Side struct {
	Gap     time.Duration // a longer pause starts a new run; 0: all is one run
	Spectra int

	runs []run
	last time.Time
}

type run struct {
	n    int
	mean []float64
}

// Add takes the d features of the next spectrum, in order of time.
func (s *Side) Add(at time.Time, features []float64) {
	s.add(len(s.runs) == 0 || s.Gap > 0 && at.Sub(s.last) > s.Gap, features)
	s.last = at
}

func (s *Side) add(starts bool, features []float64) {
	if starts {
		s.runs = append(s.runs, run{mean: make([]float64, len(features))})
	}
	r := &s.runs[len(s.runs)-1]
	r.n++
	for i, v := range features {
		r.mean[i] += (v - r.mean[i]) / float64(r.n)
	}
	s.Spectra++
}

// Runs returns the number of runs.
func (s *Side) Runs() int { return len(s.runs) }

// mean returns the mean of the run means, each run weighing as much as it says, and the weight of all: the number of
// usual runs that the side is worth. A run that is shorter than usual says less, in proportion at the worst.
func (s *Side) mean(length int) (m []float64, worth float64) {
	for _, r := range s.runs {
		w := min(1, float64(r.n)/float64(length))
		if m == nil {
			m = make([]float64, len(r.mean))
		}
		worth += w
		for i, v := range r.mean {
			m[i] += (v - m[i]) * w / worth
		}
	}
	return m, worth
}

// A Result says how two stretches differ.
type Result struct {
	Verdict verdict.Verdict `json:"verdict"`
	Feature int             `json:"feature"` // the one that differs most, from 0; the last is log Q
	Effect  float64         `json:"effect"`  // its difference, in standard deviations between usual runs
	Low     float64         `json:"low"`     // confidence interval of Effect at the level of the verdict, 99 %, the spread taken for known
	High    float64         `json:"high"`
	P       float64         `json:"p"` // how often usual runs would differ as much
	// Chance is half the 95 % interval of the difference of the two in any one direction, in standard deviations between usual
	// runs: as much as usual runs would differ. 0 where nothing can be said.
	Chance float64 `json:"chance"`
	Runs   [2]int  `json:"runs"`
}

// alpha is how often two stretches of usual production are said to differ.
const alpha = 0.01

// FalseAlarms is the share of comparisons of a usual run with the five before it that said they differ, on simulated lines with
// references from 6 to 40 good runs: 33 of 4,890, by go run ./cmd/trust -compare -seeds 20 -fresh 10. Of all kinds of comparison there,
// 74 of 19,560 did; on the worst line, 6 of 70, all after few good runs that happened to be alike.
const FalseAlarms = 0.007

// FalseAlarmsFrom is how many good runs FalseAlarms holds for, at least.
const FalseAlarmsFrom = 6

// leastWorth is the share of a usual run that a side needs before anything can be said of it.
const leastWorth = 0.1

// Compare compares this stretch with that one.
//
// For each feature the difference of the two means of run means, over its standard deviation
//
//	s·√(1/n₁ + 1/n₂)
//
// is taken as Student's t with as many degrees of freedom as the usual spread s has; the largest of the d features
// counts, with p multiplied by d (Bonferroni). It cannot say where a side holds less than a tenth of a usual run, or the spread is of
// fewer than two.
func Compare(this, that *Side, usual Spread) Result {
	a, na := this.mean(usual.Length)
	b, nb := that.mean(usual.Length)
	out := Result{Verdict: verdict.CannotSay, P: 1, Runs: [2]int{this.Runs(), that.Runs()}}
	if na < leastWorth || nb < leastWorth || usual.Runs < 2 {
		return out
	}
	largest := -1.0
	for i, s := range usual.SD { // len(a) = len(b) = d
		if e := (a[i] - b[i]) / s; math.Abs(e) > largest {
			largest, out.Feature, out.Effect = math.Abs(e), i, e
		}
	}
	d := float64(len(usual.SD))
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(usual.Runs - 1)}
	se := math.Sqrt(1/na + 1/nb)
	out.P = min(1, 2*d*t.Survival(largest/se))
	out.Chance = t.Quantile(0.975) * se
	half := t.Quantile(1-alpha/(2*d)) * se
	out.Low, out.High = out.Effect-half, out.Effect+half
	out.Verdict = verdict.AsUsual
	if out.P < alpha {
		out.Verdict = verdict.Changed
	}
	return out
}
