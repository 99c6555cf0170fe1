package fourier

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

	"asusual/model/finding"
	"asusual/model/spectrum"
)

// Options say how interferograms are transformed. The zero value is useful for those over a path difference.
type Options struct {
	Apodization Apodization

	// Step is the path difference between two points in cm, where the interferogram lies over a count of points. One point a
	// fringe of a helium–neon laser is 6.32991·10⁻⁵ cm, two are half of that.
	Step float64

	ZeroFill    int     // channels are as many times as close as the points give; a power of two; 0: 2
	PhasePoints int     // points on either side of the centre that the phase is told from; 0: all there are, at most 512
	From, To    float64 // wavenumbers in cm⁻¹ that are kept; 0: all, but for the two ends
}

const (
	fewestPoints = 32
	mostPoints   = 1 << 20
	mostPhase    = 512 // at a usual step of a fringe, a resolution of about 30 cm⁻¹: phases are smoother than that
	fewPhase     = 64  // points on the short side that are wanted: common practice, no source
	leastPhase   = 8   // points without which there is no phase
	clippedAt    = 3   // equal highest values that a detector at its end writes; our own choice
	unevenStep   = 1e-3
	bothSided    = 0.1 // by which part the longer side may be longer in an interferogram that is taken for two-sided
)

// A Transformer transforms interferograms one after another. Spectra of interferograms on one grid with one centre share
// their Axis. It is not safe for concurrent use.
type Transformer struct {
	opt   Options
	n     int // length of the transform
	fft   *fourier.FFT
	step  float64
	axis  *spectrum.Axis
	first int // the channel of the transform that axis begins with
	work  []float64
	long  []complex128
	short []complex128
}

// NewTransformer returns a transformer with those options.
func NewTransformer(opt Options) (*Transformer, error) {
	if opt.ZeroFill == 0 {
		opt.ZeroFill = 2
	}
	if opt.PhasePoints == 0 {
		opt.PhasePoints = mostPhase
	}
	switch {
	case int(opt.Apodization) >= len(apodizationWords):
		return nil, fmt.Errorf("apodization %d is not known", opt.Apodization)
	case opt.ZeroFill < 1 || opt.ZeroFill > 16 || opt.ZeroFill&(opt.ZeroFill-1) != 0:
		return nil, fmt.Errorf("zero filling by %d; 1, 2, 4, 8 and 16 can be done", opt.ZeroFill)
	case opt.PhasePoints < leastPhase:
		return nil, fmt.Errorf("a phase from %d points; %d are needed", opt.PhasePoints, leastPhase)
	case !(opt.Step >= 0 && opt.Step < 1):
		return nil, fmt.Errorf("a path difference of %g cm between points; one of some 10⁻⁵ cm is usual", opt.Step)
	case !(opt.From >= 0) || opt.To != 0 && !(opt.To > opt.From) || math.IsInf(opt.To, 0):
		return nil, fmt.Errorf("wavenumbers from %g to %g cm⁻¹; the first is below the second", opt.From, opt.To)
	}
	return &Transformer{opt: opt}, nil
}

// Transform returns the light over wavenumber of an interferogram, as raw intensities: it becomes an absorbance with a
// reference that is transformed alike. Values are those of
//
//	B(ν̃) = ∫ I(x) cos(2πν̃x) dx
//
// over path differences of both signs, so that I(x) = cos 2πν̃₀x of unit height gives a line of the height of the largest path
// difference. Where there is next to no light, values may be a little below zero. What is doubtful is a finding.
func (t *Transformer) Transform(s spectrum.Spectrum) (spectrum.Spectrum, []finding.Finding, error) {
	step, err := t.stepOf(s)
	if err != nil {
		return spectrum.Spectrum{}, nil, err
	}
	v, c, err := centred(s.Values)
	if err != nil {
		return spectrum.Spectrum{}, nil, err
	}
	left, right := c, len(v)-1-c
	if left < leastPhase {
		return spectrum.Spectrum{}, nil, fmt.Errorf("the interferogram has %d points before its centre, of which no phase can be told; %d are needed, %d wanted", left, leastPhase, fewPhase)
	}
	var findings []finding.Finding
	if left < fewPhase {
		findings = append(findings, finding.Of(finding.ShortSide, "", float64(left), fewPhase))
	}
	if k := clipped(s.Values); k >= clippedAt {
		findings = append(findings, finding.Of(finding.Clipped, "", float64(k)))
	}
	if err := t.plan(left, right, step); err != nil {
		return spectrum.Spectrum{}, nil, err
	}
	t.phase(v, c)
	t.light(v, c)
	out := s
	out.Axis, out.Quantity = t.axis, spectrum.Intensity
	out.Values = make([]float64, t.axis.Len())
	for k := range out.Values {
		f, p := t.long[t.first+k], t.short[t.first+k]
		if a := cmplx.Abs(p); a > 0 {
			f *= cmplx.Conj(p) / complex(a, 0)
		}
		out.Values[k] = 2 * step * real(f)
	}
	return out, findings, nil
}

