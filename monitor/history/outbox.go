package history

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/gob"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"asusual/model/spectrum"
)

// A history in a file may be the near end of one on a server: what is kept in it is then to be carried there. It is kept in the
// file first, whole, and in the same transaction a parcel of it goes to the outbox, to be delivered when the server is there.

// A parcel is what a batch brings to the server, with the numbers of its files. Fields are only ever added.
type parcel struct {
	Files     []Judged
	New       []bool // the file of the same place is a version that was not there before
	Episodes  []Episode
	Groups    []parcelGroup
	Means     []parcelMean
	Reference *Reference
	Checks    []Check
	Acts      []Act
	Alarm     []byte // as it stood then
}

// A parcelGroup is a Group whose mean has its axis as text.
type parcelGroup struct {
	Line, Name string
	From, To   time.Time
	Spectra    int
	Seen       string
	Episode    time.Time
	Mean       *parcelMean
}

// A parcelMean is a Mean whose axis is text.
type parcelMean struct {
	From      time.Time
	Condition string
	Axis      string
	Count     int
	Values    []float64
	Length    time.Duration // 0 in those of before it could be set
}

// outboxKept is how long parcels stay after they were delivered: a server that is set back to its copy of last night, or that
// loses its last moments in a fall to its twin, gets them again.
const outboxKept = 3 * 24 * time.Hour

// post puts what the batch brings into the outbox, where the history is carried to a server.
func (w *writer) post(fresh []bool) error {
	if w.db.store == "" || w.db.server != nil {
		return nil
	}
	p := parcel{Files: w.batch.Files, New: fresh, Episodes: w.batch.Episodes, Reference: w.batch.Reference,
		Checks: w.batch.Checks, Acts: w.batch.Acts, Alarm: w.batch.Alarm}
	for _, m := range w.batch.Means {
		packed, err := m.pack()
		if err != nil {
			return err
		}
		p.Means = append(p.Means, packed)
	}
	for _, g := range w.batch.Groups {
		packed := parcelGroup{g.Line, g.Name, g.From, g.To, g.Spectra, g.Seen, g.Episode, nil}
		if g.Mean != nil {
			m, err := g.Mean.pack()
			if err != nil {
				return err
			}
			packed.Mean = &m
		}
		p.Groups = append(p.Groups, packed)
	}
	var text bytes.Buffer // in Go's gob, which names its fields
	if err := gob.NewEncoder(&text).Encode(&p); err != nil {
		return fmt.Errorf("packing for the server: %w", err)
	}
	blob, err := w.db.deflate(text.Bytes())
	if err != nil {
		return fmt.Errorf("packing for the server: %w", err)
	}
	spectra := 0
	for i := range p.Files {
		spectra += len(p.Files[i].Records)
	}
	return w.exec("INSERT INTO outbox (line, spectra, at, parcel) VALUES (?,?,?,?)", w.line, spectra, time.Now().UnixNano(), blob)
}

func (m *Mean) pack() (parcelMean, error) {
	text, err := json.Marshal(m.Axis)
	return parcelMean{m.From, m.Condition, string(text), m.Count, m.Values, m.Length}, err
}

func unpackParcel(blob []byte) (p parcel, err error) {
	text, err := inflate(blob)
	if err == nil {
		err = gob.NewDecoder(bytes.NewReader(text)).Decode(&p)
	}
	if err == nil && len(p.New) != len(p.Files) {
		err = errors.New("the lists of its files differ")
	}
	if err != nil {
		return p, fmt.Errorf("%w: a parcel of the outbox: %w", ErrDamaged, err)
	}
	return p, nil
}

// open returns the means and the groups of the parcel. Means on one grid share their axis.
func (p *parcel) open() (ms []Mean, gs []Group, err error) {
	axes := map[string]*spectrum.Axis{}
	unpack := func(m parcelMean) (Mean, error) {
		if axes[m.Axis] == nil {
			axes[m.Axis] = new(spectrum.Axis)
			if err := json.Unmarshal([]byte(m.Axis), axes[m.Axis]); err != nil {
				return Mean{}, fmt.Errorf("%w: a parcel of the outbox: its axis: %w", ErrDamaged, err)
			}
		}
		return Mean{From: m.From, Condition: m.Condition, Axis: axes[m.Axis], Count: m.Count, Values: m.Values, Length: m.Length}, nil
	}
	for _, m := range p.Means {
		one, err := unpack(m)
		if err != nil {
			return nil, nil, err
		}
		ms = append(ms, one)
	}
	for _, g := range p.Groups {
		one := Group{g.Line, g.Name, g.From, g.To, g.Spectra, g.Seen, g.Episode, nil}
		if g.Mean != nil {
			m, err := unpack(*g.Mean)
			if err != nil {
				return nil, nil, err
			}
			one.Mean = &m
		}
		gs = append(gs, one)
	}
	return ms, gs, nil
}

