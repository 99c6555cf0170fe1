package pages

import (
	"math"

	"asusual/model"
	"asusual/model/condition"
	"asusual/model/spectrum"
	"asusual/report"
	"asusual/report/chart"
)

// scorePlot draws the usual cloud, its limit and the conditions in the plane of the first two scores, or along the only one.
func scorePlot(ref *model.Reference, l *report.Language) chart.ScorePlot {
	p := chart.ScorePlot{XLabel: scoreLabel(ref, l, 0), YLabel: scoreLabel(ref, l, 1)}
	for _, t := range ref.Picture.Scores {
		p.Usual = append(p.Usual, plane(t))
	}
	switch lambda := ref.PCA.Eigenvalues; len(lambda) {
	case 0:
	case 1:
		p.OneScore, p.Limit = true, &chart.Ellipse{A: math.Sqrt(lambda[0] * ref.Limits.T2)}
	default:
		p.Limit = &chart.Ellipse{A: math.Sqrt(lambda[0] * ref.Limits.T2), B: math.Sqrt(lambda[1] * ref.Limits.T2)}
	}
	for _, c := range ref.Conditions {
		p.Clusters = append(p.Clusters, cluster(ref, c))
	}
	return p
}

// conditionMap draws all conditions on the reference's map, on which they lie apart. Usual spectra lie where their scores
// put them.
func conditionMap(ref *model.Reference, l *report.Language) chart.ScorePlot {
	p := chart.ScorePlot{XLabel: l.MapLabel(1), YLabel: l.MapLabel(2), Whole: true}
	x := make([]float64, ref.PCA.P)
	for _, t := range ref.Picture.Scores {
		ref.PCA.Reconstruct(x, t)
		at := ref.Map.At(x)
		p.Usual = append(p.Usual, chart.Point{X: at[0], Y: at[1]})
	}
	for i, place := range ref.Map.Places {
		e := ellipse(chart.Point{X: place.At[0], Y: place.At[1]}, place.Cov[0], place.Cov[1], place.Cov[2], 5.991)
		if i == 0 {
			p.Limit = &e
			continue
		}
		p.Clusters = append(p.Clusters, chart.Cluster{Name: place.Name, Ellipse: e})
	}
	return p
}

// plane returns where a spectrum lies in the plane of the first two scores; one component alone is a line.
func plane(t []float64) chart.Point {
	switch len(t) {
	case 0:
		return chart.Point{}
	case 1:
		return chart.Point{X: t[0]}
	}
	return chart.Point{X: t[0], Y: t[1]}
}

// scoreLabel names a score and how much of the usual variation it carries.
func scoreLabel(ref *model.Reference, l *report.Language, i int) string {
	if i >= ref.PCA.K {
		return ""
	}
	return l.ScoreLabel(i+1, carried(ref)[i]/100)
}

// carried returns the share of the usual variation that each component carries, in per cent.
func carried(ref *model.Reference) []float64 {
	sum := ref.PCA.Theta[0]
	for _, v := range ref.PCA.Eigenvalues {
		sum += v
	}
	shares := make([]float64, len(ref.PCA.Eigenvalues))
	for i, v := range ref.PCA.Eigenvalues {
		if sum > 0 {
			shares[i] = 100 * v / sum
		}
	}
	return shares
}

// cluster projects the class of a condition into the plane of the first two scores of usual: its mean, and the covariance
// Σ λⱼ vⱼvⱼᵀ with vⱼ its components seen in that plane. The ellipse holds 95 % of a Gaussian: χ²₂ = 5.991.
func cluster(ref *model.Reference, c *condition.Class) chart.Cluster {
	t := make([]float64, ref.PCA.K)
	ref.PCA.Scores(t, c.PCA.Mean)
	at := plane(t)
	var xx, xy, yy float64
	for j, lambda := range c.PCA.Eigenvalues {
		var v [2]float64
		for i := range min(2, ref.PCA.K) {
			for ch, l := range c.PCA.Loading(j) {
				v[i] += l * ref.PCA.Loading(i)[ch]
			}
		}
		xx, xy, yy = xx+lambda*v[0]*v[0], xy+lambda*v[0]*v[1], yy+lambda*v[1]*v[1]
	}
	return chart.Cluster{Name: c.Name, Ellipse: ellipse(at, xx, xy, yy, 5.991)}
}

// ellipse returns the ellipse of a covariance: its half axes are the roots of its eigenvalues times the squared radius.
func ellipse(at chart.Point, xx, xy, yy, squared float64) chart.Ellipse {
	mean, diff := (xx+yy)/2, math.Hypot((xx-yy)/2, xy)
	return chart.Ellipse{
		X: at.X, Y: at.Y, A: math.Sqrt(squared * (mean + diff)), B: math.Sqrt(squared * max(mean-diff, 0)), Angle: math.Atan2(2*xy, xx-yy) / 2,
	}
}

// axis returns the axis of a picture.
func axis(a *spectrum.Axis) chart.Axis { return chart.Axis{At: a.Values(), Unit: a.Unit().Symbol()} }

// spectrumPlot lays the mean absorbance of a period beside usual; period is nil where there is none. The difference is
// drawn as the reference sees it, after the pretreatment, with the band in which 95 % of single usual spectra lie:
// ± 2 √(Σ λᵢ pᵢⱼ² + θ₁/p).
func spectrumPlot(ref *model.Reference, l *report.Language, name string, period []float64) (chart.SpectrumPlot, error) {
	a := ref.Axis()
	p := chart.SpectrumPlot{
		Axis: axis(a), Usual: ref.Picture.Mean, Sigma: ref.Picture.SD, Quantity: "absorbance", PeriodName: name, Regions: report.Bonds(a.Unit()),
	}
	if period == nil {
		return p, nil
	}
	x, work := make([]float64, ref.Chain.Out().Len()), make([]float64, ref.Chain.Work())
	if err := ref.Chain.Apply(x, period, work); err != nil {
		return p, err
	}
	p.Period = period
	p.DiffAxis = axis(ref.Chain.Out())
	p.DiffQuantity = l.Say("difference.after", "steps", l.Said(ref.Chain.String()))
	for j, v := range x {
		p.Difference = append(p.Difference, v-ref.PCA.Mean[j])
		variance := ref.PCA.Theta[0] / float64(ref.PCA.P)
		for i, lambda := range ref.PCA.Eigenvalues {
			l := ref.PCA.Loading(i)[j]
			variance += lambda * l * l
		}
		p.Band = append(p.Band, 2*math.Sqrt(variance))
	}
	return p, nil
}
