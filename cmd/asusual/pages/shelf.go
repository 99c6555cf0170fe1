package pages

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"time"

	"asusual/cmd/asusual/shift"
	"asusual/monitor/keep"
	"asusual/report"
	"asusual/report/chart"
)

// A Shelf is the folder of the reports:
//
//	index.html                          all reports; index-figures.json and index-shifts.csv hold its figures
//	2026-11-25/day/handover.html        of a shift, with its pictures
//	2026-11-25/day/figures.json         every figure of it; tables of what the pictures draw beside
//	2026-11-25/day/shift.json           what the index says of it
//
// With several lines each has a folder of its own between. What was written while there was one line, or several, is found where it lies.
type Shelf struct {
	Folder   string
	Site     string
	Zone     *time.Location
	Language *report.Language // of the index; nil: English
	Lines    []string         // all lines of the site, in their order
	Spare    bool             // a report that is there and is another stays, and Put returns ErrThere
}

// ErrThere says that another report of the shift is there already.
var ErrThere = errors.New("a report is there already")

// HandoverName is the name of the page of a shift in its folder.
const HandoverName = "handover.html"

const summaryName = "shift.json"

// A summary is what the index says of a shift: the content of shift.json, version 1.
type summary struct {
	Version  int            `json:"version"`
	Line     string         `json:"line"`
	Shift    string         `json:"shift"`
	From     time.Time      `json:"from"`
	To       time.Time      `json:"to"`
	Verdict  report.Verdict `json:"verdict"`
	Since    time.Time      `json:"since"`
	Episodes int            `json:"episodes,omitempty"` // how many there were; reports of earlier versions do not say
	Early    time.Time      `json:"early,omitzero"`     // when it was written, if that was before the end of the shift
	Received *int           `json:"received,omitempty"` // of how many spectra and unreadable files it tells; reports of earlier versions do not say
	Strip    []*float64     `json:"strip"`              // the distance in equal parts of the shift; null where there was nothing to judge
}

// folders returns where reports of a line may lie: the folder of what is written now, and that of a site with one line, or several.
func (s Shelf) folders(line string) [2]string {
	one, several := s.Folder, filepath.Join(s.Folder, keep.FolderName(line))
	if len(s.Lines) > 1 {
		return [2]string{several, one}
	}
	return [2]string{one, several}
}

// of returns the folder of the report of a shift in one of the folders.
func of(folder string, span shift.Span) string {
	return filepath.Join(folder, span.Date, keep.FolderName(span.Name))
}

// Of returns the folder that the report of a shift is written to.
func (s Shelf) Of(line string, span shift.Span) string { return of(s.folders(line)[0], span) }

// At returns the folder that the report of a shift lies in; that of Of where there is none.
func (s Shelf) At(line string, span shift.Span) string {
	now, before := s.Of(line, span), of(s.folders(line)[1], span)
	if isThere(now) || !isThere(before) {
		return now
	}
	if one, err := s.read(filepath.Join(before, summaryName)); err != nil || one.Line != line {
		return now
	}
	return before
}

// Lies reports whether a page of the shift is there, whole or not.
func (s Shelf) Lies(line string, span shift.Span) bool { return isThere(s.At(line, span)) }

// isThere reports whether a folder has the page of a shift.
func isThere(folder string) bool {
	_, err := os.Stat(filepath.Join(folder, HandoverName))
	return err == nil
}

// Has reports whether the report of a shift is there, and of how much it tells: as Received counts; −1 where it does not say, or the shift
// had other times then. What was written before the shift had ended is not the shift's.
func (s Shelf) Has(line string, span shift.Span) (received int, there bool) {
	folder := s.At(line, span)
	page, err := os.Stat(filepath.Join(folder, HandoverName))
	if err != nil {
		return -1, false
	}
	one, err := s.read(filepath.Join(folder, summaryName))
	switch {
	case err != nil:
		return -1, true
	case !one.isOf(span.From, span.To):
		return -1, one.Early.IsZero() && !page.ModTime().Before(span.To)
	case one.Received == nil:
		return -1, one.Early.IsZero()
	}
	return *one.Received, one.Early.IsZero()
}

// isOf reports whether the shift had these times.
func (one summary) isOf(from, to time.Time) bool { return one.From.Equal(from) && one.To.Equal(to) }

// Put makes the report of a shift, puts it and its pictures into their folder, and renews the index. It returns the path of the
// page and the verdict on it. A report that was made from more than history has now stays; the error is a *Fuller.
// With a page, an error says what beside it could not be written.
func (s Shelf) Put(ctx context.Context, src Source, span shift.Span) (page string, h report.Handover, err error) {
	folder := s.Of(src.Line, span)
	if src.Card != "" {
		if rel, err := filepath.Rel(folder, src.Card); err == nil {
			src.Card = filepath.ToSlash(rel)
		}
	}
	received, err := Received(ctx, src.History, src.Line, span) // before the page is made: what comes meanwhile may be missing on it
	if err != nil {
		return "", h, err
	}
	if err := s.fuller(ctx, src, span, received); err != nil && !s.Spare {
		return "", h, err
	}
	if h, err = src.Handover(ctx, span); err != nil {
		return "", h, err
	}
	p, err := h.Render()
	if err != nil {
		return "", h, err
	}
	if there, err := keep.ReadFile(filepath.Join(s.At(src.Line, span), HandoverName)); s.Spare && !errors.Is(err, fs.ErrNotExist) && !bytes.Equal(there, p.HTML) {
		return "", h, ErrThere
	}
	one := summary{
		Version: 1, Line: src.Line, Shift: span.Name, From: h.From, To: h.To,
		Verdict: h.Verdict, Since: h.Since, Episodes: len(h.Episodes), Early: h.Early, Received: &received, Strip: strip(h),
	}
	if page, err = s.lay(folder, one, p); page == "" {
		return "", h, err
	}
	if unlisted := s.Index(); unlisted != nil {
		err = errors.Join(err, fmt.Errorf("the index of the reports: %w", unlisted))
	}
	return page, h, err
}

