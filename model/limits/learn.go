package limits

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"asusual/model/finding"
	"asusual/model/memory"
)

// Options says what Learn promises. Its zero value takes the usual.
type Options struct {
	Promise Promise
	Alpha   float64 // share of good spectra that may lie outside the border; 0: 0.01
}

func (o Options) validate() (Options, error) {
	o.Promise = o.Promise.OrUsual()
	if !(o.Promise.Episodes > 0) || o.Promise.Per <= 0 {
		return o, fmt.Errorf("promise of %v episodes in %v: both are above zero", o.Promise.Episodes, o.Promise.Per)
	}
	if o.Alpha == 0 {
		o.Alpha = 0.01
	}
	if !(o.Alpha > 0 && o.Alpha < 0.5) {
		return o, fmt.Errorf("share outside the border %v: above 0 and below 0.5", o.Alpha)
	}
	return o, nil
}

// leastRuns is how many tracks Learn needs: a spread between runs cannot be had from fewer.
const leastRuns = 3

// wantedRuns is the number of runs from which on the promise was found to hold on every simulated line.
const wantedRuns = 8

// Learn learns the limits from runs held out. It needs at least three tracks, and says in its findings what to know
// about the promise: few runs, hours that do not reach it, spectra without times.
//
// What it learns from the tracks it learns as a watch will see them: the tracks follow each other in order of time, and
// a pause longer than Gap, and nothing else, starts a new run.
func Learn(tracks []Track, eigenvalues []float64, opt Options) (*Limits, error) {
	opt, err := opt.validate()
	if err != nil {
		return nil, err
	}
	tracks, err = ordered(tracks)
	if err != nil {
		return nil, err
	}
	if len(tracks) < leastRuns {
		return nil, fmt.Errorf("limits: %d runs with spectra; at least %d are needed, 8 or more are better", len(tracks), leastRuns)
	}
	if k := len(tracks[0].Points[0].T); len(eigenvalues) > k {
		return nil, fmt.Errorf("limits: %d eigenvalues, the spectra have %d scores", len(eigenvalues), k)
	}
	pace := measurePace(tracks)
	l := &Limits{Promise: opt.Promise, Alpha: opt.Alpha, Every: pace.every, Gap: pace.gap, Hours: pace.hours, Runs: len(tracks)}
	l.scale(tracks)
	s := l.stream(tracks)
	l.Spectra = len(s.of)
	l.choose(s)
	l.T2, l.Q = borders(tracks, l.Alpha, s.length/s.tau)
	for i := range l.Questions {
		l.learn(&l.Questions[i], s)
		l.Clip = max(l.Clip, 5*l.Questions[i].Threshold)
	}
	l.tell(s, pace)
	return l, nil
}

// scale learns centre and spread of the features, every run weighing the same. Scores are centred at zero, where the
// reference has its mean; so their spread is that of new runs around it.
func (l *Limits) scale(tracks []Track) {
	d := len(tracks[0].Points[0].T) + 1
	k := d - 1
	l.Center, l.Scale, l.Clip = make([]float64, d), make([]float64, d), 8
	var qs []float64
	for _, t := range tracks {
		for _, p := range t.Points {
			qs = append(qs, p.Q)
		}
	}
	slices.Sort(qs)
	l.FloorQ = max(1e-6*qs[len(qs)/2], math.SmallestNonzeroFloat64)
	n := float64(len(tracks))
	for _, t := range tracks {
		w := 1 / (n * float64(len(t.Points)))
		for _, p := range t.Points {
			l.Center[k] += w * math.Log(max(p.Q, l.FloorQ))
		}
	}
	for _, t := range tracks {
		w := 1 / (n * float64(len(t.Points)))
		for _, p := range t.Points {
			for i, v := range p.T {
				l.Scale[i] += w * v * v
			}
			v := math.Log(max(p.Q, l.FloorQ)) - l.Center[k]
			l.Scale[k] += w * v * v
		}
	}
	for i, v := range l.Scale {
		if l.Scale[i] = math.Sqrt(v); !(l.Scale[i] > 0) {
			l.Scale[i] = 1 // a direction in which nothing ever moved
		}
	}
}

