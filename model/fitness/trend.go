package fitness

import (
	"math"
	"math/bits"
	"slices"

	"asusual/model/finding"
	"asusual/model/spectrum"
)

// A State says whether the instrument can be believed.
type State string

// The states of the instrument.
const (
	Fit    State = "fit"
	Ageing State = "ageing" // it departs from how it was when the reference was learned; what it shows can still be judged
	Bad    State = "unfit"  // what it shows cannot be told from a fault of its own
)

// A Trend follows the instrument through spectra of production, usual or changed, without any check of its own. It
// remembers about the last twenty. Its zero value is the start of a watch; its fields are the whole state.
type Trend struct {
	Mean    []float64 `json:"mean,omitempty"` // of late, p absorbances
	Squares Rough     `json:"squares"`        // mean square roughness of late
	Quick   Rough     `json:"quick"`          // the same of the last few
	N       int       `json:"n"`
	Wild    uint32    `json:"wild,omitempty"`   // which of the last recent were rougher than one may count: a bit each, the newest lowest
	Far     uint32    `json:"far,omitempty"`    // likewise, which lay far from the mean of late
	Before  []float64 `json:"before,omitempty"` // the mean before the last of these, while they may be strays

	Channels Channels `json:"channels,omitzero"`
}

const (
	recent  = 20 // spectra that a trend remembers
	settled = 5  // spectra before anything is said

	// Common practice, no source: half as much noise again is worth a look, four times as much makes small changes
	// invisible.
	ageingNoise = 1.5
	unfitNoise  = 4

	// oneMost is how many times as rough as usual, in squares, one spectrum may count, however rough it is: a bubble or a moment without
	// light is no fault of the instrument. Chosen so that a single one among the last twenty does not make the instrument ageing, and that
	// most of them have to be so rough to make it unfit. From there on the noise is said to be at least as large as it then seems.
	oneMost = 1.5 * unfitNoise * unfitNoise

	// unfitWild of the last recent that are rougher than one may count are no strays: a fibre or a lamp that comes and goes. Our own choice,
	// so many that bubbles in three or four pass, so few that every third or fourth spectrum is told.
	unfitWild = 5

	// farOff is how far from the mean of late a stray lies, in squares, as a multiple of what varies as usual; mostStrays is how many of them
	// in a row may be strays, as many as make no verdict. Our own choice: far beyond what good spectra do, and what a mean of twenty forgets.
	farOff     = 25
	mostStrays = 3

	// smoothest is the least usual roughness, absorbance: far below any instrument's, so that it divides drawn spectra only.
	smoothest = 1e-12

	// onlyNoise is how many times as far as noise takes it, in squares, a mean may depart that is nothing but noise. Our own choice.
	onlyNoise = 3

	// How far the size of an effect may wander, in its usual standard deviations over single spectra. Chosen so that
	// new lots of a simulated line do not pass it.
	ageingSize = 6
)

// Add takes the absorbance of the next spectrum of production into the trend.
func (d *Doctor) Add(t *Trend, raw []float64) {
	if len(t.Mean) != len(raw) {
		*t = Trend{Mean: make([]float64, len(raw))}
	}
	t.N++
	d.passOver(t, raw)
	w := 1 / float64(min(t.N, recent))
	for j, v := range raw {
		t.Mean[j] += w * (v - t.Mean[j])
	}
	is := roughness(d.s.without(raw, t.Channels.follow(d.s, raw)))
	r := d.bounded(is)
	t.Wild = t.Wild << 1 & (1<<recent - 1)
	if r != is {
		t.Wild++
	}
	t.Squares.Middle += w * (r.Middle - t.Squares.Middle)
	t.Squares.Edge += w * (r.Edge - t.Squares.Edge)
	quick := 1 / float64(min(t.N, settled))
	t.Quick.Middle += quick * (r.Middle - t.Quick.Middle)
	t.Quick.Edge += quick * (r.Edge - t.Quick.Edge)
}

// passOver finds out whether the next spectrum lies far from those of late. A few that do and are over were strays, such as a bubble: the
// mean is again what it was before them, or it would depart for a hundred spectra as light does, and hide a change. While they last they
// count, as a change does; and so do those that come again and again. Of the first few of a trend none is passed over: there is no mean yet
// that it could lie far from, and one among them departs for a hundred spectra.
func (d *Doctor) passOver(t *Trend, raw []float64) {
	if t.N <= settled {
		return
	}
	from := t.Mean
	if len(t.Before) == len(raw) {
		from = t.Before
	} else {
		t.Before = nil
	}
	for j, v := range raw {
		d.d[j] = v - from[j]
	}
	row := bits.TrailingZeros32(^t.Far)
	far := d.s.beyond(d.d, farOff*float64(len(raw)+len(d.s.b.Variance)))
	switch {
	case far && row == 0:
		t.Before = slices.Clone(t.Mean)
	case far && row == mostStrays:
		t.Before = nil
	case !far && t.Before != nil:
		if bits.OnesCount32(t.Far) < unfitWild {
			t.Mean = t.Before
		}
		t.Before = nil
	}
	t.Far = t.Far << 1 & (1<<recent - 1)
	if far {
		t.Far++
	}
}

// bounded returns a mean square roughness that counts as oneMost times the usual where it is more.
func (d *Doctor) bounded(r Rough) Rough {
	b := d.s.b.Rough
	middle, edge := max(b.Middle, smoothest), max(b.Edge, smoothest)
	return Rough{min(r.Middle, oneMost*middle*middle), min(r.Edge, oneMost*edge*edge)}
}

