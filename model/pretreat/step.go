package pretreat

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"asusual/model/spectrum"
)

// The names of the steps.
const (
	SNV        = "snv"
	MSC        = "msc"
	Detrend    = "detrend"
	Smooth     = "smooth"
	Derivative = "derivative"
	Offset     = "offset"
	Keep       = "keep"
	LeaveOut   = "leave-out"
)

// Names returns the names of all steps.
func Names() []string { return []string{SNV, MSC, Detrend, Smooth, Derivative, Offset, Keep, LeaveOut} }

// A Step is one step of a chain. A setting left at zero takes a default that suits the axis.
type Step struct {
	Name   string  `json:"step" toml:"step"`
	Window float64 `json:"window,omitempty" toml:"window"` // full width in axis units, of smooth and derivative
	Degree int     `json:"degree,omitempty" toml:"degree"` // of the polynomial, of detrend, smooth and derivative
	Order  int     `json:"order,omitempty" toml:"order"`   // 1 or 2, of derivative
	From   float64 `json:"from,omitempty" toml:"from"`     // range in axis units, of offset, keep and leave-out
	To     float64 `json:"to,omitempty" toml:"to"`
}

// maxDegree bounds polynomials: beyond it a fit follows noise, and the weights lose digits.
const maxDegree = 10

// maxSteps bounds a chain, so that a damaged file cannot ask for a million of them.
const maxSteps = 32

// check tells whether the step is one that could be, on whatever axis. A setting that the step does not have is an
// error and not passed over: it was meant for something.
func (s Step) check() error {
	if !slices.Contains(Names(), s.Name) {
		return fmt.Errorf("pretreatment step %q is not one of %s", s.Name, strings.Join(Names(), ", "))
	}
	filter := s.Name == Smooth || s.Name == Derivative
	ranged := s.Name == Offset || s.Name == Keep || s.Name == LeaveOut
	for _, v := range []float64{s.Window, s.From, s.To} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("%s: a setting is %v, not a number that can be used", s.Name, v)
		}
	}
	switch {
	case s.Window != 0 && !filter:
		return fmt.Errorf("%s: a window of %g is set, but this step has none", s.Name, s.Window)
	case s.Degree != 0 && !filter && s.Name != Detrend:
		return fmt.Errorf("%s: degree %d is set, but this step has none", s.Name, s.Degree)
	case s.Order != 0 && s.Name != Derivative:
		return fmt.Errorf("%s: order %d is set, but this step has none", s.Name, s.Order)
	case (s.From != 0 || s.To != 0) && !ranged:
		return fmt.Errorf("%s: a range of %g to %g is set, but this step has none", s.Name, s.From, s.To)
	case s.Window < 0:
		return fmt.Errorf("%s: window %g is not above zero", s.Name, s.Window)
	case s.Degree < 0 || s.Degree > maxDegree:
		return fmt.Errorf("%s: polynomial degree %d is not within 1 to %d", s.Name, s.Degree, maxDegree)
	case s.Order < 0 || s.Order > 2:
		return fmt.Errorf("%s: order %d is not 1 or 2", s.Name, s.Order)
	case s.Degree != 0 && s.Degree < s.Order:
		return fmt.Errorf("%s: a polynomial of degree %d has no derivative of order %d; use degree %d or more", s.Name, s.Degree, s.Order, s.Order)
	case (s.Name == Keep || s.Name == LeaveOut) && s.From == s.To:
		return fmt.Errorf("%s: the range from %g to %g is empty; set from and to", s.Name, s.From, s.To)
	}
	return nil
}

// on returns the step with the settings that were left open set to suit the axis.
func (s Step) on(a *spectrum.Axis) Step {
	if s.From > s.To {
		s.From, s.To = s.To, s.From
	}
	switch s.Name {
	case Detrend:
		s.Degree = or(s.Degree, 2)
	case Smooth:
		s.Degree = or(s.Degree, 2)
	case Derivative:
		s.Order = or(s.Order, 1)
		s.Degree = or(s.Degree, 2)
	}
	if (s.Name == Smooth || s.Name == Derivative) && s.Window == 0 {
		s.Window = usualWindow(a, s)
	}
	return s
}

func or(v, otherwise int) int {
	if v == 0 {
		return otherwise
	}
	return v
}

// usualWindow is the window that a filter takes if nothing is said: 2 % of the range, 3 % for a second derivative,
// which is noisier, and in any case 7 and 9 channels at the widest spacing (and two more for each degree above 2),
// rounded up to two digits. Over 900–1700 nm that is 16 nm, about a third of the narrowest bands of a liquid food.
// Chosen so that a band is hardly broadened; common practice, no source.
func usualWindow(a *spectrum.Axis, s Step) float64 {
	lo, hi := a.Range()
	share, least := 0.02, 7
	if s.Order == 2 {
		share, least = 0.03, 9
	}
	least += 2 * max(0, s.Degree-2)
	var widest float64
	at := a.Values()
	for _, st := range stretches(at) {
		for i := st.from + 1; i < st.to; i++ {
			widest = max(widest, math.Abs(at[i]-at[i-1]))
		}
	}
	w := max(share*(hi-lo), float64(least)*widest)
	per := math.Pow(10, 1-math.Floor(math.Log10(w)))
	if per < 1 {
		unit := math.Round(1 / per)
		return math.Ceil(w/unit*(1-1e-9)) * unit
	}
	return math.Ceil(w*per*(1-1e-9)) / per
}

// Learns reports whether a step of the chain learns from training spectra, so that it must be fitted anew wherever
// spectra are held out.
func Learns(steps []Step) bool {
	return slices.ContainsFunc(steps, func(s Step) bool { return s.Name == MSC })
}

// words says the step to a person, with windows and ranges in the unit of the axis.
func (s Step) words(u spectrum.Unit) string {
	in := func(v float64) string {
		switch u {
		case spectrum.Channel:
			return fmt.Sprintf("%.6g channels", v)
		case spectrum.UnknownUnit:
			return fmt.Sprintf("%.6g", v)
		}
		return fmt.Sprintf("%.6g %s", v, u.Symbol())
	}
	between := func() string { return fmt.Sprintf("%.6g–%s", s.From, in(s.To)) }
	switch s.Name {
	case SNV, MSC:
		return strings.ToUpper(s.Name)
	case Detrend:
		return fmt.Sprintf("detrend (degree %d)", s.Degree)
	case Smooth:
		return fmt.Sprintf("smoothing (%s, degree %d)", in(s.Window), s.Degree)
	case Derivative:
		return fmt.Sprintf("%s derivative (%s, degree %d)", [...]string{"", "1st", "2nd"}[s.Order], in(s.Window), s.Degree)
	case Offset:
		if s.From == s.To {
			return "offset (minimum)"
		}
		return fmt.Sprintf("offset (mean of %s)", between())
	case Keep:
		return "keep " + between()
	}
	return "leave out " + between()
}

// Errors of single spectra, which a caller may tell from mistakes in the chain.
var (
	// ErrFlat: the spectrum is constant, or for msc without any likeness to the reference spectrum, and cannot be scaled.
	ErrFlat = errors.New("the spectrum is flat and cannot be scaled")
	// ErrNotFinite: a value that matters is not a number or infinite, or became so.
	ErrNotFinite = errors.New("the spectrum has values that are not finite numbers")
)
