package limits

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// turn returns the turn of features y made white, n×d, in which the means of blocks of neighbours have nothing in common, those
// that move most in the long run first; and turns y, the features of each run by what the other runs say: directions in
// which they themselves happened to move most would look worse than they are.
//
// What stands apart from spectrum to spectrum need not do so over longer stretches: where some direction wanders slowly, the
// answers to all of them would be larger than χ², and their tail much heavier.
func (s *stream) turn(y []float64, d int) []float64 {
	if d == 1 {
		return nil
	}
	blocks := s.blocks(y, d)
	all, one := make([]float64, d*d), make([]float64, d)
	for _, m := range blocks {
		addTo(all, 1, m)
	}
	without := make([]float64, d*d)
	for j, m := range blocks {
		copy(without, all)
		addTo(without, -1, m)
		by := axes(without, d)
		for i := s.from[j]; i < s.from[j+1]; i++ {
			copy(one, y[i*d:(i+1)*d])
			turned(y[i*d:(i+1)*d], by, one)
		}
	}
	return axes(all, d)
}

// blocks returns, run by run, the sum of the outer products of the means of blocks of neighbours around the mean of the run.
func (s *stream) blocks(y []float64, d int) [][]float64 {
	b := int(max(4, min(s.length/12, 50)))
	out := make([][]float64, len(s.from)-1)
	mean, part := make([]float64, d), make([]float64, d)
	for j := range out {
		out[j] = make([]float64, d*d)
		from, n := s.from[j], (s.from[j+1]-s.from[j])/b
		clear(mean)
		for i := from; i < from+n*b; i++ {
			for c, v := range y[i*d : (i+1)*d] {
				mean[c] += v / float64(n*b)
			}
		}
		for at := from; at < from+n*b; at += b {
			for c := range part {
				part[c] = -mean[c]
			}
			for i := at; i < at+b; i++ {
				for c, v := range y[i*d : (i+1)*d] {
					part[c] += v / float64(b)
				}
			}
			addOuter(out[j], 1, part)
		}
	}
	return out
}

func addTo(dst []float64, w float64, m []float64) {
	for i, v := range m {
		dst[i] += w * v
	}
}

// axes returns the eigenvectors of a symmetric d×d matrix, a row each, that of the largest eigenvalue first.
func axes(m []float64, d int) []float64 {
	var e mat.EigenSym
	out := make([]float64, d*d)
	if !e.Factorize(mat.NewSymDense(d, m), true) {
		for c := range d {
			out[c*d+c] = 1
		}
		return out
	}
	var v mat.Dense
	e.VectorsTo(&v)
	for i := range d {
		for c := range d {
			out[i*d+c] = v.At(c, d-1-i)
		}
	}
	return out
}

// turned fills dst with the d×d matrix times x.
func turned(dst, by, x []float64) {
	d := len(x)
	i := 0
	for ; i+4 <= d; i += 4 { // sums that do not wait for each other
		a, b, c, e := by[i*d:][:d], by[(i+1)*d:][:d], by[(i+2)*d:][:d], by[(i+3)*d:][:d]
		var s, t, u, v float64
		for j, x := range x {
			s += a[j] * x
			t += b[j] * x
			u += c[j] * x
			v += e[j] * x
		}
		dst[i], dst[i+1], dst[i+2], dst[i+3] = s, t, u, v
	}
	for ; i < d; i++ {
		v := 0.0
		for c, w := range by[i*d : (i+1)*d] {
			v += w * x[c]
		}
		dst[i] = v
	}
}

// apart fills dst with features made white and turned; scratch has their length.
func (q *Leap) apart(dst, scratch, features []float64) {
	if q.Turn == nil {
		q.White.times(dst, features)
		return
	}
	q.White.times(scratch, features)
	turned(dst, q.Turn, scratch)
}

// back fills dst with what features y made white and turned weigh of each feature: the transpose of apart.
func (q *Leap) back(dst, y []float64) {
	if q.Turn == nil {
		q.White.back(dst, y)
		return
	}
	z := make([]float64, len(y))
	for i, v := range y {
		for c, w := range q.Turn[i*len(y) : (i+1)*len(y)] {
			z[c] += v * w
		}
	}
	q.White.back(dst, z)
}

// widened returns by how much the answers of a feature over an octave's stretches are larger than reckoned.
func (q *Leap) widened(octave, feature int) float64 {
	if q.Widen == nil {
		return q.Inflate[octave]
	}
	return q.Widen[octave*len(q.Phi)+feature]
}

// settleTo makes the features as wide as spectra are that the model places which will place new ones, where those of the models of
// holding out are narrower. Where a component is hardly told from noise, these models differ in it, and a direction in which
// each of them leaves next to nothing is left as if it were quiet, which it is in none of the others.
//
// Note: on the invented line, one extended reference of 36 had a 12th component of that kind, and called 9 good runs of 31
// changed.
func (q *Leap) settleTo(rows [][]float64, starts []bool) {
	d := q.To - q.From
	wide, n := make([]float64, d), 0.0
	y, last, scratch := make([]float64, d), make([]float64, d), make([]float64, d)
	sum, square, m := make([]float64, d), make([]float64, d), 0.0 // of the run's innovations
	end := func() {
		for c := range wide {
			wide[c] += square[c] - sum[c]*sum[c]/max(m, 1) // around the run's mean, as σ was learned
		}
		n += max(m-1, 0)
		clear(sum)
		clear(square)
		m = 0
	}
	for i, f := range rows {
		q.apart(y, scratch, f[q.From:q.To])
		if starts[i] {
			end()
		} else {
			m++
			for c := range y {
				v := (y[c] - q.Phi[c]*last[c]) / q.Sigma[c]
				sum[c] += v
				square[c] += v * v
			}
		}
		copy(last, y)
	}
	end()
	for c, v := range wide {
		if n > 0 && v > n {
			q.Sigma[c] *= math.Sqrt(v / n)
		}
	}
}
