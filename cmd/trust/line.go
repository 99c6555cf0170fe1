package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

// A line is one simulated production line: k scores that follow a first-order autoregression around an offset of the
// run, and a residual of white noise.
type line struct {
	Phi      float64 // correlation of neighbouring spectra
	Between  float64 // standard deviation of the run's offset, in standard deviations within a run
	Runs     int     // good runs to learn from
	Channels int
	Whole    bool // whole spectra are made, and go through PCA
	Length   int  // spectra of a run
}

const (
	components = 5
	every      = 30 * time.Second
	// loudness is how much the noise of runs differs, a share for each unit of Between.
	loudness = 0.02
)

func (l line) String() string {
	s := fmt.Sprintf("φ %g, runs differ %g, %d runs, %d channels", l.Phi, l.Between, l.Runs, l.Channels)
	if l.Whole {
		s += ", whole"
	}
	return s
}

// all returns the lines of the full study.
func all() []line {
	var out []line
	for _, phi := range []float64{0, 0.5, 0.8, 0.95} {
		for _, between := range []float64{0.3, 2} {
			for _, runs := range []int{8, 20} {
				out = append(out, line{phi, between, runs, 256, false, 960})
			}
		}
	}
	for _, between := range []float64{0.3, 2} {
		for _, runs := range []int{6, 12, 40} {
			out = append(out, line{0.8, between, runs, 256, false, 960})
		}
	}
	for _, channels := range []int{64, 256, 1024} {
		for _, between := range []float64{0.3, 2} {
			out = append(out, line{0.5, between, 10, channels, true, 480})
		}
	}
	return append(out, line{0.9, 1, 24, 128, true, 480})
}

// few returns the lines of a short study.
func few() []line {
	return []line{{0.5, 1, 8, 256, false, 240}, {0.5, 1, 8, 64, true, 120}}
}

// hours returns how long a run takes.
func (l line) hours() float64 { return float64(l.Length) * every.Hours() }

// eigenvalue returns the variance within a run of component i, in a row that falls as those of spectra do. The noise of
// one channel has variance 1.
func eigenvalue(i int) float64 { return 4000 * math.Pow(0.5, float64(i)) }

// loading returns component i at channel c of p: cosines, which are orthogonal on any grid.
func loading(i, c, p int) float64 {
	return math.Sqrt(2/float64(p)) * math.Cos(math.Pi*float64(i+1)*(float64(c)+0.5)/float64(p))
}

// band returns the shape of a new absorber at channel c of p, before it is made orthogonal to the components.
func band(c, p int) float64 {
	z := (float64(c) - 0.37*float64(p)) / (0.02 * float64(p))
	return math.Exp(-z * z / 2)
}

// A change is what goes wrong, from spectrum at of a run on.
type change struct {
	kind string
	// step: in standard deviations within a run; drift: the same, an hour; absorber: its length over all channels in
	// standard deviations of one channel's noise; noise: relative increase
	size float64
}

// changes are those studied.
var changes = [...]change{
	{"step", 0.5}, {"step", 1}, {"step", 2}, {"step", 4},
	{"drift", 0.5}, {"drift", 1},
	{"absorber", 4}, {"absorber", 8},
	{"noise", 0.05}, {"noise", 0.1},
}

// at returns what the change does, i spectra after it began: a move along the scores, an absorber, more noise.
func (c change) at(i int) (move, bump, noise float64) {
	if i < 0 {
		return 0, 0, 0
	}
	switch c.kind {
	case "step":
		move = c.size
	case "drift":
		move = c.size * float64(i) * every.Hours()
	case "absorber":
		bump = c.size
	case "noise":
		noise = c.size
	}
	return move, bump, noise
}

// A production is one run's spectra.
type production struct {
	x []float64 // n×k scores, or n×p channels of a whole line
	q []float64 // the residual's squared length; nil on a whole line
	// parts are n×m: what stretches of the axis have left over; nil on a whole line
	parts []float64
	// What a detector that knows the change looks at, each with variance 1 within a run: the score along its direction,
	// the residual along its shape, the residual's squared length.
	along, shape, size []float64
}

// make simulates one run in which c happens at spectrum from. The direction of a change of scores is random.
func (l maker) make(rng *rand.Rand, c change, from int) production {
	n := l.Length
	r := production{along: make([]float64, n), shape: make([]float64, n), size: make([]float64, n)}
	var u, offset, w [components]float64
	norm := 0.0
	for i := range u {
		u[i] = rng.NormFloat64()
		norm += u[i] * u[i]
		offset[i] = l.Between * rng.NormFloat64()
		w[i] = rng.NormFloat64()
	}
	loud := math.Exp(loudness * l.Between * rng.NormFloat64())
	step := math.Sqrt(1 - l.Phi*l.Phi)
	for j := range n {
		move, bump, noise := c.at(j - from)
		var t [components]float64
		for i := range u {
			if j > 0 {
				w[i] = l.Phi*w[i] + step*rng.NormFloat64()
			}
			d := u[i] / math.Sqrt(norm)
			v := offset[i] + w[i] + move*d
			r.along[j] += d * v
			t[i] = v * math.Sqrt(eigenvalue(i))
		}
		sd := loud * (1 + noise)
		var q float64
		if l.Whole {
			q, r.shape[j] = l.append(&r.x, t, rng, sd, bump)
		} else {
			q, r.shape[j] = l.residual(&r.parts, rng, sd, bump)
			r.x, r.q = append(r.x, t[:]...), append(r.q, q)
		}
		free := float64(l.Channels - components)
		r.size[j] = (q - free) / math.Sqrt(2*free)
	}
	return r
}
