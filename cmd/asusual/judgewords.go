package main

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"text/tabwriter"

	"asusual/cmd/asusual/gather"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/verdict"
)

// write says to a person what judge found.
func (d *day) write(w io.Writer, ref *model.Reference) error {
	fmt.Fprintf(w, "%s\n\n", d.sentence())
	fmt.Fprintf(w, "%s judged against %s (%s)", d.many(len(d.spectra)), ref.Name, ref.Fingerprint())
	if from := d.from(); !from.IsZero() {
		fmt.Fprintf(w, ", %s", words.Between(from.In(d.zone), d.to().In(d.zone)))
	}
	fmt.Fprintln(w)
	for _, r := range d.reasons {
		fmt.Fprintf(w, "  %s\n", r)
	}
	fmt.Fprint(w, words.Caution("  ", d.reasons...))
	for _, o := range d.odd {
		fmt.Fprintf(w, "  %s, from %s to %s\n", finding.Of(finding.Untimely, o.condition), words.Moment(o.from.In(d.zone)), o.to.In(d.zone).Format("15:04"))
	}
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	if len(d.episodes) > 0 {
		fmt.Fprintf(t, "\n%s\n", words.Count(len(d.episodes), "episode", "episodes"))
	}
	for i, e := range d.episodes {
		if i == maxRows {
			fmt.Fprintf(t, "  … and %d more; --json lists all\n", len(d.episodes)-i)
			break
		}
		fmt.Fprintf(t, "  %s\tchanged since about %s\t%s\t%s\n", words.Between(e.From.In(d.zone), e.To.In(d.zone)),
			words.Moment(e.ChangedSince.In(d.zone)), d.many(e.Spectra), e.Group)
	}
	fmt.Fprintln(t)
	for _, c := range d.conditions() {
		fmt.Fprintf(t, "  %s\t%s\n", c.name, d.many(c.spectra))
	}
	if err := t.Flush(); err != nil {
		return err
	}
	d.writeUnfit(w)
	writeUnreadable(w, d.unreadable, gather.Count(d.unreadable))
	return nil
}

// many says a number of what was judged: of items, where they were gathered.
func (d *day) many(n int) string {
	if d.gathered != nil {
		return words.Count(n, "item", "items")
	}
	return words.Spectra(n)
}

// sentence says the verdict.
func (d *day) sentence() string {
	switch d.verdict {
	case verdict.AsUsual:
		return "As usual."
	case verdict.Changed:
		text := "The process has changed"
		if t := d.since(); !t.IsZero() {
			text += ", since about " + words.Moment(t.In(d.zone))
		}
		if !d.open {
			return text + "; it was back to usual at the end."
		}
		return text + "."
	}
	return "Cannot say: " + d.whyNot() + "."
}

// whyNot says why there is no verdict.
func (d *day) whyNot() string {
	unfit := 0
	for _, s := range d.spectra {
		if s.Condition == model.Unfit {
			unfit++
		}
	}
	switch {
	case len(d.spectra) == 0:
		return "no spectrum could be used"
	case 2*unfit > len(d.spectra):
		return fmt.Sprintf("%d of %d spectra cannot be judged", unfit, len(d.spectra))
	case d.instrument == fitness.Bad:
		return "the instrument is unfit"
	case d.doubtful:
		return "the instrument was unfit while it changed"
	case slices.ContainsFunc(d.reasons, isSlow):
		return "spectra come too slowly for this reference"
	}
	return fmt.Sprintf("%s too few to tell", words.Count(len(d.spectra), "spectrum is", "spectra are"))
}

type conditionCount struct {
	name    string
	spectra int
}

// conditions counts the spectra in each condition, usual first.
func (d *day) conditions() []conditionCount {
	var all []conditionCount
	for _, s := range d.spectra {
		i := slices.IndexFunc(all, func(c conditionCount) bool { return c.name == s.Condition })
		if i < 0 {
			i = len(all)
			all = append(all, conditionCount{name: s.Condition})
		}
		all[i].spectra++
	}
	slices.SortStableFunc(all, func(a, b conditionCount) int {
		first := func(c conditionCount) int {
			if c.name == model.Usual {
				return 0
			}
			return 1
		}
		return cmp.Or(cmp.Compare(first(a), first(b)), cmp.Compare(b.spectra, a.spectra), cmp.Compare(a.name, b.name))
	})
	return all
}

// writeUnfit names the spectra that cannot be judged, and why.
func (d *day) writeUnfit(w io.Writer) {
	n := 0
	for _, s := range d.spectra {
		if s.Condition != model.Unfit {
			continue
		}
		n++
		switch {
		case n == 1:
			fmt.Fprint(w, "\ncannot be judged:\n")
		case n > maxRows:
			continue
		}
		name := s.file
		if s.row > 0 {
			name = fmt.Sprintf("%s: row %d", s.file, s.row)
		}
		fmt.Fprintf(w, "  %s: %s\n", name, words.List(sentences(s.Reasons)))
	}
	if n > maxRows {
		fmt.Fprintf(w, "  … and %s more; --json lists all\n", words.Number(n-maxRows))
	}
}
