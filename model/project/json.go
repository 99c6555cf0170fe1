package project

import (
	"encoding/json"
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
)

// UnmarshalJSON reads a model and checks it: sizes, finite values, falling eigenvalues above zero, and loadings that
// are orthonormal to 10⁻⁹.
func (m *PCA) UnmarshalJSON(b []byte) error {
	type bare PCA
	var f bare
	if err := json.Unmarshal(b, &f); err != nil {
		return err
	}
	n := PCA(f)
	if err := n.check(); err != nil {
		return fmt.Errorf("principal components: %w", err)
	}
	n.ready()
	*m = n
	return nil
}

func (m *PCA) check() error {
	if m.K < 1 || m.P < m.K || m.N <= m.K {
		return fmt.Errorf("%d components of %d spectra with %d channels cannot be", m.K, m.N, m.P)
	}
	if len(m.Mean) != m.P || len(m.Eigenvalues) != m.K || len(m.Loadings)/m.P != m.K || len(m.Loadings)%m.P != 0 {
		return fmt.Errorf("%d components of %d channels have %d mean values, %d eigenvalues and %d loadings",
			m.K, m.P, len(m.Mean), len(m.Eigenvalues), len(m.Loadings))
	}
	for _, list := range [][]float64{m.Mean, m.Loadings, m.Eigenvalues, m.Theta[:]} {
		for _, v := range list {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return fmt.Errorf("a value is %v", v)
			}
		}
	}
	for i, l := range m.Eigenvalues {
		if l <= 0 || i > 0 && l > m.Eigenvalues[i-1] {
			return fmt.Errorf("eigenvalue %d is %g, and they fall and are above zero", i+1, l)
		}
		for j := range i + 1 {
			want := 0.0
			if i == j {
				want = 1
			}
			if d := floats.Dot(m.Loading(i), m.Loading(j)); math.Abs(d-want) > 1e-9 {
				return fmt.Errorf("loadings %d and %d have the product %g, not %g", i+1, j+1, d, want)
			}
		}
	}
	return nil
}
