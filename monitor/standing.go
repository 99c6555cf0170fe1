package monitor

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"time"

	"asusual/model"
	"asusual/model/check"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/monitor/history"
)

// A Standing is how a line stands by what its history has: what its watch said last.
type Standing struct {
	Status
	Watcher string    // who watches the line; "" for nobody
	Watched time.Time // since when
	Unasked bool      // the history does not know who watches: a file knows only that somebody does
}

// Standings returns how every line of a history stands, by name.
func Standings(ctx context.Context, db *history.DB) (all []Standing, err error) {
	stands, err := db.Stands(ctx)
	if err != nil {
		return nil, err
	}
	for _, one := range stands {
		s, err := standing(one)
		if err != nil {
			return nil, fmt.Errorf("%s: line %q: %w", db.Path(), one.Line, err)
		}
		all = append(all, s)
	}
	return all, nil
}

func standing(of history.Stand) (s Standing, err error) {
	s.Line, s.Instrument = of.Line, cmp.Or(of.Last.Instrument, "unknown")
	if of.Course != nil {
		var now model.CourseState
		if err := json.Unmarshal(of.Course, &now); err != nil {
			return s, fmt.Errorf("its state: %w", err)
		}
		s.Verdict, s.Since, s.Group, s.Why, s.Reference = now.Stands.String(), now.Since, now.Group, now.Reasons, of.Reference
		if now.Verdict.Open != nil {
			s.ChangedSince = now.Verdict.Open.ChangedSince
		}
	}
	s.LastSpectrum, s.Distance, s.Condition = of.Last.Time, of.Last.Distance, of.Last.Condition
	fit, known, err := fitnessOf(of.Course, of.Book)
	if err != nil {
		return s, err
	}
	s.InstrumentSince, s.InstrumentWhy = fit.Since, fit.Why
	if known {
		s.Instrument = string(fit.State) // else of a watch that did not keep it
	}
	if of.Alarm != nil {
		if err := json.Unmarshal(of.Alarm, &s.Alarm); err != nil {
			return s, fmt.Errorf("its alarm: %w", err)
		}
	}
	s.Watcher, s.Watched, s.Unasked = of.Watcher, of.Watched, of.Unasked
	return s, nil
}

// A Fitness is how the instrument of a line stands: by its checks and by the spectra of production.
type Fitness struct {
	State  fitness.State
	Since  time.Time // zero: it has been fit from the start
	Why    []finding.Finding
	Latest []check.Result // of its checks
}

// FitnessOf returns how the line's instrument stands, as its watch said last; ok is false where history knows nothing of it.
func FitnessOf(ctx context.Context, db *history.DB, line string) (f Fitness, ok bool, err error) {
	text, err := db.Book(ctx, line)
	if err != nil {
		return f, false, err
	}
	saved, err := db.State(ctx, line)
	if err != nil {
		return f, false, err
	}
	if f, ok, err = fitnessOf(saved.Course, text); err != nil {
		return f, false, fmt.Errorf("%s: line %q: %w", db.Path(), line, err)
	}
	return f, ok, nil
}

// fitnessOf is FitnessOf by the course and the book of checks as history keeps them; nil where it has none.
func fitnessOf(course, checks []byte) (f Fitness, ok bool, err error) {
	var s model.CourseState
	if course != nil {
		if err := json.Unmarshal(course, &s); err != nil {
			return f, false, fmt.Errorf("its state: %w", err)
		}
	}
	var kept book
	if checks != nil { // which may have come after the last spectrum of production
		if err := json.Unmarshal(checks, &kept); err != nil {
			return f, false, fmt.Errorf("its checks: %w", err)
		}
		b := check.Book{State: kept.State}
		c := model.Course{State: s}
		c.Check(b.Instrument())
		s = c.State
	}
	return Fitness{s.Fit, s.FitSince, s.FitWhy, kept.State.Latest}, s.Fit != "", nil
}
