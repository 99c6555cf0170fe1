package pretreat

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"asusual/model/spectrum"
)

// A Chain is a fitted chain of steps on one axis. All that does not depend on the spectrum (weights, polynomials,
// ranges) is worked out once, by Fit, so that Apply has arithmetic to do and nothing else.
//
// The zero value is no chain: use Fit, with no steps for a chain that changes nothing.
type Chain struct {
	in, out *spectrum.Axis
	steps   []Step
	links   []link
	refs    [][]float64 // the reference spectrum of each msc step, in order
	width   int         // the longest spectrum between two links
	careful bool        // a step scales what another has taken something away from
}

// A link is a step made ready for its axis.
type link interface {
	// apply fills dst, as long as the link's output, from src. Where inPlace, dst may be src. A spread of src of no
	// more than floor is rounding.
	apply(dst, src []float64, floor float64) error
	inPlace() bool
	len() int
	// gain bounds by how much the link lets rounding grow; it is 0 for one that scales spectra to a size of its own.
	gain() float64
}

// Fit makes the chain of the steps ready for spectra on the axis. x holds the training spectra, n×p, one raw
// absorbance spectrum a row; only msc looks at it, and it may be nil for a chain that does not learn.
//
// The reference spectrum of msc is the mean of the training spectra as the steps before it leave them. It stays with
// the chain: new spectra never change it, and spectra that are held out must not be in x.
//
// The error says which step cannot be done on this axis, with its numbers, or which training spectrum stands in the way.
func Fit(axis *spectrum.Axis, steps []Step, x *mat.Dense) (*Chain, error) {
	return build(axis, steps, func(c *Chain) ([]float64, error) { return c.meanOf(x) })
}

// build makes the chain, with the reference spectrum of each msc step from ref, which is given the chain so far.
// Fit learns it there, and a chain from a file brings it along.
func build(axis *spectrum.Axis, steps []Step, ref func(*Chain) ([]float64, error)) (*Chain, error) {
	if axis == nil {
		return nil, fmt.Errorf("a pretreatment chain needs an axis")
	}
	if len(steps) > maxSteps {
		return nil, fmt.Errorf("a pretreatment chain has %d steps; %d is the most", len(steps), maxSteps)
	}
	c := &Chain{in: axis, out: axis, steps: make([]Step, 0, len(steps)), width: axis.Len()}
	for i := 0; i < len(steps); i++ {
		if err := steps[i].check(); err != nil {
			return nil, err
		}
		s := steps[i].on(c.out)
		together := []Step{s}
		for s.Name == Keep && i+1 < len(steps) && steps[i+1].Name == Keep {
			i++
			if err := steps[i].check(); err != nil {
				return nil, err
			}
			together = append(together, steps[i].on(c.out))
		}
		if err := c.add(together, ref); err != nil {
			return nil, err
		}
		c.steps = append(c.steps, together...)
	}
	return c, nil
}

// add appends the link of a step, or of several keep steps in a row.
func (c *Chain) add(steps []Step, ref func(*Chain) ([]float64, error)) error {
	var l link
	var err error
	switch s, p := steps[0], c.out.Len(); s.Name {
	case SNV:
		l = snv(p)
	case MSC:
		var r []float64
		if r, err = ref(c); err == nil {
			c.refs = append(c.refs, r)
			l, err = newMSC(r)
		}
	case Detrend:
		l, err = newDetrend(c.out, s.Degree)
	case Smooth, Derivative:
		l, err = newFilter(c.out, s)
	case Offset:
		l, err = newOffset(c.out, s)
	case Keep, LeaveOut:
		l, c.out, err = newRanges(c.out, steps)
	}
	if err != nil {
		return err
	}
	c.careful = c.careful || l.gain() == 0 && len(c.links) > 0
	c.links = append(c.links, l)
	return nil
}

// meanOf returns the mean of the training spectra after the chain so far.
func (c *Chain) meanOf(x *mat.Dense) ([]float64, error) {
	if x == nil || x.IsEmpty() {
		return nil, fmt.Errorf("msc needs training spectra to learn its reference spectrum from, found none")
	}
	n, p := x.Dims()
	if p != c.in.Len() {
		return nil, fmt.Errorf("training spectra have %d channels, the axis has %d", p, c.in.Len())
	}
	mean := make([]float64, c.out.Len())
	y, work := make([]float64, len(mean)), make([]float64, c.Work())
	for i := range n {
		if err := c.Apply(y, x.RawRowView(i), work); err != nil {
			return nil, fmt.Errorf("training spectrum %d: %w", i+1, err)
		}
		for j, v := range y {
			mean[j] += v
		}
	}
	for j := range mean {
		mean[j] /= float64(n)
	}
	return mean, nil
}

