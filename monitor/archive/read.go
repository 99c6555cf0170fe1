package archive

import (
	"context"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"slices"

	"asusual/model/spectrum"
	"asusual/monitor/history"
)

// Errors that a caller may branch on.
var (
	ErrNotArchive = errors.New("not an archive of a month")
	ErrNewer      = errors.New("written by a newer version of this program")
	ErrAltered    = errors.New("altered since it was written")
	ErrThere      = errors.New("the history has something of that line and month already; nothing was read in")
	ErrPart       = errors.New("the month could not be read to its end")
)

// Look says what the folder is, without looking into its tables.
func Look(folder string) (a About, err error) {
	text, err := os.ReadFile(filepath.Join(folder, about))
	if err != nil {
		return a, fmt.Errorf("%s: %w: %w", folder, ErrNotArchive, err)
	}
	if err := json.Unmarshal(text, &a); err != nil || a.Format != format || a.Version < 1 {
		return a, fmt.Errorf("%s: %w: its %s does not say %q", folder, ErrNotArchive, about, format)
	}
	if a.Version > Version {
		return a, fmt.Errorf("%s: %w: version %d, this program reads up to %d", folder, ErrNewer, a.Version, Version)
	}
	return a, nil
}

// Read reads an archive into a history that is open to be written. Whether the archive is as it was written is checked before
// anything is read in. It is read in batches: where an error or the end of ctx comes in between, the history has a part, is best thrown
// away, and the error is ErrPart.
func Read(ctx context.Context, folder string, db *history.DB) (About, error) {
	a, err := Look(folder)
	if err != nil {
		return a, err
	}
	for _, t := range a.Tables {
		if err := check(folder, t); err != nil {
			return a, err
		}
	}
	for _, line := range a.Lines {
		there, err := has(ctx, db, history.Query{Line: line, From: a.From, To: a.To})
		if err != nil {
			return a, err
		}
		if there {
			return a, fmt.Errorf("%s: line %q: %w", folder, line, ErrThere)
		}
	}
	r := &reader{ctx: ctx, db: db, dir: folder, at: map[string]int{}, made: map[string]int{}}
	if err := r.all(); err != nil {
		return a, fmt.Errorf("%s: %w: %w", folder, ErrPart, err)
	}
	return a, nil
}

// has reports whether the history has anything of a line and a period that only one archive holds. Spectra may have been taken out before
// the month was written, and the rest be there.
func has(ctx context.Context, db *history.DB, q history.Query) (bool, error) {
	for _, there := range []func() (bool, error){
		func() (bool, error) { return some(db.Newest(ctx, q, 1)) },
		func() (bool, error) { return some(db.Means(ctx, q)) },
		func() (bool, error) { return some(db.Checks(ctx, q)) },
		func() (bool, error) { return some(db.Acts(ctx, q)) },
	} {
		if is, err := there(); is || err != nil {
			return is, err
		}
	}
	return false, nil
}

func some[T any](all iter.Seq2[T, error]) (bool, error) {
	for _, err := range all {
		return err == nil, err
	}
	return false, nil
}

// check compares a table with its checksum.
func check(folder string, t Table) error {
	if filepath.Base(t.File) != t.File {
		return fmt.Errorf("%s: %w: it names a table %q", folder, ErrNotArchive, t.File)
	}
	f, err := os.Open(filepath.Join(folder, t.File))
	if err != nil {
		return err
	}
	defer f.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return err
	}
	if got := hex.EncodeToString(sum.Sum(nil)); got != t.SHA256 {
		return fmt.Errorf("%s: %w: its checksum is %.12s…, %s says %.12s…", filepath.Join(folder, t.File), ErrAltered, got, about, t.SHA256)
	}
	return nil
}

// A reader reads one table after another into a history.
type reader struct {
	ctx  context.Context
	db   *history.DB
	dir  string
	at   map[string]int // where the latest version of a file stands in the batch at hand
	made map[string]int // the latest version of files that have more than one, by line and name
}

func (r *reader) all() error {
	for _, read := range []func() error{
		r.spectra,
		func() error {
			return eachOf(r, "own.csv", ownColumns(), func(o history.Own) string { return o.Line }, func(b *history.Batch, o history.Own) {
				j := r.file(b, o.File)
				j.File.Modified, j.Own = o.Time, append(j.Own, o)
			})
		},
		r.unreadable,
		func() error {
			return eachOf(r, "copies.csv", copyColumns(), func(c history.Copy) string { return c.Line }, func(b *history.Batch, c history.Copy) {
				j := r.file(b, c.File)
				j.File.Modified, j.Copies = c.Time, append(j.Copies, c)
			})
		},
		func() error {
			return eachOf(r, "episodes.csv", episodeColumns(), func(e history.Episode) string { return e.Line }, func(b *history.Batch, e history.Episode) { b.Episodes = append(b.Episodes, e) })
		},
		func() error {
			return eachOf(r, "groups.csv", groupColumns(), func(g history.Group) string { return g.Line }, func(b *history.Batch, g history.Group) { b.Groups = append(b.Groups, g) })
		},
		func() error {
			return eachOf(r, "checks.csv", checkColumns(), func(c history.Check) string { return c.Line }, func(b *history.Batch, c history.Check) { b.Checks = append(b.Checks, c) })
		},
		func() error {
			return eachOf(r, "acts.csv", actColumns(), func(a history.Act) string { return a.Line }, func(b *history.Batch, a history.Act) { b.Acts = append(b.Acts, a) })
		},
		r.references,
		r.means,
	} {
		if err := read(); err != nil {
			return err
		}
	}
	return nil
}

// batchRows is how many rows one transaction takes.
const batchRows = 2000

