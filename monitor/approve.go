package monitor

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"asusual/model"
	"asusual/monitor/history"
)

// approvalID names an approval, so that history has it once, whoever notes it: the one who approves or a watch that meets it.
func approvalID(line string, a model.Approval) string {
	return fmt.Sprintf("approval of %s for %s by %s at %d", a.Of, line, a.By, a.At.UnixNano())
}

// approvals returns what history is to be told of those who approved the reference of a line since then: what it does not know yet.
func approvals(ctx context.Context, db *history.DB, line string, ref *model.Reference, m *Alarm, since time.Time) (acts []history.Act, err error) {
	for _, a := range ref.Approved() {
		if a.At.Before(since) {
			continue
		}
		id := approvalID(line, a)
		if _, known, err := db.Answer(ctx, line, id); err != nil {
			return nil, err
		} else if known {
			continue
		}
		act := m.act(Approved, a.At)
		act.Line, act.Who, act.Why, act.Request = line, a.By, fmt.Sprintf("%s (reference %s)", a.Note, a.Of), id
		acts = append(acts, act)
	}
	return acts, nil
}

// NoteApprovals notes in a history, open to be written, who approved the reference of a line since then: what history does not keep is not
// to be noted again. A watch does so by itself.
func NoteApprovals(ctx context.Context, db *history.DB, line string, ref *model.Reference, since time.Time) error {
	a, err := loadAlarm(ctx, db, line)
	if err != nil {
		return err
	}
	acts, err := approvals(ctx, db, line, ref, &a, since)
	if err != nil || len(acts) == 0 {
		return err
	}
	text, err := json.Marshal(&a)
	if err != nil {
		return fmt.Errorf("the alarm: %w", err)
	}
	return db.Append(ctx, history.Batch{Line: line, Alarm: text, Acts: acts})
}

// noteApprovals tells history who approved the reference in force, once for each reference and each approval that is added.
func (c *committer) noteApprovals(ctx context.Context) error {
	ref, err := c.line.References.Current()
	if err != nil || ref == c.signed {
		return err
	}
	var since time.Time
	if keep := c.line.KeepActs; keep > 0 {
		since = c.line.Now().Add(-keep)
	}
	var acts []history.Act
	err = c.read(func() (err error) {
		acts, err = approvals(ctx, c.line.History, c.line.Name, ref.Model, &c.alarm, since)
		return err
	})
	if err != nil {
		return err
	}
	c.acted(acts)
	c.signed = ref
	return nil
}
