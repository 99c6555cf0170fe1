package history

import (
	"context"
	"database/sql"
	"fmt"
	"iter"
)

// version5: a group has the mean of its spectra, and the groups that go on stand apart in the state, since they change seldom.
const version5 = `
CREATE TABLE grp_mean (
	line INTEGER NOT NULL REFERENCES line, name TEXT NOT NULL, stop INTEGER NOT NULL, axis INTEGER NOT NULL REFERENCES axis,
	count INTEGER NOT NULL, mean BLOB NOT NULL,
	PRIMARY KEY (line, name)) WITHOUT ROWID;
ALTER TABLE state ADD COLUMN places BLOB;
`

func (w *writer) groups() error {
	for _, g := range w.batch.Groups {
		from, err := nanos(g.From)
		if err != nil {
			return fmt.Errorf("group: %w", err)
		}
		to, err := nanos(g.To)
		if err != nil {
			return fmt.Errorf("group: %w", err)
		}
		episode, err := orNull(g.Episode)
		if err != nil {
			return fmt.Errorf("group: %w", err)
		}
		if err := w.exec(`INSERT INTO grp (line, name, start, stop, spectra, seen, episode) VALUES (?,?,?,?,?,?,?)
			ON CONFLICT (line, name) DO UPDATE SET start = excluded.start, stop = excluded.stop, spectra = excluded.spectra,
			seen = excluded.seen, episode = coalesce(excluded.episode, grp.episode)`, w.line, g.Name, from, to, g.Spectra, g.Seen, episode); err != nil {
			return err
		}
		if err := w.groupMean(&g, to); err != nil {
			return fmt.Errorf("%s: %w", g.Name, err)
		}
	}
	return nil
}

func (w *writer) groupMean(g *Group, to int64) error {
	m := g.Mean
	if m == nil {
		return nil
	}
	if m.Count < 1 || m.Axis == nil || len(m.Values) != m.Axis.Len() {
		return fmt.Errorf("mean of %d spectra: %d values do not fit its axis", m.Count, len(m.Values))
	}
	axis, err := w.axisID(m.Axis)
	if err != nil {
		return err
	}
	return w.exec(`INSERT INTO grp_mean (line, name, stop, axis, count, mean) VALUES (?,?,?,?,?,?)
		ON CONFLICT (line, name) DO UPDATE SET stop = excluded.stop, axis = excluded.axis, count = excluded.count, mean = excluded.mean`,
		w.line, g.Name, to, axis, m.Count, float32s(m.Values))
}

// Groups yields the uncharted groups that touch the period, in order of their beginning.
func (d *DB) Groups(ctx context.Context, q Query) iter.Seq2[Group, error] {
	const text = `SELECT g.name, g.start, g.stop, g.spectra, g.seen, g.episode, m.count, m.mean, a.id, a.axis FROM grp g
		LEFT JOIN grp_mean m ON m.line = g.line AND m.name = g.name LEFT JOIN axis a ON a.id = m.axis
		WHERE g.line = (SELECT id FROM line WHERE name = ?1) AND g.stop >= ?2 AND g.start < ?3 ORDER BY g.start, g.name`
	axes := axes{}
	return query(ctx, d, text, q, func(rows *sql.Rows) (Group, error) {
		g := Group{Line: q.Line}
		var start, stop int64
		var episode, count, axis sql.NullInt64
		var values, axisText []byte
		if err := rows.Scan(&g.Name, &start, &stop, &g.Spectra, &g.Seen, &episode, &count, &values, &axis, &axisText); err != nil {
			return g, err
		}
		g.From, g.To = fromNanos(start), fromNanos(stop)
		if episode.Valid {
			g.Episode = fromNanos(episode.Int64)
		}
		if axis.Valid {
			g.Mean = &Mean{Count: int(count.Int64)}
			if err := axes.unpack(g.Mean, axis.Int64, axisText, values); err != nil {
				return g, fmt.Errorf("%s: %s: %w", d.path, g.Name, err)
			}
		}
		return g, nil
	})
}
