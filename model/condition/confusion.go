package condition

import "asusual/model/finding"

// A Confusion says where spectra of each condition go when they are judged, counted on spectra held out.
type Confusion struct {
	Names    []string `json:"names,omitempty"`    // usual first, then the conditions
	Went     [][]int  `json:"went,omitempty"`     // Went[i][j] spectra of condition i were called j; the last column is uncharted
	Accepted [][]int  `json:"accepted,omitempty"` // Accepted[i][j] spectra of condition i lie within the limits of j, whatever they were called
}

// NewConfusion returns an empty table of the conditions of those names, usual first.
func NewConfusion(names []string) *Confusion {
	c := &Confusion{Names: names, Went: make([][]int, len(names)), Accepted: make([][]int, len(names))}
	for i := range names {
		c.Went[i], c.Accepted[i] = make([]int, len(names)+1), make([]int, len(names))
	}
	return c
}

// Count enters a spectrum of condition i that lies at the given distances, one a condition in the order of the names.
// It goes to usual first, then to the nearest condition that accepts it.
func (c *Confusion) Count(i int, distances []float64) {
	went := len(c.Names)
	for j, d := range distances {
		if d > 1 {
			continue
		}
		c.Accepted[i][j]++
		if went == len(c.Names) || went != 0 && d < distances[went] {
			went = j
		}
	}
	c.Went[i][went]++
}

// Overlap is the share of one condition's spectra that may lie within another before it is said.
const Overlap = 0.05

// Findings names each pair of conditions that lie over each other, and how much.
func (c *Confusion) Findings() []finding.Finding {
	var out []finding.Finding
	for i, name := range c.Names {
		total := 0
		for _, n := range c.Went[i] {
			total += n
		}
		for j, other := range c.Names {
			if share := float64(c.Accepted[i][j]) / float64(max(total, 1)); i != j && share > Overlap {
				out = append(out, finding.Of(finding.Overlap, name+" and "+other, 100*share))
			}
		}
	}
	return out
}