// Steps returns the steps with all their settings.
func (c *Chain) Steps() []Step { return slices.Clone(c.steps) }

// In returns the axis of the spectra that the chain takes.
func (c *Chain) In() *spectrum.Axis { return c.in }

// Out returns the axis of the spectra that the chain gives.
func (c *Chain) Out() *spectrum.Axis { return c.out }

// Work returns the length of the scratch that Apply needs.
func (c *Chain) Work() int {
	switch len(c.links) {
	case 0, 1:
		return 0
	}
	return 2 * c.width
}

// Apply fills dst with the pretreated spectrum x. len(x) must be In().Len(), len(dst) Out().Len() and len(work) at
// least Work(); dst, x and work must not overlap, and x is not changed. It allocates nothing.
//
// The error is ErrFlat or ErrNotFinite for a spectrum that cannot be pretreated; dst then holds nothing of use.
func (c *Chain) Apply(dst, x, work []float64) error {
	if len(x) != c.in.Len() || len(dst) != c.out.Len() || len(work) < c.Work() {
		return fmt.Errorf("pretreatment from %d to %d channels with %d of scratch: got %d, %d and %d",
			c.in.Len(), c.out.Len(), c.Work(), len(x), len(dst), len(work))
	}
	if len(c.links) == 0 {
		copy(dst, x)
		return finite(dst)
	}
	var floor float64
	if c.careful {
		floor = rounding * largest(x)
	}
	// Steps that can work in place do, once the spectrum is no longer the caller's; the others go back and forth
	// between the two halves of work, and the last one writes to dst.
	last := len(c.links) - 1
	src, mine := x, false // mine: src is scratch of ours
	var spare int         // the half of work that is free
	for i, l := range c.links {
		to := dst
		switch {
		case i == last:
		case mine && l.inPlace():
			to = src[:l.len()]
		default:
			to = work[spare*c.width:][:l.len()]
			spare = 1 - spare
		}
		if err := l.apply(to, src, floor); err != nil {
			return err
		}
		if g := l.gain(); g > 0 {
			floor *= g
		} else {
			floor = rounding
		}
		src, mine = to, true
	}
	return finite(dst)
}

// rounding is a few times the share of a value that its rounding may be.
const rounding = 32 * 0x1p-52

// largest returns the largest magnitude of x.
func largest(x []float64) float64 {
	var top float64
	for _, v := range x {
		if v = math.Abs(v); v > top { // max minds NaN, and takes its time for it
			top = v
		}
	}
	return top
}

// finite returns ErrNotFinite if a value is NaN or infinite. A sum is quicker than a look at each, and is not finite then; nor is
// it where values are so large that only their sum is infinite, so each is looked at before that is said.
func finite(x []float64) error {
	var a, b, c, d, e, f, g, h float64
	i := 0
	for ; i+8 <= len(x); i += 8 {
		v := x[i : i+8 : i+8]
		a += v[0]
		b += v[1]
		c += v[2]
		d += v[3]
		e += v[4]
		f += v[5]
		g += v[6]
		h += v[7]
	}
	for ; i < len(x); i++ {
		a += x[i]
	}
	if s := a + b + c + d + e + f + g + h; s-s == 0 {
		return nil
	}
	for _, v := range x {
		if v-v != 0 {
			return ErrNotFinite
		}
	}
	return nil
}

// ApplyAll returns the pretreated spectra of x, one a row. The error names the row, from 1.
func (c *Chain) ApplyAll(x *mat.Dense) (*mat.Dense, error) {
	n, p := x.Dims()
	if p != c.in.Len() {
		return nil, fmt.Errorf("spectra have %d channels, the pretreatment takes %d", p, c.in.Len())
	}
	y, work := mat.NewDense(n, c.out.Len(), nil), make([]float64, c.Work())
	for i := range n {
		if err := c.Apply(y.RawRowView(i), x.RawRowView(i), work); err != nil {
			return nil, fmt.Errorf("spectrum %d: %w", i+1, err)
		}
	}
	return y, nil
}

// String says the chain in words, such as "SNV, then 1st derivative (15 nm, degree 2)".
func (c *Chain) String() string {
	if len(c.steps) == 0 {
		return "no pretreatment"
	}
	words := make([]string, len(c.steps))
	for i, s := range c.steps {
		words[i] = s.words(c.in.Unit())
	}
	return strings.Join(words, ", then ")
}
