package main

import (
	"fmt"
	"io"
	"slices"
	"time"

	"asusual/cmd/asusual/gather"
	"asusual/cmd/asusual/pages"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/model/finding"
)

// tellLearned says what was learned.
func (a *app) tellLearned(d *learned) error {
	if a.json {
		return writeJSON(a.out, d.json())
	}
	if !a.quiet {
		d.tell(a.out)
	}
	return nil
}

// json is the same for other programs.
func (d *learned) json() any {
	ref := d.reference
	return struct {
		Kind       string   `json:"kind"`
		Reference  string   `json:"reference"`
		Name       string   `json:"name"`
		File       string   `json:"file"`
		Spectra    int      `json:"spectra"`
		Runs       int      `json:"runs"`
		Hours      float64  `json:"hours"`
		Components int      `json:"components"`
		Pretreated string   `json:"pretreatment"`
		T2Limit    float64  `json:"t2_limit"`
		QLimit     float64  `json:"q_limit"`
		Conditions []string `json:"conditions"`
		LeftOut    int      `json:"left_out"`
		Unreadable int      `json:"unreadable"`
		Findings   []string `json:"findings"`
		Written    []string `json:"written"`
		Version    int      `json:"version"`
		Kept       []string `json:"kept"`    // conditions of the version before that no folder was learned from
		Dropped    []string `json:"dropped"` // conditions of the version before that are not known any more
		Gone       []string `json:"sources_not_named"`

		Unused []unusedLine `json:"unused"` // what could not be used, by reason
	}{
		"learned", ref.Fingerprint(), ref.Name, d.line.Reference, ref.Learning.Spectra, len(ref.Learning.Runs), ref.Limits.Hours, ref.PCA.K,
		ref.Chain.String(), ref.Limits.T2, ref.Limits.Q, d.conditionNames(), len(ref.Learning.LeftOut), gather.Count(d.unreadable),
		sentences(d.findings()), d.files, len(ref.Revisions) + 1, orNone(d.kept), orNone(d.dropped), orNone(d.gone),
		unusedJSON(ref.Learning.Unused),
	}
}

func (d *learned) conditionNames() []string {
	names := []string{}
	for _, c := range d.reference.Conditions {
		names = append(names, c.Name)
	}
	return names
}

func (d *learned) tell(w io.Writer) {
	ref := d.reference
	fmt.Fprintf(w, "%s learned (%s).\n\n", ref.Name, ref.Fingerprint())
	fmt.Fprintf(w, "  from           %s in %s%s\n", many(ref),
		words.Count(len(ref.Learning.Runs), "run", "runs"), d.hours())
	fmt.Fprintf(w, "  axis           %s\n", ref.Axis())
	fmt.Fprintf(w, "  pretreatment   %s\n", ref.Chain)
	fmt.Fprintf(w, "  components     %d\n", ref.PCA.K)
	fmt.Fprintf(w, "  promise        %s\n", ref.Limits.Promise)
	if names := d.conditionNames(); len(names) > 0 {
		fmt.Fprintf(w, "  conditions     %s\n", words.List(names))
	}
	d.tellReach(w)
	if all := d.findings(); len(all) > 0 {
		fmt.Fprint(w, "\nto know:\n")
		for _, f := range all {
			fmt.Fprintf(w, "  %s\n", f)
		}
	}
	d.tellLeftOut(w)
	d.tellKept(w)
	writeUnreadable(w, d.unreadable, gather.Count(d.unreadable))
	d.tellWritten(w)
}

// tellWritten names the files that were written and, where the reference waits for its approval, says so.
func (d *learned) tellWritten(w io.Writer) {
	fmt.Fprint(w, "\nwritten:\n")
	for _, f := range d.files {
		fmt.Fprintf(w, "  %s\n", f)
	}
	if d.waits() {
		fmt.Fprintf(w, "\nnobody has approved this version; %s\n", d.takenUp())
	}
}

// many says how much a reference was learned from: items, where these were gathered.
func many(ref *model.Reference) string {
	if ref.PerItem > 0 {
		return words.Count(ref.Learning.Spectra, "item", "items")
	}
	return words.Spectra(ref.Learning.Spectra)
}

// findings returns what a person should know of the whole reference and of its limits.
func (d *learned) findings() []finding.Finding {
	return slices.Concat(d.reference.Findings, d.reference.Limits.Findings)
}

// hours says how much production the spectra stand for, where they carry times.
func (d *learned) hours() string {
	h := d.reference.Limits.Hours
	if d.reference.Limits.Every == 0 || h <= 0 {
		return ""
	}
	return ", " + words.Duration(time.Duration(h*float64(time.Hour))) + " of production"
}

// tellReach says in one line what change the reference would see.
func (d *learned) tellReach(w io.Writer) {
	r := d.reference.Reach
	if r == nil || len(r.Bands) == 0 {
		return
	}
	within := words.Spectra(r.Within)
	if r.Time > 0 {
		within = words.Duration(r.Time)
	}
	b := r.Bands[len(r.Bands)/2]
	height := pages.Middle(b.Size)
	if !height.Seen() {
		fmt.Fprintf(w, "  reach          within %s: no single band %g %s wide; its card says what else\n", within, b.Width, r.Unit.Symbol())
		return
	}
	fmt.Fprintf(w, "  reach          within %s: a band %g %s wide, %.2g high in absorbance; its card draws the rest\n",
		within, b.Width, r.Unit.Symbol(), float64(height))
}

// tellLeftOut names the spectra that were not learned from.
func (d *learned) tellLeftOut(w io.Writer) {
	out := d.reference.Learning.LeftOut
	if len(out) == 0 {
		return
	}
	fmt.Fprintf(w, "\nleft out, %s:\n", words.Spectra(len(out)))
	for i, l := range out {
		if i == maxLeftOut {
			fmt.Fprintf(w, "  … and %s more; the reference and its card list all\n", words.Number(len(out)-i))
			break
		}
		fmt.Fprintf(w, "  %s: %s\n", l.Spectrum, l.Reason)
	}
}

// maxLeftOut is how many are named on a terminal.
const maxLeftOut = 10
