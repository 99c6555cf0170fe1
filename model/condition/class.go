package condition

import (
	"fmt"
	"math"
	"time"

	"asusual/model/finding"
	"asusual/model/position"
	"asusual/model/project"
)

// A Class is the model of one named condition: its own PCA and limits, learned from spectra that somebody called so. It
// does not change after Fit, is safe for concurrent use and marshals to JSON completely.
type Class struct {
	Name     string            `json:"name"`
	PCA      *project.PCA      `json:"pca"`      // of its pretreated spectra
	T2       float64           `json:"t2_limit"` // no unit
	Q        float64           `json:"q_limit"`  // squared unit of the pretreated spectra
	Gate     Gate              `json:"gate"`
	Spread   float64           `json:"spread"`          // s: by how much held-out scores vary more than the eigenvalues say, a factor on the variance
	Noise    float64           `json:"noise"`           // σ²: variance of a held-out spectrum in each direction that is no component
	Runs     int               `json:"runs"`            // that it was learned from
	Spectra  int               `json:"spectra"`         // that it was learned from
	Group    string            `json:"group,omitempty"` // the uncharted group that it was named from, if it was
	Longest  time.Duration     `json:"longest"`         // the longest stay in it that was learned from; 0 where spectra carry no times
	Findings []finding.Finding `json:"findings,omitempty"`
}

// A Match says how a spectrum and a condition go together.
type Match struct {
	Distance   float64 // 1 on the border
	Likelihood float64 // its logarithm; says something only beside that of another condition
}

// Match places a spectrum against the class. Its distance is 1 on the border:
//
//	d = max(√(T²/T² limit), √(Q/Q limit), gate)
//
// and the logarithm of its likelihood, but for a constant, is that of probabilistic PCA (Tipping, Bishop, Probabilistic
// principal component analysis, Journal of the Royal Statistical Society B 61, 1999, 611–622, section 3), with the
// spreads that held-out spectra show in place of those of the training:
//
//	ln L = −½ (T²/s + Σ ln(s λᵢ) + Q/σ² + (p−k) ln σ²)
//
// x is the spectrum pretreated as the reference does, p values; look is that of the spectrum before. The scores against
// the class are left in t, which has room for at least k values. It does not allocate.
func (c *Class) Match(x []float64, look Look, t []float64) Match {
	t = t[:c.PCA.K]
	c.PCA.Scores(t, x)
	return c.match(position.T2(t, c.PCA.Eigenvalues), c.PCA.SquaredResidual(x, t), look)
}

func (c *Class) match(t2, q float64, look Look) Match {
	twice := t2/c.Spread + q/c.Noise + float64(c.PCA.P-c.PCA.K)*math.Log(c.Noise)
	for _, l := range c.PCA.Eigenvalues {
		twice += math.Log(c.Spread * l)
	}
	return Match{
		Distance:   max(position.Distance(t2, c.T2, q, c.Q), c.Gate.distance(look)),
		Likelihood: -twice / 2,
	}
}

// Validate reports whether a class that was read from a file can be used on spectra of p channels.
func (c *Class) Validate(p int) error {
	if c == nil || c.PCA == nil || c.Name == "" {
		return fmt.Errorf("a condition is empty")
	}
	if c.PCA.P != p {
		return fmt.Errorf("condition %s: a model of %d channels, the reference has %d", c.Name, c.PCA.P, p)
	}
	for _, l := range []struct {
		what  string
		value float64
	}{{"limit of T²", c.T2}, {"limit of Q", c.Q}, {"spread", c.Spread}, {"noise", c.Noise}} {
		if !(l.value > 0) || math.IsInf(l.value, 0) {
			return fmt.Errorf("condition %s: the %s is %g, expected it above zero", c.Name, l.what, l.value)
		}
	}
	if err := c.Gate.validate(); err != nil {
		return fmt.Errorf("condition %s: %w", c.Name, err)
	}
	return nil
}

// Home returns the class that a spectrum goes to: of those that accept it (distance at most 1) the one under which it is
// likeliest, the first where several tie, or nil where none does. x and look are as in Match; t is room for the scores of
// the largest class.
//
// Note: the nearest class, each in the measure of its own limits, was tried first. A class that is wide because it
// holds a way from one place to another then takes the spectra of the narrow ones along that way: on the invented line nine
// rinses in ten were called a start-up.
func Home(classes []*Class, x []float64, look Look, t []float64) *Class {
	var home *Class
	best := math.Inf(-1)
	for _, c := range classes {
		if m := c.Match(x, look, t); m.Distance <= 1 && m.Likelihood > best {
			home, best = c, m.Likelihood
		}
	}
	return home
}
