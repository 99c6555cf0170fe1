package main

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// seconds writes a time with two significant digits or three.
func seconds(s float64) string {
	switch {
	case s == 0:
		return "–"
	case s < 1e-3:
		return fmt.Sprintf("%.3g µs", s*1e6)
	case s < 0.1:
		return fmt.Sprintf("%.3g ms", s*1e3)
	}
	return fmt.Sprintf("%.3g s", s)
}

func megabytes(m float64) string {
	if m == 0 {
		return "–"
	}
	return fmt.Sprintf("%.0f MB", m)
}

// cell writes what was measured.
func (t took) cell() string {
	if t.Missing {
		return "not measured: " + t.Note
	}
	cell := seconds(t.Wall)
	if t.CPU > 0 {
		cell += ", CPU " + seconds(t.CPU)
	}
	if t.Peak > 0 {
		cell += ", " + megabytes(t.Peak)
	}
	if t.Note != "" {
		cell += "; " + t.Note
	}
	return cell
}

// ratio writes how many times what we took a peer took.
func ratio(t, ours took) string {
	if t.Missing || ours.Wall == 0 {
		return "–"
	}
	text := fmt.Sprintf("%.3g ×", t.Wall/ours.Wall)
	if ours.CPU > 0 && t.CPU > 0 {
		text += fmt.Sprintf(" (CPU %.3g ×)", t.CPU/ours.CPU)
	}
	return text
}

// alike is by how much two ways to the same limit may differ, as a share: sums of many numbers in another order differ by less.
const alike = 1e-6

// differs says where a peer came to other limits than ours: it then did another job.
func differs(t, ours took) string {
	var text string
	for _, c := range []struct {
		name    string
		is, our float64
	}{{"T²", t.T2, ours.T2}, {"Q", t.Q, ours.Q}} {
		if !t.Missing && math.Abs(c.is-c.our) > alike*math.Abs(c.our) {
			text += fmt.Sprintf("; another limit of %s: %.7g, ours is %.7g", c.name, c.is, c.our)
		}
	}
	return text
}

// A goal is what a job is to reach at the default sizes. A zero is not asked.
type goal struct {
	text             string
	wall, peak, size float64   // at most: seconds, MB, MB of the binary
	cores            float64   // at most: times what the core of learning takes
	ratios           []float64 // at least: times ours that each peer takes
}

// met says whether a job reached its goal, and where not, what it missed.
func (g goal) met(ours took, peers []took, core took) string {
	if ours.Missing {
		return "–"
	}
	var missed, open []string
	most := func(what string, is, most float64) {
		if most > 0 && is > most {
			missed = append(missed, fmt.Sprintf("%s %.3g times the most", what, is/most))
		}
	}
	most("time", ours.Wall, g.wall)
	most("memory", ours.Peak, g.peak)
	most("binary", ours.Size, g.size)
	switch {
	case g.cores > 0 && core.Wall == 0:
		open = append(open, "the core was not measured")
	case g.cores > 0:
		most("time", ours.Wall/core.Wall, g.cores)
	}
	for i, least := range g.ratios {
		switch {
		case peers[i].Missing:
			open = append(open, "a peer was not measured")
		case peers[i].Wall/ours.Wall < least:
			missed = append(missed, fmt.Sprintf("%.3g × of %.3g ×", peers[i].Wall/ours.Wall, least))
		}
	}
	switch {
	case len(missed) > 0:
		return "no: " + strings.Join(missed, ", ")
	case len(open) > 0:
		return "open: " + strings.Join(slices.Compact(open), ", ")
	}
	return "yes"
}