// A Doctor looks at trends against one baseline.
type Doctor struct {
	s    *solver
	axis *spectrum.Axis
	d    []float64
}

// NewDoctor returns a doctor for the baseline on its axis.
func NewDoctor(b *Baseline, axis *spectrum.Axis) *Doctor {
	return &Doctor{newSolver(b, axis), axis, make([]float64, axis.Len())}
}

// An Opinion is what a doctor says of an instrument.
type Opinion struct {
	State     State             `json:"state"`
	Reasons   []finding.Finding `json:"reasons,omitempty"` // why it is not fit
	Hint      []finding.Finding `json:"hint,omitempty"`    // what else a change moves like
	Diagnosis Diagnosis         `json:"diagnosis"`         // of the departure of late
	Noise     Rough             `json:"noise"`             // of late, as a multiple of the usual; at least so much where some are rougher than one may count
}

// Look says how the instrument stands. changed tells that the spectra of late depart from usual so far that the
// verdict would be that the process has changed: if they do so as a moved axis or changed light would, the instrument
// is unfit. A changed path is a hint and no reason: the process does that as well.
func (d *Doctor) Look(t *Trend, changed bool) Opinion {
	out := Opinion{State: Fit}
	if t.N < settled {
		return out
	}
	b := d.s.b
	for j, v := range t.Mean {
		d.d[j] = v - b.Mean[j]
	}
	if n := t.Channels.same() + 1; n >= frozen {
		out.worse(Bad)
		out.Reasons = append(out.Reasons, finding.Of(finding.Repeating, "", float64(n)))
	}
	out.Diagnosis = d.s.diagnose(d.d)
	d.channels(&out, t, changed)
	d.noise(&out, t, changed)
	d.effects(&out, changed)
	return out
}

// noise says where spectra are noisier than usual. Where the verdict hangs on it the last few spectra count as well: those of the trend
// tell of much more noise only when most of them have it. A change that is nothing but noise is the instrument's: then the mean of late
// departs no further than that noise takes it. Where many are wild, a mean of what each may count says too little.
func (d *Doctor) noise(out *Opinion, t *Trend, changed bool) {
	of := t.Squares
	if changed {
		of = Rough{max(of.Middle, t.Quick.Middle), max(of.Edge, t.Quick.Edge)}
	}
	b := d.s.b.Rough
	out.Noise = Rough{Middle: math.Sqrt(of.Middle) / max(b.Middle, smoothest), Edge: math.Sqrt(of.Edge) / max(b.Edge, smoothest)}
	noise := max(out.Noise.Middle, out.Noise.Edge)
	if !(noise > ageingNoise) || math.IsInf(noise, 0) {
		return
	}
	out.worse(Ageing)
	kind, far := finding.Noisier, noise > unfitNoise || bits.OnesCount32(t.Wild) >= unfitWild
	if far {
		kind = finding.FarNoisier
	}
	if far || changed && d.s.length(d.d) < onlyNoise*d.s.expected(out.Noise) {
		out.worse(Bad)
	}
	out.Reasons = append(out.Reasons, finding.Of(kind, "", out.Noise.Middle, out.Noise.Edge))
}

func (d *Doctor) effects(out *Opinion, changed bool) {
	dg := out.Diagnosis
	if !dg.Like() {
		return
	}
	if dg.Best == PathChanged {
		if changed {
			out.Hint = append(out.Hint, finding.Of(finding.LikePath, "", 100*dg.Sizes[Scale], 100*dg.Shares[PathChanged]))
		}
		return
	}
	big := false
	for _, e := range causes[dg.Best].effects {
		big = big || math.Abs(dg.Sizes[e]) > ageingSize*d.s.b.Spread[e]
	}
	switch {
	case changed:
		out.worse(Bad)
	case big:
		out.worse(Ageing)
	default:
		return
	}
	out.Reasons = append(out.Reasons, d.words(dg))
}

// words says which fault the departure moves as, by what is largest of it.
func (d *Doctor) words(dg Diagnosis) finding.Finding {
	size := func(e Effect) float64 { return rounded(dg.Sizes[e]) }
	share := 100 * dg.Shares[dg.Best]
	if dg.Best == AxisMoved {
		shift, ends := math.Abs(dg.Sizes[Shift]), math.Abs(dg.Sizes[Stretch])/2
		switch {
		case ends < shift/2:
			return finding.Of(finding.LikeAxis, d.axis.Unit().Symbol(), size(Shift), size(Stretch), share)
		case shift < ends/2:
			return finding.Of(finding.LikeStretch, d.axis.Unit().Symbol(), size(Shift), size(Stretch), share)
		}
		return finding.Of(finding.LikeShiftAndStretch, d.axis.Unit().Symbol(), size(Shift), size(Stretch), share)
	}
	whole, slope, curve := math.Abs(dg.Sizes[Offset]+dg.Sizes[Curve]/3), math.Abs(dg.Sizes[Slope])/2, math.Abs(dg.Sizes[Curve])/2
	kind := finding.LikeLight
	switch {
	case slope > whole && slope >= curve:
		kind = finding.LikeSlope
	case curve > whole:
		kind = finding.LikeCurve
	}
	return finding.Of(kind, "", size(Offset), size(Slope), share, size(Curve))
}

// rounded returns a size with two digits: more are not known of it.
func rounded(v float64) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	unit := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-1)
	return math.Round(v/unit) * unit
}

func (o *Opinion) worse(s State) {
	if o.State != Bad {
		o.State = s
	}
}
