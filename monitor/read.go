package monitor

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"time"

	"asusual/model"
	"asusual/model/spectrum"
	"asusual/monitor/arrive"
	"asusual/monitor/history"
)

// A placed is one spectrum that a worker judged.
type placed struct {
	record     history.Record
	judgement  model.Judgement
	absorbance []float64          // nil where unfit
	raw        *spectrum.Spectrum // not judged yet: the committer is to; nil otherwise
	kept       bool               // it is in history with the part of its file that was kept: only its row and mark are set
}

// A piece is what a worker found in one file, or in part of a large one.
type piece struct {
	spectra    []placed
	unreadable []history.Unreadable
	file       history.File  // how far the file is judged after this piece
	older      bool          // history has its name
	resaved    bool          // its name was judged before with another content
	resumed    bool          // it goes on with a version of which a part was kept
	touched    bool          // nothing is new but its time
	timeless   bool          // rows of a table are in it that carry no time of their own
	most       int           // rows of such a table: it has no more
	again      time.Duration // after which it is to be looked at once more; 0: it is not …
	rest       bool          // … and then counts as quiet
	later      error         // why a growing file could not be read now
	err        error         // why the file could not be opened: it is to be tried again
	last       bool
}

// pieceSize bounds how much of a large table is held at a time.
const pieceSize = 256

// A worker reads and judges one file after another with buffers of its own.
type worker struct {
	line   *Line
	tree   *arrive.Disk
	all    bool // every file is complete
	reader *spectrum.Reader
	judge  Judge
	ref    *Reference
	buf    []byte

	// Of the file being read.
	job      *job
	in       fs.File      // nil where it was read in one go
	prev     history.File // what history knows of its name; ID 0 for nothing
	piece    piece
	few      spectrum.Few // of what cannot be read
	length   int64        // of its text, at most
	skip     int          // rows that were judged already
	baseRow  int          // rows before the text that is read
	baseLine int          // lines of text before it, less those of the header

	// Of the parcel.
	many  bool                    // it has more than one file
	dir   string                  // the folder of the last file
	below *arrive.Disk            // that folder; nil for the watched one
	seen  map[string]history.File // what history knows of the names
	found []found                 // and not handed on yet
	held  int                     // spectra in found
	since time.Time               // the last was handed on
	out   chan<- []found
}

func newWorker(line *Line, tree *arrive.Disk, all bool) *worker {
	return &worker{line: line, tree: tree, all: all, reader: spectrum.NewReader(line.Read)}
}

// do reads and judges the file of a job, unless what history knows of it could not be found out.
func (w *worker) do(ctx context.Context, j *job, err error) {
	w.job, w.piece, w.few, w.skip, w.baseRow, w.baseLine = j, piece{}, spectrum.Few{}, 0, 0, 0
	if w.ref != j.ref {
		w.ref, w.judge = j.ref, j.ref.NewJudge()
	}
	w.prev = w.seen[j.file.Rel]
	if err == nil {
		err = w.file(ctx)
	}
	if err != nil && j.file.Growing && !missing(err) { // whoever writes it may keep it for himself
		w.send(ctx, piece{again: arriveSettle(w.line), later: err, last: true})
		err = nil
	}
	if err != nil && ctx.Err() == nil {
		file := w.next(history.Digest{}, 0)
		if w.prev.ID != 0 && w.prev.Bytes == 0 { // it could not be read before either
			file.ID, file.Version = w.prev.ID, w.prev.Version
		}
		if w.prev.Partial { // so much of it was read, and the rest is still to be
			file = w.prev
		}
		w.send(ctx, piece{err: err, file: file, unreadable: []history.Unreadable{w.unreadable(0, 0, reasonOf(err))}, last: true})
	}
}

// reasonOf says why a file could not be read, without its name, which stands beside it.
func reasonOf(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	return "reading it: " + err.Error()
}

// next returns the file's row in history for a new version, judged up to so many bytes.
func (w *worker) next(d history.Digest, n int64) history.File {
	f := w.job.file
	return history.File{Name: f.Rel, Version: w.prev.Version + 1, Size: f.Size, Modified: history.Kept(f.Modified), Digest: d, Bytes: n, Received: time.Now()}
}

