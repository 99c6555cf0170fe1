package monitor

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"

	"asusual/model/spectrum"
	"asusual/monitor/arrive"
	"asusual/monitor/history"
)

// Reread reads the spectra of the records again from the line's folder, those of one file together, prepared as they were to be
// judged: to learn a condition from a group, say. Each is the very one that was judged, told by its values. What cannot be
// had any more is an error that names its file, and the rest goes on.
func Reread(ctx context.Context, line Line, records iter.Seq2[history.Record, error]) iter.Seq2[spectrum.Spectrum, error] {
	return func(yield func(spectrum.Spectrum, error) bool) {
		none := spectrum.Spectrum{}
		var files []string // in the order of the records
		var items []history.Record
		wanted := map[string]map[int64]int{}
		for r, err := range records {
			if err != nil {
				yield(none, err)
				return
			}
			if _, ok := meanOf(r); ok {
				items = append(items, r)
				continue
			}
			if wanted[r.File] == nil {
				files, wanted[r.File] = append(files, r.File), map[int64]int{}
			}
			wanted[r.File][r.Mark]++
		}
		tree, err := arrive.OpenDisk(line.Folder)
		if err != nil {
			yield(none, fmt.Errorf("the watched folder: %w", err))
			return
		}
		defer tree.Close()
		again := &rereader{line: &line, tree: tree, reader: spectrum.NewReader(line.Read)}
		for _, name := range files {
			if err := ctx.Err(); err != nil {
				yield(none, err)
				return
			}
			if !again.file(name, wanted[name], yield) {
				return
			}
		}
		for _, r := range items {
			if err := ctx.Err(); err != nil {
				yield(none, err)
				return
			}
			if !yield(again.item(ctx, r)) {
				return
			}
		}
	}
}

type rereader struct {
	line   *Line
	tree   arrive.Tree
	reader *spectrum.Reader
}

// file yields the wanted spectra of one file. It reports whether to go on.
func (r *rereader) file(name string, marks map[int64]int, yield func(spectrum.Spectrum, error) bool) bool {
	left := 0
	for _, n := range marks {
		left += n
	}
	in, err := r.tree.Open(name)
	if err != nil {
		var p *fs.PathError
		if errors.As(err, &p) {
			err = p.Err
		}
		return yield(spectrum.Spectrum{}, fmt.Errorf("%s: cannot be read again: %w", name, err))
	}
	defer in.Close()
	info, err := in.Stat()
	if err != nil {
		return yield(spectrum.Spectrum{}, err)
	}
	var text io.Reader
	if text, err = spectrum.Open(in, name, r.line.Read.MaxBytes); err != nil {
		return yield(spectrum.Spectrum{}, fmt.Errorf("%s: cannot be read again: %w", name, err))
	}
	for s, err := range r.reader.Read(text, spectrum.Source{Name: name, Modified: info.ModTime()}) {
		if err != nil {
			continue // it was not judged either
		}
		mark := markOf(s.Values)
		if marks[mark] == 0 {
			continue
		}
		marks[mark]--
		left--
		if s.Time.IsZero() {
			s.Time = info.ModTime()
		}
		if r.line.Prepare != nil {
			s, err = r.line.Prepare(s)
		}
		if !yield(s, err) {
			return false
		}
	}
	if left > 0 {
		return yield(spectrum.Spectrum{}, fmt.Errorf("%s: %d of its spectra are not there any more; it was written to since they were judged", name, left))
	}
	return true
}
