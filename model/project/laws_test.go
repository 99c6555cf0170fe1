package project

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// shapes of training sets: few and many spectra, short and long, with k from one to nearly all.
var shapes = []struct{ n, p, k int }{{5, 3, 2}, {12, 40, 6}, {30, 30, 29}, {60, 200, 4}, {200, 60, 8}, {400, 130, 5}, {52, 52, 51}}

func TestLaws(t *testing.T) {
	for _, c := range shapes {
		name := fmt.Sprintf("n %d, p %d, k %d: ", c.n, c.p, c.k)
		x := spectra(c.n, c.p, 5, 0.02)
		m := mustFit(t, x, c.k)
		s, q := m.ScoresAll(x)
		var t2 float64
		back, e, again := make([]float64, c.p), make([]float64, c.p), make([]float64, c.k)
		for i := range c.n {
			row, ti := x.RawRowView(i), s.RawRowView(i)
			for a, l := range m.Eigenvalues {
				t2 += ti[a] * ti[a] / l
			}
			m.Reconstruct(back, ti)
			m.Scores(again, back)
			same(t, name+"scores of a reconstruction", again, ti, 1e-12)
			if qb := m.SquaredResidual(back, again); qb != 0 {
				t.Errorf("%sQ of a reconstruction = %g, want 0", name, qb)
			}
			m.Residual(e, row, ti)
			near64(t, name+"Q", q[i], floats.Dot(e, e), 1e-9)
			floats.Add(e, back)
			same(t, name+"reconstruction + residual", e, row, 1e-14)
		}
		near64(t, name+"ΣT²", t2, float64(c.k*(c.n-1)), 1e-9)
		near64(t, name+"ΣQ", floats.Sum(q), float64(c.n-1)*m.Theta[0], 1e-9)
		for i := range c.k {
			top := 0.0
			for _, v := range m.Loading(i) {
				if math.Abs(v) > math.Abs(top) {
					top = v
				}
			}
			if top < 0 || i > 0 && m.Eigenvalues[i] > m.Eigenvalues[i-1] {
				t.Errorf("%scomponent %d has the sign of %g and the eigenvalues %v", name, i, top, m.Eigenvalues)
			}
			for j := range i + 1 {
				want := 0.0
				if i == j {
					want = 1
				}
				near64(t, name+"product of loadings", floats.Dot(m.Loading(i), m.Loading(j)), want, 1e-12)
			}
		}
	}
}

// Order and unit of the spectra, and a spectrum added to all, change what they must and nothing else.
func TestInvariance(t *testing.T) {
	for _, c := range shapes {
		name := fmt.Sprintf("n %d, p %d, k %d: ", c.n, c.p, c.k)
		x := spectra(c.n, c.p, 5, 0.02)
		m := mustFit(t, x, c.k)
		mixed, moved := mat.NewDense(c.n, c.p, nil), mat.NewDense(c.n, c.p, nil)
		for i, j := range rand.New(rand.NewPCG(1, 2)).Perm(c.n) {
			mixed.SetRow(i, x.RawRowView(j))
			for l, v := range x.RawRowView(i) {
				moved.Set(i, l, 8*v+float64(l))
			}
		}
		// Loadings are as sure as their eigenvalue is apart from the next: compare what they span together.
		for what, o := range map[string]*PCA{"other order": mustFit(t, mixed, c.k), "other unit": mustFit(t, moved, c.k)} {
			f := 1.0
			if what == "other unit" {
				f = 64
			}
			for i, l := range o.Eigenvalues {
				near64(t, name+what+": eigenvalue", l, f*m.Eigenvalues[i], 1e-8)
			}
			for i := range 3 {
				share64(t, name+what+": theta", o.Theta[i], m.Theta[i]*math.Pow(f, float64(i+1)), 1e-8)
			}
			near64(t, name+what+": first loading", floats.Dot(o.Loading(0), m.Loading(0)), 1, 1e-9)
		}
	}
}

