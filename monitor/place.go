package monitor

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"slices"
	"time"

	"asusual/model"
	"asusual/model/fitness"
	"asusual/model/spectrum"
	"asusual/monitor/arrive"
	"asusual/monitor/history"
)

// spectra reads and judges the text, and sends what it finds.
func (w *worker) spectra(ctx context.Context, text io.Reader, c content) error {
	rows, counted := 0, &lineCounter{r: text}
	for s, err := range w.reader.Read(counted, w.source()) {
		row := s.Row
		var u *spectrum.Unreadable
		if errors.As(err, &u) {
			row = u.Row
		}
		if err != nil && c.at.err != nil {
			break
		}
		rows = max(rows, row)
		if err != nil && row == 0 && rows == 0 && w.baseRow > 0 {
			return errNotAlone
		}
		switch {
		case row > 0 && row <= w.skip:
			if err == nil {
				w.known(s)
			}
		case err == nil:
			if row > 0 {
				s.Row += w.baseRow
			}
			if err := w.place(s); err != nil {
				w.broken(err)
			}
		default:
			w.broken(err)
		}
		if w.piece.timeless && w.job.file.Growing {
			return w.unsettled(ctx)
		}
		if len(w.piece.spectra)+len(w.piece.unreadable) >= pieceSize {
			if !w.sendPart(ctx, rows) {
				return ctx.Err()
			}
		}
	}
	if c.at.err != nil { // the rest is read once it can be
		if rows > w.skip {
			w.sendPart(ctx, rows)
		}
		return c.at.err
	}
	w.piece.file.Rows = w.baseRow + max(rows, w.skip)
	w.piece.file.Lines = w.baseLine + counted.n
	if rows == 0 && len(w.piece.spectra) > 0 {
		w.piece.file.Rows = 1 // a file of one spectrum has no rows
	}
	w.finish(ctx, c)
	return nil
}

// sendPart sends what was found in so many rows of the text, while the file goes on.
func (w *worker) sendPart(ctx context.Context, rows int) bool {
	w.counted()
	part := w.piece
	part.file.Partial, part.file.Rows, part.again = true, w.baseRow+max(rows, w.skip), 0
	w.piece.spectra, w.piece.unreadable = nil, nil
	return w.send(ctx, part)
}

// finish sends the last piece, unless the file was written to while it was read: then nothing of it counts but a table's whole
// rows, which do not change. One that was read in one go was looked at behind that.
func (w *worker) finish(ctx context.Context, c content) {
	if !c.table && w.in != nil {
		info, err := w.in.Stat()
		if err == nil && !w.stands(info.Size(), info.ModTime()) {
			_ = w.changed(ctx)
			return
		}
	}
	w.counted()
	w.piece.last = true
	w.send(ctx, w.piece)
}

// counted notes what could not be read and was only counted.
func (w *worker) counted() {
	if u := w.few.Rest(); u != nil {
		w.note(u)
	}
}

// broken notes what could not be read, or counts it where there is too much of it.
func (w *worker) broken(err error) {
	var u *spectrum.Unreadable
	if !errors.As(err, &u) {
		u = &spectrum.Unreadable{Reason: err.Error()}
	}
	if u = w.few.Take(u); u != nil {
		w.note(u)
	}
}

func (w *worker) note(u *spectrum.Unreadable) {
	row, line := u.Row, u.Line
	if row > 0 {
		row += w.baseRow
	}
	if line > 0 {
		line += w.baseLine
	}
	noted := w.unreadable(row, line, u.Reason)
	noted.Count = 1 + u.More
	w.piece.unreadable = append(w.piece.unreadable, noted)
}

// known notes a row that is in history with the part of its table that was kept, where the table's rows are known by their values alone:
// of those that were judged, it is one.
func (w *worker) known(s spectrum.Spectrum) {
	if w.piece.resumed && w.timeless(s) {
		w.piece.spectra = append(w.piece.spectra, placed{kept: true, record: history.Record{File: s.File, Row: s.Row, Mark: markOf(s.Values)}})
	}
	w.reader.Reuse(s.Values)
}

