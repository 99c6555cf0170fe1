package condition

import (
	"fmt"
	"math"

	"asusual/model/project"
)

// A Signature turns a pretreated spectrum x into a short vector y of d = k+b places that tells where it lies from usual: k
// scores, then the residual e = x − x̂ averaged over each of b bands of neighbouring channels, all over their usual spread:
//
//	yᵢ = tᵢ/sᵢ,   yₖ₊ⱼ = (Σ e over band j)/(channels of band j · sₖ₊ⱼ)
//
// So usual spectra lie around the origin with a variance of 1 in each place, whatever the unit of x. Averaging over bands
// takes the detector's noise out and leaves what an absorber does, since NIR bands are broader than channels. Places are not
// made independent of each other: bands that usually move together count twice.
//
// It does not change after NewSignature, and is safe for concurrent use.
type Signature struct {
	Edges []int     `json:"edges"` // first channel of each band, and p at the end
	Scale []float64 `json:"scale"` // s, d: usual standard deviation of each place around zero, where the reference has its mean
}

const (
	// maxBands is the number of bands on an axis that has enough channels: a twenty-fourth of a 900–1,700 nm axis is
	// 33 nm, about the width of an overtone band in a liquid.
	maxBands = 24
	// stillest is the least scale of a place as a share of the largest, for a band that never moved.
	stillest = 1e-9
)

// NewSignature learns the signature's scale, with the divisor n−1, from pretreated spectra of usual production: rows yields
// them, one a call, until nil, and may use the same slice again; m is the PCA of usual. It needs two spectra that differ.
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
		return nil, fmt.Errorf("signature: %d usual spectra, at least 2 are needed", n)
	}
	largest := 0.0
	for i := range sum {
		sum[i] = math.Sqrt(sum[i] / float64(n-1))
		largest = max(largest, sum[i])
	}
	if !(largest > 0) || math.IsInf(largest, 0) {
		return nil, fmt.Errorf("signature: %d usual spectra have a spread of %g", n, largest)
	}
	for i, sd := range sum {
		s.Scale[i] = max(sd, stillest*largest)
	}
	return s, nil
}

// Len returns d, the number of places.
func (s *Signature) Len() int { return len(s.Scale) }

// Validate reports whether a signature that was read from a file fits the PCA of usual.
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
		if !(v > 0) || math.IsInf(v, 0) {
			return fmt.Errorf("place %d of the signature has the scale %g", i+1, v)
		}
	}
	return nil
}

// Of fills dst, of length d, with the signature of the pretreated spectrum x (p values) that has the scores t (k values)
// against m, the PCA of usual. The residual is left in e, of length p. It does not allocate.
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
