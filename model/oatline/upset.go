package oatline

import (
	"fmt"
	"math"
	"time"
)

// A Kind is what goes wrong in an upset.
type Kind uint8

// The kinds of upset. The first three change the process, the others the instrument.
const (
	OilPump    Kind = iota // the oil pump gives less; Size is the share of the oil that is missing
	Dilution               // a leaking rinse valve; Size is the share of water added
	NewBand                // something absorbs that never did; Size is its height in absorbance, at NM
	Fouling                // a film on the window; Size is the absorbance that it adds at 1,300 nm, more at shorter wavelengths
	LampAgeing             // Size is the share of the light that is lost; less blue, more noise
	AxisShift              // Size is how far the wavelength axis is off, in nm; below zero is the other way
	MoreNoise              // Size is the factor by which the noise grows, less 1
	nKinds
)

var kindWords = [nKinds]struct {
	word string
	size float64
	ramp time.Duration
}{
	OilPump:    {"oil pump", 0.40, 40 * time.Minute},
	Dilution:   {"dilution", 0.18, 0},
	NewBand:    {"new band", 0.003, 10 * time.Minute},
	Fouling:    {"fouling", 0.08, 90 * time.Minute},
	LampAgeing: {"lamp ageing", 0.30, 90 * time.Minute},
	AxisShift:  {"axis shift", 0.6, 0},
	MoreNoise:  {"more noise", 4, 0},
}

// Kinds returns all kinds of upset.
func Kinds() []Kind {
	ks := make([]Kind, nKinds)
	for i := range ks {
		ks[i] = Kind(i)
	}
	return ks
}

// String returns the kind in words, such as "oil pump".
func (k Kind) String() string {
	if k >= nKinds {
		return fmt.Sprintf("kind %d", uint8(k))
	}
	return kindWords[k].word
}

// Instrument reports whether the kind lies in the instrument rather than in the process.
func (k Kind) Instrument() bool { return k >= Fouling }

// An Upset is one thing that goes wrong during a stretch.
type Upset struct {
	Kind  Kind
	Size  float64       // at its full height, in the measure of its kind; 0: the usual size of the kind
	After time.Duration // from the first spectrum of the stretch
	Ramp  time.Duration // from nothing to full height; 0: a step
	For   time.Duration // from After to the end; 0: to the end of the stretch

	// An intermittent upset is there for the first Open of every Period. A Period of 0 is one that stays.
	Period, Open time.Duration

	NM float64 // where a new band lies; 0: 1,270 nm
}

// Usual returns an upset of the kind with its usual size and ramp, beginning after the given time.
func Usual(k Kind, after time.Duration) Upset {
	return Upset{Kind: k, Size: kindWords[k].size, After: after, Ramp: kindWords[k].ramp}
}

// Level returns how much of the upset is there, in the measure of its kind, so long after the stretch began.
func (u Upset) Level(since time.Duration) float64 {
	at := since - u.After
	if at < 0 || u.For > 0 && at >= u.For {
		return 0
	}
	if u.Period > 0 && at%u.Period >= u.Open {
		return 0
	}
	size := u.Size
	if size == 0 {
		size = kindWords[u.Kind].size
	}
	if at < u.Ramp {
		size *= float64(at) / float64(u.Ramp)
	}
	return size
}

// maxShift keeps a shifted axis within the grid of the light.
const maxShift = 10 // nm

func (u Upset) check() error {
	if u.Kind >= nKinds {
		return fmt.Errorf("upset: %v is not known", u.Kind)
	}
	if math.IsNaN(u.Size) || math.IsInf(u.Size, 0) {
		return fmt.Errorf("upset %q: its size is %v", u.Kind, u.Size)
	}
	lo, hi := 0.0, 1e3
	switch u.Kind {
	case OilPump, Dilution:
		hi = 1
	case LampAgeing:
		hi = 0.7
	case AxisShift:
		lo, hi = -maxShift, maxShift
	}
	if u.Size < lo || u.Size > hi {
		return fmt.Errorf("upset %q: its size is %g, want %g to %g", u.Kind, u.Size, lo, hi)
	}
	if u.After < 0 || u.Ramp < 0 || u.For < 0 || u.Period < 0 || u.Open < 0 {
		return fmt.Errorf("upset %q: a duration is below zero", u.Kind)
	}
	return nil
}

// effects is what all upsets of a stretch do at one moment.
type effects struct {
	oilLost, water, film, lampLost, shift, noise float64
	bands                                        []band
}

func (e *effects) set(us []Upset, since time.Duration) {
	*e = effects{noise: 1, bands: e.bands[:0]}
	for _, u := range us {
		v := u.Level(since)
		switch u.Kind {
		case OilPump:
			e.oilLost = 1 - (1-e.oilLost)*(1-v)
		case Dilution:
			e.water = 1 - (1-e.water)*(1-v)
		case Fouling:
			e.film += v
		case LampAgeing:
			e.lampLost = 1 - (1-e.lampLost)*(1-v)
		case AxisShift:
			e.shift += v
		case MoreNoise:
			e.noise *= 1 + v
		case NewBand:
			if v != 0 {
				at := u.NM
				if at == 0 {
					at = 1270
				}
				e.bands = append(e.bands, band{at: at, width: 16, height: v})
			}
		}
	}
}
