package main

import (
	"context"
	"errors"
	"fmt"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/monitor/keep"
)

type approveOptions struct {
	line, reference, by, note string
	log                       bool
}

func (a *app) approveCommand() *cobra.Command {
	var o approveOptions
	c := &cobra.Command{
		Use:  "approve",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return a.approve(c.Context(), o) },
	}
	f := c.Flags()
	f.StringVar(&o.by, "by", "", "`NAME` of the person who approves; kept in the reference and in history")
	f.StringVar(&o.note, "note", "", "on what grounds, a `TEXT`; kept likewise")
	f.StringVar(&o.reference, "reference", "", "the reference `FILE` (default that of the line)")
	f.StringVar(&o.line, "line", "", "`NAME` of the line, where the configuration has several")
	f.BoolVar(&o.log, "log", false, "list who approved this version and those before it, and when")
	return c
}

// approve notes in a reference that a person stands for it, and in the history of the line.
func (a *app) approve(ctx context.Context, o approveOptions) error {
	c, err := a.config()
	if err != nil {
		return err
	}
	l := config.Line{}
	if o.line != "" || o.reference == "" || len(c.Lines) == 1 {
		if l, err = c.Find(o.line); err != nil {
			return err
		}
	}
	ref, path, err := a.reference(o.reference, l)
	if err != nil {
		return err
	}
	if o.log {
		return a.listApprovals(c, ref)
	}
	switch {
	case o.by == "":
		return wrongUse("--by is missing: who approves?")
	case o.note == "":
		return wrongUse("--note is missing: on what grounds?")
	}
	l.Reference = path
	if l.Name == "" {
		l.Name = ref.Name
	}
	next, err := ref.Approve(o.by, o.note, a.now().Truncate(time.Second))
	switch {
	case errors.Is(err, model.ErrApproved):
		return a.onceMore(c, l, ref, fmt.Errorf("%s: %w", path, err))
	case err != nil:
		return fmt.Errorf("%s: %w", path, err)
	}
	done := &learned{line: l, zone: c.Zone(), language: c.Site.Language, reference: next, from: ref}
	card := done.write()
	if !isWritten(card) {
		return card
	}
	kept, err := noteApproval(ctx, c, l, next, a.now())
	if err != nil {
		return errors.Join(fmt.Errorf("%s is approved; noting it in history: %w", path, err), card)
	}
	return errors.Join(a.tellApproved(c, next, path, kept), card)
}

// noteApproval notes the approvals of a reference in the history of the site, where there is one. A watch that has the history
// notes them itself, when it takes the reference up; kept says what became of it.
func noteApproval(ctx context.Context, c *config.Config, l config.Line, ref *model.Reference, now time.Time) (kept string, err error) {
	if l.Watch == "" || !exists(c.History) {
		return "by the watch, when it starts", nil
	}
	db, err := history.Open(ctx, c.History, "asusual approve")
	var held *keep.Held
	if errors.As(err, &held) {
		return "by the watch that runs", nil
	}
	if err != nil {
		return "", err
	}
	var since time.Time
	if keep := c.Keep.Episodes; keep > 0 {
		since = now.Add(-keep)
	}
	return "now", errors.Join(monitor.NoteApprovals(ctx, db, l.Name, ref, since), db.Close())
}

// An approval is one as other programs read it.
type approval struct {
	Kind      string    `json:"kind"` // approval
	Name      string    `json:"name"`
	Reference string    `json:"reference"` // fingerprint of what was approved
	Current   bool      `json:"current"`   // it is of the reference as it is
	By        string    `json:"by"`
	Note      string    `json:"note"`
	At        time.Time `json:"at"`
	History   string    `json:"history,omitempty"` // when history is told
}

func approvalJSON(ref *model.Reference, m model.Approval, zone *time.Location) approval {
	return approval{"approval", ref.Name, m.Of, m.Of == ref.Fingerprint(), m.By, m.Note, m.At.In(zone), ""}
}

func (a *app) tellApproved(c *config.Config, ref *model.Reference, path, kept string) error {
	m := ref.Approvals[len(ref.Approvals)-1]
	if a.json {
		j := approvalJSON(ref, m, c.Zone())
		j.History = kept
		return writeJSON(a.out, j)
	}
	a.say("%s (%s) is approved by %s, %s: %s", ref.Name, m.Of, m.By, words.Moment(m.At.In(c.Zone())), m.Note)
	a.say("%s and its card are written anew; history notes it %s.", path, kept)
	return nil
}

// listApprovals lists who approved the reference, the oldest first.
func (a *app) listApprovals(c *config.Config, ref *model.Reference) error {
	if a.json {
		for _, m := range ref.Approvals {
			if err := writeJSON(a.out, approvalJSON(ref, m, c.Zone())); err != nil {
				return err
			}
		}
		return nil
	}
	t := tabwriter.NewWriter(a.out, 0, 4, 2, ' ', 0)
	for _, m := range ref.Approvals {
		of := "this version, " + m.Of
		if m.Of != ref.Fingerprint() {
			of = "an earlier version, " + m.Of
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", words.Moment(m.At.In(c.Zone())), m.By, of, m.Note)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	if len(ref.Approved()) == 0 {
		a.say("%s (%s): nobody has approved this version.", ref.Name, ref.Fingerprint())
	}
	return nil
}
