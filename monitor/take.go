package monitor

import (
	"context"
	"slices"
	"time"

	"asusual/monitor/history"
)

// A taking is one file whose pieces are being taken.
type taking struct {
	c     *committer
	job   *job
	begun bool
	ended bool                // its last piece was taken
	entry int                 // its place in the batch; −1 where it has none
	id    int64               // in history, once it is there
	of    string              // the file it is a copy of
	asked bool                // known is known
	known []history.TableRows // rows that it may hold and that were judged before, of a table without times
	rows  int                 // left out as judged before
	from  string              // where the last of these were judged
	left  []history.Copy      // of them those that the batch does not say yet, by where they were judged
}

// flushed is told that the batch was kept while the file goes on, or with its last piece.
func (t *taking) flushed(ctx context.Context) error {
	t.entry = -1
	if t.id != 0 || !t.begun || t.ended {
		return nil
	}
	return t.c.read(func() error {
		seen, err := t.c.line.History.Seen(ctx, t.c.line.Name, []string{t.job.file.Rel})
		t.id = seen[t.job.file.Rel].ID
		return err
	})
}

func (t *taking) piece(ctx context.Context, p piece) error {
	c := t.c
	if !t.begun {
		t.entry = -1
	}
	if p.err != nil && (!t.giveUp(p.err) || t.begun) { // what was read of it before the error stands
		if t.entry >= 0 {
			t.end(&c.batch.Files[t.entry])
		}
		return nil
	}
	switch {
	case p.again <= 0 || c.all:
	case p.rest:
		c.scanner.Rest(t.job.file, p.again)
	default:
		c.scanner.Again(t.job.file, p.again)
	}
	if p.file.Name == "" { // nothing of it counts yet, or no more of it
		if p.timeless || p.later != nil {
			t.unsettled(p.later)
		}
		if t.begun && t.entry >= 0 {
			t.end(&c.batch.Files[t.entry])
		}
		return nil
	}
	if p.err == nil && !t.begun {
		if err := t.begin(ctx, p); err != nil {
			return err
		}
	}
	if p.timeless && p.err == nil && t.of == "" {
		if err := t.table(ctx, p); err != nil {
			return err
		}
	}
	t.begun = true
	if t.of != "" {
		return t.copied(p)
	}
	j := t.judged(p.file)
	j.Unreadable = append(j.Unreadable, p.unreadable...)
	for _, u := range p.unreadable {
		if c.flood.lets(time.Now(), t.job.file.Rel, u.Count) {
			c.line.Log.Warn("unreadable", "file", t.job.file.Rel, "row", u.Row, "text line", u.TextLine, "reason", u.Reason)
		}
		c.status.unreadable += max(u.Count, 1)
	}
	for i := range p.spectra {
		if p.spectra[i].kept {
			t.knew(&p.spectra[i].record)
			continue
		}
		// An item that ends may bring another file's entry with it, and all move.
		if err := t.spectrum(ctx, &t.c.batch.Files[t.entry], &p.spectra[i]); err != nil {
			return err
		}
	}
	if p.last {
		t.end(&t.c.batch.Files[t.entry])
	}
	return nil
}

// unsettled says once of a growing file why it is not read; why is nil for one whose rows carry no time.
func (t *taking) unsettled(why error) {
	c, name := t.c, t.job.file.Rel
	if c.growing[name] {
		return
	}
	if len(c.growing) >= newestTables {
		clear(c.growing)
	}
	c.growing[name] = true
	if why != nil {
		c.line.Log.Warn("a file that is written to without a pause cannot be read now; trying again", "file", name, "reason", why)
		return
	}
	c.line.Log.Warn("a table is written to without a pause, and its rows carry no time: it is read once it stands still", "file", name, "for", arriveSettle(c.line))
}

// judged returns the file's entry in the batch, brought up to date.
func (t *taking) judged(f history.File) *history.Judged {
	if f.ID == 0 {
		f.ID = t.id
	}
	if t.entry < 0 {
		t.entry = len(t.c.batch.Files)
		t.c.batch.Files = append(t.c.batch.Files, history.Judged{})
	}
	j := &t.c.batch.Files[t.entry]
	j.File = f
	return j
}

// tryMost is how often a file that cannot be opened is tried before that is kept as a fact. The wait doubles from one try to the
// next, up to tryLater times: about a minute where files settle within a second.
const (
	tryMost  = 5
	tryLater = 6
)

// tries counts how often each of some files could not be opened. Of those that are gone nobody says so: of more than triesMost any is
// forgotten, which begins anew where it is there still.
type tries map[string]int

const triesMost = 1 << 14

func (t tries) count(name string) int {
	t[name]++
	for other := range t { // begins at a place of chance
		if len(t) <= triesMost {
			break
		}
		if other != name {
			delete(t, other)
		}
	}
	return t[name]
}