// lay puts a report into its folder: the page last, for where it is the report counts as written, and what the index needs has to be there.
// Over one that was written early, or tells of less, that stays said until the page is another; one of other times counts as early.
func (s Shelf) lay(folder string, one summary, p report.Page) (page string, err error) {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return "", err
	}
	before, replaced := one, false
	if there, err := s.read(filepath.Join(folder, summaryName)); err == nil {
		replaced = true
		before.Early, before.Received = there.Early, there.Received
		if !there.isOf(one.From, one.To) && isThere(folder) {
			before.Early = one.From
		}
	}
	if err := before.write(folder); err != nil {
		return "", err
	}
	paths, err := Write(folder, HandoverName, "", p)
	if len(paths) == 0 {
		return "", err
	}
	if err != nil { // it is tried again, as one that tells of less
		less := max(0, *one.Received-1)
		if before.Received != nil {
			less = min(less, *before.Received)
		}
		before.Received = &less
		return paths[0], errors.Join(err, before.write(folder))
	}
	if replaced {
		err = one.write(folder)
	}
	return paths[0], err
}

func (one summary) write(folder string) error {
	b, err := json.MarshalIndent(one, "", "\t")
	if err != nil {
		return err
	}
	return keep.WriteFile(filepath.Join(folder, summaryName), append(b, '\n'))
}

// strips is in how many parts the index shows a shift.
const strips = 48

// strip returns the median distance in equal parts of the shift.
func strip(h report.Handover) []*float64 {
	parts := make([][]chart.Reading, strips)
	for _, r := range h.Distance.Readings {
		if i := int(strips * r.Time.Sub(h.From) / h.To.Sub(h.From)); r.Kind.Expected() && i >= 0 && i < strips {
			parts[i] = append(parts[i], r)
		}
	}
	out := make([]*float64, strips)
	for i, part := range parts {
		if len(part) > 0 {
			v := math.Round(1e4*medianDistance(part)) / 1e4
			out[i] = &v
		}
	}
	return out
}

// Index writes index.html over all reports that lie in the folder.
func (s Shelf) Index() error {
	index := report.Index{Site: s.Site, Zone: s.Zone, Language: s.Language}
	looked := map[string]*reports{} // the folder that one line would have, the others look into as well
	for _, line := range s.Lines {
		entry := report.IndexLine{Name: line}
		type key struct {
			name string
			from int64
		}
		listed := map[key]bool{}
		for _, folder := range s.folders(line) {
			found := looked[folder]
			if found == nil {
				var err error
				if found, err = s.look(folder); err != nil {
					return err
				}
				looked[folder] = found
				entry.Unread = append(entry.Unread, found.unread...) // said once
			}
			for _, one := range found.of[line] {
				if k := (key{one.Name, one.From.UnixNano()}); !listed[k] {
					listed[k] = true
					entry.Shifts = append(entry.Shifts, one)
				}
			}
		}
		slices.SortFunc(entry.Shifts, func(a, b report.IndexShift) int { return b.From.Compare(a.From) })
		index.Lines = append(index.Lines, entry)
	}
	page, err := index.Render()
	if err != nil {
		return err
	}
	_, err = Write(s.Folder, "index.html", "index-", page)
	return err
}

// A reports is what lies in a folder of reports, as the index says it.
type reports struct {
	of     map[string][]report.IndexShift // by line
	unread []string
}

func (s Shelf) look(folder string) (*reports, error) {
	found, err := fs.Glob(os.DirFS(folder), "*/*/"+summaryName)
	if err != nil {
		return nil, err
	}
	r := &reports{of: map[string][]report.IndexShift{}}
	for _, name := range found {
		path := filepath.Join(folder, filepath.FromSlash(name))
		if _, err := os.Stat(filepath.Join(filepath.Dir(path), HandoverName)); errors.Is(err, fs.ErrNotExist) {
			continue // its page was not written to the end
		}
		one, err := s.read(path)
		if err != nil || !one.Verdict.Known() || !one.To.After(one.From) { // one damaged file keeps no other report from the index
			r.unread = append(r.unread, s.fromHere(path))
			continue
		}
		r.of[one.Line] = append(r.of[one.Line], s.entry(path, one))
	}
	return r, nil
}

func (s Shelf) read(path string) (summary, error) {
	var one summary
	b, err := os.ReadFile(path)
	if err != nil {
		return one, err
	}
	if err := json.Unmarshal(b, &one); err != nil {
		return one, fmt.Errorf("%s: not what the index needs: %w", path, err)
	}
	return one, nil
}

// fromHere is a path as the index gives it: relative to its own folder, with slashes; "" where there is none.
func (s Shelf) fromHere(path string) string {
	rel, err := filepath.Rel(s.Folder, path)
	if err != nil {
		return ""
	}
	return filepath.ToSlash(rel)
}

func (s Shelf) entry(path string, one summary) report.IndexShift {
	e := report.IndexShift{Name: one.Shift, From: one.From, To: one.To, Verdict: one.Verdict, Since: one.Since, Episodes: one.Episodes, Strip: make([]float64, len(one.Strip))}
	e.Href = s.fromHere(filepath.Join(filepath.Dir(path), HandoverName))
	for i, v := range one.Strip {
		e.Strip[i] = math.NaN()
		if v != nil {
			e.Strip[i] = *v
		}
	}
	return e
}
