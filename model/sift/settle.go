package sift

import (
	"math"
	"math/rand/v2"

	"asusual/model/finding"
	"asusual/model/holdout"

	"gonum.org/v1/gonum/mat"
)

const (
	rounds = 2 // a third changed nothing on the sets tried

	// apart is how far, in the measure of farness, a spectrum may lie from what is kept. Chosen so that clean sets of
	// the invented line lose less than one spectrum in 500; the tests hold it to that.
	apart = 6

	// doubtful is how far a spectrum must lie from all that is kept for its distance from its own run to count.
	doubtful = 2
)

// settle models what is kept, judges every row by that model, and repeats. A row of a run that was thought apart comes back
// only if a good part of its run does: the run was poisoned in part then, and its middle with it.
func (s *Sifted) settle(x *mat.Dense, runs []holdout.Range, core, out []bool, rng *rand.Rand) {
	for g, r := range runs {
		for i := r.From; i < r.To; i++ {
			s.Keep[i] = core[i] && !out[g]
		}
	}
	var j judged
	for range rounds {
		j = judge(x, runs, s.Keep, rng)
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
	}
	s.reasons(j.t2, j.q, runs)
}

// A judged holds the place of every row against the rows kept.
type judged struct {
	t2, q []float64 // T² and the squared rest
	in    []bool    // whether it belongs
}

// judge places every row of x against the rows kept.
func judge(x *mat.Dense, runs []holdout.Range, keep []bool, rng *rand.Rand) judged {
	some := sample(x, keep, maxSample)
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
	t, q := f.place(x)
	var kept []int
	for i, k := range keep {
		if k {
			kept = append(kept, i)
		}
	}
	j := judged{t2: mahalanobis(t, kept), q: q}
	zt, zq := farness(j.t2, keep), farness(q, keep)
	zw := farness(mahalanobis(deviations(t, runs, keep), kept), keep)
	j.in = both(zt, zq, apart)
	for i := range zw {
		if zw[i] > apart && (zt[i] > doubtful || zq[i] > doubtful) {
			j.in[i] = false
		}
	}
	return j
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

// mahalanobis returns the squared distance of each row of t from the mean of the kept ones, by their covariance.
func mahalanobis(t *mat.Dense, kept []int) []float64 {
	n, m := t.Dims()
	c := cloudOf(t.RawMatrix().Data, m, kept)
	d2, work := make([]float64, n), make([]float64, m)
	for i := range d2 {
		d2[i] = c.distance2(t.RawRowView(i), work)
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
