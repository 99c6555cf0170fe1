package fitness

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"asusual/model/finding"
)

// A detector's single channel that is stuck, spikes or is off shows as what no sample does: it stands out alone, while the channels
// beside it stay on their line. How far a channel lies from that line is
//
//	eⱼ = xⱼ − (w·xⱼ₋₁ + (1−w)·xⱼ₊₁)
//
// with the weights of a straight line between the neighbours. A band of a sample, however narrow, is wider than one channel, so that
// the channels two and three away leave theirs as well. The outermost channels have no such neighbours: noise at the edges tells of them.
const (
	border  = 3  // channels at each end that are not looked at
	standsZ = 8  // of the usual standard deviations that a channel which stands out lies from its line: chance never takes it there
	alone   = 4  // times less, at most, that the channels two and three away lie from theirs
	again   = 30 // spectra in a row with one value that make a channel stuck wherever it stands; an absorbance written with few digits has some
	// often is the share of the latest spectra in which a channel has to stand out: three in a row, or one in eight.
	often = 0.125
	// fewChannels: more that stand out alone are no matter of single channels. Our own choice, as standsZ, alone and again.
	fewChannels = 8
	// frozen spectra in a row that are the same in every channel are one, given again and again: noise moves some channel of every
	// instrument, even where it moves by less than the last digit written. Our own choice, far above what few digits let repeat.
	frozen = 100
)

// same returns how many spectra in a row were the same as the one before.
func (c *Channels) same() int {
	if len(c.Held) == 0 {
		return 0
	}
	return slices.Min(c.Held)
}

// A Channels is what the latest spectra tell of single channels. Its zero value is the start.
type Channels struct {
	Last []float64 `json:"last,omitempty"` // p values of the last spectrum
	Held []int     `json:"held,omitempty"` // how many spectra in a row each channel has kept its value
	Out  []float64 `json:"out,omitempty"`  // the share of the latest spectra in which it stood out alone
}

// follow takes the next spectrum and returns which of its channels stand out alone.
func (c *Channels) follow(s *solver, raw []float64) (out []int) {
	p := len(raw)
	if len(c.Last) != p || len(c.Held) != p || len(c.Out) != p {
		*c = Channels{Last: make([]float64, p), Held: make([]int, p), Out: make([]float64, p)}
		for j := range c.Last {
			c.Last[j] = math.Inf(1)
		}
	}
	const w = 1.0 / recent
	z := s.beside(raw)
	for j, v := range raw {
		if c.Held[j]++; v != c.Last[j] {
			c.Held[j] = 0
		}
		c.Last[j] = v
		if c.Out[j] *= 1 - w; c.Out[j] < 1e-3 {
			c.Out[j] = 0 // which is shorter to keep
		}
		if j >= border && j < p-border && z[j] > standsZ && lonely(z, j) {
			c.Out[j] += w
			out = append(out, j)
		}
	}
	return out
}

// lonely reports whether a channel stands out and its neighbours but one do not.
func lonely(z []float64, j int) bool {
	least := z[j] / alone
	return z[j] >= z[j-1] && z[j] >= z[j+1] && z[j-2] < least && z[j-3] < least && z[j+2] < least && z[j+3] < least
}

// beside returns how far each channel lies from the line between its neighbours, as it does not usually, in standard deviations.
// The slice is used again.
func (s *solver) beside(raw []float64) []float64 {
	for j := 1; j+1 < len(raw); j++ {
		e := raw[j] - s.left[j]*raw[j-1] - (1-s.left[j])*raw[j+1]
		s.z[j] = math.Abs(e-s.usually[j]) / s.apart[j]
	}
	return s.z
}

