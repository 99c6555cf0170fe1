package condition

import (
	"math"

	"asusual/model/finding"
)

// A Confusion says where spectra of each condition go when they are judged, counted on spectra held out. Usual is
// condition 0, the others follow in the order of the names.
type Confusion struct {
	Names    []string `json:"names,omitempty"`    // m, usual first
	Went     [][]int  `json:"went,omitempty"`     // m×(m+1): Went[i][j] spectra of condition i were called j; the last column is uncharted
	Accepted [][]int  `json:"accepted,omitempty"` // m×m: Accepted[i][j] spectra of condition i lie within the limits of j, whatever they were called
}

// NewConfusion returns an empty table of the conditions of those names, usual first.
func NewConfusion(names []string) *Confusion {
	c := &Confusion{Names: names, Went: make([][]int, len(names)), Accepted: make([][]int, len(names))}
	for i := range names {
		c.Went[i], c.Accepted[i] = make([]int, len(names)+1), make([]int, len(names))
	}
	return c
}

// Count enters a spectrum of condition i with its matches, one a condition in the order of the names. It goes where a
// judgement sends it: to usual if that accepts it, else to the condition that accepts it under which it is likeliest,
// else it is uncharted. The likelihood under usual is not looked at.
func (c *Confusion) Count(i int, matches []Match) {
	uncharted := len(c.Names)
	went := uncharted
	for j, m := range matches {
		if !(m.Distance <= 1) {
			continue
		}
		c.Accepted[i][j]++
		if went == uncharted || went != 0 && m.Likelihood > matches[went].Likelihood {
			went = j
		}
	}
	c.Went[i][went]++
}

// Overlap is the share of one condition's spectra that may lie within another before it is said: five times what lies
// outside a condition by design, so that it is not said of mere strays.
const Overlap = 5 * alpha

// Findings names each pair of conditions that lie over each other, with the percentage of the first one's spectra that
// lie within the second. A pair may stand in both orders: a narrow condition can lie wholly within a wide one.
func (c *Confusion) Findings() []finding.Finding {
	var out []finding.Finding
	for i, name := range c.Names {
		total := 0
		for _, n := range c.Went[i] {
			total += n
		}
		for j, other := range c.Names {
			if share := float64(c.Accepted[i][j]) / float64(max(total, 1)); i != j && share > Overlap {
				out = append(out, finding.Of(finding.Overlap, name+" and "+other, math.Round(100*share)))
			}
		}
	}
	return out
}
