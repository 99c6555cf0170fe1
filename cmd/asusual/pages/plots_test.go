package pages

import (
	"math"
	"testing"

	"asusual/report/chart"
)

// Every point of the ellipse of a covariance Σ lies at the Mahalanobis distance whose square was asked for: (x−m)ᵀΣ⁻¹(x−m) = r².
func TestEllipseLiesAtOneDistance(t *testing.T) {
	for _, c := range []struct{ xx, xy, yy float64 }{{4, 0, 1}, {1, 0, 4}, {2, 1.3, 1}, {2, -1.3, 1}, {1, 0.99, 1}, {3, 0, 3}} {
		const squared = 5.991 // χ² of two degrees of freedom at 95 %: NIST/SEMATECH e-Handbook, section 1.3.6.7.4
		e := ellipse(chart.Point{X: 10, Y: -3}, c.xx, c.xy, c.yy, squared)
		det := c.xx*c.yy - c.xy*c.xy
		for i := range 24 {
			su, cu := math.Sincos(2 * math.Pi * float64(i) / 24)
			sa, ca := math.Sincos(e.Angle)
			x, y := e.A*cu*ca-e.B*su*sa, e.A*cu*sa+e.B*su*ca
			got := (c.yy*x*x - 2*c.xy*x*y + c.xx*y*y) / det
			if !(math.Abs(got-squared) <= 1e-9) || e.X != 10 || e.Y != -3 {
				t.Errorf("ellipse(%+v) at point %d has distance² %g, want %g", c, i, got, squared)
			}
		}
	}
}

func TestEllipseOfALine(t *testing.T) {
	e := ellipse(chart.Point{}, 4, 0, 0, 1)
	if e.A != 2 || e.B != 0 || e.Angle != 0 {
		t.Errorf("ellipse of a line = %+v, want half axes 2 and 0", e)
	}
}

func TestPlane(t *testing.T) {
	for want, scores := range map[chart.Point][]float64{{}: nil, {X: 2}: {2}, {X: 2, Y: 3}: {2, 3, 4}} {
		if got := plane(scores); got != want {
			t.Errorf("plane(%v) = %v, want %v", scores, got, want)
		}
	}
}

// T² of one score is t²/λ: its limit is a line at ±√(λ·T²), and there is no second axis (learn --components 1).
func TestOneScore(t *testing.T) {
	ref := newBench(t).src.Reference
	if p := scorePlot(ref, nil); p.OneScore || p.Limit == nil || p.Limit.B == 0 {
		t.Fatalf("the score plot of %d scores has %+v, want an ellipse", ref.PCA.K, p.Limit)
	}
	ref.PCA.K, ref.PCA.Eigenvalues = 1, ref.PCA.Eigenvalues[:1]
	for i, s := range ref.Picture.Scores {
		ref.Picture.Scores[i] = s[:1]
	}
	p := scorePlot(ref, nil)
	if p.YLabel != "" || !p.OneScore || p.Limit == nil {
		t.Fatalf("the score plot of one score has the label %q along y, and the limit %v, want none and one", p.YLabel, p.Limit)
	}
	if t2 := p.Limit.A * p.Limit.A / ref.PCA.Eigenvalues[0]; !(math.Abs(t2-ref.Limits.T2) <= 1e-9*ref.Limits.T2) {
		t.Errorf("at the limit T² is %g, want %g", t2, ref.Limits.T2)
	}
	if _, err := p.Draw(); err != nil {
		t.Errorf("Draw() = %v, want a picture", err)
	}
	if u := Usual(ref); !u.OneScore || u.Limit == nil {
		t.Errorf("the live page has one score: %t, its limit %v; want both", u.OneScore, u.Limit)
	}
}
