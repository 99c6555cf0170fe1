package limits

import "math"

// A white turns a d-vector z into one whose squared length is zᵀ Σ⁻¹ z: the inverse of the Cholesky factor of Σ, the
// lower triangle, row by row.
type white []float64

// newWhite returns the white of the covariance Σ, d×d row by row. A Σ that has no Cholesky factor is brought closer to
// its diagonal until it has one; a direction without any spread is given a little of that of the others.
func newWhite(sigma []float64, d int) white {
	w := make(white, d*(d+1)/2)
	w.of(sigma, d)
	return w
}

// of turns w into the white of Σ, which it changes where it has to.
func (w white) of(sigma []float64, d int) {
	trace := 0.0
	for i := range d {
		trace += sigma[i*d+i] / float64(d)
	}
	if !(trace > 0) {
		trace = 1
	}
	for i := range d {
		sigma[i*d+i] = max(sigma[i*d+i], 1e-9*trace)
	}
	for !w.factor(sigma, d) {
		towardsDiagonal(sigma, d, 0.1)
	}
	w.invert(d)
}

// factor fills w with the lower Cholesky factor of Σ and reports whether there is one.
func (w white) factor(sigma []float64, d int) bool {
	for i := range d {
		for j := range i + 1 {
			sum := sigma[i*d+j]
			for k := range j {
				sum -= w[i*(i+1)/2+k] * w[j*(j+1)/2+k]
			}
			switch {
			case i > j:
				w[i*(i+1)/2+j] = sum / w[j*(j+1)/2+j]
			case !(sum > 1e-12*sigma[i*d+i]):
				return false
			default:
				w[i*(i+1)/2+i] = math.Sqrt(sum)
			}
		}
	}
	return true
}

// invert turns the lower triangle in w into its inverse.
func (w white) invert(d int) {
	for j := range d {
		w[j*(j+1)/2+j] = 1 / w[j*(j+1)/2+j]
		for i := j + 1; i < d; i++ {
			sum := 0.0
			for k := j; k < i; k++ {
				sum += w[i*(i+1)/2+k] * w[k*(k+1)/2+j]
			}
			w[i*(i+1)/2+j] = -sum / w[i*(i+1)/2+i]
		}
	}
}

// squared returns zᵀ Σ⁻¹ z.
func (w white) squared(z []float64) float64 {
	sum := 0.0
	i := 0
	for ; i+4 <= len(z); i += 4 {
		v := w.four(z, i)
		sum += v[0] * v[0]
		sum += v[1] * v[1]
		sum += v[2] * v[2]
		sum += v[3] * v[3]
	}
	for ; i < len(z); i++ {
		v := w.row(z, i)
		sum += v * v
	}
	return sum
}

// times fills dst with W z.
func (w white) times(dst, z []float64) {
	i := 0
	for ; i+4 <= len(z); i += 4 {
		v := w.four(z, i)
		copy(dst[i:i+4], v[:])
	}
	for ; i < len(z); i++ {
		dst[i] = w.row(z, i)
	}
}

// row returns the product of row i of W with z.
func (w white) row(z []float64, i int) float64 {
	v := 0.0
	at := i * (i + 1) / 2
	z = z[:i+1]
	for j, c := range w[at : at+i+1] {
		v += c * z[j]
	}
	return v
}

// four returns the products of rows i to i+3 with z, each as row gives it, to the last digit: sums that do not wait for each
// other take a third of the time.
func (w white) four(z []float64, i int) [4]float64 {
	at := i * (i + 1) / 2
	n := i + 1
	a := w[at:][:n]
	at += n
	b := w[at:][:n+1]
	at += n + 1
	c := w[at:][:n+2]
	at += n + 2
	d := w[at:][:n+3]
	var s, t, u, v float64
	z = z[:n+3]
	for j := range a {
		x := z[j]
		s += a[j] * x
		t += b[j] * x
		u += c[j] * x
		v += d[j] * x
	}
	t += b[n] * z[n]
	u += c[n] * z[n]
	u += c[n+1] * z[n+1]
	v += d[n] * z[n]
	v += d[n+1] * z[n+1]
	v += d[n+2] * z[n+2]
	return [4]float64{s, t, u, v}
}

// length returns √(zᵀ Σ⁻¹ z).
func (w white) length(z []float64) float64 { return math.Sqrt(w.squared(z)) }

// solve fills dst with Σ⁻¹ z.
func (w white) solve(dst, z []float64) {
	clear(dst)
	at := 0
	for i := range z {
		row := w[at : at+i+1]
		v := 0.0
		for j, c := range row {
			v += c * z[j]
		}
		for j, c := range row {
			dst[j] += c * v
		}
		at += i + 1
	}
}

// towardsDiagonal shrinks what lies off the diagonal of Σ by the share g.
func towardsDiagonal(sigma []float64, d int, g float64) {
	for i := range d {
		for j := range d {
			if i != j {
				sigma[i*d+j] *= 1 - g
			}
		}
	}
}

// shrinkage is the share by which a covariance from n witnesses is shrunk towards its diagonal: few witnesses for
// d(d+1)/2 entries leave little more than the diagonal.
func shrinkage(d int, n float64) float64 { return float64(d+1) / (n + float64(d+1)) }

// A scatter holds the second moments about zero of what a question looks at, run by run, so that one run can be left
// out.
type scatter struct {
	d     int
	total []float64
	runs  [][]float64 // the mean second moment of each run, d×d
	n     float64     // how many independent witnesses all runs together are worth
}

// addOuter adds w·zzᵀ to m.
func addOuter(m []float64, w float64, z []float64) {
	d := len(z)
	for i, a := range z {
		for j, b := range z {
			m[i*d+j] += w * a * b
		}
	}
}

// without returns the white of all runs but one (−1: of all). sum must have been called.
func (s scatter) without(run int) white {
	return s.into(make(white, s.d*(s.d+1)/2), make([]float64, s.d*s.d), run)
}

// into is without in w, with a d×d scratch.
func (s scatter) into(w white, m []float64, run int) white {
	n := float64(len(s.runs))
	copy(m, s.total)
	if run >= 0 {
		n--
		for c, v := range s.runs[run] {
			m[c] -= v
		}
	}
	for c := range m {
		m[c] /= n
	}
	towardsDiagonal(m, s.d, shrinkage(s.d, s.n*n/float64(len(s.runs))))
	w.of(m, s.d)
	return w
}

// sum gathers what without subtracts from.
func (s *scatter) sum() {
	if s.total == nil {
		s.total = make([]float64, s.d*s.d)
	}
	clear(s.total)
	for _, m := range s.runs {
		for c, v := range m {
			s.total[c] += v
		}
	}
}