// A stream is all tracks behind each other as a watch would see them.
type stream struct {
	d      int
	x      []float64 // n×d features
	of     []int     // the track of each spectrum
	starts []bool    // whether it starts a run for the watch
	from   []int     // first spectrum of each track, and n
	length float64   // median spectra in a track
	tau    float64   // spectra that are worth one independent one, within a run
}

func (s *stream) row(i int) []float64 { return s.x[i*s.d : (i+1)*s.d] }

func (l *Limits) stream(tracks []Track) *stream {
	s := &stream{d: l.Len()}
	f := make([]float64, s.d)
	var last Point
	var lengths []float64
	for j, t := range tracks {
		s.from = append(s.from, len(s.of))
		lengths = append(lengths, float64(len(t.Points)))
		for _, p := range t.Points {
			l.Features(f, p.T, p.Q)
			starts := len(s.of) == 0 || l.Gap > 0 && p.Time.Sub(last.Time).Abs() > l.Gap
			s.x, s.of, s.starts, last = append(s.x, f...), append(s.of, j), append(s.starts, starts), p
		}
	}
	s.from = append(s.from, len(s.of))
	slices.Sort(lengths)
	s.length = lengths[len(lengths)/2]
	s.tau = s.correlation()
	return s
}

// correlation measures how many neighbouring spectra are worth one: by how much the variance of the mean of b
// neighbours is larger than that of b independent spectra, within runs, averaged over the features.
func (s *stream) correlation() float64 {
	b := int(min(max(s.length/8, 2), 100))
	var inside, blocks, count, blockCount float64
	mean, part := make([]float64, s.d), make([]float64, s.d)
	for j := range len(s.from) - 1 {
		from, to := s.from[j], s.from[j+1]
		m := (to - from) / b * b
		if m < 2*b {
			continue
		}
		clear(mean)
		for i := from; i < from+m; i++ {
			for c, v := range s.row(i) {
				mean[c] += v / float64(m)
			}
		}
		for at := from; at < from+m; at += b {
			clear(part)
			for i := at; i < at+b; i++ {
				for c, v := range s.row(i) {
					part[c] += v / float64(b)
					inside += (v - mean[c]) * (v - mean[c])
				}
			}
			for c, v := range part {
				blocks += (v - mean[c]) * (v - mean[c])
			}
		}
		count += float64(m - 1)
		blockCount += float64(m/b - 1)
	}
	if !(inside > 0) {
		return 1
	}
	return max(float64(b)*(blocks/blockCount)/(inside/count), 1)
}

// choose sets the weights of the memories.
func (l *Limits) choose(s *stream) {
	fast := 5.0
	slow := min(max(8*fast, 4*s.tau), max(s.length/6, 2*fast))
	l.Base = 1 / max(s.length, 4*slow)
	l.Warm = int(2 * fast)
	for i := range l.Questions {
		n := fast
		if i%2 == 1 {
			n = slow
		}
		l.Questions[i] = Question{R: 1 / n, Moved: i >= 2}
	}
}

// learn learns the covariance of what the memory holds and the threshold of its length.
func (l *Limits) learn(q *Question, s *stream) {
	z := q.path(s, l.Base)
	sc := q.scatter(s, z)
	n := len(s.from) - 1
	length := make([]float64, len(s.of))
	for j := range n {
		w := newWhite(sc.without(j))
		for i := s.from[j]; i < s.from[j+1]; i++ {
			length[i] = w.length(z[i*s.d : (i+1)*s.d])
		}
	}
	q.White = newWhite(sc.without(-1))
	q.Threshold = threshold(s, length, q, l.Promise.within(l.Hours)/questions/float64(n))
}

