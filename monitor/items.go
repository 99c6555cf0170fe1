package monitor

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"asusual/model"
	"asusual/model/finding"
	"asusual/model/intake"
	"asusual/model/item"
	"asusual/model/spectrum"
	"asusual/monitor/history"
)

// While items are gathered, a spectrum is not judged: history has it as one of an item or of the empty belt, and the item once it
// ended, as a record that bears the name of its first spectrum. An item that is open is kept with the state of the course, in the
// transaction of its spectra, so that whoever goes on after a kill has every spectrum in its item once. A spectrum that comes after its
// item was closed cannot be judged with it any more: it is kept as late, and told among what could not be used.

// usualGap ends an item where its options set none.
const usualGap = time.Minute

// A gathering is what the committer knows of the items of a line.
type gathering struct {
	gap     time.Duration // without a spectrum, after which the open item is closed
	arrived time.Time     // when the last spectrum came
	last    time.Time     // when that was measured
	written time.Time     // and its file was written
}

// newGathering returns what is to be known of items, nil where none are gathered.
func newGathering(line *Line) *gathering {
	opt := line.Instrument.Options.Items
	if opt == nil {
		return nil
	}
	g := &gathering{gap: opt.Gap, arrived: time.Now()}
	if g.gap <= 0 {
		g.gap = usualGap
	}
	return g
}

// courseState is the state of the course as history keeps it.
type courseState struct {
	*model.CourseState
	Items *intake.Items `json:"items,omitempty"`
}

// savedItems returns where the gathering of items stands in history.
func savedItems(ctx context.Context, line *Line) (p intake.Items, err error) {
	saved, err := line.History.State(ctx, line.Name)
	if err != nil || saved.Course == nil {
		return p, err
	}
	s := struct {
		Items *intake.Items `json:"items"`
	}{&p}
	if err := json.Unmarshal(saved.Course, &s); err != nil {
		return p, fmt.Errorf("%s: the items of line %q: %w", line.History.Path(), line.Name, err)
	}
	return p, nil
}

// items returns what of the gathering is to be kept, nil where nothing is gathered.
func (c *committer) items() *intake.Items {
	if c.own == nil || c.own.items == nil {
		return nil
	}
	p := c.own.in.Items()
	return &p
}

// empty reports whether a spectrum shows the empty belt, as the reference in force tells it.
func (k *own) empty(s spectrum.Spectrum) (bool, error) {
	b := k.ref.Model.Belt
	if b == nil {
		return false, fmt.Errorf("the reference has no model of the empty belt; learn it again")
	}
	return b.Empty(s)
}

// by makes the reference that which judges from now on.
func (k *own) by(ref *Reference) {
	if k.ref != ref {
		k.ref, k.judge = ref, ref.NewJudge()
	}
}

// gathered notes what became of a spectrum that was gathered, and judges the item that ended before it, if one did.
func (t *taking) gathered(ctx context.Context, s spectrum.Spectrum, p *placed, got intake.Taken) error {
	c := t.c
	g := c.own.items
	role := history.OfItem
	j := &c.batch.Files[t.entry]
	switch {
	case got.Late != nil:
		role = history.LateOfItem
		c.unusable(j, s, s.Time, said(got.Findings)) // when its item was
	case got.Of == 0:
		role = history.EmptyBelt
	}
	j.Own = append(j.Own, history.Own{Line: c.line.Name, File: s.File, Row: s.Row, Time: s.Time, Received: p.record.Received, Role: role,
		Late: s.Time.Before(g.last), Mark: p.record.Mark})
	if s.Time.After(c.newest) {
		c.newest = s.Time
	}
	c.spectra++
	if got.Late == nil {
		g.arrived, g.written = time.Now(), t.job.written()
	}
	if s.Time.After(g.last) {
		g.last = s.Time
	}
	c.use(t.job.ref, s.Time) // the state of items goes with that of the course
	return c.ended(ctx, got)
}

// ended judges an item that ended, or notes why it is not judged.
func (c *committer) ended(ctx context.Context, got intake.Taken) error {
	if got.Ended == nil {
		return nil
	}
	it, first := got.Ended, got.Sample
	at, err := c.entry(ctx, first.File)
	if err != nil {
		return err
	}
	j := &c.batch.Files[at]
	if !got.Ready {
		c.unusable(j, first, c.own.items.written, said(got.Findings))
		return nil
	}
	p := place(c.line, c.own.ref, c.own.judge, first, markOf(first.Values))
	what := finding.Of(finding.MeanOfItem, itemName(it), float64(it.Count), float64(it.Trimmed), it.To.Sub(it.From).Seconds())
	p.record.Reasons = slices.Concat(p.record.Reasons, got.Findings, []finding.Finding{what})
	c.use(c.own.ref, p.record.Time)
	c.keep(j, &p, c.own.items.written)
	return nil
}

// itemName says which item it is: by its id, or by its first spectrum.
func itemName(it *item.Item) string {
	if it.ID != "" {
		return it.ID
	}
	return it.Spectrum.Name()
}

// entry returns the place in the batch of a file that is in it or in history.
func (c *committer) entry(ctx context.Context, name string) (int, error) {
	for i := len(c.batch.Files) - 1; i >= 0; i-- {
		if c.batch.Files[i].File.Name == name {
			return i, nil
		}
	}
	var seen map[string]history.File
	err := c.read(func() (err error) {
		seen, err = c.line.History.Seen(ctx, c.line.Name, []string{name})
		return err
	})
	if err != nil {
		return 0, err
	}
	f, ok := seen[name]
	if !ok {
		return 0, fmt.Errorf("%s: history does not have the file of an item that it has spectra of", name)
	}
	c.batch.Files = append(c.batch.Files, history.Judged{File: f}) // as it is: only what belongs to it is added
	return len(c.batch.Files) - 1, nil
}

// quiet closes the open item where nothing came for longer than the gap. A spectrum that was measured within the gap may still be on
// its way: its file has to be found, and to settle.
func (c *committer) quiet(ctx context.Context, ordered int) error {
	k := c.own
	if k == nil || k.items == nil || !k.in.Open() || ordered > 0 || c.waiting() > 0 ||
		time.Since(k.items.arrived) <= k.items.gap+c.scanner.Unseen()+arriveSettle(c.line) {
		return nil
	}
	return c.closeItem(ctx)
}

// closeItem closes the item that is open, if one is.
func (c *committer) closeItem(ctx context.Context) error {
	k := c.own
	if k == nil || k.items == nil || !k.in.Open() {
		return nil
	}
	switch ref, err := c.line.References.Current(); {
	case err == nil:
		k.by(ref)
	case k.ref == nil:
		return err
	}
	return c.ended(ctx, k.in.Close())
}
