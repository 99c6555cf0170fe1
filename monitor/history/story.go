package history

import (
	"fmt"
	"time"
)

func (w *writer) episodes() error {
	for _, e := range w.batch.Episodes {
		from, err := nanos(e.From)
		if err != nil {
			return fmt.Errorf("episode: %w", err)
		}
		since, err := nanos(e.ChangedSince)
		if err != nil {
			return fmt.Errorf("episode: changed since: %w", err)
		}
		to, err := orNull(e.To)
		if err != nil {
			return fmt.Errorf("episode: %w", err)
		}
		ref, err := w.wordID(e.Reference)
		if err != nil {
			return err
		}
		reasons, err := findings(e.Reasons)
		if err != nil {
			return fmt.Errorf("episode: %w", err)
		}
		if err := w.exec(`INSERT INTO episode (line, start, stop, changed_since, spectra, peak, grp, instrument, reasons, reference)
			VALUES (?,?,?,?,?,?,?,?,?,?) ON CONFLICT (line, start) DO UPDATE SET stop = excluded.stop, changed_since = excluded.changed_since,
			spectra = excluded.spectra, peak = excluded.peak, grp = excluded.grp, instrument = excluded.instrument, reasons = excluded.reasons,
			reference = excluded.reference`, w.line, from, to, since, e.Spectra, finite(e.Peak), e.Group, e.Instrument, reasons, ref); err != nil {
			return err
		}
	}
	return nil
}

func (w *writer) state() error {
	s := w.batch.State
	if s.Course == nil {
		return nil
	}
	ref, err := w.wordID(s.Reference)
	if err != nil {
		return err
	}
	newest, err := orNull(s.Newest)
	if err != nil {
		return fmt.Errorf("state: %w", err)
	}
	course, err := w.db.deflate(s.Course)
	if err != nil {
		return fmt.Errorf("state: %w", err)
	}
	groups, err := w.db.deflate(s.Groups)
	if err != nil {
		return fmt.Errorf("state: %w", err)
	}
	past, err := w.db.deflate(s.Past)
	if err != nil {
		return fmt.Errorf("state: %w", err)
	}
	return w.exec(`INSERT INTO state (line, course, places, past, reference, basis, newest, written) VALUES (?,?,?,?,?,?,?,?)
		ON CONFLICT (line) DO UPDATE SET course = excluded.course, places = coalesce(excluded.places, state.places),
		past = coalesce(excluded.past, state.past), reference = excluded.reference,
		basis = excluded.basis, newest = excluded.newest, written = excluded.written`,
		w.line, course, groups, past, ref, s.Basis, newest, time.Now().UnixNano())
}

func (w *writer) alarm() error {
	if w.batch.Alarm != nil {
		if err := w.exec("INSERT INTO alarm (line, alarm) VALUES (?,?) ON CONFLICT (line) DO UPDATE SET alarm = excluded.alarm", w.line, string(w.batch.Alarm)); err != nil {
			return err
		}
	}
	for _, a := range w.batch.Acts {
		at, err := nanos(a.Time)
		if err != nil {
			return fmt.Errorf("%s: %w", a.Act, err)
		}
		until, err := orNull(a.Until)
		if err != nil {
			return fmt.Errorf("%s: until %w", a.Act, err)
		}
		episode, err := orNull(a.Episode)
		if err != nil {
			return fmt.Errorf("%s: %w", a.Act, err)
		}
		if err := w.exec(`INSERT INTO act (line, time, act, who, why, until, state, episode, refused, request) VALUES (?,?,?,?,?,?,?,?,?,?)
			ON CONFLICT DO NOTHING`,
			w.line, at, a.Act, a.Who, a.Why, until, a.State, episode, a.Refused, a.Request); err != nil {
			return err
		}
	}
	return nil
}