// The peer: gonum's stat.PC, by singular value decomposition.
func TestAgainstStatPC(t *testing.T) {
	for _, c := range shapes {
		name := fmt.Sprintf("n %d, p %d, k %d: ", c.n, c.p, c.k)
		x := spectra(c.n, c.p, 5, 0.02)
		var pc stat.PC
		if !pc.PrincipalComponents(x, nil) {
			t.Fatal("stat.PC did not converge")
		}
		vars := pc.VarsTo(nil)
		var vec mat.Dense
		pc.VectorsTo(&vec)
		m := mustFit(t, x, c.k)
		var theta [3]float64
		for i, v := range vars {
			if i < c.k {
				near64(t, name+"eigenvalue", m.Eigenvalues[i], v, 1e-10)
				if gap := min(gapTo(vars, i-1, i), gapTo(vars, i, i+1)); gap > 1e-3 {
					near64(t, fmt.Sprintf("%sloading %d", name, i), math.Abs(floats.Dot(m.Loading(i), mat.Col(nil, i, &vec))), 1, 1e-9)
				}
				continue
			}
			theta[0] += v
			theta[1] += v * v
			theta[2] += v * v * v
		}
		for i := range 3 {
			if c.k == min(c.n-1, c.p) { // nothing is left over but rounding
				near64(t, name+"theta", m.Theta[i], theta[i], 1e-30)
				continue
			}
			share64(t, name+"theta", m.Theta[i], theta[i], 1e-8)
		}
	}
}

// gapTo is how far apart two eigenvalues are, as a share of the larger.
func gapTo(v []float64, i, j int) float64 {
	if i < 0 || j >= len(v) {
		return 1
	}
	return (v[i] - v[j]) / v[i]
}

// However flat or steep the eigenvalues fall, the quick way gives residuals as small as it says, or gives up.
func TestKrylovResiduals(t *testing.T) {
	const p, n, k = 150, 400, 5
	rnd := rand.New(rand.NewPCG(3, 5))
	for name, fall := range map[string]func(j int) float64{
		"steep":         func(j int) float64 { return math.Pow(10, -float64(j)/4) },
		"slow":          func(j int) float64 { return 1 / (1 + 0.02*float64(j)) },
		"flat":          func(int) float64 { return 1 },
		"one and noise": func(j int) float64 { return 1 / float64(1+1000*min(j, 1)) },
		"pairs":         func(j int) float64 { return math.Pow(2, -float64(j/2)) },
	} {
		x := mat.NewDense(n, p, nil)
		for i := range n {
			for j := range p {
				x.Set(i, j, rnd.NormFloat64()*fall(j))
			}
		}
		mean, err := meanOf(x)
		if err != nil {
			t.Fatal(err)
		}
		r := &rows{x: x, mean: mean}
		values, vectors, ok := leading(r, p, k, guards, nil)
		if !ok && (name == "steep" || name == "pairs") { // whose eigenvalues lie well apart
			t.Errorf("%s: gave up, want the quick way to go", name)
		}
		if !ok {
			t.Logf("%s: gave up, and the full decomposition steps in", name)
			continue
		}
		full, _, err := r.decompose(k)
		if err != nil {
			t.Fatal(err)
		}
		w := zeros(k, p)
		r.multiply(w, general(k, p, vectors))
		for i, l := range values {
			near64(t, fmt.Sprintf("%s: eigenvalue %d", name, i), l, full[i], 1e-12)
			row := w.Data[i*p : (i+1)*p]
			floats.AddScaled(row, -l, vectors[i*p:(i+1)*p])
			if e := floats.Norm(row, 2); e > 2*max(tolerance*l, rounding*values[0]) {
				t.Errorf("%s: residual %d is %.3g of its eigenvalue, %.3g of the first, want %.3g or %.3g at most", name, i, e/l, e/values[0], tolerance, rounding)
			}
		}
	}
}

// Q keeps its digits where the spectrum is nearly all model, and is never negative.
func TestSmallResidual(t *testing.T) {
	x := spectra(60, 200, 5, 0)
	m := mustFit(t, x, 5)
	s := make([]float64, 5)
	for _, size := range []float64{1e-2, 1e-5, 1e-8, 1e-11} {
		y := slices.Clone(x.RawRowView(7))
		e := make([]float64, 200) // at right angles to the loadings
		e[100] = 1
		for i := range 5 {
			floats.AddScaled(e, -m.Loading(i)[100], m.Loading(i))
		}
		floats.AddScaled(y, size/floats.Norm(e, 2), e)
		m.Scores(s, y)
		near64(t, fmt.Sprintf("√Q of a spectrum %g off", size), math.Sqrt(m.SquaredResidual(y, s)), size, 1e-15/size+1e-10)
	}
}

