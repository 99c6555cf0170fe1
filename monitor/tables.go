package monitor

import (
	"context"
	"slices"

	"asusual/monitor/history"
)

// Rows that carry no time are not known again by it where an instrument renames its table: by the time that is the whole file's, and
// the rows of before stand in it with others. What begins with the rows of one of the newest tables is that table under another name.

const (
	newestTables = 16        // of which the beginnings are remembered
	tableHead    = pieceSize // rows of a beginning: those of the first piece
)

// recent are the newest tables whose rows carry no time, the newest last.
type recent struct {
	loaded bool
	tables []history.TableHead
}

// load takes over those that history has, once.
func (r *recent) load(ctx context.Context, line *Line) (err error) {
	if !r.loaded {
		r.tables, err = line.History.NewestTables(ctx, line.Name, newestTables, tableHead)
		r.loaded = err == nil
	}
	return err
}

// note remembers the rows of a piece of a table. Where the table begins, those of its earlier version stay: they may come again under
// the name that it was given meanwhile, and the file that has it may be read after the new one.
func (r *recent) note(name string, begins bool, spectra []placed) {
	t := history.TableHead{Name: name, Marks: map[int]int64{}}
	if i := r.last(name); i >= 0 && !begins {
		t = r.tables[i]
		r.tables = slices.Delete(r.tables, i, i+1)
	}
	for i := range spectra {
		if row := spectra[i].record.Row; row > 0 && row <= tableHead {
			t.Marks[row] = spectra[i].record.Mark
		}
	}
	if r.tables = append(r.tables, t); len(r.tables) > newestTables {
		r.tables = slices.Delete(r.tables, 0, 1)
	}
}

// last returns the place of the newest table of that name, −1 where there is none.
func (r *recent) last(name string) int {
	for i, t := range slices.Backward(r.tables) {
		if t.Name == name {
			return i
		}
	}
	return -1
}

// begun returns the newest table of another name with whose rows a table begins, "" where there is none.
func (r *recent) begun(name string, spectra []placed) string {
	for _, t := range slices.Backward(r.tables) {
		if t.Name != name && len(t.Marks) > 0 && beginsWith(spectra, t) {
			return t.Name
		}
	}
	return ""
}

func beginsWith(spectra []placed, t history.TableHead) bool {
	same := 0
	for i := range spectra {
		if mark, ok := t.Marks[spectra[i].record.Row]; ok {
			if mark != spectra[i].record.Mark {
				return false
			}
			same++
		}
	}
	return same == len(t.Marks)
}

// renamed finds out whether a table is a known one under another name, and which rows were then judged before.
func (t *taking) renamed(ctx context.Context, p piece) error {
	c, name := t.c, t.job.file.Rel
	of := c.recent.begun(name, p.spectra)
	if of == "" {
		return nil
	}
	if err := c.flush(ctx); err != nil { // its rows may be in the batch
		return err
	}
	c.line.Log.Warn("a table begins with the rows of another one, as after it was renamed; what is new in it is judged", "file", name, "of", of)
	return t.marked(ctx, of)
}
