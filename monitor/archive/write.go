package archive

import (
	"bufio"
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
	"time"

	"asusual/model/spectrum"
	"asusual/monitor/history"
	"asusual/monitor/keep"
)

// Version is that of the folder that Write makes. Read reads it and all before it.
const Version = 1

const (
	format = "asusual archive"
	about  = "archive.json"
)

// A Month says which month is archived, of which lines, and by the clock of which zone.
type Month struct {
	Name  string // such as 2026-11
	Zone  *time.Location
	Lines []string
}

// Period returns where the month begins and ends.
func (m Month) Period() (from, to time.Time, err error) {
	zone := m.Zone
	if zone == nil {
		zone = time.UTC
	}
	from, err = time.ParseInLocation("2006-01", m.Name, zone)
	if err != nil {
		return from, to, fmt.Errorf("%q is not a month such as 2026-11", m.Name)
	}
	return from, from.AddDate(0, 1, 0), nil
}

// An About says what a folder is.
type About struct {
	Format   string    `json:"format"`
	Version  int       `json:"version"`
	Month    string    `json:"month"`
	TimeZone string    `json:"time_zone"`
	From     time.Time `json:"from"`
	To       time.Time `json:"to"`
	Lines    []string  `json:"lines"`
	Tables   []Table   `json:"tables"`
}

// A Table says what one of its files holds.
type Table struct {
	File   string `json:"file"`
	Rows   int    `json:"rows"`
	SHA256 string `json:"sha256"`
}

// Rows returns how many rows a table has; 0 where there is none of that name.
func (a About) Rows(file string) int {
	for _, t := range a.Tables {
		if t.File == file {
			return t.Rows
		}
	}
	return 0
}

// ErrExists says that the month is archived in the folder already.
var ErrExists = errors.New("the month is archived there already; nothing was changed")

// Write writes a month of history into a new folder of its name below dir, which is made where there is none, and returns where.
func Write(ctx context.Context, db *history.DB, m Month, dir string) (folder string, a About, err error) {
	from, to, err := m.Period()
	if err != nil {
		return "", a, err
	}
	folder = filepath.Join(dir, m.Name)
	if _, err := os.Lstat(folder); !errors.Is(err, os.ErrNotExist) {
		return "", a, errors.Join(fmt.Errorf("%s: %w", folder, ErrExists), err)
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return "", a, err
	}
	made, err := os.MkdirTemp(dir, keep.Prefix)
	if err != nil {
		return "", a, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(made)) }() // nothing is there any more once it has its name
	if err := os.Chmod(made, 0o755); err != nil {
		return "", a, err
	}
	a = About{Format: format, Version: Version, Month: m.Name, TimeZone: from.Location().String(), From: from, To: to, Lines: m.Lines}
	w := &writer{ctx: ctx, db: db, dir: made, month: m, from: from, to: to}
	w.all()
	if w.err != nil {
		return "", a, w.err
	}
	a.Tables = w.tables
	text, err := json.MarshalIndent(a, "", "  ")
	if err != nil {
		return "", a, err
	}
	if err := keep.WriteFile(filepath.Join(made, about), append(text, '\n')); err != nil {
		return "", a, err
	}
	return folder, a, keep.Rename(made, folder)
}

// A writer writes one table after another, until an error.
type writer struct {
	ctx      context.Context
	db       *history.DB
	dir      string
	month    Month
	from, to time.Time
	tables   []Table
	err      error
}

func (w *writer) all() {
	db := w.db
	put(w, "spectra.csv", spectraColumns(), db.Spectra)
	put(w, "episodes.csv", episodeColumns(), db.Episodes)
	put(w, "groups.csv", groupColumns(), db.Groups)
	put(w, "own.csv", ownColumns(), db.Own)
	put(w, "checks.csv", checkColumns(), db.Checks)
	put(w, "unreadable.csv", unreadableColumns(), db.Unreadable)
	put(w, "copies.csv", copyColumns(), db.Copies)
	put(w, "acts.csv", actColumns(), db.Acts)
	put(w, "references.csv", referenceColumns(), db.References)
	w.means()
}

// means writes the mean spectra, and each of their axes once.
func (w *writer) means() {
	var axes []axisRow
	numbers := map[*spectrum.Axis]int{}
	seen := map[string]int{}
	number := func(a *spectrum.Axis) (int, error) {
		if n, ok := numbers[a]; ok {
			return n, nil
		}
		text, err := json.Marshal(a)
		if err != nil {
			return 0, err
		}
		n, ok := seen[string(text)]
		if !ok {
			n = len(axes) + 1
			axes = append(axes, axisRow{n, string(text)})
			seen[string(text)] = n
		}
		numbers[a] = n
		return n, nil
	}
	put(w, "means.csv", meanColumns(), func(ctx context.Context, q history.Query) iter.Seq2[meanRow, error] {
		return func(yield func(meanRow, error) bool) {
			for m, err := range w.db.Means(ctx, q) {
				row := meanRow{Mean: m}
				if err == nil {
					row.axis, err = number(m.Axis)
				}
				if !yield(row, err) {
					return
				}
			}
		}
	})
	rows, lines := axes, w.month.Lines
	w.month.Lines = []string{""} // axes belong to no line
	put(w, "axes.csv", axisColumns(), func(context.Context, history.Query) iter.Seq2[axisRow, error] {
		return func(yield func(axisRow, error) bool) {
			for _, a := range rows {
				if !yield(a, nil) {
					return
				}
			}
		}
	})
	w.month.Lines = lines
}

// put writes one table: of each line what read yields.
func put[T any](w *writer, file string, columns []column[T], read func(context.Context, history.Query) iter.Seq2[T, error]) {
	if w.err != nil {
		return
	}
	n, sum, err := table(w, file, columns, read)
	if err != nil {
		w.err = fmt.Errorf("%s: %w", file, err)
		return
	}
	w.tables = append(w.tables, Table{file, n, sum})
}

func table[T any](w *writer, file string, columns []column[T], read func(context.Context, history.Query) iter.Seq2[T, error]) (n int, sum string, err error) {
	f, err := os.OpenFile(filepath.Join(w.dir, file), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return 0, "", err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	hash := sha256.New()
	buf := bufio.NewWriterSize(io.MultiWriter(f, hash), 1<<16)
	out := csv.NewWriter(buf)
	cells := make([]string, len(columns))
	for i, c := range columns {
		cells[i] = c.name
	}
	if err := out.Write(cells); err != nil {
		return 0, "", err
	}
	for _, line := range w.month.Lines {
		for v, err := range read(w.ctx, history.Query{Line: line, From: w.from, To: w.to}) {
			if err != nil {
				return n, "", err
			}
			for i, c := range columns {
				cells[i] = c.get(&v)
			}
			if err := out.Write(cells); err != nil {
				return n, "", err
			}
			n++
		}
	}
	out.Flush()
	if err := errors.Join(out.Error(), buf.Flush(), f.Sync()); err != nil {
		return n, "", err
	}
	return n, hex.EncodeToString(hash.Sum(nil)), nil
}