func TestFitErrors(t *testing.T) {
	nan, inf := spectra(20, 10, 2, .1), spectra(20, 10, 2, .1)
	nan.Set(6, 2, math.NaN())
	inf.Set(3, 9, math.Inf(-1))
	huge := spectra(20, 10, 2, .1)
	huge.Set(3, 3, 1e90)
	same := mat.NewDense(100, 60, nil)
	for i := range 100 {
		for j := range 60 {
			same.Set(i, j, 0.1+0.01*float64(j))
		}
	}
	two := mat.NewDense(100, 60, nil) // two directions
	rnd := rand.New(rand.NewPCG(1, 9))
	for i := range 100 {
		a, b := rnd.NormFloat64(), rnd.NormFloat64()
		for j := range 60 {
			two.Set(i, j, a*math.Sin(float64(j))+b*math.Cos(float64(j)))
		}
	}
	for _, c := range []struct {
		x    *mat.Dense
		k    int
		want string
	}{
		{mat.NewDense(1, 4, nil), 1, "at least 2 spectra, found 1"},
		{spectra(5, 10, 2, .1), 5, "5 components: from 5 spectra of 10 channels, 1 to 4 can be had"},
		{spectra(50, 10, 2, .1), 11, "1 to 10 can be had"},
		{spectra(50, 10, 2, .1), 0, "0 components"},
		{nan, 2, "spectrum 7 has NaN in channel 3"}, {inf, 2, "spectrum 4 has -Inf in channel 10"},
		{huge, 2, "too large to square"}, {same, 2, "all the same"}, {same.Slice(0, 20, 0, 60).(*mat.Dense), 1, "all the same"},
		{two, 3, "3 components: the spectra vary in 2 directions only; use 2 or fewer"},
		{two.Slice(0, 20, 0, 60).(*mat.Dense), 3, "in 2 directions only"},
	} {
		_, err := Fit(c.x, c.k)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("Fit(…, %d) = %v, want %q in it", c.k, err, c.want)
		}
		var r *RankError
		if strings.Contains(c.want, "directions") && (!errors.As(err, &r) || r.Rank != 2 || r.K != 3) {
			t.Errorf("Fit(…, %d) = %#v, want a RankError of 2", c.k, err)
		}
	}
	if _, err := Fit(two, 2); err != nil {
		t.Errorf("Fit of two directions, 2 = %v", err)
	}
	m := mustFit(t, two, 2)
	for name, f := range map[string]func(){
		"Scores": func() { m.Scores(make([]float64, 2), make([]float64, 59)) }, "SquaredResidual": func() { m.SquaredResidual(make([]float64, 60), nil) },
		"Residual": func() { m.Residual(make([]float64, 3), make([]float64, 60), make([]float64, 2)) }, "Reconstruct": func() { m.Reconstruct(nil, nil) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s of other lengths does not panic", name)
				}
			}()
			f()
		}()
	}
}

// Fit leaves the spectra alone, and a matrix that is a window of a larger one is as good as any.
func TestViews(t *testing.T) {
	big := spectra(120, 90, 4, .02)
	before := mat.DenseCopyOf(big)
	view := big.Slice(10, 90, 5, 75).(*mat.Dense)
	a, b := mustFit(t, view, 4), mustFit(t, mat.DenseCopyOf(view), 4)
	same(t, "loadings of a window", a.Loadings, b.Loadings, 0)
	if !mat.Equal(big, before) {
		t.Error("Fit changes the spectra")
	}
}

