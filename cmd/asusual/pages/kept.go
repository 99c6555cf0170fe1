package pages

import (
	"context"
	"fmt"
	"time"

	"asusual/cmd/asusual/shift"
	"asusual/model/finding"
	"asusual/monitor/history"
)

// Received returns how many spectra and unreadable files history has of a shift. Copies do not count: where somebody copies a folder
// once more, no report tells more.
func Received(ctx context.Context, db *history.DB, line string, span shift.Span) (int, error) {
	c, err := db.Counts(ctx, history.Query{Line: line, From: span.From, To: span.To}, 0)
	return c.Judged + c.Unreadable, err
}

// A Fuller says that the report that is there was made from more than history has now.
type Fuller struct {
	Told, Now int // as Received counts; Told is −1 where the report does not say
}

func (e *Fuller) Error() string {
	if e.Told < 0 {
		return "a report is there already, and a part of its shift was taken out of history since"
	}
	return fmt.Sprintf("a report is there already that tells of %d spectra and unreadable files, of which history has %d now", e.Told, e.Now)
}

// A cut is where a shift begins in a history out of which its first part was taken, since it was too old; zero where none was.
type cut struct{ at time.Time }

// cut tells it by the oldest that history has of the line: in the midst of a shift that began before what is kept. Where the line had its
// very first spectrum then it is taken for a cut.
func (s Source) cut(ctx context.Context, span shift.Span) (cut, error) {
	if s.Kept <= 0 || !s.Now.Add(-s.Kept).After(span.From) {
		return cut{}, nil
	}
	first, _, ok, err := s.History.Came(ctx, s.Line)
	if err != nil || !ok || !first.After(span.From) || !first.Before(span.To) {
		return cut{}, err
	}
	return cut{first}, nil
}

// told is the finding on a report that lacks what was taken out.
func (c cut) told(zone *time.Location) []finding.Finding {
	if c.at.IsZero() {
		return nil
	}
	return []finding.Finding{finding.Of(finding.TakenOut, c.at.In(zone).Format("15:04"))}
}

// fuller is an error where a report is there that was made from more than history has now, so that it stays. One from before the end of its
// shift gives way in any case.
func (s Shelf) fuller(ctx context.Context, src Source, span shift.Span, now int) error {
	if !isThere(s.At(src.Line, span)) {
		return nil
	}
	told, whole := s.Has(src.Line, span)
	if !whole {
		return nil
	}
	cut, err := src.cut(ctx, span)
	if err != nil {
		return err
	}
	if told > now || told < 0 && !cut.at.IsZero() {
		return &Fuller{Told: told, Now: now}
	}
	return nil
}
