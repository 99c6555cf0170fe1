package main

import (
	"fmt"
	"io"
	"text/tabwriter"
	"time"

	"asusual/cmd/asusual/pages"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/monitor/history"
)

// listConditions lists what the reference knows, and the groups, the newest first: those that can be named, and then those that
// have a name.
func (a *app) listConditions(ref *model.Reference, groups []history.Group, zone *time.Location) error {
	t := tabwriter.NewWriter(a.out, 0, 4, 2, ' ', 0)
	listKnown(t, ref, zone)
	var free, named []history.Group
	for _, g := range groups {
		if pages.Became(ref, g.Name) == "" {
			free = append(free, g)
		} else {
			named = append(named, g)
		}
	}
	fmt.Fprintf(t, "\n%s of uncharted spectra\n", words.Count(len(free), "group", "groups"))
	listGroups(t, ref, free, zone)
	if len(named) > 0 {
		fmt.Fprintf(t, "\n%s that became a condition\n", words.Count(len(named), "group", "groups"))
		listGroups(t, ref, named, zone)
	}
	return t.Flush()
}

func listKnown(t io.Writer, ref *model.Reference, zone *time.Location) {
	fmt.Fprintf(t, "known conditions of %s\n  %s\t%s\t%s\n", ref.Name, model.Usual,
		words.Spectra(ref.Learning.Spectra), words.Count(len(ref.Learning.Runs), "run", "runs"))
	for _, k := range ref.Conditions {
		longest := ""
		if k.Longest > 0 {
			longest = "longest stay " + words.Duration(k.Longest)
		}
		version, at := knownSince(ref, k.Name)
		fmt.Fprintf(t, "  %s\t%s\t%s\t%s\tsince version %d, %s\n", k.Name, words.Spectra(k.Spectra), words.Count(k.Runs, "run", "runs"),
			longest, version, words.Moment(at.In(zone)))
	}
	if len(ref.Revisions) > 0 {
		fmt.Fprintf(t, "\nversions of the reference\n  1\t%s\tlearned\n", words.Moment(ref.FirstLearned().In(zone)))
	}
	for i, r := range ref.Revisions {
		fmt.Fprintf(t, "  %d\t%s\t%s\n", i+2, words.Moment(r.At.In(zone)), r.What)
	}
}

func listGroups(t io.Writer, ref *model.Reference, groups []history.Group, zone *time.Location) {
	for i, g := range groups {
		if i == maxRows {
			fmt.Fprintf(t, "  … and %d earlier ones; --json lists all\n", len(groups)-i)
			break
		}
		note := ""
		if now := pages.Became(ref, g.Name); now != "" {
			note = "now " + now
		} else if g.Seen != "" {
			note = "seen before: " + g.Seen
			if now := pages.Became(ref, g.Seen); now != "" {
				note += ", now " + now
			}
		}
		fmt.Fprintf(t, "  %s\t%s\t%s\t%s\t%s\n", g.Name, words.Spectra(g.Spectra), words.Between(g.From.In(zone), g.To.In(zone)),
			departure(pages.DepartureOf(ref, g)), note)
	}
}

// departure says how far the group lies from usual and where on the axis most, as far as that is known.
func departure(d *pages.Departure) string {
	if d == nil {
		return ""
	}
	text := fmt.Sprintf("%.2g from usual", d.Distance)
	if len(d.Most) > 0 {
		text += fmt.Sprintf(", most at %.6g %s", d.Most[0], d.Axis.Unit)
	}
	return text
}

// knownSince returns the version of the reference, from 1, since which it knows the condition, and when that was made.
func knownSince(ref *model.Reference, name string) (version int, at time.Time) {
	version, at = 1, ref.FirstLearned()
	for i, r := range ref.Revisions {
		if r.Adds == name {
			version, at = i+2, r.At
		}
	}
	return version, at
}

func (a *app) conditionsJSON(ref *model.Reference, groups []history.Group, zone *time.Location) error {
	for _, k := range ref.Conditions {
		version, at := knownSince(ref, k.Name)
		if err := writeJSON(a.out, struct {
			Kind    string    `json:"kind"`
			Name    string    `json:"name"`
			Spectra int       `json:"spectra"`
			Runs    int       `json:"runs"`
			Longest float64   `json:"longest_stay"` // s
			Version int       `json:"version"`      // of the reference, from 1, since which it is known
			Since   time.Time `json:"since"`
			Group   string    `json:"group"` // that it was named from, "" for none
		}{"condition", k.Name, k.Spectra, k.Runs, k.Longest.Seconds(), version, at.In(zone), k.Group}); err != nil {
			return err
		}
	}
	for _, g := range groups {
		if err := writeJSON(a.out, struct {
			Kind    string    `json:"kind"`
			Name    string    `json:"name"`
			From    time.Time `json:"from"`
			To      time.Time `json:"to"`
			Spectra int       `json:"spectra"`
			Seen    string    `json:"seen"`
			Now     string    `json:"now"`  // the condition that was named from it, "" for none
			Mean    any       `json:"mean"` // null where it is not known
			Departs any       `json:"departure"`
		}{"group", g.Name, g.From.In(zone), g.To.In(zone), g.Spectra, g.Seen, pages.Became(ref, g.Name), meanJSON(g), departureJSON(pages.DepartureOf(ref, g))}); err != nil {
			return err
		}
	}
	return nil
}

// meanJSON is the mean spectrum of a group.
func meanJSON(g history.Group) any {
	if g.Mean == nil {
		return nil
	}
	return struct {
		Spectra    int       `json:"spectra"`
		Unit       string    `json:"unit"`
		Axis       []float64 `json:"axis"`
		Absorbance []float64 `json:"absorbance"`
	}{g.Mean.Count, g.Mean.Axis.Unit().Symbol(), g.Mean.Axis.Values(), g.Mean.Values}
}

// departureJSON is the direction from usual in which the mean spectrum of a group lies.
func departureJSON(d *pages.Departure) any {
	if d == nil {
		return nil
	}
	return struct {
		Distance   float64   `json:"distance"`
		T2         float64   `json:"t2"`
		Q          float64   `json:"q"`
		Most       []float64 `json:"most_at"` // the furthest outside usual first
		Unit       string    `json:"unit"`
		Axis       []float64 `json:"axis"`
		Difference []float64 `json:"difference"` // pretreated
		Band       []float64 `json:"band"`       // half the width of usual
	}{d.Distance, d.T2, d.Q, append([]float64{}, d.Most...), d.Axis.Unit, d.Axis.At, d.Difference, d.Band}
}
