package limits

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// learn learns what neighbours tell of each other, and the threshold, which a new run passes with probability perRun. How
// large answers are is learned from runs that the turn was not learned from.
func (q *Leap) learn(s *stream, perRun float64) {
	d := q.To - q.From
	q.White = s.innovations(q.From, q.To)
	y := make([]float64, len(s.of)*d)
	for i := range s.of {
		q.White.times(y[i*d:(i+1)*d], s.row(i)[q.From:q.To])
	}
	q.Turn = s.turn(y, d)
	q.Phi, q.Sigma = make([]float64, d), make([]float64, d)
	for c := range d {
		q.Phi[c], q.Sigma[c] = s.neighbours(func(i int) float64 { return y[i*d+c] })
	}
	q.Base, q.Threshold = max(s.length, leastBefore), math.Inf(1)
	q.Stray = 0.6 * distuv.ChiSquared{K: float64(d)}.Quantile(1-1e-7)
	octaves := 1
	for octaves < mostOctaves && float64(int(perOctave)<<octaves) <= 0.6*s.length {
		octaves++
	}
	uneven := q.inflate(s, y, octaves)
	found := q.passed(s, y, uneven, perRun)
	if alone := mostAlone * mostAlone * found * found; alone < q.Stray { // with less that a spectrum may count, answers are smaller, too
		q.Stray = alone
		found = q.passed(s, y, uneven, perRun)
	}
	q.Threshold = found
}

// passed returns the root of the answer that a new run passes with probability perRun, where runs are louder or quieter by uneven.
func (q *Leap) passed(s *stream, y []float64, uneven, perRun float64) float64 {
	answers := q.answers(s, y)
	all := threshold(s, answers, scatter{d: q.To - q.From, n: float64(len(s.of)) / s.tau}, perRun)
	return max(all, math.Sqrt(mixed(median(s.maxima(answers)), uneven, min(perRun, 0.5))))
}

// mixed returns the answer that a run passes with probability p, where half of the runs stay below mid, the tail of a run falls
// off as that of χ² does, by half a unit of exponent for each, and runs are louder or quieter by a normal share of spread k:
// one that is a tenth louder has answers a tenth larger, which in the far tail are many times as frequent.
//
// Note: without it, the promise was broken up to threefold on lines whose runs differ by 4 % in their noise.
func mixed(mid, k, p float64) float64 {
	passes := func(x float64) float64 {
		const step = 0.25
		sum, weights := 0.0, 0.0
		for z := -4.0; z <= 4; z += step {
			w := math.Exp(-z * z / 2)
			sum += w * math.Min(1, 0.5*math.Exp((mid-x*math.Exp(-k*z))/2))
			weights += w
		}
		return sum / weights
	}
	lo, hi := 0.0, 2*mid+4
	for passes(hi) > p && hi < 1e6*(1+mid) {
		hi *= 2
	}
	for range 60 {
		if x := (lo + hi) / 2; passes(x) > p {
			lo = x
		} else {
			hi = x
		}
	}
	return hi
}

// inflate learns by how much answers are larger than reckoned, because neighbours resemble each other in more than one
// way; longer stretches show that more. Few long ones are seen, so it is widened by half a standard error. It returns the
// spread of how loud runs are, the logarithm of their mean answers to short stretches, as large as it may well be.
func (q *Leap) inflate(s *stream, y []float64, octaves int) (uneven float64) {
	d := q.To - q.From
	q.Inflate, q.Widen = make([]float64, octaves), make([]float64, octaves*d)
	for i := range q.Widen {
		q.Inflate[i/d], q.Widen[i] = 1, 1
	}
	sum, count := make([]float64, octaves*d), make([]float64, octaves*d)
	runs := len(s.from) - 1
	loud, shorts := make([]float64, runs), make([]float64, runs)
	now := 0 // the spectrum that answers are about
	q.over(s, y, 0, len(s.of), func(o, c int, v float64) {
		sum[o*d+c] += v
		count[o*d+c]++
		if o == 0 {
			loud[s.of[now]] += v
			shorts[s.of[now]] += 1 / float64(d)
		}
	}, func(i int, _ bool, _ float64) { now = i + 1 })
	for i := range q.Widen {
		o := i / d
		switch apart := max(float64(len(s.of))/float64(int(perOctave)<<o), 1); {
		case count[i] > 0:
			q.Widen[i] = max(sum[i]/count[i]*(1+math.Sqrt(0.5/apart)), 0.5)
		case o > 0:
			q.Widen[i] = q.Widen[i-d]
		}
	}
	for o := range q.Inflate {
		q.Inflate[o] = stat.Mean(q.Widen[o*d:(o+1)*d], nil)
	}
	return spreadOf(loud, shorts, float64(d))
}

