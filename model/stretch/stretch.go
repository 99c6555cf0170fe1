package stretch

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"asusual/model/pretreat"
	"asusual/model/project"
)

// Most is the number of stretches that an axis is cut into, where it has channels enough. Chosen so that a band of a
// twentieth of the axis, wherever it stands, is seen with most of its length, and that the thresholds, which grow with the
// number, do not take that away again.
const Most = 12

const (
	leastChannels = 8    // of a stretch
	wide          = 1.2  // full width at half height of a band, in stretches
	reach         = 1.25 // stretches to either side of its middle within which a shape is kept
)

// A Shape is what a band at one place of the axis does to a pretreated spectrum, of length 1 and zero but for a few
// channels.
type Shape struct {
	From    int       `json:"from"`    // the first of them
	Weights []float64 `json:"weights"` // of these
}

// Shapes returns those of evenly placed bands of which the chain leaves something, for spectra whose mean, raw absorbance,
// is given. There are none where the axis has too few channels. An error says that the mean cannot be pretreated.
func Shapes(chain *pretreat.Chain, mean []float64) ([]Shape, error) {
	in, out := chain.In(), chain.Out()
	n := min(Most, out.Len()/leastChannels)
	if n < 2 {
		return nil, nil
	}
	work := make([]float64, chain.Work())
	before, changed := make([]float64, out.Len()), make([]float64, in.Len())
	if err := chain.Apply(before, mean, work); err != nil {
		return nil, fmt.Errorf("the mean spectrum: %w", err)
	}
	lo, hi := out.Range()
	one, size := (hi-lo)/float64(n), small(mean)
	shapes, longest := make([]Shape, 0, n), 0.0
	lengths := make([]float64, 0, n)
	for i := range n {
		at := lo + (float64(i)+0.5)*one
		for c, v := range mean {
			z := (in.At(c) - at) / (wide * one)
			changed[c] = v + size*math.Exp2(-4*z*z)
		}
		after := make([]float64, out.Len())
		if err := chain.Apply(after, changed, work); err != nil {
			return nil, fmt.Errorf("the mean spectrum, changed: %w", err)
		}
		floats.Sub(after, before)
		floats.Scale(1/size, after)
		s := cut(after, func(c int) bool { return math.Abs(out.At(c)-at) <= reach*one })
		length := floats.Norm(s.Weights, 2)
		shapes, lengths, longest = append(shapes, s), append(lengths, length), max(longest, length)
	}
	return kept(shapes, lengths, longest), nil
}

// small is a size of a band at which every pretreatment is linear and rounding is far away.
func small(mean []float64) float64 {
	sum, ss, top := 0.0, 0.0, 0.0
	for _, v := range mean {
		sum += v
		ss += v * v
		top = max(top, math.Abs(v))
	}
	n := float64(len(mean))
	return 1e-3 * max(math.Sqrt(max(ss/n-sum*sum/(n*n), 0)), 1e-3*top, 1e-12)
}

// cut returns the channels from the first to the last that belong.
func cut(x []float64, belongs func(c int) bool) Shape {
	from, to := len(x), 0
	for c := range x {
		if belongs(c) {
			from, to = min(from, c), c+1
		}
	}
	if to <= from {
		return Shape{}
	}
	return Shape{from, append([]float64(nil), x[from:to]...)}
}

// kept returns the shapes that are worth having, brought to length 1.
func kept(shapes []Shape, lengths []float64, longest float64) []Shape {
	const least = 1e-3 // of the longest: the pretreatment has taken the band out
	var out []Shape
	for i, s := range shapes {
		if lengths[i] > least*longest && len(s.Weights) >= leastChannels/2 {
			floats.Scale(1/lengths[i], s.Weights)
			out = append(out, s)
		}
	}
	return out
}

// A Bank applies shapes to what a model leaves over. It does not change and is safe for concurrent use.
type Bank struct {
	Shapes []Shape   `json:"shapes"`
	Mean   []float64 `json:"mean"`  // of each shape: its product with the model's mean
	Loads  []float64 `json:"loads"` // m×k: with the loadings
}

// New makes shapes ready for the model.
func New(shapes []Shape, m *project.PCA) *Bank {
	b := &Bank{Shapes: shapes}
	for _, s := range shapes {
		to := s.From + len(s.Weights)
		b.Mean = append(b.Mean, floats.Dot(s.Weights, m.Mean[s.From:to]))
		for j := range m.K {
			b.Loads = append(b.Loads, floats.Dot(s.Weights, m.Loading(j)[s.From:to]))
		}
	}
	return b
}

// Len returns m, the number of shapes; a nil bank has none.
func (b *Bank) Len() int {
	if b == nil {
		return 0
	}
	return len(b.Shapes)
}

// Of fills dst, of length m, with what the pretreated spectrum x with the scores t has left over:
//
//	wᵀ(x − x̂) = wᵀx − wᵀx̄ − Σ tⱼ wᵀpⱼ
//
// It does not allocate.
func (b *Bank) Of(dst, x, t []float64) {
	b.Change(dst, x, t)
	for i, v := range b.Mean {
		dst[i] -= v
	}
}

// Change is Of for a difference d of pretreated spectra, which moves the scores by t.
func (b *Bank) Change(dst, d, t []float64) {
	k := len(t)
	for i, s := range b.Shapes {
		v := floats.Dot(s.Weights, d[s.From:s.From+len(s.Weights)])
		for j, load := range b.Loads[i*k : (i+1)*k] {
			v -= t[j] * load
		}
		dst[i] = v
	}
}

// Validate reports whether a bank that was read from a file fits a model of k components and p channels.
func (b *Bank) Validate(k, p int) error {
	if b == nil {
		return nil
	}
	m := len(b.Shapes)
	if len(b.Mean) != m || len(b.Loads) != m*k {
		return fmt.Errorf("%d stretches with %d means and %d products with %d components", m, len(b.Mean), len(b.Loads), k)
	}
	for i, s := range b.Shapes {
		if s.From < 0 || s.From+len(s.Weights) > p {
			return fmt.Errorf("stretch %d is about channels %d to %d of %d", i+1, s.From+1, s.From+len(s.Weights), p)
		}
	}
	return nil
}