// stepOf returns the path difference between two points in cm.
func (t *Transformer) stepOf(s spectrum.Spectrum) (float64, error) {
	n := len(s.Values)
	switch {
	case s.Quantity != spectrum.Interferogram:
		return 0, fmt.Errorf("it holds %s, no interferogram", s.Quantity)
	case s.Axis == nil || n != s.Axis.Len():
		return 0, fmt.Errorf("the interferogram has %d values and no axis of as many points", n)
	case n < fewestPoints || n > mostPoints:
		return 0, fmt.Errorf("the interferogram has %d points; %d to %d can be transformed", n, fewestPoints, mostPoints)
	}
	lo, hi := s.Axis.Range()
	even := (hi - lo) / float64(n-1)
	for i := 1; i < n; i++ {
		if d := math.Abs(s.Axis.At(i) - s.Axis.At(i-1)); math.Abs(d-even) > unevenStep*even {
			return 0, fmt.Errorf("the interferogram's points are not evenly apart: %g before point %d, %g on average", d, i+1, even)
		}
	}
	switch {
	case s.Axis.Unit() == spectrum.Retardation && t.opt.Step != 0 && math.Abs(even/t.opt.Step-1) > 0.01:
		return 0, fmt.Errorf("the interferogram's points are %g cm apart, the settings say %g", even, t.opt.Step)
	case s.Axis.Unit() == spectrum.Retardation:
		return even, nil
	case t.opt.Step == 0:
		return 0, fmt.Errorf("the interferogram lies over %v; the path difference between its points is not known: set it, 6.32991e-5 cm for one point a fringe of a helium–neon laser", s.Axis)
	}
	return t.opt.Step, nil
}

// centred returns the values less their mean, turned so that the longer side comes last, and the place of the centre.
func centred(values []float64) (v []float64, c int, err error) {
	mean := 0.0
	for i, x := range values {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return nil, 0, fmt.Errorf("point %d of the interferogram holds %v, no number", i+1, x)
		}
		mean += x / float64(len(values))
	}
	v = make([]float64, len(values))
	for i, x := range values {
		v[i] = x - mean
		if math.Abs(v[i]) > math.Abs(v[c]) {
			c = i
		}
	}
	if !(math.Abs(v[c]) > 0) || math.IsInf(v[c], 0) {
		return nil, 0, fmt.Errorf("the interferogram has no centre: its largest excursion is %g", v[c])
	}
	if c > len(v)-1-c {
		slices.Reverse(v)
		c = len(v) - 1 - c
	}
	return v, c, nil
}

// clipped counts the points that share the highest or the lowest value, whichever are more.
func clipped(values []float64) int {
	lo, hi := slices.Min(values), slices.Max(values)
	low, high := 0, 0
	for _, x := range values {
		if x == lo {
			low++
		}
		if x == hi {
			high++
		}
	}
	return max(low, high)
}

// plan prepares the transform for that many points on either side.
func (t *Transformer) plan(left, right int, step float64) error {
	n := 1
	for n < 2*right*t.opt.ZeroFill || n < left+right+1 {
		n *= 2
	}
	if t.fft != nil && n == t.n && step == t.step {
		return nil
	}
	spacing := 1 / (float64(n) * step)
	last := n/2 - 1
	first := max(1, int(math.Ceil(t.opt.From/spacing-1e-9)))
	if t.opt.To > 0 {
		last = min(last, int(math.Floor(t.opt.To/spacing+1e-9)))
	}
	if last-first < 1 {
		return fmt.Errorf("no two channels lie from %g to %g cm⁻¹; the interferogram gives %.4g to %.4g cm⁻¹, %.4g apart", t.opt.From, t.opt.To, spacing, spacing*float64(n/2-1), spacing)
	}
	at := make([]float64, last-first+1)
	for k := range at {
		at[k] = spacing * float64(first+k)
	}
	axis, err := spectrum.NewAxis(spectrum.ReciprocalCentimetre, at)
	if err != nil {
		return err
	}
	if t.fft == nil || n != t.n {
		t.fft, t.work = fourier.NewFFT(n), make([]float64, n)
		t.long, t.short = make([]complex128, n/2+1), make([]complex128, n/2+1)
	}
	t.n, t.step, t.axis, t.first = n, step, axis, first
	return nil
}

// phase transforms the short stretch on both sides of the centre, faded to its ends by a triangle so that the phase is smooth.
func (t *Transformer) phase(v []float64, c int) {
	clear(t.work)
	m := min(c, t.opt.PhasePoints)
	for i := -m; i <= m; i++ {
		t.work[(i+t.n)%t.n] = v[c+i] * Triangular.At(float64(i)/float64(m+1))
	}
	t.fft.Coefficients(t.short, t.work)
}

// light transforms all points, each with its weight. What lies on both sides of the centre counts half on each: by a ramp from
// 0 to 1 through ½ at the centre, so that nothing jumps (Mertz 1967), or evenly where both sides are about equally long.
func (t *Transformer) light(v []float64, c int) {
	clear(t.work)
	left, right := c, len(v)-1-c
	two := float64(right-left) <= bothSided*float64(right)
	if two {
		right = left
	}
	for i := -left; i <= right; i++ {
		w := 1.0
		switch {
		case two:
			w = 0.5
		case i <= left:
			w = float64(i+left) / float64(2*left)
		}
		t.work[(i+t.n)%t.n] = v[c+i] * w * t.opt.Apodization.At(float64(i)/float64(right))
	}
	t.fft.Coefficients(t.long, t.work)
}
