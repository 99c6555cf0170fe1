package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"slices"
	"strings"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/model/condition"
	"asusual/monitor"
	"asusual/monitor/history"
)

// before returns the reference that learning will take the place of, nil where there is none or it cannot be read: then unread
// says why. A file that is no reference at all is left alone.
func (a *app) before(l config.Line) (old *model.Reference, unread, err error) {
	old, path, err := a.reference("", l)
	var none *words.NoReference
	switch {
	case err == nil:
		return old, nil, nil
	case errors.As(err, &none):
		return nil, nil, nil
	}
	head := make([]byte, 64)
	f, failed := os.Open(path)
	if failed != nil {
		return nil, nil, err
	}
	defer f.Close()
	n, failed := io.ReadFull(f, head)
	if n == 0 && errors.Is(failed, io.EOF) {
		return nil, nil, nil // an empty file, made for it
	}
	if !strings.Contains(string(head[:n]), `"asusual reference"`) {
		return nil, nil, &words.NotOurs{Path: path}
	}
	return nil, err, nil
}

// renew makes what was learned the next version of the reference before it. What was named from groups is kept: as it is, or
// learned again from the spectra of its group; where neither can be, it is refused.
func (a *app) renew(ctx context.Context, c *config.Config, done *learned, old *model.Reference, how model.Renewal) error {
	how.Again = func(k *condition.Class) (*model.Training, error) { return a.again(ctx, c, done.line, k) }
	next, lost := done.reference.Renewing(old, how)
	if err := ctx.Err(); err != nil {
		return err
	}
	if len(lost) > 0 {
		e := &words.NotKept{Reference: done.line.Reference}
		for _, l := range lost {
			e.Names = append(e.Names, l.Class.Name)
			e.What = append(e.What, sourced(l.Class)+": "+strings.TrimPrefix(l.Why.Error(), "condition "+l.Class.Name+": "))
		}
		return e
	}
	knows := func(all []*condition.Class, name string) bool {
		return slices.ContainsFunc(all, func(k *condition.Class) bool { return k.Name == name })
	}
	for _, k := range next.Conditions {
		if !knows(done.reference.Conditions, k.Name) {
			done.kept = append(done.kept, sourced(k))
		}
	}
	for _, k := range old.Conditions {
		if !knows(next.Conditions, k.Name) {
			done.dropped = append(done.dropped, k.Name)
		}
	}
	done.reference = next
	return nil
}

// sourced names a condition and, where it is known, the group that it was named from.
func sourced(k *condition.Class) string {
	if k.Group == "" {
		return k.Name
	}
	return k.Name + ", named from " + k.Group
}

// again reads the spectra of a condition that was named from a group once more.
func (a *app) again(ctx context.Context, c *config.Config, l config.Line, k *condition.Class) (t *model.Training, err error) {
	if k.Group == "" {
		return nil, fmt.Errorf("%w, and it is not known where its spectra lie", model.ErrOtherSpace)
	}
	defer func() {
		if err != nil {
			err = fmt.Errorf("%w, and its spectra cannot be learned from again: %w", model.ErrOtherSpace, err)
		}
	}()
	db, err := a.openHistory(ctx, c)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	t, gone, err := a.groupSpectra(ctx, c, l, db, k.Group, k.Name)
	if err == nil && t.Len(k.Name) == 0 {
		err = errors.Join(few(gone)...)
	}
	return t, err
}

// groupSpectra reads the spectra of a group again from the folder of the line, as those of a condition of that name. What
// cannot be had any more comes back, too.
func (a *app) groupSpectra(ctx context.Context, c *config.Config, l config.Line, db *history.DB, group, name string) (*model.Training, []error, error) {
	l.ApprovedOnly = false // the reference judges nothing here
	w, err := a.watched(ctx, c, l, slog.New(slog.DiscardHandler))
	if err != nil {
		return nil, nil, err
	}
	w.History = db // has the spectra of each item
	var t model.Training
	var gone []error
	for s, err := range monitor.Reread(ctx, w, db.OfGroup(ctx, history.Query{Line: l.Name}, group)) {
		if err != nil {
			gone = append(gone, err)
			continue
		}
		s.Run = group
		t.Add(name, s)
	}
	if err := ctx.Err(); err != nil {
		return nil, nil, err
	}
	if t.Len(name) == 0 && len(gone) == 0 {
		return nil, nil, &words.GroupGone{Name: group}
	}
	return &t, gone, nil
}

// amount says how much a reference was learned from.
func amount(ref *model.Reference) string {
	return words.Spectra(ref.Learning.Spectra) + " and " + words.Count(len(ref.Learning.Runs), "run", "runs")
}

// tellKept says what became of the version before: of its conditions that no folder was learned from now, and of what it was learned from.
func (d *learned) tellKept(w io.Writer) {
	for _, k := range d.kept {
		fmt.Fprintf(w, "\nkept from the version before: %s\n", k)
	}
	if len(d.dropped) > 0 {
		fmt.Fprintf(w, "\nnot known any more, since no folder of its spectra is named now: %s\n", words.List(d.dropped))
	}
	if len(d.gone) > 0 {
		fmt.Fprintf(w, "\nthe version before was learned from %s, too, which nothing names now\n", words.List(d.gone))
	}
	if d.unread != nil {
		fmt.Fprintf(w, "\nthe reference before could not be read; what was named from groups in it is not kept: %v\n", d.unread)
	}
}
