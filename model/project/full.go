package project

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

var errDecompose = errors.New("the eigendecomposition did not converge")

// decompose returns the first k eigenvalues and eigenvectors by a full eigendecomposition: of the covariance, or of
// the n×n matrix of products of spectra where that is smaller. It costs some 10·min(n,p)³ operations: it is for small
// matrices, and for those with which the quick way gives up.
//
// An eigenvector u of XXᵀ is turned to Xᵀu/‖Xᵀu‖, which is one of XᵀX with the same eigenvalue.
func (r *rows) decompose(k int) (values, vectors []float64, err error) {
	n, p := r.x.Dims()
	if n >= p {
		v, u := falling(r.covariance().sym(), k)
		if len(v) < k {
			return nil, nil, errDecompose
		}
		return v, u.Data, nil
	}
	x := r.all()
	v, u := falling(gram(x, 1/float64(n-1)).sym(), k)
	if len(v) < k {
		return nil, nil, errDecompose
	}
	if err := checkRank(v, r.mean); err != nil {
		return nil, nil, err
	}
	w := zeros(k, p)
	blas64.Gemm(blas.NoTrans, blas.NoTrans, 1, u, x, 0, w)
	for i := range k { // the products lose the right angles between small components: restore them
		row := w.Data[i*p : (i+1)*p]
		for j := range i {
			q := w.Data[j*p : (j+1)*p]
			floats.AddScaled(row, -floats.Dot(row, q), q)
		}
		floats.Scale(1/math.Sqrt(floats.Dot(row, row)), row)
	}
	return v, w.Data, nil
}

// all returns the spectra minus the mean.
func (r *rows) all() blas64.General {
	n, p := r.x.Dims()
	x := zeros(n, p)
	for i := range n {
		floats.SubTo(x.Data[i*p:(i+1)*p], r.x.RawRowView(i), r.mean)
	}
	return x
}

// covariance forms the covariance.
func (r *rows) covariance() square {
	n, p := r.x.Dims()
	c := newSquare(p)
	for from := 0; from < n; from += chunk {
		r.turned = c.addProducts(r.centred(from, min(from+chunk, n)), 1/float64(n-1), r.turned)
	}
	return c
}

// A square is a symmetric matrix of which only the part on and above the diagonal is kept up.
type square struct{ blas64.General }

func newSquare(p int) square { return square{zeros(p, p)} }

// block is the width of the bands in which a square is filled: as many rows of a chunk stay in the cache of a processor.
const block = 128

// addProducts adds scale·xᵀx. scratch, which may be nil, is room for xᵀ; it returns that, to be used again.
func (c square) addProducts(x blas64.General, scale float64, scratch []float64) []float64 {
	t := transpose(x, scratch)
	c.addGram(t, scale)
	return t.Data
}

// gram returns scale·xxᵀ.
func gram(x blas64.General, scale float64) square {
	c := newSquare(x.Rows)
	c.addGram(x, scale)
	return c
}

// addGram adds scale·xxᵀ.
//
// Note: gonum's product of a matrix with a vector looks at four rows at once, and takes half of the time of its product of two
// matrices, for which it shares the work among two processors; its Syrk is between the two.
func (c square) addGram(x blas64.General, scale float64) {
	n := x.Rows
	for from := 0; from < n; from += block {
		to := min(from+block, n)
		for i := range to {
			at := max(i, from)
			blas64.Gemv(blas.NoTrans, scale, band(x, at, to), row(x, i), 1, blas64.Vector{N: to - at, Inc: 1, Data: c.Data[i*c.Stride+at:]})
		}
	}
}

func row(x blas64.General, i int) blas64.Vector {
	return blas64.Vector{N: x.Cols, Inc: 1, Data: x.Data[i*x.Stride:]}
}

// transpose returns xᵀ, in data where there is room. Products of a row with a row are three times as quick as those with the
// columns of a matrix, so that turning one round first pays.
func transpose(x blas64.General, data []float64) blas64.General {
	n, p := x.Rows, x.Cols
	if len(data) < n*p {
		data = make([]float64, n*p)
	}
	t := blas64.General{Rows: p, Cols: n, Stride: max(n, 1), Data: data}
	const tile = 16 // a square of it and its transpose stay in the innermost cache
	for i := 0; i < n; i += tile {
		for j := 0; j < p; j += tile {
			for k := j; k < min(j+tile, p); k++ {
				to := data[k*t.Stride+i : k*t.Stride+min(i+tile, n)]
				for r := range to {
					to[r] = x.Data[(i+r)*x.Stride+k]
				}
			}
		}
	}
	return t
}

func band(x blas64.General, from, to int) blas64.General {
	x.Data, x.Rows = x.Data[from*x.Stride:], to-from
	return x
}

// sym returns the matrix for gonum, which reads the upper triangle only; they share memory.
func (c square) sym() *mat.SymDense { return mat.NewSymDense(c.Rows, c.Data) }

// mirror fills the lower triangle from the upper.
func (c square) mirror() {
	p := c.Rows
	for i := range p {
		for j := i + 1; j < p; j++ {
			c.Data[j*p+i] = c.Data[i*p+j]
		}
	}
}

// multiply fills w with v·C. The lower triangle must be filled.
func (c square) multiply(w, v blas64.General) {
	blas64.Gemm(blas.NoTrans, blas.Trans, 1, v, c.General, 0, w) // C is its own transpose
}
