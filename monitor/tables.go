package monitor

import (
	"context"
	"slices"

	"asusual/monitor/history"
)

// Rows that carry no time are not known again by it: that of the whole file stands in for it, and is another one each time the file was
// written. What such a table holds that was judged before is told by the values of its rows, wherever it comes from:
//
//   - it was saved anew, also over one that could not be read for a while, or its reading was broken off: the rows are in history under
//     its own name;
//   - it was renamed, packed or copied: it begins with the rows of another table, and they are in history under that name;
//   - the other one had been, too: history says under which name.
//
// The known are all these rows, so often as each was judged. One that only grew is not asked about them: its new rows are behind the
// others, and new.

const (
	newestTables = 256 // versions of tables without times of which the beginnings are remembered
	tableHead    = 32  // rows of a beginning
	alikeMost    = 8   // of the tables that begin alike, the newest
)

// recent are the newest tables whose rows carry no time, the newest last.
type recent struct {
	loaded bool
	tables []history.TableHead
}

// load takes over those that history has, once.
func (r *recent) load(ctx context.Context, line *Line) error {
	if r.loaded {
		return nil
	}
	tables, err := line.History.NewestTables(ctx, line.Name, newestTables, tableHead)
	if err != nil {
		return err
	}
	r.loaded = true
	for _, t := range tables {
		if _, begins := t.Marks[1]; !begins { // in others, in whose rows it goes on
			for _, of := range t.Of {
				if i := r.last(of); i >= 0 {
					t.Marks = joined(r.tables[i].Marks, t.Marks)
				}
			}
		}
		r.add(t)
	}
	return nil
}

func joined(first, then map[int]int64) map[int]int64 {
	all := make(map[int]int64, len(first)+len(then))
	for _, marks := range []map[int]int64{first, then} {
		for row, mark := range marks {
			all[row] = mark
		}
	}
	return all
}

// add remembers one more. Where it has all that is known of the one before of its name, it is that one, saved anew; else that one stays:
// it may come again under another name, and the file that has it may be read after this one.
func (r *recent) add(t history.TableHead) {
	if i := r.last(t.Name); i >= 0 && shared(r.tables[i].Marks, t.Marks) == len(r.tables[i].Marks) {
		r.tables = slices.Delete(r.tables, i, i+1)
	}
	if r.tables = append(r.tables, t); len(r.tables) > newestTables {
		r.tables = slices.Delete(r.tables, 0, 1)
	}
}

// note remembers the rows of a piece of a table. It goes on with what is known of it, unless it begins.
func (r *recent) note(name string, begins bool, spectra []placed) {
	i := r.last(name)
	if begins || i < 0 {
		r.add(history.TableHead{Name: name, Marks: headOf(spectra)})
		return
	}
	t := r.tables[i]
	t.Marks = joined(t.Marks, headOf(spectra))
	r.tables = append(slices.Delete(r.tables, i, i+1), t)
}

func headOf(spectra []placed) map[int]int64 {
	marks := map[int]int64{}
	for i := range spectra {
		if r := &spectra[i].record; r.Row > 0 && r.Row <= tableHead {
			marks[r.Row] = r.Mark
		}
	}
	return marks
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

// alike returns the names of the newest tables, but for this one, that begin as a table does, the newest first.
func (r *recent) alike(name string, head map[int]int64) (names []string) {
	for _, t := range slices.Backward(r.tables) {
		if t.Name != name && shared(t.Marks, head) > 0 && !slices.Contains(names, t.Name) && len(names) < alikeMost {
			names = append(names, t.Name)
		}
	}
	return names
}

// shared returns how many rows two tables share: none where one of them is another one in both. One may be an earlier state of the other.
func shared(a, b map[int]int64) (n int) {
	for row, mark := range a {
		switch other, ok := b[row]; {
		case ok && other != mark:
			return 0
		case ok:
			n++
		}
	}
	return n
}

// table takes note of a piece of a table without times.
func (t *taking) table(ctx context.Context, p piece) error {
	if !t.asked {
		if err := t.know(ctx, p); err != nil {
			return err
		}
	}
	t.c.recent.note(t.job.file.Rel, !t.begun && p.file.ID == 0, p.spectra)
	return nil
}

// know finds out which rows of a table were judged before, at its first piece that has any.
func (t *taking) know(ctx context.Context, p piece) error {
	c, name := t.c, t.job.file.Rel
	t.asked = true
	if err := c.read(func() error { return c.recent.load(ctx, c.line) }); err != nil {
		return err
	}
	if c.line.Copies || p.file.ID != 0 && !p.resumed {
		return nil
	}
	var names []string
	if p.older {
		names = append(names, name)
	}
	if of := c.recent.alike(name, headOf(p.spectra)); len(of) > 0 {
		if !p.resumed {
			c.line.Log.Warn("a table begins with the rows of another one, as after it was renamed; what is new in it is judged", "file", name, "of", of[0])
		}
		names = append(names, of...)
		if err := c.flush(ctx); err != nil { // their rows may be in the batch
			return err
		}
	}
	if len(names) == 0 {
		return nil
	}
	return c.read(func() (err error) {
		t.known, err = c.line.History.RowsOf(ctx, c.line.Name, names, p.most)
		return err
	})
}

// knew returns the name under which a row was judged before, "" where it was not, or as often as it stood in this table already.
func (t *taking) knew(r *history.Record) string {
	for _, k := range t.known {
		if r.Row > 0 && k.Marks[r.Mark] > 0 {
			k.Marks[r.Mark]--
			return k.Name
		}
	}
	return ""
}
