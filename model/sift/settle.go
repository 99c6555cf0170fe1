package sift

import (
	"math"
	"math/rand/v2"

	"asusual/model/finding"
	"asusual/model/holdout"
	"asusual/model/runner"

	"gonum.org/v1/gonum/mat"
)

const (
	rounds = 2 // a third changed nothing on the sets tried

	// apart is how far, in the measure of farness, a spectrum may lie from what is kept. Chosen so that clean sets of
	// the invented line lose less than one spectrum in 500; the tests hold it to that.
	apart = 6

	// fewestKept is how many rows the model of a round is made from, at least: of fewer there is no direction.
	fewestKept = 10

	// doubtful is how far a spectrum must lie from all that is kept for its distance from its own run to count.
	doubtful = 2
)

// settle models what is kept, judges every row by that model, and repeats. A row of a run that was thought apart comes back
// only if a good part of its run does: the run was poisoned in part then, and its middle with it.
func (s *Sifted) settle(x *mat.Dense, runs []holdout.Range, core, out []bool, rng *rand.Rand, each runner.Runner) {
	for g, r := range runs {
		for i := r.From; i < r.To; i++ {
			s.Keep[i] = core[i] && !out[g]
		}
	}
	if s.Kept() < fewestKept { // next to nothing agrees with anything
		s.Findings = append(s.Findings, finding.Of(finding.TooFewAlike, "", float64(s.Kept()), float64(len(s.Keep))))
		for i := range s.Keep {
			s.Keep[i] = true
		}
		return
	}
	var j judged
	for round := 0; round < rounds && s.Kept() >= fewestKept; round++ {
		j = judge(x, runs, s.Keep, rng, each)
		s.Runs = s.Runs[:0]
		for g, r := range runs {
			in := count(j.in[r.From:r.To])
			gone := in*10 < r.To-r.From || out[g] && in*4 < r.To-r.From
			if gone {
				s.Runs = append(s.Runs, g)
			}
			for i := r.From; i < r.To; i++ {
				s.Keep[i] = j.in[i] && !gone
			}
		}
		if s.Starts != nil {
			s.Starts = j.starts(x, runs, s.Keep)
		}
		for g, n := range s.Starts {
			for i := range n {
				s.Keep[runs[g].From+i] = false
			}
		}
	}
	s.reasons(j.t2, j.q, runs)
}

// A judged holds the place of every row against the rows kept.
type judged struct {
	frame frame
	t2, q []float64  // T² and the squared rest
	moved *mat.Dense // n×m: what the scores have beyond the middle of their run, in units of the scatter within runs
	in    []bool     // whether it belongs
}

// judge places every row of x against the rows kept.
func judge(x *mat.Dense, runs []holdout.Range, keep []bool, rng *rand.Rand, each runner.Runner) judged {
	some := sample(x, keep, maxSample, each)
	n, p := some.Dims()
	m := min(maxDirections, p, n/10)
	c := make([]float64, p)
	for i := range n {
		axpy(c, 1/float64(n), some.RawRowView(i))
	}
	for i := range n {
		axpy(some.RawRowView(i), -1, c)
	}
	f := frame{center: c, axes: leading(some, m, rng)}
	t, q := f.place(x, each)
	var kept []int
	for i, k := range keep {
		if k {
			kept = append(kept, i)
		}
	}
	j := judged{frame: f, q: q, moved: deviations(t, runs, keep)}
	j.t2 = whiten(t, kept)
	moved := whiten(j.moved, kept)
	leaveOut(j.t2, q, kept)
	var z [3][]float64
	var at [3]float64
	each.Do(3, func(i int) {
		z[i] = farness([][]float64{j.t2, q, moved}[i], keep)
		at[i] = fence(z[i], runs)
	})
	const ofT2, ofQ, ofMoved = 0, 1, 2
	within := func(i, of int) bool { return z[of][i] <= at[of] }
	j.in = make([]bool, len(q))
	for i := range j.in {
		j.in[i] = within(i, ofT2) && within(i, ofQ) && (within(i, ofMoved) || z[ofT2][i] <= doubtful && z[ofQ][i] <= doubtful)
	}
	return j
}

// leaveOut changes T² and Q of the rows kept to what they would be if each had been left out of the model that it helped to
// learn. Of few rows in many directions each has a model bent towards itself, and a row that was left out would look far
// by comparison. With a = T²/(n−1) and the leverage h = 1/n + a, from the update of an inverse by one row (Sherman, Morrison
// 1950, Annals of Mathematical Statistics 21, 124–127):
//
//	T² (n−2) n²/(n−1)³ / (1 − a n/(n−1)),   Q / (1−h)²
func leaveOut(t2, q []float64, kept []int) {
	n := float64(len(kept))
	for _, i := range kept {
		a := t2[i] / (n - 1)
		rest := max(1-a*n/(n-1), 1/n) // a row that has a direction to itself
		t2[i] *= (n - 2) * n * n / ((n - 1) * (n - 1) * (n - 1)) / rest
		q[i] /= max(1-1/n-a, 1/n) * max(1-1/n-a, 1/n)
	}
}

