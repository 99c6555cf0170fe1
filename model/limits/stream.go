package limits

import (
	"math"
	"slices"

	"asusual/model/runner"
)

// A stream is all tracks behind each other as a watch would see them.
type stream struct {
	d      int
	placed int       // of which the scores and the Q residual give so many
	x      []float64 // n×d features
	of     []int     // the track of each spectrum
	starts []bool    // whether it starts a run for the watch
	begins []int     // the spectra that do, and n
	from   []int     // first spectrum of each track, and n
	length float64   // median spectra in a track
	tau    float64   // spectra that are worth one independent one, within a run
	each   runner.Runner
}

func (s *stream) row(i int) []float64 { return s.x[i*s.d : (i+1)*s.d] }

func (l *Limits) stream(tracks []Track, each runner.Runner) *stream {
	s := &stream{d: l.Len(), placed: l.Placed(), each: each}
	f := make([]float64, s.d)
	n := 0
	for _, t := range tracks {
		n += len(t.Points)
	}
	s.x, s.of, s.starts = make([]float64, 0, n*s.d), make([]int, 0, n), make([]bool, 0, n)
	var last Point
	var lengths []float64
	for j, t := range tracks {
		s.from = append(s.from, len(s.of))
		lengths = append(lengths, float64(len(t.Points)))
		held := l.heldOut(t, len(tracks))
		for _, p := range t.Points {
			l.Features(f, p.T, p.Q, p.Parts)
			f[len(p.T)] += held
			starts := len(s.of) == 0 || l.Gap > 0 && p.Time.Sub(last.Time).Abs() > l.Gap
			if starts {
				s.begins = append(s.begins, len(s.of))
			}
			s.x, s.of, s.starts, last = append(s.x, f...), append(s.of, j), append(s.starts, starts), p
		}
	}
	s.from, s.begins = append(s.from, len(s.of)), append(s.begins, len(s.of))
	slices.Sort(lengths)
	s.length = lengths[len(lengths)/2]
	s.tau = s.correlation()
	return s
}

// heldOut returns by how much further from its centre log Q of the track lies where the track is left out of the centre.
// The scores need no such care: they come held out.
func (l *Limits) heldOut(t Track, n int) float64 {
	k := l.Placed() - 1
	mean := 0.0
	for _, p := range t.Points {
		mean += math.Log(max(p.Q, l.FloorQ)) / float64(len(t.Points))
	}
	return (mean - l.Center[k]) / (l.Scale[k] * float64(n-1))
}

// correlation measures how many neighbouring spectra are worth one: by how much the variance of the mean of b
// neighbours is larger than that of b independent spectra, within runs, averaged over the scores
// and log Q.
func (s *stream) correlation() float64 {
	b := int(min(max(s.length/8, 2), 100))
	var inside, blocks, count, blockCount float64
	mean, part := make([]float64, s.placed), make([]float64, s.placed)
	for j := range len(s.from) - 1 {
		from, to := s.from[j], s.from[j+1]
		m := (to - from) / b * b
		if m < 2*b {
			continue
		}
		clear(mean)
		for i := from; i < from+m; i++ {
			for c, v := range s.row(i)[:s.placed] {
				mean[c] += v / float64(m)
			}
		}
		for at := from; at < from+m; at += b {
			clear(part)
			for i := at; i < at+b; i++ {
				for c, v := range s.row(i)[:s.placed] {
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