// file decides how much of the file is new, and reads that.
func (w *worker) file(ctx context.Context) error {
	f := w.job.file
	if f.Refused != "" {
		w.refuse(ctx, f.Refused)
		return nil
	}
	if most := w.maxBytes(); f.Size > most {
		w.refuse(ctx, fmt.Sprintf("%d bytes, larger than the limit of %d; raise the limit if this is a spectrum", f.Size, most))
		return nil
	}
	if whole, ok := w.whole(f); ok {
		w.in, w.buf = nil, whole.Bytes
		if !w.stands(int64(len(w.buf)), whole.Modified) {
			return w.changed(ctx)
		}
		return w.text(ctx, bytes.NewReader(w.buf[:f.Size]))
	}
	in, err := w.open(f.Rel)
	if err != nil {
		return err
	}
	defer in.Close()
	w.in = in
	info, err := in.Stat()
	if err != nil {
		return err
	}
	if !info.Mode().IsRegular() {
		w.refuse(ctx, "is no regular file any more")
		return nil
	}
	if !w.stands(info.Size(), info.ModTime()) {
		return w.changed(ctx)
	}
	at, ok := in.(io.ReaderAt)
	if !ok {
		return fmt.Errorf("%s: cannot be read at a place of choice", f.Rel)
	}
	if f.Size <= smallFile {
		if at, err = w.load(at, f.Size); err != nil {
			return err
		}
	}
	return w.text(ctx, at)
}

// stands reports whether the file was not written to since it settled; one that grows may have grown.
func (w *worker) stands(size int64, modified time.Time) bool {
	if w.job.file.Growing {
		return size >= w.job.file.Size
	}
	return size == w.job.file.Size && modified.Equal(w.job.file.Modified)
}

// text reads what is new of the text of the file.
func (w *worker) text(ctx context.Context, at io.ReaderAt) error {
	c, err := w.content(at, w.job.file.Size)
	if err != nil {
		return err
	}
	if w.job.file.Growing && !c.table { // of other formats the whole counts, or nothing
		return w.changed(ctx)
	}
	return w.read(ctx, c)
}

func (w *worker) maxBytes() int64 {
	if w.line.Read.MaxBytes > 0 {
		return w.line.Read.MaxBytes
	}
	return 1 << 30
}

// changed leaves the file for later, for it is still being written.
func (w *worker) changed(ctx context.Context) error {
	w.send(ctx, piece{again: arriveSettle(w.line), last: true})
	return nil
}

// unsettled leaves a growing table whose rows carry no time for later. As long as it is written to it may be the copy of a known one, whose
// rows would be new: only the whole of it tells.
func (w *worker) unsettled(ctx context.Context) error {
	w.send(ctx, piece{again: arriveSettle(w.line), timeless: true, last: true})
	return nil
}

func arriveSettle(l *Line) time.Duration {
	if l.Settle > 0 {
		return l.Settle
	}
	return time.Second
}

// refuse records that the file is not to be read.
func (w *worker) refuse(ctx context.Context, reason string) {
	file := w.next(history.Digest{}, w.job.file.Size)
	w.send(ctx, piece{unreadable: []history.Unreadable{w.unreadable(0, 0, reason)}, file: file, last: true})
}

func (w *worker) unreadable(row, textLine int, reason string) history.Unreadable {
	return history.Unreadable{Row: row, TextLine: textLine, Reason: reason, Time: w.job.written(), Received: time.Now()}
}

