package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"
)

// ask returns the prepared statement of a query that is asked for every file: preparing it costs more than asking it.
func (d *DB) ask(ctx context.Context, query string) (*sql.Stmt, error) {
	d.askedMu.Lock()
	defer d.askedMu.Unlock()
	if s := d.asked[query]; s != nil {
		return s, nil
	}
	s, err := d.pool.PrepareContext(ctx, query)
	if err == nil {
		d.asked[query] = s
	}
	return s, err
}

const fileColumns = "f.id, f.name, f.version, f.size, f.modified, f.digest, f.digest2, f.bytes, f.rows, f.lines, f.partial, f.received"

func scanFile(scan func(...any) error) (File, error) {
	var f File
	var modified, received, digest, digest2 int64
	err := scan(&f.ID, &f.Name, &f.Version, &f.Size, &modified, &digest, &digest2, &f.Bytes, &f.Rows, &f.Lines, &f.Partial, &received)
	f.Digest = joined(digest, digest2)
	f.Modified, f.Received = fromNanos(modified), fromNanos(received)
	return f, err
}

// seenAtOnce is how many names one statement looks up.
const seenAtOnce = 256

// Seen returns the latest version of each of the names that the history knows.
func (d *DB) Seen(ctx context.Context, line string, names []string) (map[string]File, error) {
	seen := make(map[string]File, len(names))
	if d.blank.Load() {
		return seen, nil
	}
	for len(names) > 0 {
		n := min(seenAtOnce, len(names))
		if err := d.seen(ctx, line, names[:n], seen); err != nil {
			return nil, explain(d.path, err)
		}
		names = names[n:]
	}
	return seen, nil
}

func (d *DB) seen(ctx context.Context, line string, names []string, into map[string]File) error {
	args := make([]any, 0, seenAtOnce+1)
	kept := map[string]string{} // names by how a server keeps them, where that is another way
	for _, name := range names {
		args = append(args, name)
		if as := storable(name); d.server != nil && as != name {
			kept[as] = name
		}
	}
	for n := len(names); n > 1 && n < seenAtOnce; n++ { // statements of two lengths only are kept prepared
		args = append(args, names[0])
	}
	// The newest version alone is fetched: a name that is overwritten once a second has 86,400 more each day.
	s, err := d.ask(ctx, `WITH asked (name) AS (VALUES (?)`+strings.Repeat(",(?)", len(args)-1)+`) SELECT `+fileColumns+`
		FROM asked JOIN file f ON f.id = (SELECT g.id FROM file g WHERE g.line = (SELECT id FROM line WHERE name = ?) AND g.name = asked.name
			ORDER BY g.version DESC LIMIT 1)`)
	if err != nil {
		return err
	}
	rows, err := s.QueryContext(ctx, append(args, line)...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		f, err := scanFile(rows.Scan)
		if err != nil {
			return err
		}
		if name, ok := kept[f.Name]; ok {
			f.Name = name
		}
		into[f.Name] = f
	}
	return rows.Err()
}

// SameContent returns the first file of the line that was judged with exactly this content, TakenOut for one that is forgotten; ok is
// false where there is none.
func (d *DB) SameContent(ctx context.Context, line string, digest Digest) (f File, ok bool, err error) {
	same, err := d.SameContents(ctx, line, []Digest{digest})
	f, ok = same[digest]
	return f, ok, err
}

// SameContents returns, for each of the contents that a file of the line was judged with, the first such file.
func (d *DB) SameContents(ctx context.Context, line string, digests []Digest) (map[Digest]File, error) {
	same := make(map[Digest]File)
	for len(digests) > 0 {
		n := min(sameAtOnce, len(digests))
		if err := d.same(ctx, line, digests[:n], same); err != nil {
			return nil, explain(d.path, err)
		}
		digests = digests[n:]
	}
	return same, nil
}

// sameAtOnce is how many contents one statement looks up: as many as a watch that catches up reads at a time.
const sameAtOnce = 32

func (d *DB) same(ctx context.Context, line string, digests []Digest, into map[Digest]File) error {
	want := make(map[Digest]bool, len(digests))
	args := make([]any, 0, 1+sameAtOnce)
	args = append(args, line)
	for _, g := range digests {
		want[g] = true
		args = append(args, g.half(0))
	}
	for n := len(digests); n > 1 && n < sameAtOnce; n++ { // statements of two lengths only are kept prepared
		args = append(args, args[1])
	}
	query := sameMany
	if len(digests) == 1 {
		query = sameOne
	}
	s, err := d.ask(ctx, query)
	if err != nil {
		return err
	}
	rows, err := s.QueryContext(ctx, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	forgotten := map[Digest]bool{}
	for rows.Next() {
		f, err := scanFile(rows.Scan)
		switch {
		case err != nil:
			return err
		case !want[f.Digest]:
		case f.ID == 0:
			forgotten[f.Digest] = true
		default:
			if was, ok := into[f.Digest]; !ok || f.ID < was.ID {
				into[f.Digest] = f
			}
		}
	}
	for g := range forgotten {
		if into[g].Rows == 0 { // none, or nothing could be read in it
			into[g] = File{Name: TakenOut, Rows: 1, Digest: g}
		}
	}
	return rows.Err()
}

var sameMany, sameOne = sameAs(sameAtOnce), sameAs(1)

// sameAs asks which files have one of so many contents; those that are forgotten have no id. The sign keeps the index of names out
// of it, which would go through all files of the line.
func sameAs(many int) string {
	var asked strings.Builder
	for i := range many {
		fmt.Fprintf(&asked, ",?%d", i+2)
	}
	in := " IN (" + asked.String()[1:] + ")"
	const line = "(SELECT id FROM line WHERE name = ?1)"
	return "SELECT " + fileColumns + " FROM file f WHERE +f.line = " + line + " AND f.partial = 0 AND f.digest" + in +
		" UNION ALL SELECT 0, '', 0, 0, 0, c.digest, c.digest2, 0, 0, 0, 0, 0 FROM content c WHERE c.line = " + line + " AND c.digest" + in
}

// JudgedBefore returns the name of a file of the line with a spectrum of this time and mark, of production or of the
// instrument's own: the same spectrum, wherever it stood. It returns "" where there is none.
func (d *DB) JudgedBefore(ctx context.Context, line string, at time.Time, mark int64) (string, error) {
	n, err := nanos(at)
	if err != nil {
		return "", err
	}
	s, err := d.ask(ctx, `SELECT f.name FROM record r JOIN file f ON f.id = r.file
			WHERE r.line = (SELECT id FROM line WHERE name = ?1) AND r.time = ?2 AND r.mark = ?3
		UNION ALL SELECT f.name FROM own o JOIN file f ON f.id = o.file
			WHERE o.line = (SELECT id FROM line WHERE name = ?1) AND o.time = ?2 AND o.mark = ?3 LIMIT 1`)
	if err != nil {
		return "", explain(d.path, err)
	}
	var name string
	err = s.QueryRowContext(ctx, line, n, mark).Scan(&name)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return name, explain(d.path, err)
}