// Of more spectra than enough, θ₁ is from all and θ₂, θ₃ are near what all would give.
func TestThetaOfMany(t *testing.T) {
	x := spectra(3*enough, 12, 3, 0.01)
	m := mustFit(t, x, 5)
	r := &rows{x: x, mean: m.Mean}
	values, _, err := r.decompose(12)
	if err != nil {
		t.Fatal(err)
	}
	var want [3]float64
	for _, v := range values[5:] {
		want[0] += v
		want[1] += v * v
		want[2] += v * v * v
	}
	for i, tol := range []float64{1e-8, .01, .03} {
		share64(t, fmt.Sprintf("θ%d", i+1), m.Theta[i], want[i], tol)
	}
}

func TestNoAllocation(t *testing.T) {
	x := spectra(60, 200, 5, .01)
	m := mustFit(t, x, 5)
	s, y := make([]float64, 5), x.RawRowView(1)
	if n := testing.AllocsPerRun(20, func() {
		m.Scores(s, y)
		_ = m.SquaredResidual(y, s) + m.squares(y, s)
	}); n != 0 {
		t.Errorf("Scores and SquaredResidual allocate %v times, want 0", n)
	}
}

// A model that was written and read is the same, bit by bit; one that nobody could have written is refused.
func TestFile(t *testing.T) {
	x := spectra(60, 20, 5, .01)
	m := mustFit(t, x, 3)
	b, err := json.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	var o PCA
	if err := json.Unmarshal(b, &o); err != nil {
		t.Fatal(err)
	}
	s, so := make([]float64, 3), make([]float64, 3)
	m.Scores(s, x.RawRowView(3))
	o.Scores(so, x.RawRowView(3))
	same(t, "scores after a round trip", so, s, 0)
	for _, c := range []struct {
		spoil func(*PCA)
		want  string
	}{
		{func(m *PCA) { m.K = 0 }, "0 components"}, {func(m *PCA) { m.K = 2 }, "3 eigenvalues"}, {func(m *PCA) { m.N = 3 }, "cannot be"},
		{func(m *PCA) { m.Mean = m.Mean[1:] }, "19 mean values"}, {func(m *PCA) { m.Loadings = m.Loadings[1:] }, "59 loadings"},
		{func(m *PCA) { m.Eigenvalues[1] = -1 }, "eigenvalue 2 is -1"}, {func(m *PCA) { m.Eigenvalues[2] = 99 }, "eigenvalue 3 is 99"},
		{func(m *PCA) { m.Loadings[5] += .1 }, "loadings 1 and 1"},
	} {
		var bad PCA
		if err := json.Unmarshal(b, &bad); err != nil {
			t.Fatal(err)
		}
		c.spoil(&bad)
		text, err := json.Marshal(&bad)
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(text, &o); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("reading %.60s = %v, want %q in it", text, err, c.want)
		}
	}
}

// FuzzPCA reads any text: it is an error, or a model that can be written and read again.
func FuzzPCA(f *testing.F) {
	b, err := json.Marshal(mustFit(f, cooley, 2))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(b)
	f.Add([]byte(`{"k":1,"p":1,"n":2,"mean":[0],"loadings":[1],"eigenvalues":[1e-300],"theta":[0,0,0]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		var m, o PCA
		if json.Unmarshal(b, &m) != nil {
			return
		}
		out, err := json.Marshal(&m)
		if err != nil {
			t.Fatalf("writing what was read: %v", err)
		}
		if err := json.Unmarshal(out, &o); err != nil {
			t.Fatalf("reading what was written: %v", err)
		}
		s, x := make([]float64, m.K), make([]float64, m.P)
		m.Scores(s, x)
		if q := m.SquaredResidual(x, s); !(q >= 0) {
			t.Errorf("Q = %g", q)
		}
	})
}

func Example() {
	// Five spectra of three channels that vary in one direction, and a little beside it.
	x := mat.NewDense(5, 3, []float64{1.0, 2.0, 3.1, 1.1, 2.2, 3.3, 1.2, 2.4, 3.6, 0.9, 1.8, 2.7, 0.8, 1.6, 2.4})
	m, err := Fit(x, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	t := make([]float64, 1)
	y := []float64{1.3, 2.6, 3.7}
	m.Scores(t, y)
	fmt.Printf("loading %.2f, score %.3f, Q %.4f\n", m.Loading(0), t[0], m.SquaredResidual(y, t))
	// Output: loading [0.27 0.53 0.80], score 0.946, Q 0.0180
}
