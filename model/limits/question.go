package limits

import (
	"math"
	"slices"

	"asusual/model/memory"
)

// Spans of the memories, in spectra that are worth an independent one each.
//
// Note: a memory of span n sees best what shifts the mean by some 6/√n of the spread within a run. Measured on
// simulated lines under one false episode in 30 days: with spans 5 and 40 a shift of half the spread took 220 to 330
// spectra, or was never seen where runs differ much; a third memory of span 120 sees it after 130 to 170, and costs the
// others 1 to 2 spectra, because thresholds grow only with the logarithm of the number of questions. More memories than
// three gained nothing that could be measured.
var spans = [memories]float64{5, 25, 120}

// choose sets the spans of the memories. Neighbours that resemble each other make the slower ones longer, for a mean
// over fewer than some independent spectra shows no small change; a run must hold several spans, for the covariance of
// the answers is learned from them.
func (l *Limits) choose(s *stream) {
	most := max(s.length/6, 2*spans[0])
	bounds := groups(s.d-1-l.Parts, l.Parts)
	for g, to := range bounds[1:] {
		for i, n := range spans {
			if i > 0 {
				n = min(n*max(s.tau/4, 1), most)
			}
			l.Questions = append(l.Questions, Question{From: bounds[g], To: to, R: 1 / n})
		}
		l.Leaps = append(l.Leaps, Leap{From: bounds[g], To: to})
	}
	l.Base = 1 / max(s.length, 4/l.Questions[memories-1].R)
	l.Warm = int(min(2*spans[0], max(s.length/2, 3)))
}

// learn learns the covariance of what the memory holds and the threshold of its length.
func (l *Limits) learn(q *Question, s *stream) {
	z := q.path(s)
	d := q.To - q.From
	sc := q.scatter(s, z)
	n := len(s.from) - 1
	squared := make([]float64, len(s.of))
	for j := range n {
		w := sc.without(j)
		for i := s.from[j]; i < s.from[j+1]; i++ {
			squared[i] = w.squared(z[i*d : (i+1)*d])
		}
	}
	q.White = sc.without(-1)
	perRun := l.Promise.within(l.Hours) / float64(len(l.Questions)*n)
	q.Threshold = threshold(s, squared, sc, aim(l.Runs)*perRun)
	if q.From >= l.Placed()-1 {
		q.Threshold = max(q.Threshold, q.leftOver(s, sc, math.Sqrt(median(s.maxima(squared))), perRun))
	}
}

// leftOver returns the length that a new run passes with probability p where what is left over differs from run to run: at mid,
// the median of the largest lengths, and beyond by a multiple of the spread of runs.
//
// What a model leaves over of a run of another make is little more than products of what does vary, for what varies by itself
// the model has. The tail of a product falls off exponentially, as that of a Laplace distribution does.
//
// Note: with a normal tail, on invented lines whose scatter multiplies what else varies, log Q and the stretches passed in 5 to
// 10 % of new runs.
func (q *Question) leftOver(s *stream, sc scatter, mid, p float64) float64 {
	n := float64(len(sc.runs))
	share := 0.0
	for c := range sc.d {
		if total := sc.total[c*sc.d+c]; total > 0 {
			share = max(share, n*s.between(q.From+c)/total)
		}
	}
	return mid + math.Sqrt(min(share, 1))*laplaceReach(n, min(p, 0.5))
}

// laplaceReach returns how far from zero a draw from a Laplace distribution lies with probability p, where the root mean square of
// n others is 1: as simulated for n from 8 to 40 and p from 1 in 1,000 to 1 in 10,000.
func laplaceReach(n, p float64) float64 { return 0.7 * (1 + 8.5/n) * math.Log(1/p) }

// between returns the variance of the runs' offsets of a feature: the mean product of the means of the halves of a run, which
// have nothing in common but the offset.
func (s *stream) between(c int) float64 {
	sum, n := 0.0, len(s.from)-1
	for j := range n {
		from, to := s.from[j], s.from[j+1]
		half := (from + to) / 2
		var a, b float64
		for i := from; i < to; i++ {
			if v := s.row(i)[c]; i < half {
				a += v / float64(half-from)
			} else {
				b += v / float64(to-half)
			}
		}
		sum += a * b / float64(n)
	}
	return max(sum, 0)
}

// path returns what the memory holds after each spectrum, n×d of its group.
func (q *Question) path(s *stream) []float64 {
	d := q.To - q.From
	z := make([]float64, len(s.of)*d)
	m := memory.New(q.R, d)
	for i := range s.of {
		if s.starts[i] {
			m.Reset()
		}
		m.Add(s.row(i)[q.From:q.To])
		copy(z[i*d:], m.Z)
	}
	return z
}

