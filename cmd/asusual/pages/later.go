package pages

import (
	"context"
	"iter"
	"time"

	"asusual/model"
	"asusual/monitor/history"
	"asusual/report"
)

// A report may be written, or written anew, long after its shift: what came later of an episode or a group is not the shift's. History
// has how many spectra are of it by now, so those of the shift are counted, or those that came later and are taken off.

// until cuts an episode off at the end of the shift.
func (s Source) until(ctx context.Context, q history.Query, e *report.Episode) error {
	if !e.To.IsZero() && e.To.Before(q.To) {
		return nil
	}
	q.From = e.From
	n, err := count(s.History.Glances(ctx, q), func(r history.Record) bool {
		place := placeOf(r)
		return !r.Late && (place == model.Usual || place == model.Uncharted || overstays(r))
	})
	if n > 0 { // else they were taken out
		e.Spectra = n
	}
	e.To = time.Time{} // it lasted beyond the shift
	return err
}

// untilGroup cuts a group off at the end of the shift; last is its last spectrum in the shift.
func (s Source) untilGroup(ctx context.Context, q history.Query, g *report.Group, last time.Time) error {
	if g.Last.Before(q.To) {
		return nil
	}
	n, err := count(s.History.OfGroup(ctx, from(q, g.Last), g.Name), func(history.Record) bool { return true })
	g.Last, g.Spectra = last, max(g.Spectra-n, 1)
	return err
}

// from is what came from the end of the period on, up to a moment; a zero time is now.
func from(q history.Query, last time.Time) history.Query {
	q.From, q.To = q.To, last
	if !last.IsZero() {
		q.To = last.Add(1)
	}
	return q
}

// count counts the records that belong.
func count(all iter.Seq2[history.Record, error], belongs func(history.Record) bool) (n int, err error) {
	for r, err := range all {
		if err != nil {
			return n, err
		}
		if belongs(r) {
			n++
		}
	}
	return n, nil
}
