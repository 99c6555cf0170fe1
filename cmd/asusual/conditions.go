package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/pages"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/monitor/history"
)

type conditionsOptions struct{ line string }

func (a *app) conditionsCommand() *cobra.Command {
	var o conditionsOptions
	c := &cobra.Command{
		Use:  "conditions",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return a.conditions(c.Context(), o) },
	}
	a.addHistory(c.Flags())
	c.PersistentFlags().StringVar(&o.line, "line", "", "`NAME` of the line, where the configuration has several")
	c.AddCommand(&cobra.Command{
		Use:  "name",
		Args: cobra.ExactArgs(2),
		RunE: func(c *cobra.Command, args []string) error { return a.nameGroup(c.Context(), o, args[0], args[1]) },
	}, &cobra.Command{
		Use:  "forget",
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return a.forgetCondition(o, args[0]) },
	})
	return c
}

// conditions lists the conditions that the reference knows, and the groups of uncharted spectra in history.
func (a *app) conditions(ctx context.Context, o conditionsOptions) (err error) {
	c, l, ref, err := a.lineAndReference(o)
	if err != nil {
		return err
	}
	var groups []history.Group
	db, err := a.openHistory(ctx, c)
	var none *words.NoHistory
	switch {
	case errors.As(err, &none): // nothing was watched yet, and the reference may still be looked at
	case err != nil:
		return err
	default:
		defer func() { err = errors.Join(err, db.Close()) }()
		if groups, err = groupsOf(ctx, db, l.Name); err != nil {
			return err
		}
	}
	if a.json {
		return a.conditionsJSON(ref, groups, c.Zone())
	}
	return a.listConditions(ref, groups, c.Zone())
}

// groupsOf returns the uncharted groups of a line, the newest first.
func groupsOf(ctx context.Context, db *history.DB, line string) ([]history.Group, error) {
	var all []history.Group
	for g, err := range db.Groups(ctx, history.Query{Line: line}) {
		if err != nil {
			return nil, err
		}
		all = append(all, g)
	}
	slices.Reverse(all)
	return all, nil
}

func (a *app) lineAndReference(o conditionsOptions) (*config.Config, config.Line, *model.Reference, error) {
	c, err := a.config()
	if err != nil {
		return nil, config.Line{}, nil, err
	}
	l, err := c.Find(o.line)
	if err != nil {
		return nil, l, nil, err
	}
	ref, _, err := a.reference("", l)
	return c, l, ref, err
}

// nameGroup learns a condition from the spectra of an uncharted group. A watch that is running takes the new version of the
// reference up by itself.
func (a *app) nameGroup(ctx context.Context, o conditionsOptions, group, name string) error {
	c, l, ref, err := a.lineAndReference(o)
	if err != nil {
		return err
	}
	n, err := a.nameIn(ctx, c, l, group, name)
	var named *words.Named
	if errors.As(err, &named) && named.Name == name {
		return a.onceMore(c, l, ref, err)
	}
	if n == nil {
		return err
	}
	return errors.Join(a.tellNamed(l, n, name), err)
}

func (a *app) tellNamed(l config.Line, n *naming, name string) error {
	if a.json {
		return writeJSON(a.out, struct {
			revisedLine
			Group   string   `json:"group"`
			Spectra int      `json:"spectra"`
			NotUsed []string `json:"not_used"`
		}{revised("named", name, l, n.from, n.reference), n.group, n.spectra, orNone(n.unused)})
	}
	a.say("%s is now the condition %s, learned from %s.", n.group, name, words.Spectra(n.spectra))
	for _, what := range n.unused {
		a.say("  not used: %s", what)
	}
	a.say("%s is written anew (%s); %s.", l.Reference, n.reference.Fingerprint(), n.takenUp())
	return nil
}

// A naming is a version of a reference that knows a group by its name.
type naming struct {
	*learned
	group   string
	spectra int      // that the condition was learned from
	unused  []string // what else is of the group, and why it was not used
}