// scatter returns the second moments of the path, run by run, without the spectra that the memory needs to fill.
//
// How many independent witnesses a run is worth is read from how much the runs' second moments differ: a mean square of m
// independent normal values has a squared coefficient of variation of 2/m, which n runs show as (2/m)/(1+2/(nm)) on
// average. Runs that only differ by an offset are worth one witness each.
func (q *Question) scatter(s *stream, z []float64) scatter {
	sc := scatter{d: q.To - q.From}
	d := sc.d
	for j := range len(s.from) - 1 {
		from, to := s.from[j], s.from[j+1]
		from += min(int(1/q.R), (to-from)/2)
		m := make([]float64, d*d)
		for i := from; i < to; i++ {
			addOuter(m, 1/float64(to-from), z[i*d:(i+1)*d])
		}
		sc.runs = append(sc.runs, m)
	}
	sc.sum()
	sc.n = sc.witnesses()
	return sc
}

// witnesses returns how many independent ones all runs together are worth, at least one each.
func (s scatter) witnesses() float64 {
	n := float64(len(s.runs))
	cv2 := 0.0
	for c := range s.d {
		mean, square := s.total[c*s.d+c]/n, 0.0
		for _, m := range s.runs {
			v := m[c*s.d+c] - mean
			square += v * v / (n - 1)
		}
		if mean > 0 {
			cv2 += square / (mean * mean) / float64(s.d)
		}
	}
	if cv2 >= 2/(1+2/n) {
		return n
	}
	return n * max(2*(1-cv2/n)/max(cv2, 1e-6), 1)
}

// threshold returns the length that a new run passes with probability perRun, from the squared lengths of runs held out.
//
// Note: three ways were compared on simulated lines. A Gumbel distribution fitted to the maxima of the runs, with the
// predictive quantile of its fit, keeps the promise where runs differ little, but its tail from 8 maxima is so uncertain
// that thresholds stand 10 to 40 % too high; where runs differ much it broke the promise threefold, because covariances
// from few runs give tails heavier than any Gumbel distribution's. So the place is taken from the maxima, their median,
// and the tail from what normal runs of this number would show (beyond). A Gumbel fit whose scale leans on that of χ²,
// as if ten maxima had been seen before, takes over where the maxima of the good runs scatter more than that.
func threshold(s *stream, squared []float64, sc scatter, perRun float64) float64 {
	n := len(s.from) - 1
	maxima := s.maxima(squared)
	p := min(perRun, 0.5)
	mid := median(maxima)
	square, length := beyond(int(math.Round(sc.n)), n, sc.d, p)
	alone := min(float64(n)/sc.n, 1) // 1: a run is one witness, its offset
	normal := (1-alone)*math.Sqrt(mid+square) + alone*(math.Sqrt(mid)+length)
	g := fitGumbel(maxima)
	g.sigma = (priorMaxima*priorScale + float64(n)*g.sigma) / (priorMaxima + float64(n))
	return max(normal, math.Sqrt(max(g.quantile(p), 1e-12)))
}

// maxima returns the largest of the answers to each run.
func (s *stream) maxima(squared []float64) []float64 {
	m := make([]float64, len(s.from)-1)
	for j := range m {
		m[j] = slices.Max(squared[s.from[j]:s.from[j+1]])
	}
	return m
}

// aim returns the share of the promise that the thresholds of the memories are set for together. What is simulated in beyond
// leaves out that the number of witnesses is itself a guess, and that the largest of many answers has a tail of its own; on
// simulated lines three to four times as many answers passed as reckoned with 8 runs, and about twice as many with 20.
// Chosen so that these lines keep the promise (cmd/trust shows it); a share half as large moves a threshold by 2 to 6 %. runs are whole
// ones: parts of a run have its offset in common, and are no witnesses of how runs differ.
func aim(runs int) float64 { return 0.25 * max(1-6/float64(runs), 0.05) }

// leapAim is the share of the promise that the thresholds of all leaps are set for together. They have every spectrum for a
// witness, not every run; on simulated lines they passed about as often as reckoned where runs differ little.
const leapAim = 0.4

// The scale of the maxima of χ² with a few degrees of freedom, at the heights that matter: a little above 2, that of
// its far tail. It counts as much as priorMaxima maxima.
const (
	priorMaxima = 10
	priorScale  = 2.2
)

func median(x []float64) float64 {
	y := slices.Clone(x)
	slices.Sort(y)
	return (y[(len(y)-1)/2] + y[len(y)/2]) / 2
}