// path returns what the question looks at after each spectrum, n×d.
func (q *Question) path(s *stream, base float64) []float64 {
	z := make([]float64, len(s.x))
	m, b := memory.New(q.R, s.d), memory.NewMean(base, s.d)
	m.Mean = q.Moved
	for i := range s.of {
		if s.starts[i] {
			m.Reset()
			b.Reset()
		}
		x := s.row(i)
		m.Add(x)
		b.Add(x)
		at := z[i*s.d : (i+1)*s.d]
		copy(at, m.Z)
		if q.Moved {
			for c, v := range b.Z {
				at[c] -= v
			}
		}
	}
	return z
}

// scatter returns the second moments of the path, run by run, without the spectra that the memory needs to fill.
func (q *Question) scatter(s *stream, z []float64) scatter {
	n := len(s.from) - 1
	var sc scatter
	var between, all float64
	for j := range n {
		from, to := s.from[j], s.from[j+1]
		from += min(int(1/q.R), (to-from)/2)
		m := mat.NewSymDense(s.d, nil)
		mean := make([]float64, s.d)
		w := 1 / float64(to-from)
		for i := from; i < to; i++ {
			at := z[i*s.d : (i+1)*s.d]
			m.SymRankOne(m, w, mat.NewVecDense(s.d, at))
			for c, v := range at {
				mean[c] += w * v
			}
		}
		for c, v := range mean {
			if sd := m.At(c, c); sd > 0 {
				between += v * v / sd
				all++
			}
		}
		sc.runs = append(sc.runs, m)
	}
	rho := between / max(all, 1)
	m := max(s.length/(2*(1/q.R+s.tau)), 1)
	sc.n = float64(n) / (rho*rho + (1-rho)*(1-rho)/m)
	return sc
}

// threshold returns the length that a new run passes with probability perRun.
func threshold(s *stream, length []float64, q *Question, perRun float64) float64 {
	n := len(s.from) - 1
	block := 10 * (1/q.R + s.tau)
	var maxima []float64
	var means, within, between float64
	var runMeans []float64
	for j := range n {
		from, to := s.from[j], s.from[j+1]
		m := max(int(float64(to-from)/block), 1)
		var mine []float64
		for b := range m {
			lo, hi := from+(to-from)*b/m, from+(to-from)*(b+1)/m
			mine = append(mine, slices.Max(length[lo:hi]))
		}
		mean := 0.0
		for _, v := range mine {
			mean += v / float64(m)
		}
		for _, v := range mine {
			within += (v - mean) * (v - mean) / float64(max(m-1, 1)) / float64(n)
		}
		means += mean / float64(n)
		runMeans = append(runMeans, mean)
		maxima = append(maxima, mine...)
	}
	for _, v := range runMeans {
		between += (v - means) * (v - means) / float64(n-1)
	}
	m := float64(len(maxima)) / float64(n)
	between = max(between-within/m, 0)
	rho := 0.0
	if between+within > 0 {
		rho = between / (between + within)
	}
	if m < 2 {
		rho = 1
	}
	independent := m / (1 + (m-1)*rho) // blocks of one run that are worth an independent one
	g := fitGumbel(maxima)
	p := min(perRun/independent, 0.5)
	return max(g.mu+predictive(max(int(independent*float64(n)), 3), p)*g.sigma, slices.Max(maxima)*1e-9, 1e-12)
}

// tell gathers what the owner should know about the promise.
func (l *Limits) tell(s *stream, p pace) {
	l.Extrapolated = l.Promise.within(l.Hours) < 1
	add := func(k finding.Kind, values ...float64) { l.Findings = append(l.Findings, finding.Of(k, "", values...)) }
	if l.Extrapolated {
		add(finding.Extrapolated, math.Round(l.Hours*10)/10, l.Promise.Per.Hours()/l.Promise.Episodes)
	}
	if l.Runs < wantedRuns {
		add(finding.WidenedFew, float64(l.Runs), wantedRuns)
	}
	if l.Every == 0 {
		add(finding.NoTimes, assumedEvery.Seconds())
	} else if !p.told {
		add(finding.RunsNotTold, l.Gap.Minutes())
	}
}
