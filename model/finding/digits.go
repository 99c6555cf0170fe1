package finding

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Significant digits of a number that is no whole one, chosen so that a person loses nothing: a share or a multiple is an estimate, a
// place is read off an axis.
const (
	rough = 2
	plain = 3
	exact = 6
)

// digits returns how many a number of a kind has.
func digits(k Kind, i int) int {
	switch k {
	case ApartInPattern, ApartInShape, RunApart, StartUp, Extrapolated, RunsNotTold, FewNotTold, Overlap, MovesAs, Noisier, FarNoisier, LikeAxis, LikeLight, LikeStretch,
		LikeShiftAndStretch, LikeSlope, LikeCurve, LikePath, StaleReference, StaleDark, DarkLevel, DarkNoise, LightLevel, LineNoise, LineNoisier,
		Unrepeatable, LeansBeyond, LeansOnEdges, Overstays:
		return rough
	case Flat, Saturated, StuckHere, DarkBetween, BandNotFound, ExposureTooLong, ExposureUnusual, LeaveOutCO2:
		return exact
	case OutHere:
		return [...]int{plain, exact, rough}[min(i, 2)]
	case Masked:
		return [...]int{plain, plain, plain, exact}[min(i, 3)]
	case BandMoved:
		return [...]int{exact, rough, exact}[min(i, 2)]
	}
	return plain
}

// numbers says the numbers of a finding. Of those that the text has, two that differ are said to differ: a limit and what is above it.
func (f Finding) numbers(text string) []string {
	said, n := make([]string, len(f.Values)), make([]int, len(f.Values))
	for i, v := range f.Values {
		n[i] = digits(f.Kind, i)
		said[i] = number(v, n[i])
	}
	for i := range said {
		for j := range i {
			if !strings.Contains(text, mark(i)) || !strings.Contains(text, mark(j)) {
				continue
			}
			for f.Values[i] != f.Values[j] && said[i] == said[j] && min(n[i], n[j]) < exact {
				n[i], n[j] = min(n[i]+1, exact), min(n[j]+1, exact)
				said[i], said[j] = number(f.Values[i], n[i]), number(f.Values[j], n[j])
			}
		}
	}
	return said
}

// mark is how a text names the number at a place.
func mark(i int) string { return "{" + strconv.Itoa(i) + "}" }

// number says a number with so many significant digits, and all those before the point; one that is not finite is a dash, for no page
// shows it.
func number(v float64, digits int) string {
	a := math.Abs(v)
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return "–"
	case a >= 1e15 || a > 0 && a < 1e-4:
		return fmt.Sprintf("%.*g", digits, v)
	case v == math.Trunc(v):
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	s := strconv.FormatFloat(v, 'f', max(0, digits-1-int(math.Floor(math.Log10(a)))), 64)
	if strings.Contains(s, ".") {
		s = strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
	}
	return s
}