// giveUp reports whether a file that could not be opened is to be kept as unreadable now.
func (t *taking) giveUp(err error) bool {
	c, name := t.c, t.job.file.Rel
	if missing(err) {
		delete(c.tries, name)
		c.line.Log.Warn("a file was gone before it could be read", "file", name)
		c.scanner.Forget(t.job.file)
		return false
	}
	n := c.tries.count(name)
	switch {
	case t.begun && c.all:
		c.line.Log.Warn("a file cannot be read to its end; the rest is left for another time", "file", name, "reason", err)
	case n == 1 && !c.all:
		c.line.Log.Warn("a file cannot be read yet; trying again", "file", name, "reason", err)
	}
	if !c.all { // also one that was given up: whoever holds it may let it go without another change
		c.scanner.Again(t.job.file, arriveSettle(c.line)<<min(n, tryLater))
	}
	return n == tryMost || c.all
}

// begin finds out whether the content was judged before.
func (t *taking) begin(ctx context.Context, p piece) error {
	c := t.c
	delete(c.tries, t.job.file.Rel)
	if c.line.Copies || p.touched || p.file.ID != 0 {
		return nil
	}
	if p.resaved {
		c.line.Log.Warn("a file was written to after it was judged; what is new in it is judged", "file", t.job.file.Rel)
	}
	if !p.counts() {
		return nil
	}
	if of, ok := c.digests[p.file.Digest]; ok {
		t.of = of
		return nil
	}
	of, ok := c.looked[p.file.Digest]
	if !ok { // it was kept since, or could have been
		var same history.File
		err := c.read(func() (err error) {
			same, _, err = c.line.History.SameContent(ctx, c.line.Name, p.file.Digest)
			return err
		})
		if err != nil {
			return err
		}
		if same.Rows > 0 {
			of = same.Name
		}
	}
	if t.of = of; of == "" {
		c.digests[p.file.Digest] = t.job.file.Rel
	}
	return nil
}

// counts reports whether the content of the file must not have been judged before: it is new, and spectra are in it.
func (p *piece) counts() bool {
	return p.err == nil && p.file.Name != "" && !p.touched && p.file.ID == 0 && len(p.spectra) > 0
}

// copied notes a file whose content was judged under another name.
func (t *taking) copied(p piece) error {
	t.leave(t.of, len(p.spectra)+len(p.unreadable))
	if p.last {
		t.end(t.judged(p.file))
	}
	return nil
}

// leave leaves out rows that were judged in a file.
func (t *taking) leave(of string, rows int) {
	if rows == 0 {
		return
	}
	t.rows, t.from = t.rows+rows, of
	i := slices.IndexFunc(t.left, func(c history.Copy) bool { return c.Of == of })
	if i < 0 {
		i = len(t.left)
		t.left = append(t.left, history.Copy{Line: t.c.line.Name, File: t.job.file.Rel, Of: of})
	}
	t.left[i].Rows += rows
}

// tell puts into the file's entry what was left out since it was told last: where its rows were judged belongs into their transaction.
func (t *taking) tell(j *history.Judged) {
	now := time.Now()
	for i, c := range t.left {
		c.Time, c.Received = t.job.written(), now.Add(time.Duration(i)) // which keeps them apart
		j.Copies = append(j.Copies, c)
	}
	t.left = nil
}

// end notes how many of the file's spectra were left out.
func (t *taking) end(j *history.Judged) {
	if t.rows == 0 {
		return
	}
	c := t.c
	t.tell(j)
	c.status.copies += t.rows
	c.line.Log.Warn("judged before, left out", "file", t.job.file.Rel, "spectra", t.rows, "judged in", t.from)
}

// spectrum keeps one spectrum, unless it was judged before.
func (t *taking) spectrum(ctx context.Context, j *history.Judged, p *placed) error {
	c := t.c
	of, err := t.before(ctx, &p.record)
	if err != nil {
		return err
	}
	if of != "" {
		t.leave(of, 1)
		return nil
	}
	if p.raw != nil {
		if ok, err := t.ready(ctx, j, p); !ok || err != nil {
			return err
		}
	}
	c.use(t.job.ref, p.record.Time)
	c.keep(j, p, t.job.written())
	return nil
}

// keep follows the verdict with a spectrum that was judged, in a file written at that time, and puts it into the file's entry.
func (c *committer) keep(j *history.Judged, p *placed, written time.Time) {
	c.follow(p, written)
	c.means.add(c.line, c.ref.Model.Axis(), p)
	if p.record.Time.After(c.newest) {
		c.newest = p.record.Time
	}
	j.Records = append(j.Records, p.record)
	c.spectra++
	c.status.judged(p.record, written)
	c.line.Judged(p.record)
}

// before returns the file in which the spectrum was judged before, or "".
func (t *taking) before(ctx context.Context, r *history.Record) (string, error) {
	c := t.c
	if c.line.Copies {
		return "", nil
	}
	if of := t.knew(r); of != "" {
		return of, nil
	}
	at := spot{r.Time.UnixNano(), r.Mark}
	if r.Time.After(c.newest) { // nothing so new is kept or about to be
		c.marks[at] = r.File
		return "", nil
	}
	if of, ok := c.marks[at]; ok {
		return of, nil
	}
	var of string
	err := c.read(func() (err error) {
		of, err = c.line.History.JudgedBefore(ctx, c.line.Name, r.Time, r.Mark)
		return err
	})
	if err == nil && of == "" {
		c.marks[at] = r.File
	}
	return of, err
}
