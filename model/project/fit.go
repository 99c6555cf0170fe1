package project

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// A RankError says that spectra do not vary in as many directions as there should be components.
type RankError struct{ K, Rank int }

func (e *RankError) Error() string {
	if e.Rank == 0 {
		return "the spectra are all the same: there is no variation to describe"
	}
	return fmt.Sprintf("%d components: the spectra vary in %d directions only; use %d or fewer", e.K, e.Rank, e.Rank)
}

// Fit returns the model of k components of the spectra x, n×p, one a row. It needs 1 ≤ k ≤ min(n−1, p) and finite
// values; x is not changed. The error is a *RankError where the spectra have fewer than k directions.
func Fit(x *mat.Dense, k int) (*PCA, error) {
	n, p := x.Dims()
	if err := sizes(n, p, k); err != nil {
		return nil, err
	}
	mean, err := meanOf(x)
	if err != nil {
		return nil, err
	}
	m := &PCA{Mean: mean, K: k, P: p, N: n}
	rows := &rows{x: x, mean: mean}
	ok := false
	if min(n, p) > small {
		m.Eigenvalues, m.Loadings, ok = leading(rows, p, k, guards, nil)
	}
	if !ok {
		m.Eigenvalues, m.Loadings, err = rows.decompose(k)
		if err != nil {
			return nil, err
		}
	}
	if err := checkRank(m.Eigenvalues, mean); err != nil {
		return nil, err
	}
	if k < min(n-1, p) {
		m.Theta = rows.dropped(m)
	}
	return m.finish(), nil
}

// small is the size up to which a full eigendecomposition is as quick as any other way.
const small = 48

// sizes tells whether k components can be had from n spectra of p channels.
func sizes(n, p, k int) error {
	if n < 2 {
		return fmt.Errorf("a model needs at least 2 spectra, found %d", n)
	}
	if most := min(n-1, p); k < 1 || k > most {
		return fmt.Errorf("%d components: from %d spectra of %d channels, 1 to %d can be had", k, n, p, most)
	}
	return nil
}

// checkRank returns a RankError unless all the eigenvalues, in falling order, are more than the rounding of the
// largest one and of the mean that was subtracted, which may be some 64 units in the last place.
func checkRank(values, mean []float64) error {
	p, r := float64(len(mean)), 0
	for r < len(values) && values[r] > max(values[0]*max(p, 64)*epsilon, 4096*epsilon*epsilon*floats.Dot(mean, mean)) {
		r++
	}
	if r < len(values) {
		return &RankError{K: len(values), Rank: r}
	}
	return nil
}

// epsilon is the spacing of numbers at 1.
const epsilon = 0x1p-52

// meanOf returns the mean row, added up in blocks of rows so that rounding does not grow with n.
func meanOf(x *mat.Dense) ([]float64, error) {
	n, p := x.Dims()
	mean, part := make([]float64, p), make([]float64, p)
	var squares float64
	for from := 0; from < n; from += chunk {
		clear(part)
		for i := from; i < min(from+chunk, n); i++ {
			row := x.RawRowView(i)
			floats.Add(part, row)
			squares += floats.Dot(row, row)
		}
		for j, v := range part {
			mean[j] += v
		}
	}
	if !(squares < 1e150) { // its own square must be finite, too
		return nil, notFinite(x)
	}
	floats.Scale(1/float64(n), mean)
	return mean, nil
}

// notFinite names the first value that is not a finite number.
func notFinite(x *mat.Dense) error {
	n, _ := x.Dims()
	for i := range n {
		for j, v := range x.RawRowView(i) {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return fmt.Errorf("spectrum %d has %v in channel %d", i+1, v, j+1)
			}
		}
	}
	return fmt.Errorf("the spectra have values too large to square")
}

// chunk is the number of rows that are centred and multiplied at once: they stay in the processor's cache.
const chunk = 256

// rows is the covariance of spectra as an operator, C·v = (X−x̄)ᵀ((X−x̄)v)/(n−1): it is never formed, which for few
// components saves most of the work, and the spectra are centred a chunk at a time, so that no second copy is held.
type rows struct {
	x       *mat.Dense
	mean    []float64
	scratch []float64
	turned  []float64 // room for its transpose
}

// centred returns rows from to to (at most chunk of them) minus the mean, in scratch.
func (r *rows) centred(from, to int) blas64.General {
	p := len(r.mean)
	if r.scratch == nil {
		r.scratch = make([]float64, chunk*p)
	}
	for i := from; i < to; i++ {
		d := r.scratch[(i-from)*p:][:p]
		for j, v := range r.x.RawRowView(i) {
			d[j] = v - r.mean[j]
		}
	}
	return general(to-from, p, r.scratch)
}

// multiply fills w, b×p, with v·C, for b directions v, one a row. It costs 4npb operations.
func (r *rows) multiply(w, v blas64.General) {
	n, _ := r.x.Dims()
	y := make([]float64, chunk*v.Rows)
	clear(w.Data[:w.Rows*w.Stride])
	for from := 0; from < n; from += chunk {
		r.turned = addMultiplied(w, v, r.centred(from, min(from+chunk, n)), 1/float64(n-1), y, r.turned)
	}
}

// addMultiplied adds scale·v·xᵀx to w. y is room for the products of v with the rows of x, turned for xᵀ; it returns the latter.
func addMultiplied(w, v, x blas64.General, scale float64, y, turned []float64) []float64 {
	t := transpose(x, turned)
	vx := general(v.Rows, x.Rows, y)
	blas64.Gemm(blas.NoTrans, blas.Trans, 1, v, x, 0, vx)
	blas64.Gemm(blas.NoTrans, blas.Trans, scale, vx, t, 1, w)
	return t.Data
}

func general(rows, cols int, data []float64) blas64.General {
	return blas64.General{Rows: rows, Cols: cols, Stride: cols, Data: data[:rows*cols]}
}
