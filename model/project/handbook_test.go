package project

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

func same(t testing.TB, call string, got, want []float64, tol float64) {
	t.Helper()
	switch {
	case len(got) != len(want):
		t.Errorf("%s has %d values, want %d", call, len(got), len(want))
	case floats.EqualApprox(got, want, tol):
	case len(got) < 40:
		t.Errorf("%s = %.7g, want %.7g", call, got, want)
	default:
		t.Errorf("%s is up to %.3g away from what it should be, want %.3g at most", call, floats.Distance(got, want, math.Inf(1)), tol)
	}
}

// NIST/SEMATECH e-Handbook of Statistical Methods, section 6.5.4.1: mean vector and covariance matrix.
func TestHandbookCovariance(t *testing.T) {
	x := mat.NewDense(5, 3, []float64{4.0, 2.0, 0.60, 4.2, 2.1, 0.59, 3.9, 2.0, 0.58, 4.3, 2.1, 0.62, 4.1, 2.2, 0.63})
	m := NewMoments([]float64{4, 2, 0.6})
	if err := m.Add(x); err != nil {
		t.Fatal(err)
	}
	same(t, "Mean", m.Mean(), []float64{4.10, 2.08, 0.604}, 1e-12)
	want := []float64{0.025, 0.0075, 0.00175, 0.0075, 0.0070, 0.00135, 0.00175, 0.00135, 0.00043}
	same(t, "Covariance", mat.DenseCopyOf(m.Covariance()).RawMatrix().Data, want, 1e-12)
	r := &rows{x: x, mean: m.Mean()}
	same(t, "covariance of the rows", mat.DenseCopyOf(r.covariance().sym()).RawMatrix().Data, want, 1e-12)
	full := mustFit(t, x, 3)
	got := mat.NewDense(3, 3, nil)
	for i, l := range full.Eigenvalues {
		for a := range 3 {
			for b := range 3 {
				got.Set(a, b, got.At(a, b)+l*full.Loading(i)[a]*full.Loading(i)[b])
			}
		}
	}
	same(t, "PᵀΛP", got.RawMatrix().Data, want, 1e-12)
}

// The same handbook, section 6.5.5.2: principal components of the correlation matrix. Printed values with two or three
// decimals (the third value of the second vector is printed as .91 and is .918), and computed ones (NumPy 1.24) with six.
func TestHandbookCorrelation(t *testing.T) {
	z := mat.DenseCopyOf(cooley)
	for j := range 3 {
		c := mat.Col(nil, j, cooley)
		mean := floats.Sum(c) / 10
		floats.AddConst(-mean, c)
		floats.Scale(3/math.Sqrt(floats.Dot(c, c)), c) // to variance 1: n−1 is 9
		z.SetCol(j, c)
	}
	m := mustFit(t, z, 3)
	same(t, "Eigenvalues, printed", m.Eigenvalues, []float64{1.769, .927, .304}, 5e-4)
	same(t, "Eigenvalues", m.Eigenvalues, []float64{1.768774, .927076, .304150}, 1e-6)
	same(t, "product of eigenvalues", []float64{floats.Prod(m.Eigenvalues)}, []float64{.498741}, 1e-6)
	same(t, "Loading(0)", m.Loading(0), []float64{.642005, .686362, -.341669}, 1e-6)
	same(t, "Loading(1)", m.Loading(1), []float64{.384672, .097130, .917929}, 1e-6)
	same(t, "Loading(2)", m.Loading(2), []float64{-.663217, .720745, .201666}, 1e-6)
	two := mustFit(t, z, 2)
	same(t, "share of two components", []float64{floats.Sum(two.Eigenvalues) / (floats.Sum(two.Eigenvalues) + two.Theta[0])}, []float64{.898617}, 1e-6)
	for j, want := range []float64{.866217, .842002, .987630} {
		var c float64
		for i, l := range two.Eigenvalues {
			c += l * two.Loading(i)[j] * two.Loading(i)[j]
		}
		same(t, fmt.Sprintf("communality %d", j+1), []float64{c}, []float64{want}, 1e-6)
	}
	scores := []float64{ // of unit variance, computed
		.387091, -.655177, .060765, -2.000079, .065233, .599990, -.439143, -.301819, .283934, 1.539722, -.944734, .664143,
		.664139, 1.029449, .619292, -.814889, 1.255205, -.810633, -.572855, -1.243316, .812519, .889383, 1.631282, -.039576,
		.204029, .024151, .321330, .142601, -.860274, -2.511764,
	}
	got, _ := m.ScoresAll(z)
	for i := range 10 {
		for j := range 3 {
			got.Set(i, j, got.At(i, j)/math.Sqrt(m.Eigenvalues[j]))
		}
	}
	same(t, "scores of unit variance", got.RawMatrix().Data, scores, 1e-6)
}

// The same data by their covariance: the worked example of the routine for principal component analysis in the manual
// of a numerical library (g03aa), results with four and three decimals.
func TestHandbookData(t *testing.T) {
	m := mustFit(t, cooley, 3)
	same(t, "Eigenvalues", m.Eigenvalues, []float64{8.2739, 3.6761, .7499}, 5e-5)
	total := floats.Sum(m.Eigenvalues)
	same(t, "proportions", []float64{m.Eigenvalues[0] / total, m.Eigenvalues[1] / total, m.Eigenvalues[2] / total}, []float64{.6515, .2895, .0590}, 5e-5)
	same(t, "Loading(0)", m.Loading(0), []float64{-.1376, -.2505, .9583}, 5e-5)
	same(t, "Loading(1)", m.Loading(1), []float64{.6990, .6609, .2731}, 5e-5)
	same(t, "Loading(2)", m.Loading(2), []float64{-.7017, .7075, .0842}, 5e-5)
	scores := []float64{
		-2.151, -.173, .107, 3.804, -2.887, .510, .153, -.987, .269, -4.707, 1.302, .652, 1.294, 2.279, .449, 4.099, .144, -.803,
		-1.626, -2.232, .803, 2.114, 3.251, -.168, -.235, .373, .275, -2.746, -1.069, -2.094,
	}
	// The manual's sign of the third component is the rule's: the loading of largest magnitude, .7075, is positive.
	got, q := m.ScoresAll(cooley)
	same(t, "scores", got.RawMatrix().Data, scores, 6e-4)
	same(t, "Q of a full model", q, make([]float64, 10), 0)
	one := mustFit(t, cooley, 1)
	same(t, "Theta, k = 1", one.Theta[:], []float64{4.426057, 14.076319, 50.100694}, 1e-5)
}
