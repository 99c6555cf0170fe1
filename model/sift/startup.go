package sift

import (
	"math"
	"slices"

	"asusual/model/holdout"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// A run that starts up begins far from where it settles, and comes near in a way that leaves a tail: its last part lies within
// what is usual, but on one side of it, and stretches the limits. So where a run begins with rows that do not belong, the whole
// run is seen along the way from its later level to them, and left out up to where it has settled.

const (
	// longestStart is the share of a run that may be a start-up; what does not settle sooner is no start-up.
	longestStart = 0.6
	// fewestSettled is how many rows in the later half of a run must be kept for its level to be known.
	fewestSettled = 10
	// fewestStart is how many rows are called a start-up; fewer are strays.
	fewestStart = 3
	// pause is how many rows together are as they should be; fewer may be so by chance.
	pause = 3

	// In spreads above the later level: no value lies beyond by chance; from where on the way down is looked at; what may
	// remain, for half a spread in one of several directions moves the limits by a few in a hundred.
	beyondChance = 4
	wayDown      = 40
	mayRemain    = 0.5
)

// starts returns for each run how many of its first rows stand before it settled.
func (j judged) starts(x *mat.Dense, runs []holdout.Range, keep []bool) []int {
	out := make([]int, len(runs))
	for g, r := range runs {
		begun := lead(keep[r.From:r.To])
		most := int(longestStart * float64(r.Len()))
		late := where(keep, holdout.Range{From: r.From + r.Len()/2, To: r.To}, true)
		if begun == 0 || begun > most || len(late) < fewestSettled {
			continue
		}
		y := j.along(x, r, where(keep, holdout.Range{From: r.From, To: r.From + begun}, false), late)
		for i := begun; i < len(y); i++ {
			if !keep[r.From+i] {
				y[i] = math.NaN() // left out for another reason: says nothing of where the run settles
			}
		}
		out[g] = settled(y, begun, most)
	}
	return out
}

// lead returns the length of the beginning that is not kept. A kept row or two in it are chance, more than a
// third of it is not: strays lie between good rows.
func lead(keep []bool) int {
	end, out := 0, 0
	for i := 0; i < len(keep) && i < end+pause; i++ {
		if !keep[i] {
			out++
			if 3*out >= 2*(i+1) {
				end = i + 1
			}
		}
	}
	return end
}

// along returns the place of each row of the run on the line from its late rows to its early ones, in units of the scatter
// within runs. What the directions do not describe of the early rows is one more direction.
func (j judged) along(x *mat.Dense, r holdout.Range, early, late []int) []float64 {
	_, m := j.moved.Dims()
	_, p := x.Dims()
	z := mat.NewDense(r.Len(), m+1, nil)
	rest := make([]float64, p)
	for _, i := range early {
		axpy(rest, 1/float64(len(early)), x.RawRowView(i))
	}
	for _, i := range late {
		axpy(rest, -1/float64(len(late)), x.RawRowView(i))
	}
	for a := range m {
		axis := j.frame.axes.RawRowView(a)
		axpy(rest, -dot(axis, rest), axis)
	}
	y := make([]float64, r.Len())
	for i := range y {
		y[i] = dot(x.RawRowView(r.From+i), rest)
	}
	for i, off := range unitless(y, late, r.From, 0) {
		copy(z.RawRowView(i), j.moved.RawRowView(r.From+i))
		z.Set(i, m, off)
	}
	mid, v := make([]float64, m+1), make([]float64, m+1)
	for _, i := range late {
		axpy(mid, 1/float64(len(late)), z.RawRowView(i-r.From))
	}
	for _, i := range early {
		d := slices.Clone(z.RawRowView(i - r.From))
		axpy(d, -1, mid)
		axpy(v, 1/max(math.Sqrt(dot(d, d)), math.SmallestNonzeroFloat64), d)
	}
	scale(v, 1/max(math.Sqrt(dot(v, v)), math.SmallestNonzeroFloat64))
	for i := range y {
		y[i] = dot(z.RawRowView(i), v)
	}
	return unitless(y, late, r.From, 1)
}

// unitless returns y less its mean over the late rows, in units of their standard deviation, or of least where they lie closer.
func unitless(y []float64, late []int, from int, least float64) []float64 {
	some := make([]float64, len(late))
	for k, i := range late {
		some[k] = y[i-from]
	}
	mean, sd := stat.MeanStdDev(some, nil)
	sd = max(sd, least)
	out := make([]float64, len(y))
	for i, v := range y {
		if sd > 0 {
			out[i] = (v - mean) / sd
		}
	}
	return out
}

// settled returns from which value on y stays near its later level, 0, in units of its later spread. The first begun values do
// not; the answer is at most most. Where values come down gradually, as a start-up does, they are taken to go on exponentially
// as they came through the last decade, until little enough remains; where they drop, they have settled at once.
func settled(y []float64, begun, most int) int {
	end, gap := begun-1, 0
	for i := begun; i < most && gap < pause; i++ {
		switch {
		case y[i] > beyondChance:
			end, gap = i, 0
		case !math.IsNaN(y[i]):
			gap++
		}
	}
	from := end
	for from > 0 && !(y[from-1] > wayDown) {
		from--
	}
	after := end + 1
	at, slope := decay(y[from:after])
	var want, got, n float64
	for i := after; i < min(after+pause+1, len(y)); i++ {
		if !math.IsNaN(y[i]) {
			want, got, n = want+math.Exp(at+slope*float64(i-from)), got+y[i], n+1
		}
	}
	const dropped = 2.5 // spreads below where the way down would be: there is none
	if slope >= 0 || n == 0 || got < want-dropped*n {
		return after
	}
	return max(after, min(most, from+int(math.Ceil((math.Log(mayRemain)-at)/slope))))
}

// decay returns the straight line through the logarithms of those values that do not lie high by chance, weighted by their
// squares, since the spread of log y is about 1/y; a slope of 0 where there are fewer than two.
func decay(y []float64) (at, slope float64) {
	var x, l, w []float64
	for i, v := range y {
		if v > beyondChance {
			x, l, w = append(x, float64(i)), append(l, math.Log(v)), append(w, v*v)
		}
	}
	if len(x) < 2 {
		return 0, 0
	}
	return stat.LinearRegression(x, l, w, false)
}