// neighbours learns how far each channel lies from the line between its neighbours in usual spectra: the mean, and the standard
// deviation that usual directions and noise give.
func (s *solver) neighbours(at func(int) float64) {
	b, p := s.b, len(s.b.Mean)
	s.left, s.usually, s.apart, s.z, s.room = make([]float64, p), make([]float64, p), make([]float64, p), make([]float64, p), make([]float64, p)
	for j := 1; j+1 < p; j++ {
		w := (at(j+1) - at(j)) / (at(j+1) - at(j-1))
		off := func(x []float64) float64 { return x[j] - w*x[j-1] - (1-w)*x[j+1] }
		variance := b.Noise[j] + w*w*b.Noise[j-1] + (1-w)*(1-w)*b.Noise[j+1]
		for a, v := range b.Variance {
			u := off(b.Usual[a*p : (a+1)*p])
			variance += v * u * u
		}
		s.left[j], s.usually[j], s.apart[j] = w, off(b.Mean), math.Sqrt(variance)
	}
}

// bad returns the channels that stand out alone again and again, or that are stuck; none where there are too many for that.
func (c *Channels) bad(s *solver) (out, stuck []int) {
	moves := 0
	for _, held := range c.Held {
		if held < 2 {
			moves++
		}
	}
	most := 10*moves >= 9*len(c.Held) // elsewhere values are written with few digits, or nothing moves
	for j, share := range c.Out {
		switch held := c.Held[j]; {
		case most && (held >= again && s.moved(j) || held >= settled-1 && share > often):
			stuck = append(stuck, j)
		case share > often:
			out = append(out, j)
		}
	}
	if len(out) > fewChannels {
		out = nil
	}
	if len(stuck) > fewChannels {
		stuck = nil
	}
	return out, stuck
}

// moved reports whether a channel moved in usual production as those beside it did: one that was stuck then is known.
func (s *solver) moved(j int) bool {
	p, sum, own := len(s.b.Mean), 0.0, 0.0
	for k := max(j-border, 0); k <= min(j+border, p-1); k++ {
		v := s.b.Noise[k]
		for a, l := range s.b.Variance {
			v += l * s.b.Usual[a*p+k] * s.b.Usual[a*p+k]
		}
		if sum += v; k == j {
			own = v
		}
	}
	return own > 0.05*sum/(2*border+1)
}

// without returns the spectrum with the given channels put where usual ones lie beside their neighbours: how rough it is without them.
// It is used again.
func (s *solver) without(raw []float64, channels []int) []float64 {
	if len(channels) == 0 || len(channels) > fewChannels {
		return raw
	}
	copy(s.room, raw)
	for _, j := range channels {
		s.room[j] = s.left[j]*raw[j-1] + (1-s.left[j])*raw[j+1] + s.usually[j]
	}
	return s.room
}

// channels looks at single channels. Where a departure is theirs, the instrument cannot tell that the process has changed.
func (d *Doctor) channels(out *Opinion, t *Trend, changed bool) {
	off, stuck := t.Channels.bad(d.s)
	all := slices.Concat(off, stuck)
	if len(all) == 0 {
		return
	}
	out.worse(Ageing)
	if changed && d.s.explained(d.d, all) >= likeness {
		out.worse(Bad)
	}
	unit := d.axis.Unit().Symbol()
	if len(stuck) > 0 {
		out.Reasons = append(out.Reasons, finding.Of(finding.StuckHere, unit, float64(len(stuck)), d.axis.At(stuck[0])))
	}
	if len(off) > 0 {
		out.Reasons = append(out.Reasons, finding.Of(finding.OutHere, unit, float64(len(off)), d.axis.At(off[0]), math.Round(100*t.Channels.Out[off[0]])))
	}
}

// explained is the share of a departure that the given channels alone make, each by itself.
func (s *solver) explained(d []float64, channels []int) float64 {
	n := len(channels)
	gram, along := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	weighed := s.weigh(d)
	for i, j := range channels {
		along.SetVec(i, weighed[j])
		unit := make([]float64, len(d))
		unit[j] = 1
		one := s.weigh(unit)
		for k := i; k < n; k++ {
			gram.SetSym(i, k, one[channels[k]])
		}
	}
	var chol mat.Cholesky
	v := mat.NewVecDense(n, nil)
	if !chol.Factorize(gram) || chol.SolveVecTo(v, along) != nil {
		return 0
	}
	return min(ratio(mat.Dot(along, v), dot(d, weighed)), 1)
}
