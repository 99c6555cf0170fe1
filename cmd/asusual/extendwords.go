package main

import (
	"fmt"
	"io"
	"text/tabwriter"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/gather"
	"asusual/cmd/asusual/pages"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/model/reach"
)

// reachDifferences compares what two versions would see, as far as both were asked the same.
func reachDifferences(old, next *model.Reference) []difference {
	o, n := old.Reach, next.Reach
	var all []difference
	add := func(what string, before, now reach.Size) {
		all = append(all, difference{"reach: " + what, size(before), size(now), "%.2g"})
	}
	for i := range min(len(o.Bands), len(n.Bands)) {
		if o.Bands[i].Width == n.Bands[i].Width {
			add(fmt.Sprintf("band %.4g %s wide", n.Bands[i].Width, n.Unit.Symbol()), pages.Middle(o.Bands[i].Size), pages.Middle(n.Bands[i].Size))
		}
	}
	add("offset", o.Offset, n.Offset)
	add("slope", o.Slope, n.Slope)
	add("scale", o.Scale, n.Scale)
	add("axis shift, "+n.Unit.Symbol(), o.Shift, n.Shift)
	add("noise", o.Noise, n.Noise)
	return all
}

func size(s reach.Size) *float64 {
	if !s.Seen() {
		return nil
	}
	v := float64(s)
	return &v
}

// say writes a figure; one that is not known is said so.
func (d difference) say(v *float64) string {
	if v == nil {
		return "not seen"
	}
	return fmt.Sprintf(d.format, *v)
}

func (d *learned) tellExtended(w io.Writer, e *extension, all []difference) error {
	ref := d.reference
	fmt.Fprintf(w, "%s extended (%s, before %s).\n\n", ref.Name, ref.Fingerprint(), e.before.Fingerprint())
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintf(t, "  \tbefore\tnow\n")
	for _, c := range all {
		fmt.Fprintf(t, "  %s\t%s\t%s\n", c.What, c.say(c.Before), c.say(c.Now))
	}
	if err := t.Flush(); err != nil {
		return err
	}
	for _, name := range sortedKeys(e.counts) {
		fmt.Fprintf(w, "\nset aside: %s of %s\n", words.Spectra(e.counts[name]), name)
	}
	d.tellKept(w)
	if all := d.findings(); len(all) > 0 {
		fmt.Fprint(w, "\nto know:\n")
		for _, f := range all {
			fmt.Fprintf(w, "  %s\n", f)
		}
	}
	d.tellLeftOut(w)
	writeUnreadable(w, d.unreadable, gather.Count(d.unreadable))
	d.tellWritten(w)
	fmt.Fprintln(w)
	return d.tellNext(w, e)
}

// tellNext says how the next learn has the extension, too. Among watched spectra none can be named as known-good.
func (d *learned) tellNext(w io.Writer, e *extension) (err error) {
	among, others := []string{}, []string{}
	for _, path := range e.paths {
		if d.line.AmongWatched(path) {
			among = append(among, path)
		} else {
			others = append(others, path)
		}
	}
	if len(among) > 0 {
		_, err = fmt.Fprintf(w, "copy %s out of the watched folder, %s, into one that good in %s names, so that the next learn has it\n",
			words.List(among), d.line.Watch, config.Name)
	}
	if len(others) > 0 && err == nil {
		_, err = fmt.Fprintf(w, "add %s to good in %s, so that the next learn has it\n", words.List(others), config.Name)
	}
	return err
}
