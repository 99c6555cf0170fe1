package oatline

import (
	"fmt"
	"math"
	"time"

	"asusual/model/spectrum"
)

// Settings are those of a line. The zero value is the usual line with seed 0.
//
// Lots, Wander, Scatter and Noise are factors on the usual size of each: 0 stands for 1, and a value below zero
// for none at all.
type Settings struct {
	Seed     uint64
	Channels int           // p, from 64 to 1,024; 0: 256
	PathMM   float64       // the transmission path; 0: 1 mm
	Memory   time.Duration // time constant of the wandering within a run; 0: 5 min; below zero: spectra do not remember (φ = 0)
	Lots     float64       // differences between runs
	Wander   float64       // wandering within a run
	Scatter  float64       // turbidity, and multiplicative and additive scatter with their variations
	Noise    float64       // detector noise
}

func factor(v float64) float64 {
	switch {
	case v == 0:
		return 1
	case v < 0:
		return 0
	}
	return v
}

func (s Settings) filled() (Settings, error) {
	if s.Channels == 0 {
		s.Channels = 256
	}
	if s.PathMM == 0 {
		s.PathMM = 1
	}
	if s.Memory == 0 {
		s.Memory = 5 * time.Minute
	}
	for _, v := range []*float64{&s.Lots, &s.Wander, &s.Scatter, &s.Noise} {
		if *v = factor(*v); math.IsNaN(*v) || math.IsInf(*v, 0) {
			return s, fmt.Errorf("a setting of the oat-drink line is %v, want a finite factor", *v)
		}
	}
	if s.Channels < 64 || s.Channels > 1024 {
		return s, fmt.Errorf("the oat-drink line has %d channels, want 64 to 1,024", s.Channels)
	}
	if !(s.PathMM >= 0.1 && s.PathMM <= 5) {
		return s, fmt.Errorf("the oat-drink line has a path of %g mm, want 0.1 to 5 mm", s.PathMM)
	}
	return s, nil
}

// phi returns the AR(1) coefficient of spectra that are every apart: φ = exp(−every/Memory).
func (s Settings) phi(every time.Duration) float64 {
	if s.Memory < 0 {
		return 0
	}
	return math.Exp(-every.Seconds() / s.Memory.Seconds())
}

// MemoryFor returns the Settings.Memory with which spectra that are every apart follow each other with the AR(1)
// coefficient phi, 0 ≤ phi < 1.
func MemoryFor(phi float64, every time.Duration) time.Duration {
	if phi <= 0 {
		return -1
	}
	return time.Duration(-float64(every) / math.Log(phi))
}

// A Line is the invented line with its instrument. It does not change after New and is safe for concurrent use.
type Line struct {
	set      Settings
	axis     *spectrum.Axis
	grid     []float64 // componentGrid
	turbid   []float64 // gridLen: (λ/1,200)^−n at the usual exponent n
	logRatio []float64 // gridLen: ln(λ/1,200)
	response []float64 // p: the light that an empty beam gives at each channel, 1 at the best one
}

// Note: a regular axis. Real arrays are bent by a nanometre or so; an axis in the files would say so, and nothing
// would change for what reads it.

const (
	axisFrom = 900.0
	axisTo   = 1700.0

	turbidExponent = 1.1    // between coarse and fine droplets
	turbidAt       = 1200.0 // nm, where the turbidity is stated
)

// New returns the line of the given settings, or an error that says which setting is out of its range.
func New(s Settings) (*Line, error) {
	s, err := s.filled()
	if err != nil {
		return nil, err
	}
	l := &Line{
		set: s, grid: componentGrid(),
		turbid: make([]float64, gridLen), logRatio: make([]float64, gridLen), response: make([]float64, s.Channels),
	}
	for i := range gridLen {
		r := (gridFrom + float64(i)) / turbidAt
		l.logRatio[i] = math.Log(r)
		l.turbid[i] = math.Pow(r, -turbidExponent)
	}
	at := make([]float64, s.Channels)
	for i := range at {
		nm := axisFrom + (axisTo-axisFrom)*float64(i)/float64(s.Channels-1)
		at[i] = math.Round(nm*1000) / 1000 // so that a file holds the axis exactly
		l.response[i] = response(at[i])
	}
	l.axis, err = spectrum.NewAxis(spectrum.Nanometre, at)
	return l, err
}

// Axis returns the axis that all spectra of the line share.
func (l *Line) Axis() *spectrum.Axis { return l.axis }

// response is the light of lamp, grating and InGaAs detector together: flat in the middle, falling to about a seventh at
// 900 nm and a fifth at 1,700 nm, where the detector ends. The shape is invented.
func response(nm float64) float64 {
	low := 1 / (1 + math.Exp(-(nm-965)/36))
	high := 1 / (1 + math.Exp((nm-1680)/14))
	return low * high
}
