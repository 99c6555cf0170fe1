package limits

import (
	"fmt"
	"math"

	"asusual/model/finding"
	"asusual/model/runner"
)

// Options says what Learn promises. Its zero value takes the usual.
type Options struct {
	Promise Promise
	Runs    int           // whole runs that the tracks are from; 0: as many as tracks
	Own     []Track       // runs of the same, as the model places them that will place new spectra; nil where it is not known
	Alpha   float64       // share of good spectra that may lie outside the border; 0: 0.01
	Each    runner.Runner // nil: one after another
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
// about the promise: few runs, hours that do not reach it, spectra without times. Tracks that are parts of runs are no witnesses of
// how runs differ: of fewer runs than tracks the limits stand wider.
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
	first := &tracks[0].Points[0]
	if k := len(first.T); len(eigenvalues) > k {
		return nil, fmt.Errorf("limits: %d eigenvalues, the spectra have %d scores", len(eigenvalues), k)
	}
	pace := measurePace(tracks)
	l := &Limits{Promise: opt.Promise, Alpha: opt.Alpha, Every: pace.every, Gap: pace.gap, Hours: pace.hours, Runs: len(tracks), Parts: len(first.Parts)}
	if pace.often > 3*pace.every {
		l.Often = pace.often
	}
	if opt.Runs > 0 {
		l.Runs = min(opt.Runs, len(tracks))
	}
	l.scale(tracks)
	s := l.stream(tracks, opt.Each)
	l.Spectra = len(s.of)
	l.choose(s)
	l.T2, l.Q = borders(tracks, l.Runs, l.Alpha, s.length/s.tau)
	opt.Each.Do(len(l.Leaps)+len(l.Questions), func(i int) { // leaps first: they take the longest
		if i < len(l.Leaps) {
			l.Leaps[i].learn(s, leapAim/float64(len(l.Leaps))*l.Promise.within(l.Hours)/float64(len(tracks)))
			return
		}
		l.learn(&l.Questions[i-len(l.Leaps)], s)
	})
	l.settle(opt.Own, opt.Each)
	for _, q := range l.Questions {
		l.Clip = max(l.Clip, 5*q.Threshold)
	}
	l.tell(pace, len(tracks))
	return l, nil
}

// settle has the leaps look at runs as the model places them that will place new ones.
func (l *Limits) settle(own []Track, each runner.Runner) {
	var rows [][]float64
	var starts []bool
	for _, t := range own {
		for i, p := range t.Points {
			f := make([]float64, l.Len())
			l.Features(f, p.T, p.Q, p.Parts)
			rows, starts = append(rows, f), append(starts, i == 0)
		}
	}
	each.Do(len(l.Leaps), func(i int) { l.Leaps[i].settleTo(rows, starts) })
}

// tell gathers what the owner should know about the promise. Tracks that are parts of fewer runs follow each other at once and tell nothing
// of the pauses between these.
func (l *Limits) tell(p pace, tracks int) {
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
	} else if !p.told && l.Runs < tracks {
		add(finding.FewNotTold, float64(l.Runs), l.Gap.Minutes())
	} else if !p.told {
		add(finding.RunsNotTold, l.Gap.Minutes())
	}
}
