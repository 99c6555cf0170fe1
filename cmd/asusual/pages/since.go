package pages

import (
	"context"
	"time"

	"asusual/model/fitness"
)

// since returns since when the instrument is what it is at the end of the period: where it was so from its beginning, and is not fit,
// it is looked further back, as far as checks count. Zero: it is not known.
func (s Source) since(ctx context.Context, d *day, state string) (time.Time, error) {
	if d.instrument != state || d.first.IsZero() {
		return time.Time{}, nil
	}
	if !d.since.IsZero() || state == string(fitness.Fit) {
		return d.since, nil
	}
	at, err := s.History.StateSince(ctx, s.Line, state, d.first.Add(-checksBack), d.first)
	return at.In(s.Zone), err
}
