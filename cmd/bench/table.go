package main

import "fmt"

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

// against writes what a peer took, and how many times that is what we took.
func against(t, ours took) string {
	if t.Missing {
		return "not measured: " + t.Note
	}
	cell := seconds(t.Wall)
	if ours.Wall > 0 {
		cell += fmt.Sprintf(" (%.3g ×", t.Wall/ours.Wall)
		if ours.CPU > 0 && t.CPU > 0 {
			cell += fmt.Sprintf("; CPU %.3g ×", t.CPU/ours.CPU)
		}
		cell += ")"
	}
	if t.Peak > 0 {
		cell += ", " + megabytes(t.Peak)
	}
	return cell
}