// read reads what is new of the content.
func (w *worker) read(ctx context.Context, c content) error {
	p := &w.piece
	p.file = w.next(c.digest, c.whole)
	if c.whole < c.size {
		p.again, p.rest = w.line.Quiet, true
	}
	p.older, w.length = w.prev.ID != 0, c.whole
	same := p.older && c.before == w.prev.Digest && w.prev.Bytes <= c.whole
	torn, err := w.torn(c, same)
	if err != nil {
		return err
	}
	switch {
	case w.prev.ID == 0:
		if c.whole == 0 && c.size > 0 { // not one whole row yet
			w.send(ctx, piece{again: w.line.Quiet, rest: true, last: true})
			return nil
		}
	case same && w.prev.Partial:
		w.continues()
		w.skip, p.resumed = w.prev.Rows, true
	case same && w.prev.Bytes == c.whole:
		w.continues()
		p.touched, p.last = true, true
		p.file.Rows, p.file.Lines = w.prev.Rows, w.prev.Lines
		w.send(ctx, *p)
		return nil
	case same && c.table && w.prev.Rows > 0 && !torn:
		w.continues()
		text, ok, err := w.grown(c)
		if err != nil {
			return err
		}
		if ok {
			if err := w.spectra(ctx, text, c); !errors.Is(err, errNotAlone) {
				return err
			}
			w.baseRow, w.baseLine = 0, 0
		}
		w.skip = w.prev.Rows
	default:
		p.resaved = w.prev.Rows > 0
	}
	var text io.Reader = io.NewSectionReader(c.at, 0, c.whole)
	if !c.table {
		w.length *= packs
		unpacked, err := spectrum.Open(text, w.job.file.Rel, w.maxBytes())
		if c.at.err != nil {
			return c.at.err
		}
		if err != nil {
			w.broken(err)
			w.finish(ctx, c)
			return nil
		}
		text = unpacked
	}
	return w.spectra(ctx, text, c)
}

// torn reports whether what is known of a table ends within a row that was taken as it stood, and has been written to its end since: then
// that row is not known.
func (w *worker) torn(c content, same bool) (bool, error) {
	if !same || !c.table || w.prev.Partial || w.prev.Bytes == 0 || w.prev.Bytes >= c.whole {
		return false, nil
	}
	var at [2]byte // the last that is known, and the next
	if _, err := c.at.ReadAt(at[:], w.prev.Bytes-1); err != nil {
		return false, err
	}
	return !bytes.ContainsAny(at[:], "\r\n"), nil
}

// packs is how much longer the text of a packed table is taken to be at most: tables of numbers pack to a third or a tenth.
const packs = 32

// continues makes the piece bring the known version of the file forward.
func (w *worker) continues() {
	w.piece.file.ID, w.piece.file.Version = w.prev.ID, w.prev.Version
	w.piece.file.Received = w.prev.Received
}

// errNotAlone says that the new rows of a table cannot be read without those before.
var errNotAlone = errors.New("the new rows do not read as a table by themselves")

// headerLines bounds the search for the first row of a table.
const headerLines = 256

// grown returns the table's header and its new rows. ok is false where they cannot be told apart safely, and the table is read
// from its beginning.
func (w *worker) grown(c content) (text io.Reader, ok bool, err error) {
	var last [1]byte
	if _, err := c.at.ReadAt(last[:], w.prev.Bytes-1); err != nil || last[0] != '\n' {
		return nil, false, err // its last row was taken without a line end
	}
	head := make([]byte, min(w.prev.Bytes, 1<<20))
	if _, err := c.at.ReadAt(head, 0); err != nil && !errors.Is(err, io.EOF) {
		return nil, false, err
	}
	header := 0
	for lines, end := 0, 0; lines < headerLines; lines++ {
		i := bytes.IndexByte(head[end:], '\n')
		if i < 0 {
			return nil, false, nil
		}
		end += i + 1
		if w.firstRow(head[:end]) {
			w.baseRow, w.baseLine = w.prev.Rows, w.prev.Lines-lines
			tail := io.NewSectionReader(c.at, w.prev.Bytes, c.whole-w.prev.Bytes)
			return io.MultiReader(bytes.NewReader(head[:header]), tail), true, nil
		}
		header = end
	}
	return nil, false, nil
}

// firstRow reports whether the beginning of a table holds a row.
func (w *worker) firstRow(head []byte) bool {
	for _, err := range w.reader.Read(bytes.NewReader(head), w.source()) {
		var u *spectrum.Unreadable
		if err == nil || errors.As(err, &u) && u.Row > 0 {
			return w.reader.Info().Format == spectrum.Table
		}
	}
	return false
}

func (w *worker) source() spectrum.Source {
	return spectrum.Source{Name: w.job.file.Rel, Modified: w.job.file.Modified}
}

// missing reports whether a file could not be opened because it is not there any more.
func missing(err error) bool { return errors.Is(err, fs.ErrNotExist) }