// fence returns how far a row may lie in the measure z of farness. On sets that are skewed or have long tails by nature
// it lies further out: beyond the upper quartile of the rows inside it, the tail is taken to fall off exponentially at the rate
// that they show. It goes out and takes in what continues their tail; what a gap parts from them stays out, and so does a run
// of which the larger part lies beyond. The later half of each run tells: the way down of a start-up is no tail.
func fence(z []float64, runs []holdout.Range) float64 {
	const (
		tail  = 7 // of a quarter of the rows, e⁻⁷: one row in 4,400
		steps = 5 // what goes on after so many is no tail, but a way to somewhere else
	)
	at := float64(apart)
	for range steps {
		inside := within(z, runs, at)
		u := quantile(inside, 0.75)
		var sum, n float64
		for _, v := range inside {
			if v > u {
				sum, n = sum+v-u, n+1
			}
		}
		next := u + tail*sum/max(n, 1)
		if !(next > at) {
			break
		}
		at = next
	}
	return at
}

// within returns the values up to at in the later half of those runs that have the larger part of it there.
func within(z []float64, runs []holdout.Range, at float64) []float64 {
	var inside []float64
	for _, r := range runs {
		from, late := len(inside), z[r.From+r.Len()/2:r.To]
		for _, v := range late {
			if v <= at {
				inside = append(inside, v)
			}
		}
		if 2*(len(inside)-from) < len(late) {
			inside = inside[:from]
		}
	}
	return inside
}

// deviations returns what each row of t has beyond the middle of its run, over the rows kept; of a run of which none is
// kept, over all.
func deviations(t *mat.Dense, runs []holdout.Range, keep []bool) *mat.Dense {
	n, m := t.Dims()
	d := mat.NewDense(n, m, nil)
	mid := make([]float64, m)
	for _, r := range runs {
		rows := where(keep, r, true)
		if len(rows) == 0 {
			rows = rowsOf(r)
		}
		middle(mid, t, rows)
		for i := r.From; i < r.To; i++ {
			copy(d.RawRowView(i), t.RawRowView(i))
			axpy(d.RawRowView(i), -1, mid)
		}
	}
	return d
}

// whiten expresses each row of t in units of the scatter of the kept ones, seen from their mean, and returns the squared
// lengths: Mahalanobis distances.
func whiten(t *mat.Dense, kept []int) []float64 {
	n, m := t.Dims()
	c := cloudOf(t.RawMatrix().Data, m, kept)
	d2, work := make([]float64, n), make([]float64, m)
	for i := range d2 {
		d2[i] = c.distance2(t.RawRowView(i), work)
		copy(t.RawRowView(i), work)
	}
	return d2
}

// reasons says of each row that is left out how far it lies from what is kept.
func (s *Sifted) reasons(t2, q []float64, runs []holdout.Range) {
	usualT2, usualQ := medianWhere(t2, s.Keep), medianWhere(q, s.Keep)
	times := func(v, usual float64) float64 {
		return min(math.Sqrt(v/max(usual, math.SmallestNonzeroFloat64)), 1e6) // all alike: no usual distance
	}
	for i, k := range s.Keep {
		if k {
			continue
		}
		a, b := times(t2[i], usualT2), times(q[i], usualQ)
		if a > b {
			s.Why[i] = finding.Of(finding.ApartInPattern, "", a)
		} else {
			s.Why[i] = finding.Of(finding.ApartInShape, "", b)
		}
	}
	for g, n := range s.Starts {
		if n < fewestStart {
			continue
		}
		f := finding.Of(finding.StartUpUntimed, runs[g].Name, float64(n))
		for i := range n {
			s.Why[runs[g].From+i] = f
		}
	}
	for _, g := range s.Runs {
		r := runs[g]
		var far []float64
		for i := r.From; i < r.To; i++ {
			far = append(far, max(times(t2[i], usualT2), times(q[i], usualQ)))
		}
		f := finding.Of(finding.RunApart, r.Name, median(far), float64(r.To-r.From))
		for i := r.From; i < r.To; i++ {
			s.Why[i] = f
		}
	}
}

func medianWhere(x []float64, keep []bool) float64 {
	var some []float64
	for i, v := range x {
		if keep[i] {
			some = append(some, v)
		}
	}
	return median(some)
}
