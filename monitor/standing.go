package monitor

import (
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
	lines, err := db.Lines(ctx)
	if err != nil {
		return nil, err
	}
	for _, line := range lines {
		s, err := standing(ctx, db, line)
		if err != nil {
			return nil, err
		}
		all = append(all, s)
	}
	return all, nil
}

func standing(ctx context.Context, db *history.DB, line string) (s Standing, err error) {
	s.Line, s.Instrument = line, "unknown"
	saved, err := db.State(ctx, line)
	if err != nil {
		return s, err
	}
	if saved.Course != nil {
		var now model.CourseState
		if err := json.Unmarshal(saved.Course, &now); err != nil {
			return s, fmt.Errorf("%s: the state of line %q: %w", db.Path(), line, err)
		}
		s.Verdict, s.Since, s.Group, s.Why, s.Reference = now.Stands.String(), now.Since, now.Group, now.Reasons, saved.Reference
		if now.Verdict.Open != nil {
			s.ChangedSince = now.Verdict.Open.ChangedSince
		}
	}
	fit, known, err := FitnessOf(ctx, db, line)
	if err != nil {
		return s, err
	}
	s.InstrumentSince, s.InstrumentWhy = fit.Since, fit.Why
	r, err := db.Last(ctx, line)
	if err != nil {
		return s, err
	}
	s.LastSpectrum, s.Distance, s.Condition = r.Time, r.Distance, r.Condition
	switch {
	case known:
		s.Instrument = string(fit.State)
	case r.Instrument != "":
		s.Instrument = r.Instrument // of a watch that did not keep it
	}
	if s.Alarm, err = loadAlarm(ctx, db, line); err != nil {
		return s, err
	}
	s.Watcher, s.Watched, s.Unasked, err = db.Watcher(ctx, line)
	return s, err
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
	kept, checked, err := loadBook(ctx, db, line)
	if err != nil {
		return f, false, err
	}
	saved, err := db.State(ctx, line)
	if err != nil {
		return f, false, err
	}
	f.Latest = kept.State.Latest
	var s model.CourseState
	if saved.Course != nil {
		if err := json.Unmarshal(saved.Course, &s); err != nil {
			return f, false, fmt.Errorf("%s: the state of line %q: %w", db.Path(), line, err)
		}
	}
	if checked { // which may have come after the last spectrum of production
		book := check.Book{State: kept.State}
		c := model.Course{State: s}
		c.Check(book.Instrument())
		s = c.State
	}
	return Fitness{s.Fit, s.FitSince, s.FitWhy, f.Latest}, s.Fit != "", nil
}
