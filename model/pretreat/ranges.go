package pretreat

import (
	"fmt"

	"asusual/model/spectrum"
)

// ranges keeps the channels of some ranges: each pair is a first channel and the one after the last.
type ranges struct {
	keep [][2]int
	n    int
}

// newRanges returns the link and the axis that is left, which may have gaps: filters that follow do not reach across.
// It is the link of keep steps, which together keep what any of them names, or of one leave-out step.
func newRanges(a *spectrum.Axis, steps []Step) (*ranges, *spectrum.Axis, error) {
	named := make([]bool, a.Len())
	for _, s := range steps {
		from, to := within(a, s)
		if from == to {
			return nil, a, outside(a, s)
		}
		for i := from; i < to; i++ {
			named[i] = true
		}
	}
	r := &ranges{}
	var at []float64
	for i, yes := range named {
		if yes != (steps[0].Name == Keep) {
			continue
		}
		if k := len(r.keep); k > 0 && r.keep[k-1][1] == i {
			r.keep[k-1][1]++
		} else {
			r.keep = append(r.keep, [2]int{i, i + 1})
		}
		at = append(at, a.At(i))
	}
	if r.n = len(at); r.n < 2 {
		return nil, a, fmt.Errorf("%s leaves %d of %d channels; at least 2 are needed", steps[0].words(a.Unit()), r.n, a.Len())
	}
	out, err := spectrum.NewAxis(a.Unit(), at)
	return r, out, err
}

func (r *ranges) len() int      { return r.n }
func (r *ranges) inPlace() bool { return true }
func (r *ranges) gain() float64 { return 1 }

func (r *ranges) apply(dst, src []float64, _ float64) error {
	at := 0
	for _, k := range r.keep {
		at += copy(dst[at:], src[k[0]:k[1]])
	}
	return nil
}

// within returns the channels of the axis that lie in the range of the step, ends included: first and one after the last.
func within(a *spectrum.Axis, s Step) (from, to int) {
	for to = 0; to < a.Len(); to++ {
		v := a.At(to)
		if v < s.From || v > s.To {
			if from < to {
				return from, to
			}
			from = to + 1
		}
	}
	return from, to
}

// outside says that a range misses the axis, and where the axis is.
func outside(a *spectrum.Axis, s Step) error {
	lo, hi := a.Range()
	return fmt.Errorf("%s: no channel lies there; the axis has %.6g to %.6g %s", s.words(a.Unit()), lo, hi, a.Unit().Symbol())
}
