package holdout

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// press returns, for 0 … most components, the sum over held (rows of spectra) of the squared errors of
// predicting channels from those not within near of them, and the sum of the squared residuals.
//
// k components and noise of variance σ² in every channel are a normal population with covariance Pᵀ(Λ−σ²I)P + σ²I
// (Tipping, Bishop 1999, Probabilistic principal component analysis, J. Royal Statistical Society B 61, 611–622). The
// prediction is its conditional mean. With P_B the columns of the channels B left out, t and e the scores and the residual of the
// spectrum, p_j column j of P and D = σ²(Λ−σ²I)⁻¹, the error in channel j is
//
//	e_j + p_jᵀ (I − P_B P_Bᵀ + D)⁻¹ (D t + P_B e_B)
//
// which for D = 0 and B = {j} is the e_j/(1 − p_jᵀp_j) of leave-one-out regression. D keeps a component that the other channels
// cannot tell from being guessed at. Every few channels stand for all where near is wide.
func (t trial) press(held *mat.Dense, near int) (press, left []float64) {
	n, p := held.Dims()
	held = centred(held, t.mean)
	scores := mat.NewDense(n, t.most, nil)
	scores.Mul(held, t.axes.Slice(0, t.most, 0, p).T())
	stride := 1 + near/2
	press, left = make([]float64, t.most+1), make([]float64, t.most+1)
	w := newWeights(t, near)
	for k := 0; k <= t.most; k++ {
		if k > 0 {
			deflate(held, t.axes.RawRowView(k-1))
		}
		for i := range n {
			left[k] += dot(held.RawRowView(i), held.RawRowView(i))
		}
		w.with(k)
		for j := 0; j < p; j += stride {
			from, c, s := w.at(j)
			for i := range n {
				row := held.RawRowView(i)
				e := row[j] + dot(c, row[from:from+len(c)]) + dot(s, scores.RawRowView(i)[:k])
				press[k] += e * e
			}
		}
	}
	return press, left
}

// deflate takes what lies along the unit vector a out of every row of x.
func deflate(x *mat.Dense, a []float64) {
	n, _ := x.Dims()
	for i := range n {
		row := x.RawRowView(i)
		s := dot(row, a)
		for j, v := range a {
			row[j] -= s * v
		}
	}
}

// weights works out what the residuals around a channel and the scores add to its error.
type weights struct {
	t    trial
	near int
	k    int
	cols []float64 // p×most: the loadings, one channel a row
	d    []float64 // k: D
	m, y []float64
	c, s []float64
}

func newWeights(t trial, near int) *weights {
	_, p := t.axes.Dims()
	w := &weights{
		t: t, near: near, cols: make([]float64, p*t.most),
		d: make([]float64, t.most), m: make([]float64, t.most*t.most), y: make([]float64, t.most),
		c: make([]float64, 2*near+1), s: make([]float64, t.most),
	}
	for j := range p {
		for a := range t.most {
			w.cols[j*t.most+a] = t.axes.At(a, j)
		}
	}
	return w
}

// with sets the number of components.
func (w *weights) with(k int) {
	const most = 1e9 // of a component that is all noise, or nothing
	w.k = k
	noise := w.t.total
	for _, v := range w.t.values[:k] {
		noise -= v
	}
	noise = max(0, noise/float64(len(w.t.mean)-k))
	for a, v := range w.t.values[:k] {
		w.d[a] = most
		if u := max(v-noise, 1e-9*v); noise < most*u {
			w.d[a] = noise / u
		}
	}
}

// at returns, for the error in channel j, the weights c of the residuals of the channels from from on, and s of the scores.
func (w *weights) at(j int) (from int, c, s []float64) {
	most, k := w.t.most, w.k
	from, to := max(0, j-w.near), min(len(w.t.mean), j+w.near+1)
	c, s = w.c[:to-from], w.s[:k]
	m, y := w.m[:k*k], w.y[:k]
	clear(m)
	for a := range k {
		m[a*k+a] = 1 + w.d[a]
	}
	for i := from; i < to; i++ {
		col := w.cols[i*most : i*most+k]
		for a, v := range col {
			for b := range a + 1 {
				m[a*k+b] -= v * col[b]
			}
		}
	}
	copy(y, w.cols[j*most:])
	solve(m, y)
	for i := from; i < to; i++ {
		c[i-from] = dot(y, w.cols[i*most:i*most+k])
	}
	for a := range s {
		s[a] = y[a] * w.d[a]
	}
	return from, c, s
}

// solve overwrites y by m⁻¹y and m, positive definite, of which the lower triangle is read, by its Cholesky factor.
func solve(m, y []float64) {
	const floor = 1e-12 // D is zero for spectra without noise: then only rounding bounds the pivots
	k := len(y)
	for a := range k {
		for b := range a + 1 {
			v := m[a*k+b]
			for q := range b {
				v -= m[a*k+q] * m[b*k+q]
			}
			if a == b {
				m[a*k+a] = math.Sqrt(max(v, floor))
			} else {
				m[a*k+b] = v / m[b*k+b]
			}
		}
		for q := range a {
			y[a] -= m[a*k+q] * y[q]
		}
		y[a] /= m[a*k+a]
	}
	for a := k - 1; a >= 0; a-- {
		for q := a + 1; q < k; q++ {
			y[a] -= m[q*k+a] * y[q]
		}
		y[a] /= m[a*k+a]
	}
}
