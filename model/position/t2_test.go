package position

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"asusual/model/project"
)

func model(t testing.TB, x *mat.Dense, k int) *project.PCA {
	t.Helper()
	m, err := project.Fit(x, k)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// place returns T² and Q of the rows of x.
func place(t testing.TB, m *project.PCA, x *mat.Dense) (t2, q []float64) {
	t.Helper()
	n, _ := x.Dims()
	s := make([]float64, m.K)
	for i := range n {
		m.Scores(s, x.RawRowView(i))
		t2, q = append(t2, T2(s, m.Eigenvalues)), append(q, m.SquaredResidual(x.RawRowView(i), s))
	}
	return t2, q
}

func all(t testing.TB, call string, got, want []float64, tol float64) {
	t.Helper()
	if !floats.EqualApprox(got, want, tol) {
		t.Errorf("%s = %.7g, want %.7g", call, got, want)
	}
}

// Data: NIST/SEMATECH e-Handbook of Statistical Methods, section 6.5.5.2 (Cooley, Lohnes 1971). T² and Q computed from
// the definitions on the covariance (NumPy 1.24).
func TestHandbookPositions(t *testing.T) {
	x := mat.NewDense(10, 3, []float64{7, 4, 3, 4, 1, 8, 6, 3, 5, 8, 6, 1, 8, 5, 7, 7, 2, 9, 5, 3, 3, 9, 5, 8, 7, 4, 5, 8, 2, 2})
	for _, c := range []struct {
		k     int
		t2, q []float64
	}{
		{1, []float64{.559421, 1.749082, .002837, 2.677238, .202299, 2.030999, .319472, .540379, .006664, .911607},
			[]float64{.041380, 8.598195, 1.046526, 2.118684, 5.396191, .665630, 5.626705, 10.598933, .214861, 5.527414}},
		{2, []float64{.567574, 4.017134, .267774, 3.138048, 1.615311, 2.036607, 1.674755, 3.415845, .044519, 1.222433},
			[]float64{.011410, .260544, .072582, .424687, .201774, .645015, .644511, .028350, .075702, 4.384780}},
		{3, []float64{.582788, 4.364559, .364559, 3.704352, 1.884369, 2.896709, 2.534185, 3.453648, .145464, 7.069366}, make([]float64, 10)},
	} {
		m := model(t, x, c.k)
		t2, q := place(t, m, x)
		all(t, fmt.Sprintf("T², k = %d", c.k), t2, c.t2, 1e-6)
		all(t, fmt.Sprintf("Q, k = %d", c.k), q, c.q, 1e-6)
		near(t, "ΣT² over the training spectra", floats.Sum(t2), float64(c.k*9), 1e-12)
		near(t, "ΣQ over the training spectra", floats.Sum(q), 9*m.Theta[0], 1e-12)
	}
	near(t, "T2LimitBeta(10, 2, .05)", T2LimitBeta(10, 2, .05), 4.658386, 1e-6)
	near(t, "T2LimitBeta(10, 2, .01)", T2LimitBeta(10, 2, .01), 5.927016, 1e-6)
	near(t, "T2LimitF(10, 2, .05)", T2LimitF(10, 2, .05), 11.035951, 1e-6)
	near(t, "T2LimitF(10, 2, .01)", T2LimitF(10, 2, .01), 21.406549, 1e-6)

	th := model(t, x, 1).Theta
	all(t, "Theta, k = 1", th[:], []float64{4.426057, 14.076319, 50.100694}, 1e-5)
	near(t, "h₀, k = 1", h0(th), .253910, 1e-6)
	near(t, "QLimitJM, k = 1", QLimitJM(th, .05), 15.054123, 1e-6)
	near(t, "QLimitBox, k = 1", QLimitBox(th, .05), 15.097520, 1e-6)
	th = model(t, x, 2).Theta
	near(t, "QLimitJM, k = 2", QLimitJM(th, .05), 2.809804, 1e-6)
	near(t, "QLimitBox, k = 2", QLimitBox(th, .05), 2.880818, 1e-6)
	near(t, "qLimitPearson, k = 2", qLimitPearson(th, .05), 2.880818, 1e-6)
	th = model(t, x, 3).Theta
	if th != [3]float64{} || QLimitJM(th, .05) != 0 || QLimitBox(th, .05) != 0 || qLimitPearson(th, .05) != 0 {
		t.Errorf("k = 3 leaves nothing: Theta %v, limits %v, %v, %v, want 0", th, QLimitJM(th, .05), QLimitBox(th, .05), qLimitPearson(th, .05))
	}
}

// chemical is 14×3: impurities, temperature, concentration of a chemical process. Tracy, Young, Mason, "Multivariate
// Control Charts for Individual Observations", Journal of Quality Technology 24 (1992), 88–95. Data from memory; the T²
// of the first observation, 10.93, and the limit 8.55 of the paper come out of them.
var chemical = mat.NewDense(14, 3, []float64{
	14.92, 85.77, 42.26, 16.90, 83.77, 43.44, 17.38, 84.46, 42.74, 16.90, 86.27, 43.60, 16.92, 85.23, 43.18, 16.71, 83.81, 43.72,
	17.07, 86.08, 43.33, 16.93, 85.85, 43.41, 16.71, 85.73, 43.28, 16.88, 86.27, 42.59, 16.73, 83.46, 44.00, 17.07, 85.81, 42.78,
	17.60, 85.92, 43.11, 16.90, 84.23, 43.48,
})

func TestChemicalProcess(t *testing.T) {
	t2, _ := place(t, model(t, chemical, 3), chemical)
	all(t, "T²", t2, []float64{10.9257, 2.0410, 5.5827, 3.8640, .0372, 2.2534, 1.4354, 1.2077, .6766, 2.1692, 4.1717, 1.4003, 2.3320, .9032}, 1e-4)
	near(t, "ΣT²", floats.Sum(t2), 39, 1e-12)
	// The paper puts α/2 in each tail; the upper limit is then that for α/2.
	near(t, "T2LimitBeta(14, 3, .005)", T2LimitBeta(14, 3, .005), 8.54613, 1e-5)
	near(t, "T2LimitBeta(14, 3, .995)", T2LimitBeta(14, 3, .995), .08233, 1e-5)
	near(t, "T2LimitBeta(14, 3, .01)", T2LimitBeta(14, 3, .01), 8.00107, 1e-5)
	near(t, "T2LimitBeta(14, 3, .05)", T2LimitBeta(14, 3, .05), 6.35709, 1e-5)
	if c := T2LimitChi2(3, .01); t2[0] > c {
		t.Errorf("T2LimitChi2(3, .01) = %g flags T² = %g; the paper's point is that it does not", c, t2[0])
	}
	rest := chemical.Slice(1, 14, 0, 3).(*mat.Dense)
	t2, _ = place(t, model(t, rest, 3), rest)
	all(t, "T² without the first", t2, []float64{1.842, 5.330, 3.584, .232, 2.167, 1.464, 1.049, 1.914, 5.161, 3.838, 1.651, 6.998, .771}, 6e-4)
	near(t, "T2LimitF(13, 3, .05)", T2LimitF(13, 3, .05), 14.3767, 1e-4)
	near(t, "T2LimitF(13, 3, .01)", T2LimitF(13, 3, .01), 25.4028, 1e-4)
}

// Jackson, "A User's Guide to Principal Components" (Wiley 1991), chapter 1: 15 samples by two methods. Data from
// memory; the printed mean, covariance, roots, vectors and limit come out of them.
func TestTwoMethods(t *testing.T) {
	x := mat.NewDense(15, 2, []float64{
		10.0, 10.7, 10.4, 9.8, 9.7, 10.0, 9.7, 10.1, 11.7, 11.5, 11.0, 10.8, 8.7, 8.8, 9.5, 9.3, 10.1, 9.4, 9.6, 9.6, 10.5, 10.4,
		9.2, 9.0, 11.3, 11.6, 10.1, 9.8, 8.5, 9.2,
	})
	m := model(t, x, 2)
	all(t, "Mean", m.Mean, []float64{10, 10}, 1e-12)
	all(t, "Eigenvalues", m.Eigenvalues, []float64{1.4465, .0864}, 5e-5)
	all(t, "Loading(0)", m.Loading(0), []float64{.7236, .6902}, 5e-5)
	all(t, "Loading(1)", m.Loading(1), []float64{-.6902, .7236}, 5e-5)
	// The book's limit p(n−1)/(n−p)·F is that for a new observation without the factor (n+1)/n.
	near(t, "T2LimitF(15, 2, .05)·n/(n+1)", T2LimitF(15, 2, .05)*15/16, 8.1966, 1e-4)
}

// Computed from the definitions (SciPy 1.10).
func TestT2LimitTable(t *testing.T) {
	for _, c := range []struct {
		n, k                 int
		alpha, beta, f, chi2 float64
	}{
		{20, 2, .05, 5.3614, 7.8793, 5.9915}, {20, 2, .01, 7.5502, 13.3286, 9.2103},
		{30, 3, .05, 7.1641, 9.8569, 7.8147}, {30, 3, .01, 9.7704, 15.3193, 11.3449},
		{50, 4, .05, 8.9546, 11.1870, 9.4877}, {50, 4, .01, 12.0468, 16.3281, 13.2767},
		{100, 5, .05, 10.7302, 12.1579, 11.0705}, {100, 5, .01, 14.3258, 16.9254, 15.0863},
		{500, 11, .01, 24.3854, 25.6902, 24.7250},
	} {
		name := fmt.Sprintf("(%d, %d, %g)", c.n, c.k, c.alpha)
		near(t, "T2LimitBeta"+name, T2LimitBeta(c.n, c.k, c.alpha), c.beta, 5e-5)
		near(t, "T2LimitF"+name, T2LimitF(c.n, c.k, c.alpha), c.f, 5e-5)
		near(t, "T2LimitChi2"+name, T2LimitChi2(c.k, c.alpha), c.chi2, 5e-5)
	}
}

// Beta < χ² < F; both come to χ² as n grows; each grows with k and as alpha falls; no training T² passes (n−1)²/n.
func TestT2LimitLaws(t *testing.T) {
	for _, k := range []int{1, 2, 6, 20} {
		for _, alpha := range []float64{.1, .05, .01, .001} {
			chi2 := T2LimitChi2(k, alpha)
			for _, n := range []int{25, 60, 300, 5000} {
				b, f := T2LimitBeta(n, k, alpha), T2LimitF(n, k, alpha)
				if !(b < chi2 && chi2 < f && b < float64(n-1)*float64(n-1)/float64(n)) {
					t.Errorf("n %d, k %d, α %g: beta %g, χ² %g, F %g, want them rising", n, k, alpha, b, chi2, f)
				}
				if T2LimitF(n, k, alpha/2) <= f || T2LimitBeta(n, k+1, alpha) <= b {
					t.Errorf("n %d, k %d, α %g: a limit does not grow", n, k, alpha)
				}
			}
			near(t, "T2LimitF of very many", T2LimitF(1e7, k, alpha), chi2, 1e-4)
			near(t, "T2LimitBeta of very many", T2LimitBeta(1e7, k, alpha), chi2, 1e-4)
		}
	}
	for _, c := range []struct{ got, want float64 }{
		{T2LimitF(3, 3, .05), math.Inf(1)}, {T2LimitBeta(4, 3, .05), math.Inf(1)}, {T2LimitF(10, 0, .05), 0}, {T2LimitChi2(0, .05), 0},
		{T2([]float64{1}, []float64{0}), math.Inf(1)}, {T2([]float64{0, 3}, []float64{0, 9}), 1}, {T2(nil, nil), 0},
	} {
		if c.got != c.want {
			t.Errorf("edge: %g, want %g", c.got, c.want)
		}
	}
	for _, alpha := range []float64{0, 1, -1, math.NaN()} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("T2LimitChi2(2, %g) does not panic", alpha)
				}
			}()
			T2LimitChi2(2, alpha)
		}()
	}
}
