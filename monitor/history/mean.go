package history

import (
	"cmp"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"time"

	"asusual/model/spectrum"
)

// version7: how long the stretch of a mean is, in nanoseconds. Those of before are of five minutes.
const version7 = `ALTER TABLE mean ADD COLUMN length INTEGER NOT NULL DEFAULT 300000000000;`

// UsualLength is how long the stretch of a mean is where nothing else is said.
const UsualLength = 5 * time.Minute

// means adds the batch's means to the stretches that are kept: m ← m + (n/(N+n))·(x − m), N spectra so far, n new ones.
func (w *writer) means() error {
	axes := map[*spectrum.Axis]int64{}
	for _, m := range w.batch.Means {
		if m.Count < 1 || m.Axis == nil || len(m.Values) != m.Axis.Len() {
			return fmt.Errorf("mean of %d spectra: %d values do not fit its axis", m.Count, len(m.Values))
		}
		axis, ok := axes[m.Axis]
		if !ok {
			var err error
			if axis, err = w.axisID(m.Axis); err != nil {
				return err
			}
			axes[m.Axis] = axis
		}
		if err := w.mean(m, axis); err != nil {
			return err
		}
	}
	return nil
}

func (w *writer) mean(m Mean, axis int64) error {
	start, err := nanos(m.From)
	if err != nil {
		return fmt.Errorf("mean: %w", err)
	}
	condition, err := w.wordID(m.Condition)
	if err != nil {
		return err
	}
	find, err := w.stmt("SELECT count, mean FROM mean WHERE line = ? AND start = ? AND condition = ? AND axis = ?")
	if err != nil {
		return err
	}
	var count int
	var blob []byte
	err = find.QueryRowContext(w.ctx, w.line, start, condition, axis).Scan(&count, &blob)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	sum := m.Values
	if count > 0 && len(blob) == 4*len(m.Values) {
		sum = unpack32(blob)
		share := float64(m.Count) / float64(count+m.Count)
		for i, x := range m.Values {
			sum[i] += share * (x - sum[i])
		}
	}
	// Where the length was set anew in the middle of a stretch, it is as long as the longer of the two: no spectrum of it lies outside.
	return w.exec(`INSERT INTO mean (line, start, condition, axis, count, mean, length) VALUES (?,?,?,?,?,?,?)
		ON CONFLICT (line, start, condition, axis) DO UPDATE SET count = excluded.count, mean = excluded.mean,
		length = CASE WHEN excluded.length > mean.length THEN excluded.length ELSE mean.length END`,
		w.line, start, condition, axis, count+m.Count, float32s(sum), int64(cmp.Or(m.Length, UsualLength)))
}

func (w *writer) axisID(a *spectrum.Axis) (int64, error) {
	text, err := json.Marshal(a)
	if err != nil {
		return 0, err
	}
	sum := sha256.Sum256(text)
	return w.axisText(hex.EncodeToString(sum[:16]), string(text))
}

// axisText returns the number of the axis of that fingerprint and text.
func (w *writer) axisText(fingerprint, text string) (int64, error) {
	if id, ok := w.db.axes[fingerprint]; ok {
		return id, nil
	}
	if err := w.exec("INSERT INTO axis (fingerprint, axis) VALUES (?,?) ON CONFLICT DO NOTHING", fingerprint, text); err != nil {
		return 0, err
	}
	return w.id(w.db.axes, "SELECT id FROM axis WHERE fingerprint = ?", "SELECT NULL WHERE ? = ''", fingerprint)
}

// Means yields the mean spectra of the stretches that begin in the period, in order of time, then condition.
func (d *DB) Means(ctx context.Context, q Query) iter.Seq2[Mean, error] {
	const text = `SELECT l.name, m.start, w.text, a.id, a.axis, m.count, m.mean, m.length FROM mean m JOIN line l ON l.id = m.line
		JOIN word w ON w.id = m.condition JOIN axis a ON a.id = m.axis
		WHERE l.name = ? AND m.start >= ? AND m.start < ? ORDER BY m.start, w.text, a.id`
	axes := axes{}
	return query(ctx, d, text, q, func(rows *sql.Rows) (m Mean, err error) {
		var start, axis int64
		var axisText, blob []byte
		if err := rows.Scan(&m.Line, &start, &m.Condition, &axis, &axisText, &m.Count, &blob, &m.Length); err != nil {
			return m, err
		}
		m.From = fromNanos(start)
		if err := axes.unpack(&m, axis, axisText, blob); err != nil {
			return m, fmt.Errorf("%s: %w", d.path, err)
		}
		return m, nil
	})
}

// axes are those of means, by their number: means on one grid share their axis.
type axes map[int64]*spectrum.Axis

// unpack gives a mean its axis and values.
func (all axes) unpack(m *Mean, id int64, axis, values []byte) error {
	if all[id] == nil {
		a := new(spectrum.Axis)
		if err := json.Unmarshal(axis, a); err != nil {
			return fmt.Errorf("%w: axis %d: %w", ErrDamaged, id, err)
		}
		all[id] = a
	}
	m.Axis, m.Values = all[id], unpack32(values)
	if len(m.Values) != m.Axis.Len() {
		return fmt.Errorf("%w: a mean of %d values on an axis of %d", ErrDamaged, len(m.Values), m.Axis.Len())
	}
	return nil
}