// nameIn names a group of a line of that configuration, and writes the next version of its reference. With a naming, an error says what
// beside the reference could not be written.
func (a *app) nameIn(ctx context.Context, c *config.Config, l config.Line, group, name string) (n *naming, err error) {
	ref, _, err := a.reference("", l)
	if err != nil {
		return nil, err
	}
	if err := config.CheckCondition(name); err != nil {
		return nil, usageError{err}
	}
	db, err := a.openHistory(ctx, c)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	groups, err := groupsOf(ctx, db, l.Name)
	if err != nil {
		return nil, err
	}
	g, err := findGroup(groups, group)
	if err != nil {
		return nil, err
	}
	if now := pages.Became(ref, g.Name); now != "" {
		return nil, &words.Named{Group: g.Name, Name: now}
	}
	oldest, _, _, err := db.Span(ctx, l.Name)
	if err != nil {
		return nil, err
	}
	t, gone, err := a.groupSpectra(ctx, c, l, db, g.Name, name)
	if err != nil {
		return nil, err
	}
	next, err := ref.WithCondition(model.Naming{Name: name, Group: g.Name, At: a.now().Truncate(time.Second)}, t)
	if err != nil {
		return nil, errors.Join(append([]error{err}, few(gone)...)...)
	}
	n = &naming{group: g.Name, spectra: t.Len(name)}
	var card error
	if n.learned, card = a.writeRevision(c, l, ref, next); !isWritten(card) {
		return nil, card
	}
	if before := g.Spectra - n.spectra - len(gone); before > 0 {
		why := "came before it was seen that they lie together"
		if oldest.After(g.From) {
			why = "were taken out of history, or " + why
		}
		n.unused = append(n.unused, fmt.Sprintf("the first %d, which %s", before, why))
	}
	for _, err := range few(gone) {
		n.unused = append(n.unused, err.Error())
	}
	return n, card
}

// A revisedLine says of a condition that was named or forgotten which version of the reference that made.
type revisedLine struct {
	Kind      string `json:"kind"`
	Name      string `json:"name"` // of the condition
	Line      string `json:"line"`
	Reference string `json:"reference"` // fingerprints
	Before    string `json:"before"`
	File      string `json:"file"`
}

func revised(kind, name string, l config.Line, from, next *model.Reference) revisedLine {
	return revisedLine{kind, name, l.Name, next.Fingerprint(), from.Fingerprint(), l.Reference}
}

// few returns the first of the errors, and how many more there are.
func few(all []error) []error {
	const most = 5
	if len(all) <= most {
		return all
	}
	return append(slices.Clone(all[:most]), fmt.Errorf("… and %d more", len(all)-most))
}

// findGroup returns the group that is meant: by its whole name, or by an end of it that no other has.
func findGroup(groups []history.Group, name string) (history.Group, error) {
	var found []history.Group
	for _, g := range groups {
		if strings.EqualFold(g.Name, name) {
			return g, nil
		}
		if strings.HasSuffix(strings.ToLower(g.Name), " "+strings.ToLower(name)) {
			found = append(found, g)
		}
	}
	switch len(found) {
	case 0:
		return history.Group{}, &words.NoGroup{Name: name}
	case 1:
		return found[0], nil
	}
	return history.Group{}, wrongUse("group %q may be %q or %q; write more of its name", name, found[0].Name, found[1].Name)
}

// forgetCondition takes a condition out of the reference: its spectra are uncharted again.
func (a *app) forgetCondition(o conditionsOptions, name string) error {
	c, l, ref, err := a.lineAndReference(o)
	if err != nil {
		return err
	}
	next, err := ref.WithoutCondition(name, a.now().Truncate(time.Second))
	if err != nil && ref.Forgot(name) {
		return a.onceMore(c, l, ref, err)
	}
	if err != nil {
		return err
	}
	done, card := a.writeRevision(c, l, ref, next)
	if !isWritten(card) {
		return card
	}
	if a.json {
		return errors.Join(writeJSON(a.out, revised("forgotten", name, l, ref, next)), card)
	}
	a.say("%s is no condition any more; its spectra are uncharted from now on.", name)
	a.say("%s is written anew (%s); %s.", l.Reference, next.Fingerprint(), done.takenUp())
	return card
}

// writeRevision writes the next version of the reference of a line, and its card.
func (a *app) writeRevision(c *config.Config, l config.Line, from, next *model.Reference) (*learned, error) {
	done := &learned{line: l, zone: c.Zone(), language: c.Site.Language, reference: next, from: from}
	return done, done.write()
}
