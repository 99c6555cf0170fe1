package condition

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"asusual/model/project"
)

// A Map is a plane in the pretreated space in which the conditions can be seen apart: through the middle of their
// means, along the two directions in which the means lie furthest apart, that is the first right singular vectors of the
// matrix of the means, one a row, each less the middle. Where there are too few conditions for two directions, the first
// components of usual fill the place. Distances between means are never longer on the map than they are.
//
// It does not change after NewMap and is safe for concurrent use.
type Map struct {
	Centre []float64 `json:"centre"` // p
	Axes   []float64 `json:"axes"`   // 2×p, orthonormal rows
	Places []Place   `json:"places"` // usual first, then the conditions
}

// A Place is where a condition lies on the map: the mean of its spectra, and their covariance as far as its own components
// describe it. The residual, mostly noise, is left out.
type Place struct {
	Name string     `json:"name"`
	At   [2]float64 `json:"at"`
	Cov  [3]float64 `json:"cov"` // xx, xy, yy
}

// NewMap returns the map of usual, named as given, and the classes, all of p channels.
func NewMap(name string, usual *project.PCA, classes []*Class) *Map {
	p := usual.P
	models := []*project.PCA{usual}
	names := []string{name}
	for _, c := range classes {
		models, names = append(models, c.PCA), append(names, c.Name)
	}
	m := &Map{Centre: make([]float64, p)}
	for _, one := range models {
		for j, v := range one.Mean {
			m.Centre[j] += v / float64(len(models))
		}
	}
	m.direct(models)
	for i, one := range models {
		m.Places = append(m.Places, m.place(names[i], one))
	}
	return m
}

// direct finds the axes: right singular vectors of the centred means, then components of usual, made orthogonal by
// Gram and Schmidt.
func (m *Map) direct(models []*project.PCA) {
	p := len(m.Centre)
	d := mat.NewDense(len(models), p, nil)
	for i, one := range models {
		for j, v := range one.Mean {
			d.Set(i, j, v-m.Centre[j])
		}
	}
	var svd mat.SVD
	var v mat.Dense
	var values []float64
	if svd.Factorize(d, mat.SVDThin) {
		values = svd.Values(nil)
		svd.VTo(&v)
	}
	for i := range min(len(values), len(models)-1) {
		if values[i] > rounding*values[0] {
			m.axis(mat.Col(nil, i, &v))
		}
	}
	for i := range models[0].K {
		m.axis(models[0].Loading(i))
	}
	for j := 0; len(m.Axes) < 2*p && j < p; j++ { // one component and no condition: any direction will do
		unit := make([]float64, p)
		unit[j] = 1
		m.axis(unit)
	}
}

// rounding is the share of a direction below which what is left of it says nothing: far above the rounding of sums over
// p channels, far below any difference of conditions.
const rounding = 1e-6

// axis adds a direction, its value of largest magnitude positive, where a place is free and it is a new one.
func (m *Map) axis(u []float64) {
	p := len(m.Centre)
	if len(m.Axes) == 2*p {
		return
	}
	w := append([]float64(nil), u...)
	for at := 0; at < len(m.Axes); at += p {
		c := dot(m.Axes[at:at+p], w)
		for j := range w {
			w[j] -= c * m.Axes[at+j]
		}
	}
	length := math.Sqrt(dot(w, w))
	if length <= rounding*math.Sqrt(dot(u, u)) {
		return
	}
	largest := 0
	for j, v := range w {
		if math.Abs(v) > math.Abs(w[largest]) {
			largest = j
		}
	}
	length = math.Copysign(length, w[largest])
	for _, v := range w {
		m.Axes = append(m.Axes, v/length)
	}
}

// At returns where the pretreated spectrum x, p values, lies on the map, in its unit. It does not allocate.
func (m *Map) At(x []float64) [2]float64 {
	p := len(m.Centre)
	c, ax, ay := m.Centre, m.Axes[:p], m.Axes[p:2*p]
	x, ax, ay = x[:len(c)], ax[:len(c)], ay[:len(c)]
	var across, up, across2, up2 float64 // sums side by side: one waits less for the others than for itself
	j := 0
	for ; j+2 <= len(c); j += 2 {
		d, e := x[j]-c[j], x[j+1]-c[j+1]
		across += d * ax[j]
		up += d * ay[j]
		across2 += e * ax[j+1]
		up2 += e * ay[j+1]
	}
	if j < p {
		d := x[j] - c[j]
		across += d * ax[j]
		up += d * ay[j]
	}
	return [2]float64{across + across2, up + up2}
}

func (m *Map) place(name string, one *project.PCA) Place {
	p := len(m.Centre)
	out := Place{Name: name, At: m.At(one.Mean)}
	for i := range one.K {
		x, y := dot(m.Axes[:p], one.Loading(i)), dot(m.Axes[p:], one.Loading(i))
		l := one.Eigenvalues[i]
		out.Cov[0] += l * x * x
		out.Cov[1] += l * x * y
		out.Cov[2] += l * y * y
	}
	return out
}

// Validate reports whether a map that was read from a file fits p channels.
func (m *Map) Validate(p int) error {
	if len(m.Centre) != p || len(m.Axes) != 2*p {
		return fmt.Errorf("a map of %d values on %d channels", len(m.Axes), p)
	}
	if len(m.Places) == 0 {
		return fmt.Errorf("a map without a place")
	}
	return nil
}
