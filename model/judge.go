package model

import (
	"slices"

	"asusual/model/condition"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/position"
	"asusual/model/spectrum"
)

// Conditions that are nobody's name for a state of the line.
const (
	Uncharted = "uncharted" // at home in no known condition
	Unfit     = "unfit"     // cannot be judged; the reasons say why
)

// A Judgement says where one spectrum lies.
type Judgement struct {
	position.Position
	Inside    bool              // within the limits of usual
	Condition string            // usual, a named condition, Uncharted or Unfit
	Reasons   []finding.Finding // why it is outside usual, or unfit
	Scores    []float64         // k scores against usual; nil where unfit
	Features  []float64         // what the memories of limits take; nil where unfit
	Map       [2]float64        // its place on the map of conditions; zero where unfit
	Signature []float64         // where it lies from usual, for grouping; only where outside
}

// Judge places one spectrum against the reference. It is safe for concurrent use; whoever judges many spectra takes
// a Judger, which does the same without making new buffers.
func (r *Reference) Judge(s spectrum.Spectrum) Judgement {
	var d Judgement
	NewJudger(r).Judge(&d, s)
	return d
}

// A Judger judges spectra one after another with buffers of its own. It is not safe for concurrent use: take one a goroutine.
type Judger struct {
	ref    *Reference
	raw    []float64 // absorbance on the reference's axis, p
	x      []float64 // pretreated
	work   []float64
	scores []float64 // room for the largest class
	e      []float64 // room for a residual
	parts  []float64 // what stretches have left over
	grids  []grid
}

// A grid is an axis that spectra came on, and the way from there to the axis of the reference.
type grid struct {
	axis *spectrum.Axis
	to   *spectrum.Resampler
	err  error
}

// NewJudger returns a judger for the reference.
func NewJudger(r *Reference) *Judger {
	return &Judger{
		ref:    r,
		raw:    make([]float64, r.Chain.In().Len()),
		x:      make([]float64, r.Chain.Out().Len()),
		work:   make([]float64, r.Chain.Work()),
		scores: make([]float64, largest(r)),
		e:      make([]float64, r.Chain.Out().Len()),
		parts:  make([]float64, r.Stretches.Len()),
	}
}

// Absorbance returns the last spectrum judged as absorbance on the axis of the reference: valid until the next Judge.
func (j *Judger) Absorbance() []float64 { return j.raw }

// Judge places one spectrum and writes what it found to d, whose slices it fills anew and keeps using.
// The rooms are called in the order of the data: read, fit?, pretreat, project, place, border, condition.
func (j *Judger) Judge(d *Judgement, s spectrum.Spectrum) {
	*d = Judgement{Reasons: d.Reasons[:0], Scores: d.Scores[:0], Features: d.Features[:0], Signature: d.Signature[:0], Condition: Unfit}
	if why := j.read(s); why != nil {
		d.Reasons = append(d.Reasons, *why)
		return
	}
	if why := fitness.Check(j.raw); len(why) > 0 {
		d.Reasons = append(d.Reasons, why...)
		return
	}
	if err := j.ref.Chain.Apply(j.x, j.raw, j.work); err != nil {
		d.Reasons = append(d.Reasons, finding.Of(finding.NotPretreated, err.Error()))
		return
	}
	j.place(d)
	d.Map = j.ref.Map.At(j.x)
	d.Condition = j.condition(d)
	if !d.Inside {
		j.sign(d)
	}
}

// read brings the spectrum to absorbance on the axis of the reference, or says why that cannot be. On another axis it is looked at before,
// for what is made of a flat top is flat no more; channels that the reference does not reach decide nothing.
func (j *Judger) read(s spectrum.Spectrum) *finding.Finding {
	a, err := s.Absorbance()
	if err != nil {
		why := finding.Of(finding.NotAbsorbance, err.Error())
		return &why
	}
	g := j.grid(a.Axis)
	if g.err != nil {
		why := finding.Of(finding.OffAxis, g.err.Error())
		return &why
	}
	if !g.to.Identity() {
		from, to := g.to.Span()
		if why := fitness.CheckWithin(a.Values, from, to); len(why) > 0 {
			return &why[0]
		}
	}
	g.to.Apply(j.raw, a.Values)
	return nil
}

// maxGrids bounds the grids remembered: an instrument has one, rarely two.
const maxGrids = 8

func (j *Judger) grid(axis *spectrum.Axis) *grid {
	for i := range j.grids {
		if j.grids[i].axis == axis {
			return &j.grids[i]
		}
	}
	if len(j.grids) == maxGrids {
		j.grids = j.grids[:0]
	}
	to, err := spectrum.NewResampler(axis, j.ref.Chain.In())
	j.grids = append(j.grids, grid{axis, to, err})
	return &j.grids[len(j.grids)-1]
}

// place fills in the position against usual, and the reasons where the spectrum lies outside.
func (j *Judger) place(d *Judgement) {
	r := j.ref
	k := r.PCA.K
	d.Scores = slices.Grow(d.Scores, k)[:k]
	t := d.Scores
	r.PCA.Scores(t, j.x)
	d.T2 = position.T2(t, r.PCA.Eigenvalues)
	d.Q = r.PCA.SquaredResidual(j.x, t)
	d.Distance = position.Distance(d.T2, r.Limits.T2, d.Q, r.Limits.Q)
	d.Inside = d.Distance <= 1
	if d.T2 > r.Limits.T2 {
		d.Reasons = append(d.Reasons, finding.Of(finding.AboveT2, "", d.T2, r.Limits.T2))
	}
	if d.Q > r.Limits.Q {
		d.Reasons = append(d.Reasons, finding.Of(finding.AboveQ, "", d.Q, r.Limits.Q))
	}
	n := k + 1 + len(j.parts)
	d.Features = slices.Grow(d.Features, n)[:n]
	if r.Stretches != nil {
		r.Stretches.Of(j.parts, j.x, t)
	}
	r.Limits.Features(d.Features, t, d.Q, j.parts)
}

// sign fills in the signature.
func (j *Judger) sign(d *Judgement) {
	s := j.ref.Signature
	d.Signature = slices.Grow(d.Signature, s.Len())[:s.Len()]
	s.Of(d.Signature, j.ref.PCA, j.x, d.Scores, j.e)
}

// condition names the place of a spectrum: usual first, then the likeliest condition that accepts it.
func (j *Judger) condition(d *Judgement) string {
	if d.Inside {
		return Usual
	}
	if c := condition.Home(j.ref.Conditions, j.x, condition.LookOf(j.raw), j.scores); c != nil {
		return c.Name
	}
	return Uncharted
}
