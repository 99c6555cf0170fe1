package main

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"asusual/model/limits"
	"asusual/model/position"
	"asusual/model/verdict"
)

// A result is what was measured on one line.
type result struct {
	line     line
	hours    float64 // of new good production watched
	episodes []int   // false ones, for each set of good runs
	outside  float64 // share of new good spectra outside the border
	delays   [len(changes)]delays
}

// delays are those of the three detectors, in spectra; +Inf: not seen in the rest of the run.
type delays struct {
	asusual, textbook, knowing []float64
	patient                    []float64 // the knowing one, where it has to see the change in as many spectra in a row as asusual
	since                      []float64 // error of the estimated beginning, where seen
}

// A watch is what is learned from one set of good runs.
type watch struct {
	placer
	limits *limits.Limits
}

func (l line) study(ctx context.Context, p plan) (result, error) {
	res := result{line: l}
	var bars rivals
	from, err := l.maker()
	if err != nil {
		return res, err
	}
	for s := range l.sets(p) {
		if err := ctx.Err(); err != nil {
			return res, err
		}
		rng := rand.New(rand.NewPCG(p.first+uint64(s), l.stream()))
		good := make([]production, l.Runs)
		for i := range good {
			good[i] = from.make(rng, change{}, 0)
		}
		w, _, err := from.learn(good, p.promise)
		if err != nil {
			return res, err
		}
		res.good(from, w, rng, p)
		if s == 0 {
			bars = from.rivals(w, p)
		}
		res.changed(from, w, bars, rng, p.changed)
	}
	return res, nil
}

// sets returns how many sets of good runs the line is learned from; whole spectra take long.
func (l line) sets(p plan) int {
	if l.Whole {
		return (p.seeds + 2) / 3
	}
	return p.seeds
}

// stream keeps the random numbers of lines apart.
func (l line) stream() uint64 {
	h := uint64(1e3*l.Phi)<<40 | uint64(10*l.Between)<<30 | uint64(l.Runs)<<20 | uint64(l.Channels)
	if l.Whole {
		h = ^h
	}
	return h
}

// good watches new good runs.
func (res *result) good(l maker, w watch, rng *rand.Rand, p plan) {
	n := 0
	for range p.fresh {
		opened, outside := w.follow(l.make(rng, change{}, 0), nil)
		n += opened
		res.outside += outside / float64(p.fresh*l.sets(p))
		res.hours += l.line.hours()
	}
	res.episodes = append(res.episodes, n)
}

// follow plays a run through the verdict, tells of each episode that opens, and returns how many did and the share of
// spectra outside the border.
func (w watch) follow(r production, opened func(j int, e *verdict.Episode) (stop bool)) (episodes int, outside float64) {
	var s verdict.State
	t, f, parts := make([]float64, components), make([]float64, w.limits.Len()), make([]float64, w.limits.Parts)
	for j := range r.along {
		q := w.place(t, r, j)
		distance := position.Distance(position.T2(t, w.eigenvalues()), w.limits.T2, q, w.limits.Q)
		if distance > 1 {
			outside += 1 / float64(len(r.along))
		}
		w.left(parts, r, t, j)
		w.limits.Features(f, t, q, parts)
		step := s.Add(w.limits, verdict.Observation{Time: when(0, j), Features: f, Distance: distance})
		if step.Opened != nil {
			episodes++
			if opened != nil && opened(j, step.Opened) {
				break
			}
		}
	}
	return episodes, outside
}

// rivals are the limits at which the other detectors have as many false episodes as promised.
type rivals struct {
	book    textbook
	limit   float64
	knowing [len(changes)]float64
}

// rivals finds them on good runs of their own. They are found on the first set of good runs; the textbook's T² and Q are
// weighed by the learned limits, which differ little from set to set.
func (l maker) rivals(w watch, p plan) rivals {
	rng := rand.New(rand.NewPCG(p.first, ^l.stream()))
	r := rivals{book: textbook{w.placer, w.limits.T2, w.limits.Q}}
	book := make([]float64, p.rivals)
	var know [len(changes)][]float64
	for i := range book {
		one := l.make(rng, change{}, 0)
		book[i] = slices.Max(r.book.path(one))
		for c := range changes {
			know[c] = append(know[c], slices.Max(l.knows(changes[c]).path(one)))
		}
	}
	share := min(p.promise.Episodes*l.hours()/p.promise.Per.Hours(), 0.5)
	r.limit = upper(book, share)
	for c := range know {
		r.knowing[c] = upper(know[c], share)
	}
	return r
}

// upper returns the value that a share of x lies above.
func upper(x []float64, share float64) float64 {
	slices.Sort(x)
	return x[len(x)-1-int(share*float64(len(x)))]
}

// changed watches runs in which something changes after a third, with all three detectors.
func (res *result) changed(l maker, w watch, r rivals, rng *rand.Rand, runs int) {
	from := l.Length / 3
	for c, ch := range changes {
		for range runs {
			one := l.make(rng, ch, from)
			d := &res.delays[c]
			d.textbook = append(d.textbook, first(r.book.with(w.placer).path(one), r.limit, from, 1))
			known := l.knows(ch).path(one)
			d.knowing = append(d.knowing, first(known, r.knowing[c], from, 1))
			d.patient = append(d.patient, first(known, r.knowing[c], from, verdict.OnDelay))
			seen := math.Inf(1)
			w.follow(one, func(j int, e *verdict.Episode) bool {
				if j < from { // a false one, counted elsewhere
					return false
				}
				seen = float64(j - from + 1)
				d.since = append(d.since, e.ChangedSince.Sub(when(0, from)).Seconds()/every.Seconds())
				return true
			})
			d.asusual = append(d.asusual, seen)
		}
	}
}

func (b textbook) with(p placer) textbook {
	b.placer = p
	return b
}