// timeless reports whether a spectrum is a row of a table that carries no time of its own, and notes it.
func (w *worker) timeless(s spectrum.Spectrum) bool {
	if s.Row == 0 {
		return false
	}
	info := w.reader.Info()
	if info.TimeFrom == spectrum.TimeHeader && (info.Format != spectrum.Table || info.TimeColumn != "") {
		return false
	}
	w.piece.timeless = true
	w.piece.most = int(min(w.length/int64(2*max(1, len(s.Values)))+1, history.RowsMost)) // a digit and what parts it from the next
	return true
}

// place judges one spectrum, or leaves that to the committer.
func (w *worker) place(s spectrum.Spectrum) error {
	mark := markOf(s.Values)
	w.timeless(s)
	if s.Time.IsZero() {
		s.Time = w.job.file.Modified
	}
	if err := history.CheckTime(s.Time); err != nil {
		return &spectrum.Unreadable{Row: s.Row - w.baseRow, Reason: untimely(err, s, w.job.file)}
	}
	if s.Run == "" && w.line.RunOf != nil {
		s.Run = w.line.RunOf(s)
	}
	if w.line.Instrument != nil { // what is made of it depends on those before it
		p := placed{raw: &s, record: history.Record{File: s.File, Row: s.Row, Time: s.Time, Received: time.Now(), Mark: mark}}
		w.piece.spectra = append(w.piece.spectra, p)
		return nil
	}
	defer w.reader.Reuse(s.Values) // what is kept are the absorbances on the reference's axis
	if w.line.Prepare != nil {
		var err error
		if s, err = w.line.Prepare(s); err != nil {
			return &spectrum.Unreadable{Row: s.Row - w.baseRow, Reason: err.Error()}
		}
	}
	w.piece.spectra = append(w.piece.spectra, place(w.line, w.ref, w.judge, s, mark))
	return nil
}

// untimely says why the time of a spectrum cannot be kept, and what to try where it is its file's.
func untimely(err error, s spectrum.Spectrum, f arrive.File) string {
	if s.Time.Equal(f.Modified) {
		return err.Error() + "; it is when the file was changed last: set that anew, or have the spectra bear their own time"
	}
	return err.Error()
}

// place judges a spectrum that is ready for it. mark stands for its values as they were read.
func place(line *Line, ref *Reference, judge Judge, s spectrum.Spectrum, mark int64) placed {
	var d model.Judgement // its slices are kept, so it is a new one each time
	judge.Judge(&d, s)
	p := placed{judgement: d, record: history.Record{
		Line: line.Name, File: s.File, Row: s.Row, Time: s.Time, Received: time.Now(), Run: s.Run, Condition: d.Condition,
		T2: d.T2, Q: d.Q, Distance: d.Distance, Inside: d.Inside, Scores: d.Scores, Reasons: d.Reasons,
		Map: [2]float32{float32(d.Map[0]), float32(d.Map[1])}, Reference: ref.Fingerprint, Mark: mark,
	}}
	if d.Condition != model.Unfit {
		p.absorbance = slices.Clone(judge.Absorbance())
		rough := fitness.RoughOf(p.absorbance)
		p.record.Rough = [2]float32{float32(rough.Middle), float32(rough.Edge)}
	}
	return p
}

// markOf stands for the values of a spectrum: two that differ share a mark with odds of 1 to 2⁶⁴.
func markOf(values []float64) int64 {
	h := sha256.New()
	var b [512]byte
	for len(values) > 0 {
		n := min(len(values), len(b)/8)
		for i, v := range values[:n] {
			binary.LittleEndian.PutUint64(b[8*i:], math.Float64bits(v))
		}
		h.Write(b[:8*n])
		values = values[n:]
	}
	var out [sha256.Size]byte
	return int64(binary.LittleEndian.Uint64(h.Sum(out[:0])))
}

// A lineCounter counts the lines of text that go through it.
type lineCounter struct {
	r io.Reader
	n int
}

func (l *lineCounter) Read(p []byte) (int, error) {
	n, err := l.r.Read(p)
	l.n += bytes.Count(p[:n], []byte("\n"))
	return n, err
}