// Carry says whether all that is kept in this file from now on is also to be carried to a server. That is remembered in the file,
// so that whoever else writes it does the same. Where it is not any more, what waits to be carried is dropped: a server that has a line
// from this file then has another history than the file, and Join says so.
func (d *DB) Carry(ctx context.Context, on bool) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.conn == nil || d.closed || d.server != nil {
		return fmt.Errorf("%s: %w", d.path, ErrNotWatcher)
	}
	w := &writer{db: d, ctx: ctx}
	store := d.store
	if err := d.sync(ctx, on || store != ""); err != nil { // before the transaction: also that name is told to the server
		return err
	}
	err := w.transact(func() error {
		switch {
		case on && store == "":
			store = newStore()
			if err := w.exec("INSERT INTO store (id) VALUES (?)", store); err != nil {
				return err
			}
		case !on && store != "":
			store = ""
			for _, table := range []string{"outbox", "carried", "store"} {
				if err := w.exec("DELETE FROM " + table); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err == nil {
		d.store = store
	}
	return errors.Join(err, d.sync(ctx, d.store != ""))
}

// sync says whether the connection that writes has each commit on the disk before anybody sees it. Of a history that is carried it has
// to be: the server keeps what it was brought, and a file that lost it in a power cut would be another history. One that is not carried
// may lose its last moments, for their files are judged again.
func (d *DB) sync(ctx context.Context, each bool) error {
	mode := "NORMAL"
	if each {
		mode = "FULL"
	}
	_, err := d.conn.ExecContext(context.WithoutCancel(ctx), "PRAGMA synchronous = "+mode)
	return err
}

// Carried reports whether what is kept in this file is also to be carried to a server.
func (d *DB) Carried() bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.store != ""
}

// readStore finds out whether the history is carried to a server.
func (d *DB) readStore(ctx context.Context) error {
	err := d.conn.QueryRowContext(ctx, "SELECT id FROM store").Scan(&d.store)
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	if err != nil {
		return err
	}
	return d.sync(ctx, true)
}

// A Waiting is what a history in a file still has to bring to the server.
type Waiting struct {
	Batches, Spectra int
	Since            time.Time // of the oldest; zero where nothing waits
}

// Waiting returns what of the line is not known to be at the server.
func (d *DB) Waiting(ctx context.Context, line string) (w Waiting, err error) {
	var since sql.NullInt64
	err = d.pool.QueryRowContext(ctx, `SELECT count(*), coalesce(sum(o.spectra), 0), min(o.at) FROM outbox o JOIN line l ON l.id = o.line
		WHERE l.name = ? AND o.seq > coalesce((SELECT seq FROM carried c WHERE c.line = l.id), 0)`, line).Scan(&w.Batches, &w.Spectra, &since)
	if since.Valid {
		w.Since = fromNanos(since.Int64)
	}
	return w, explain(d.path, err)
}

// version4: what is on its way to a server. store names this file there, while it is carried; seq is never given twice; and
// carried says how far each line has come, up to where parcels were taken away since, and what is to be taken from the
// number of a file to have its number in the line at the server.
const version4 = `
CREATE TABLE store (id TEXT NOT NULL);
CREATE TABLE outbox (
	seq INTEGER PRIMARY KEY AUTOINCREMENT, line INTEGER NOT NULL REFERENCES line, spectra INTEGER NOT NULL, at INTEGER NOT NULL,
	parcel BLOB NOT NULL);
CREATE INDEX outbox_line ON outbox (line, seq);
CREATE TABLE carried (line INTEGER PRIMARY KEY REFERENCES line, seq INTEGER NOT NULL, dropped INTEGER NOT NULL, less INTEGER NOT NULL);
`