// over has the leap take the spectra from one to another, the first of which starts a run, white and turned, and tells f the largest
// answer after each; each is for largest.
func (q *Leap) over(s *stream, y []float64, from, to int, each func(octave, feature int, answer float64), f func(i int, stood bool, largest float64)) {
	var r Leaping
	q.prepare(&r)
	for i := from; i < to; i++ {
		if s.starts[i] {
			r.reset()
		}
		copy(r.y, y[i*len(r.y):])
		_, largest := q.take(&r, each)
		f(i, r.stood, largest)
	}
}

// spreadOf returns the spread of the logarithms of sums over counts of answers, χ² with d degrees of freedom each, beyond what
// chance gives, and a standard error of such a spread more. Neighbouring answers share most of their spectra: about 3 are
// worth one.
func spreadOf(sums, counts []float64, d float64) float64 {
	var logs []float64
	chance := 0.0
	for i, v := range sums {
		if v > 0 {
			logs = append(logs, math.Log(v/counts[i]))
			chance += 2 * 3 / (d * counts[i])
		}
	}
	n := float64(len(logs))
	if n < 3 {
		return 0
	}
	mean, square := 0.0, 0.0
	for _, v := range logs {
		mean += v / n
	}
	for _, v := range logs {
		square += (v - mean) * (v - mean) / (n - 1)
	}
	return math.Sqrt(max(square-chance/n, 0)) * (1 + 1/math.Sqrt(2*(n-1)))
}

// answers returns the largest answer that stood for Sustained spectra, or that a doubt found to have stood for them, after
// each spectrum.
func (q *Leap) answers(s *stream, y []float64) []float64 {
	all, stood := make([]float64, len(s.of)), make([]bool, len(s.of))
	s.each.Do(len(s.begins)-1, func(run int) {
		q.over(s, y, s.begins[run], s.begins[run+1], nil, func(i int, is bool, v float64) { all[i], stood[i] = v, is })
	})
	out := make([]float64, len(s.of))
	for i, v := range all {
		if stood[i] {
			out[i] = v
		} else if i >= Sustained && s.of[i-Sustained+1] == s.of[i] {
			out[i] = slices.Min(all[i-Sustained+1 : i+1])
		}
	}
	return out
}

// innovations returns the white of what spectra of runs bring that their neighbours did not tell.
func (s *stream) innovations(from, to int) white {
	d := to - from
	phi := make([]float64, d)
	for c := range phi {
		phi[c], _ = s.neighbours(func(i int) float64 { return s.row(i)[from+c] })
	}
	cov, e := make([]float64, d*d), make([]float64, d)
	n := 0.0
	for i := 1; i < len(s.of); i++ {
		if s.of[i] != s.of[i-1] {
			continue
		}
		now, last := s.row(i)[from:to], s.row(i - 1)[from:to]
		for c := range e {
			e[c] = now[c] - phi[c]*last[c]
		}
		addOuter(cov, 1, e)
		n++
	}
	for i := range cov {
		cov[i] /= max(n, 1)
	}
	towardsDiagonal(cov, d, shrinkage(d, n))
	return newWhite(cov, d)
}

// neighbours returns the correlation φ of neighbours within runs, and the spread σ of what a spectrum has besides φ times
// its neighbour. The mean of a run of n that is taken off makes φ smaller by (1+4φ)/n on average (Marriott, Pope, Bias in
// the estimation of autocorrelations, Biometrika 41, 1954; from memory).
func (s *stream) neighbours(x func(i int) float64) (phi, sigma float64) {
	var both, own float64
	runs := float64(len(s.from) - 1)
	for j := range len(s.from) - 1 {
		from, to := s.from[j], s.from[j+1]
		mean := 0.0
		for i := from; i < to; i++ {
			mean += x(i) / float64(to-from)
		}
		for i := from; i < to; i++ {
			own += (x(i) - mean) * (x(i) - mean)
			if i > from {
				both += (x(i) - mean) * (x(i-1) - mean)
			}
		}
	}
	if !(own > 0) {
		return 0, 1
	}
	phi = both / own
	phi = max(0, min(phi+(1+4*phi)/max(float64(len(s.of))/runs, 8), mostPhi))
	var sum, n float64
	for j := range len(s.from) - 1 {
		from, to := s.from[j]+1, s.from[j+1]
		mean := 0.0
		for i := from; i < to; i++ {
			mean += (x(i) - phi*x(i-1)) / float64(to-from)
		}
		for i := from; i < to; i++ {
			v := x(i) - phi*x(i-1) - mean
			sum += v * v
		}
		n += float64(max(to-from-1, 0))
	}
	if !(sum > 0) || n == 0 {
		return phi, 1
	}
	return phi, math.Sqrt(sum / n)
}

// mostPhi keeps a score that wanders through whole runs from being one that never has a level.
const mostPhi = 0.98
