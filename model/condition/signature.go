package condition

import (
	"fmt"
	"math"

	"asusual/model/project"
)

// A Signature turns a pretreated spectrum into a short vector that tells where it lies from usual: k scores, then
// the residual averaged over a few bands of channels, each over its usual standard deviation. Usual spectra
// lie around the origin with a variance of 1 in each place. Averaging over bands takes the detector's noise out and
// leaves what an absorber does, since NIR bands are broader than channels.
type Signature struct {
	Edges []int     `json:"edges"` // first channel of each band, and p at the end
	Scale []float64 `json:"scale"` // usual standard deviation of each place: k scores, then the bands
}

// maxBands is the number of bands on an axis that has enough channels: a twenty-fourth of a 900–1,700 nm axis is
// 33 nm, about the width of an overtone band in a liquid.
const maxBands = 24

// NewSignature learns the signature's scale from pretreated spectra of usual production: rows yields them, one a
// call, until nil; m is the PCA of usual.
func NewSignature(m *project.PCA, rows func() []float64) (*Signature, error) {
	bands := min(maxBands, m.P)
	s := &Signature{Edges: make([]int, bands+1), Scale: make([]float64, m.K+bands)}
	for b := range s.Edges {
		s.Edges[b] = b * m.P / bands
	}
	for i := range s.Scale {
		s.Scale[i] = 1
	}
	sum := make([]float64, len(s.Scale))
	y, t, e := make([]float64, len(s.Scale)), make([]float64, m.K), make([]float64, m.P)
	n := 0
	for x := rows(); x != nil; x = rows() {
		m.Scores(t, x)
		s.Of(y, m, x, t, e)
		for i, v := range y {
			sum[i] += v * v
		}
		n++
	}
	if n < 2 {
		return nil, fmt.Errorf("%d usual spectra; a signature needs 2", n)
	}
	largest := 0.0
	for i := range sum {
		sum[i] = math.Sqrt(sum[i] / float64(n-1))
		largest = max(largest, sum[i])
	}
	for i, sd := range sum {
		s.Scale[i] = max(sd, 1e-9*largest) // a band that never moved: SNV of a spectrum cut to it, say
	}
	return s, nil
}

// Len returns the number of places in a signature.
func (s *Signature) Len() int { return len(s.Scale) }

// Validate reports whether the signature fits the PCA of usual.
func (s *Signature) Validate(m *project.PCA) error {
	if n := len(s.Edges); n < 2 || len(s.Scale) != m.K+n-1 || s.Edges[0] != 0 || s.Edges[n-1] != m.P {
		return fmt.Errorf("a signature of %d places on %d components and %d channels", len(s.Scale), m.K, m.P)
	}
	for b := 1; b < len(s.Edges); b++ {
		if s.Edges[b] <= s.Edges[b-1] {
			return fmt.Errorf("band %d of the signature is empty", b)
		}
	}
	for i, v := range s.Scale {
		if !(v > 0) {
			return fmt.Errorf("place %d of the signature has the scale %g", i+1, v)
		}
	}
	return nil
}

// Of writes the signature of the pretreated spectrum x with the scores t to dst. e is room for p residuals.
func (s *Signature) Of(dst []float64, m *project.PCA, x, t, e []float64) {
	for i, v := range t {
		dst[i] = v / s.Scale[i]
	}
	m.Residual(e, x, t)
	for b := 1; b < len(s.Edges); b++ {
		sum := 0.0
		for _, v := range e[s.Edges[b-1]:s.Edges[b]] {
			sum += v
		}
		i := len(t) + b - 1
		dst[i] = sum / float64(s.Edges[b]-s.Edges[b-1]) / s.Scale[i]
	}
}
