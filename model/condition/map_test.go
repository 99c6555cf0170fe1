package condition

import (
	"math"
	"math/rand/v2"
	"testing"

	"asusual/model/project"
)

// model returns a PCA of one component, around the given mean.
func model(eigenvalue float64, loading []float64, mean ...float64) *project.PCA {
	return &project.PCA{Mean: mean, Loadings: loading, K: 1, P: len(mean), N: 100, Eigenvalues: []float64{eigenvalue}}
}

// TestMapShowsConditionsApart: means that differ in two directions keep all of their distances on the map.
func TestMapShowsConditionsApart(t *testing.T) {
	usual := model(4, []float64{1, 0, 0, 0}, 1, 1, 1, 1)
	rinse := &Class{Name: "rinse", PCA: model(1, []float64{0, 0, 0, 1}, 1, 7, 1, 1)}
	air := &Class{Name: "air", PCA: model(1, []float64{0, 0, 0, 1}, 1, 1, 5, 1)}
	m := NewMap("usual", usual, []*Class{rinse, air})
	means := [][]float64{usual.Mean, rinse.PCA.Mean, air.PCA.Mean}
	for i, a := range means {
		for j, b := range means {
			pa, pb := m.At(a), m.At(b)
			got := math.Hypot(pa[0]-pb[0], pa[1]-pb[1])
			if want := apart(a, b); !(math.Abs(got-want) <= 1e-12) {
				t.Errorf("distance of places %d and %d on the map = %g, want %g", i, j, got, want)
			}
		}
	}
	for i, want := range []string{"usual", "rinse", "air"} {
		if m.Places[i].Name != want {
			t.Errorf("place %d is %s, want %s", i, m.Places[i].Name, want)
		}
	}
}

// TestMapWithOneCondition: the second axis is that of usual, whose spread it then shows in full.
func TestMapWithOneCondition(t *testing.T) {
	usual := model(4, []float64{1, 0, 0}, 0, 0, 0)
	m := NewMap("usual", usual, []*Class{{Name: "rinse", PCA: model(1, []float64{0, 0, 1}, 0, 5, 0)}})
	if c := m.Places[0].Cov; math.Abs(c[0]) > 1e-12 || math.Abs(c[2]-4) > 1e-12 {
		t.Errorf("the spread of usual on the map = %v, want 4 along the second axis", c)
	}
	if c := m.Places[1].Cov; c != [3]float64{} {
		t.Errorf("the spread of rinse on the map = %v, want none: it lies across the map", c)
	}
}

// TestMapAt: places are those of the products with the axes, whatever the number of channels.
func TestMapAt(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for p := 2; p < 40; p++ {
		draw := func(n int) []float64 {
			v := make([]float64, n)
			for i := range v {
				v[i] = rng.NormFloat64()
			}
			return v
		}
		m, x := Map{Centre: draw(p), Axes: draw(2 * p)}, draw(p)
		var want [2]float64
		for i := range want {
			for j := range p {
				want[i] += (x[j] - m.Centre[j]) * m.Axes[i*p+j]
			}
		}
		got := m.At(x)
		if math.Abs(got[0]-want[0]) > 1e-12 || math.Abs(got[1]-want[1]) > 1e-12 {
			t.Errorf("At of %d channels = %v, want %v", p, got, want)
		}
	}
}

func TestMapAlone(t *testing.T) {
	for name, usual := range map[string]*project.PCA{
		"along the second channel": model(4, []float64{0, 1, 0}, 1, 2, 3),
		"along the first":          model(4, []float64{1, 0, 0}, 1, 2, 3),
	} {
		m := NewMap("usual", usual, nil)
		if err := m.Validate(3); err != nil {
			t.Errorf("NewMap(%s): %v", name, err)
		}
		if at := m.At(usual.Mean); at != [2]float64{} {
			t.Errorf("NewMap(%s): usual lies at %v, want the middle", name, at)
		}
		if d := dot(m.Axes[:3], m.Axes[3:]); math.Abs(d) > 1e-12 {
			t.Errorf("NewMap(%s): axes with a product of %g, want 0", name, d)
		}
	}
}
