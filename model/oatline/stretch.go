package oatline

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"time"
)

// The conditions of the line, as the Label of a spectrum has them.
const (
	InUse   = "usual"
	Rinse   = "rinse"    // water, with what is left of the product
	StartUp = "start-up" // from rinse water to product
	Air     = "air"      // nothing in the beam
)

// A Stretch is some time on the line in one condition: N spectra, Every apart.
type Stretch struct {
	Run       string // the name that its spectra carry
	Lot       string // what the line is fed with: one lot, one set of offsets; "": Run
	Condition string // InUse, Rinse, StartUp or Air; "": InUse
	From      time.Time
	Every     time.Duration // 0: 20 s
	N         int
	Upsets    []Upset
}

// To returns when the stretch ends: Every after its last spectrum.
func (s Stretch) To() time.Time { return s.From.Add(time.Duration(s.N) * s.Every) }

func (s Stretch) filled() (Stretch, error) {
	if s.Lot == "" {
		s.Lot = s.Run
	}
	if s.Condition == "" {
		s.Condition = InUse
	}
	if s.Every == 0 {
		s.Every = 20 * time.Second
	}
	switch s.Condition {
	case InUse, Rinse, StartUp, Air:
	default:
		return s, fmt.Errorf("stretch %q: condition %q is not one of %s, %s, %s, %s", s.Run, s.Condition, InUse, Rinse, StartUp, Air)
	}
	if s.N < 1 || s.Every < 0 {
		return s, fmt.Errorf("stretch %q: %d spectra, %v apart; want at least one, and a spacing above zero", s.Run, s.N, s.Every)
	}
	for _, u := range s.Upsets {
		if err := u.check(); err != nil {
			return s, fmt.Errorf("stretch %q: %w", s.Run, err)
		}
	}
	return s, nil
}

// The hidden state of the line: what differs between lots and wanders within a stretch. The first are components.
const (
	hSolids = nComponents + iota // all that is not water, together
	hWarm
	hPath
	hTurbid
	hExponent
	hOffset
	hSlope
	hAxis
	nHidden
)

// spread holds the standard deviation of each hidden state between lots and of its wandering within a stretch.
// The sizes are invented: lots differ two to three times as much as spectra within a run do.
var spread = [nHidden]struct {
	lot, wander float64
	scatter     bool // Settings.Scatter acts on it
}{
	oil:     {lot: 0.015, wander: 0.006}, // relative, as are the four after it
	starch:  {lot: 0.015, wander: 0.005},
	maltose: {lot: 0.015, wander: 0.005},
	protein: {lot: 0.015, wander: 0.005},
	fibre:   {lot: 0.020, wander: 0.006},

	hSolids:   {lot: 0.008, wander: 0.003},                  // relative
	hWarm:     {lot: 0.8, wander: 0.3},                      // K
	hPath:     {lot: 0.006, wander: 0.003, scatter: true},   // relative, multiplicative scatter
	hTurbid:   {lot: 0.015, wander: 0.006, scatter: true},   // relative
	hExponent: {lot: 0.020, wander: 0.008, scatter: true},   // of the wavelength
	hOffset:   {lot: 0.0020, wander: 0.0007, scatter: true}, // absorbance
	hSlope:    {lot: 0.0010, wander: 0.0004, scatter: true}, // absorbance over half the axis
	hAxis:     {lot: 0.015, wander: 0.006},                  // nm
}

// seeds gives two numbers that depend on every part, so that each lot, stretch and spectrum has randomness of its own.
func seeds(seed uint64, parts ...string) (uint64, uint64) {
	h := fnv.New64a()
	for _, p := range parts {
		h.Write([]byte(p))
		h.Write([]byte{0})
	}
	return seed, h.Sum64()
}

// hidden returns the N×nHidden hidden states of a stretch, one spectrum a row: the lot's offset plus an AR(1) series
// that starts from its stationary distribution,
//
//	xᵢ = φ xᵢ₋₁ + √(1−φ²) zᵢ
//
// so that the spread within a run does not depend on φ. The first rows do not depend on N.
func (l *Line) hidden(s Stretch) []float64 {
	lot := rand.New(rand.NewPCG(seeds(l.set.Seed, "lot", s.Lot)))
	var base [nHidden]float64
	for j := range base {
		base[j] = spread[j].lot * l.set.Lots * lot.NormFloat64()
	}
	wander := rand.New(rand.NewPCG(seeds(l.set.Seed, "wander", s.Run, s.Condition, s.From.UTC().Format(time.RFC3339Nano))))
	phi := l.set.phi(s.Every)
	fresh := math.Sqrt(1 - phi*phi)
	h := make([]float64, s.N*nHidden)
	var x [nHidden]float64
	for i := range s.N {
		for j := range x {
			z := wander.NormFloat64()
			if i == 0 {
				x[j] = z
			} else {
				x[j] = phi*x[j] + fresh*z
			}
			v := base[j] + spread[j].wander*l.set.Wander*x[j]
			if spread[j].scatter {
				v *= l.set.Scatter
			}
			h[i*nHidden+j] = v
		}
	}
	return h
}