// eachOf reads a table into batches, each of one line.
func eachOf[T any](r *reader, file string, columns []column[T], lineOf func(T) string, add func(*history.Batch, T)) error {
	var b history.Batch
	n := 0
	for v, err := range rows(filepath.Join(r.dir, file), columns) {
		if err != nil {
			return err
		}
		if line := lineOf(v); line != b.Line || n == batchRows {
			if err := r.append(b, n); err != nil {
				return fmt.Errorf("%s: %w", file, err)
			}
			b, n = history.Batch{Line: line}, 0
		}
		add(&b, v)
		n++
	}
	return r.append(b, n)
}

// append writes a batch, whose files go on where history has them.
func (r *reader) append(b history.Batch, n int) error {
	clear(r.at)
	if n == 0 {
		return nil
	}
	names := make([]string, len(b.Files))
	for i, j := range b.Files {
		names[i] = j.File.Name
	}
	seen, err := r.db.Seen(r.ctx, b.Line, names)
	if err != nil {
		return err
	}
	for i := range b.Files {
		f := &b.Files[i].File
		if was, ok := seen[f.Name]; ok && f.Version <= was.Version {
			*f = was
		}
	}
	return r.db.Append(r.ctx, b)
}

// file returns what becomes of a file in the batch: the last version of it that the archive has come to.
func (r *reader) file(b *history.Batch, name string) *history.Judged {
	version := max(1, r.made[b.Line+"\x00"+name])
	if i, ok := r.at[name]; ok && b.Files[i].File.Version == version {
		return &b.Files[i]
	}
	r.at[name] = len(b.Files)
	b.Files = append(b.Files, history.Judged{File: history.File{Name: name, Version: version}})
	return &b.Files[len(b.Files)-1]
}

// next begins another version of a file.
func (r *reader) next(b *history.Batch, name string) *history.Judged {
	r.made[b.Line+"\x00"+name] = max(1, r.made[b.Line+"\x00"+name]) + 1
	return r.file(b, name)
}

// spectra reads the records. Two of one file, time and row stand in two versions of that file, as they did.
func (r *reader) spectra() error {
	type place struct {
		file string
		row  int
	}
	var last history.Record
	var there map[place]bool
	return eachOf(r, "spectra.csv", spectraColumns(), func(v history.Record) string { return v.Line }, func(b *history.Batch, v history.Record) {
		if v.Line != last.Line || !v.Time.Equal(last.Time) {
			there = map[place]bool{}
		}
		last = v
		at := place{v.File, v.Row}
		var j *history.Judged
		if there[at] {
			j = r.next(b, v.File)
		} else {
			j = r.file(b, v.File)
		}
		there[at] = true
		j.File.Modified, j.File.Received, j.File.Rows = v.Time, v.Received, max(j.File.Rows, v.Row, 1)
		j.Records = append(j.Records, v)
	})
}

// unreadable reads what could not be read. Where a later version of a file could be, there is one again.
func (r *reader) unreadable() error {
	return eachOf(r, "unreadable.csv", unreadableColumns(), func(u history.Unreadable) string { return u.Line }, func(b *history.Batch, u history.Unreadable) {
		j := r.file(b, u.File)
		j.File.Modified, j.Unreadable = u.Time, append(j.Unreadable, u)
		if u.Mended {
			r.next(b, u.File).File.Modified = u.Time
		}
	})
}

func (r *reader) references() error {
	for ref, err := range rows(filepath.Join(r.dir, "references.csv"), referenceColumns()) {
		if err != nil {
			return err
		}
		if err := r.db.Append(r.ctx, history.Batch{Line: ref.Line, Reference: &ref}); err != nil {
			return err
		}
	}
	return nil
}

func (r *reader) means() error {
	axes := map[int]*spectrum.Axis{}
	for a, err := range rows(filepath.Join(r.dir, "axes.csv"), axisColumns()) {
		if err != nil {
			return err
		}
		axes[a.number] = new(spectrum.Axis)
		if err := json.Unmarshal([]byte(a.json), axes[a.number]); err != nil {
			return fmt.Errorf("axes.csv: axis %d: %w", a.number, err)
		}
	}
	return eachOf(r, "means.csv", meanColumns(), func(m meanRow) string { return m.Line }, func(b *history.Batch, m meanRow) {
		m.Axis = axes[m.axis]
		b.Means = append(b.Means, m.Mean)
	})
}

// rows yields the rows of a table. Columns are found by their names, so that later versions may add some.
func rows[T any](path string, columns []column[T]) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		var none T
		f, err := os.Open(path)
		if err != nil {
			yield(none, err)
			return
		}
		defer f.Close()
		rowsOf(f, path, columns)(yield)
	}
}

// rowsOf yields those of a text; path is for errors.
func rowsOf[T any](text io.Reader, path string, columns []column[T]) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		var none T
		in := csv.NewReader(text)
		in.ReuseRecord = true
		head, err := in.Read()
		if err != nil {
			yield(none, fmt.Errorf("%s: its head: %w", path, err))
			return
		}
		at := make([]int, len(columns))
		for i, c := range columns {
			if at[i] = slices.Index(head, c.name); at[i] < 0 && c.set != nil {
				yield(none, fmt.Errorf("%s: no column %s", path, c.name))
				return
			}
		}
		for n := 1; ; n++ {
			cells, err := in.Read()
			if err == io.EOF {
				return
			}
			if err != nil {
				yield(none, fmt.Errorf("%s: %w", path, err))
				return
			}
			var v T
			for i, c := range columns {
				if c.set == nil {
					continue
				}
				if err := c.set(&v, cells[at[i]]); err != nil {
					yield(none, badCell(path, n, c.name, cells[at[i]], err))
					return
				}
			}
			if !yield(v, nil) {
				return
			}
		}
	}
}
