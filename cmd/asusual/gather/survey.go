package gather

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"asusual/model/spectrum"
)

// A Survey says what the spectra of many files are. Add each batch to it; its zero value is an empty one.
type Survey struct {
	Files      int
	Spectra    int
	Kinds      []Kind // what the files are, the most frequent first
	Runs       []Run  // in the order of their first time, then of their name
	From, To   time.Time
	Timeless   int                    // spectra without a time
	Unreadable []*spectrum.Unreadable // the first of them
	Bad        int                    // how many rows and files could not be read in all
	Broken     int                    // files of which nothing could be read

	inFile int // spectra of the file at hand
	runs   map[string]int
}

// maxNamed bounds how much of what could not be read is kept to be named: nobody reads more.
const maxNamed = 1000

// Count returns how many rows and files they stand for.
func Count(all []*spectrum.Unreadable) int {
	n := len(all)
	for _, u := range all {
		n += u.More
	}
	return n
}

// A Kind is a way in which files are alike: format, axis, quantity, where the time comes from.
type Kind struct {
	spectrum.Info
	Files   int
	Spectra int
	First   string // the first file of this kind
}

// A Run is what carries one run's name.
type Run struct {
	Name     string
	Spectra  int
	From, To time.Time
}

// RunOf returns the run of a spectrum: what a column or a header says, otherwise the folder of its file.
func RunOf(f File, s spectrum.Spectrum) string { return cmp.Or(s.Run, f.Folder) }

// Add takes the next batch, in the order in which Read hands them out.
func (v *Survey) Add(b Batch) {
	if v.runs == nil {
		v.runs = map[string]int{}
	}
	for _, s := range b.Spectra {
		v.add(b.File, s)
	}
	v.Spectra += len(b.Spectra)
	v.inFile += len(b.Spectra)
	v.Bad += Count(b.Unreadable)
	v.Unreadable = append(v.Unreadable, b.Unreadable[:min(len(b.Unreadable), maxNamed-len(v.Unreadable))]...)
	if !b.Last {
		return
	}
	v.Files++
	if v.inFile == 0 {
		v.Broken++
	} else {
		v.kind(b, v.inFile)
	}
	v.inFile = 0
}

func (v *Survey) add(f File, s spectrum.Spectrum) {
	name := RunOf(f, s)
	i, ok := v.runs[name]
	if !ok {
		i = len(v.Runs)
		v.runs[name] = i
		v.Runs = append(v.Runs, Run{Name: name})
	}
	r := &v.Runs[i]
	r.Spectra++
	if s.Time.IsZero() {
		v.Timeless++
		return
	}
	r.From, r.To = widen(r.From, r.To, s.Time)
	v.From, v.To = widen(v.From, v.To, s.Time)
}

func widen(from, to, t time.Time) (time.Time, time.Time) {
	if from.IsZero() || t.Before(from) {
		from = t
	}
	if to.IsZero() || t.After(to) {
		to = t
	}
	return from, to
}

func (v *Survey) kind(b Batch, spectra int) {
	i := slices.IndexFunc(v.Kinds, func(k Kind) bool { return alike(k.Info, b.Info) })
	if i < 0 {
		i = len(v.Kinds)
		v.Kinds = append(v.Kinds, Kind{Info: b.Info, First: b.File.Path})
	}
	v.Kinds[i].Files++
	v.Kinds[i].Spectra += spectra
}

func alike(a, b spectrum.Info) bool {
	return a.Format == b.Format && a.Delimiter == b.Delimiter && a.Decimal == b.Decimal && a.Axis == b.Axis && a.Unit == b.Unit &&
		a.UnitFrom == b.UnitFrom && a.Quantity == b.Quantity && a.QuantityFrom == b.QuantityFrom && a.Percent == b.Percent &&
		a.TimeFrom == b.TimeFrom && slices.Equal(a.Ignored, b.Ignored)
}

// Finish puts kinds and runs in order, once the last batch was added.
func (v *Survey) Finish() {
	slices.SortStableFunc(v.Kinds, func(a, b Kind) int { return cmp.Compare(b.Spectra, a.Spectra) })
	slices.SortStableFunc(v.Runs, func(a, b Run) int { return cmp.Or(a.From.Compare(b.From), cmp.Compare(a.Name, b.Name)) })
	v.runs = nil
}

// count says a number of spectra.
func count(n int) string {
	switch n {
	case 0:
		return "none"
	case 1:
		return "1 spectrum"
	}
	return strconv.Itoa(n) + " spectra"
}
