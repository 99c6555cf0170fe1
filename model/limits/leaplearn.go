package limits

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// learn learns what neighbours tell of each other, and the threshold, which a new run passes with probability perRun.
func (q *Leap) learn(s *stream, perRun float64) {
	d := q.To - q.From
	q.White = s.innovations(q.From, q.To)
	y := make([]float64, len(s.of)*d)
	for i := range s.of {
		q.White.times(y[i*d:(i+1)*d], s.row(i)[q.From:q.To])
	}
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
	q.inflate(s, octaves)
	q.Threshold = threshold(s, q.answers(s), scatter{d: d, n: float64(len(s.of)) / s.tau}, perRun)
}

// inflate learns by how much answers are larger than reckoned, because neighbours resemble each other in more than one
// way; longer stretches show that more. Few long ones are seen, so it is widened by half a standard error.
func (q *Leap) inflate(s *stream, octaves int) {
	q.Inflate = make([]float64, octaves)
	for o := range q.Inflate {
		q.Inflate[o] = 1
	}
	sum, count := make([]float64, octaves), make([]float64, octaves)
	var r Leaping
	for i := range s.of {
		if s.starts[i] {
			r.reset()
		}
		q.step(&r, s.row(i))
		q.largest(&r, func(o int, v float64) {
			sum[o] += v
			count[o]++
		})
	}
	d := float64(q.To - q.From)
	for o := range q.Inflate {
		switch apart := max(float64(len(s.of))/float64(int(perOctave)<<o), 1) * d; {
		case count[o] > 0:
			q.Inflate[o] = max(sum[o]/(count[o]*d)*(1+math.Sqrt(0.5/apart)), 0.5)
		case o > 0:
			q.Inflate[o] = q.Inflate[o-1]
		}
	}
}

// answers returns the largest answer that stood for Sustained spectra, after each spectrum.
func (q *Leap) answers(s *stream) []float64 {
	last := make([]float64, 0, len(s.of))
	out := make([]float64, len(s.of))
	var r Leaping
	for i := range s.of {
		if s.starts[i] {
			r.reset()
		}
		q.step(&r, s.row(i))
		v, _ := q.largest(&r, nil)
		last = append(last, v)
		if i >= Sustained && s.of[i-Sustained+1] == s.of[i] {
			out[i] = v
			for _, u := range last[i-Sustained+1 : i] {
				out[i] = min(out[i], u)
			}
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

// times fills dst with W z.
func (w white) times(dst, z []float64) {
	at := 0
	for i := range z {
		v := 0.0
		for j, c := range w[at : at+i+1] {
			v += c * z[j]
		}
		at += i + 1
		dst[i] = v
	}
}
