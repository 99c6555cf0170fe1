package condition

import (
	"time"

	"asusual/model/finding"
	"asusual/model/position"
	"asusual/model/project"
)

// A Class is the model of one named condition: its own PCA and limits, learned from spectra that somebody called so.
type Class struct {
	Name     string            `json:"name"`
	PCA      *project.PCA      `json:"pca"`
	T2       float64           `json:"t2_limit"`
	Q        float64           `json:"q_limit"`
	Gate     Gate              `json:"gate"`
	Runs     int               `json:"runs"`
	Spectra  int               `json:"spectra"`
	Longest  time.Duration     `json:"longest"` // the longest stay in it that was learned from; 0 where spectra carry no times
	Findings []finding.Finding `json:"findings,omitempty"`
}

// Distance returns the distance of the pretreated spectrum x (p values) with the given look from the class: 1 on its
// border. It writes the scores against the class to t, which has room for at least k values.
func (c *Class) Distance(x []float64, look Look, t []float64) float64 {
	t = t[:c.PCA.K]
	c.PCA.Scores(t, x)
	t2 := position.T2(t, c.PCA.Eigenvalues)
	return max(position.Distance(t2, c.T2, c.PCA.SquaredResidual(x, t), c.Q), c.Gate.distance(look))
}

// Nearest returns the class that accepts x (distance at most 1) and lies nearest to it, or nil where none does.
// t is room for the scores of the largest class.
func Nearest(classes []*Class, x []float64, look Look, t []float64) *Class {
	var nearest *Class
	best := 1.0
	for _, c := range classes {
		if d := c.Distance(x, look, t); d <= best && (nearest == nil || d < best) {
			nearest, best = c, d
		}
	}
	return nearest
}
