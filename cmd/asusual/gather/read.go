package gather

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"runtime"
	"slices"
	"sync"
	"time"

	"asusual/model/spectrum"
	"asusual/monitor/arrive"
)

// Options say how files are read. The zero value finds everything out.
type Options struct {
	Read     spectrum.Options
	Dark     *spectrum.Spectrum // with Bright: makes an absorbance of every raw intensity
	Bright   *spectrum.Spectrum // the reference spectrum: white, or an empty path
	Workers  int                // how many files are read at a time; 0: as many as the machine has processors
	Progress func(done, total int)
	// Reuse says that take keeps no spectrum's Values once it has returned: new ones are then read into them.
	Reuse  bool
	Extent *Extent // where how much was read is added up; may be nil
}

// An Extent is how much the files are that were read.
type Extent struct {
	Files   int
	Bytes   int64
	Written time.Time // when the newest of them was written to
}

// add adds the extent of one more file.
func (e *Extent) add(o Extent) {
	if e == nil {
		return
	}
	e.Files++
	e.Bytes += o.Bytes
	if o.Written.After(e.Written) {
		e.Written = o.Written
	}
}

// A Batch is some spectra of one file, or what could not be read of it.
type Batch struct {
	File       File
	Spectra    []spectrum.Spectrum
	Unreadable []*spectrum.Unreadable // of a file that is bad throughout the first, and one that counts the rest
	Notes      []Note                 // one a spectrum, or nil where nothing is to be said of any
	Info       spectrum.Info          // of the whole file; with the last batch
	Last       bool                   // nothing more of this file follows

	extent Extent // of the file; with the last batch, and nothing where it could not be opened
}

const (
	batchSize   = 256     // bounds how much of a large table is held at a time
	filesAtOnce = 16      // that a worker reads before it hands on what they hold: one by one, handing on would cost as much as reading
	smallFile   = 1 << 20 // bytes up to which a file is read at once
	// readAhead is how many small files are read while whoever takes them is busy: adding up the products of 256 spectra takes as
	// long as reading some hundred files.
	readAhead = 256
)

// Read reads the files and hands what they hold to take, in the order of files and of the rows within one, from one
// goroutine. At most some readAhead files are held at a time, or with many workers a few times filesAtOnce for each; of tables one
// batch for each worker. It stops where take returns an error, or ctx ends.
func Read(ctx context.Context, files []File, opt Options, take func(Batch) error) error {
	workers := opt.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	ctx, cancel := context.WithCancel(ctx)
	var running sync.WaitGroup
	defer running.Wait()
	defer cancel()

	type job struct {
		files []File
		out   chan []Batch
	}
	todo := make(chan job)                                             // to the workers
	inOrder := make(chan job, max(2*workers+1, readAhead/filesAtOnce)) // the same, to the one who takes
	running.Go(func() {
		defer close(inOrder)
		defer close(todo)
		for some := range slices.Chunk(files, filesAtOnce) {
			j := job{some, make(chan []Batch, 1)}
			select {
			case inOrder <- j:
			case <-ctx.Done():
				return
			}
			select {
			case todo <- j:
			case <-ctx.Done():
				return
			}
		}
	})
	var back chan []float64 // Values that are not needed any more, on their way to the workers
	if opt.Reuse {
		back = make(chan []float64, 2*batchSize)
	}
	for range workers {
		running.Go(func() {
			w := newWorker(opt, back)
			for j := range todo {
				w.readAll(ctx, j.files, j.out)
				close(j.out)
			}
		})
	}
	done := 0
	one := func(b Batch) error {
		used := valuesOf(b, back)
		if err := take(b); err != nil {
			return err
		}
		giveBack(used, back)
		if b.Last {
			opt.Extent.add(b.extent)
			if done++; opt.Progress != nil {
				opt.Progress(done, len(files))
			}
		}
		return nil
	}
	for j := range inOrder {
		if err := takeAll(ctx, j.out, one); err != nil {
			return err
		}
	}
	return ctx.Err()
}

// takeAll hands on the batches of some files.
func takeAll(ctx context.Context, from <-chan []Batch, take func(Batch) error) error {
	for {
		select {
		case some, more := <-from:
			if !more {
				return nil
			}
			for _, b := range some {
				if ctx.Err() != nil {
					return ctx.Err()
				}
				if err := take(b); err != nil {
					return err
				}
			}
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// valuesOf returns the Values of a batch, which take may shuffle, where they are to go back.
func valuesOf(b Batch, back chan []float64) [][]float64 {
	if back == nil {
		return nil
	}
	used := make([][]float64, len(b.Spectra))
	for i, s := range b.Spectra {
		used[i] = s.Values
	}
	return used
}

// giveBack hands Values to the workers, as far as these keep up.
func giveBack(used [][]float64, back chan<- []float64) {
	for _, v := range used {
		select {
		case back <- v:
		default:
			return
		}
	}
}

// A worker reads one file after another with buffers of its own.
type worker struct {
	opt    Options
	reader *spectrum.Reader
	back   <-chan []float64 // nil where none come back
	buf    []byte           // of a small file

	made []Batch // and not handed on yet
	held int     // spectra in them
}

func newWorker(opt Options, back <-chan []float64) *worker {
	return &worker{opt: opt, reader: spectrum.NewReader(opt.Read), back: back}
}

// takeBack lets the reader use again what came back.
func (w *worker) takeBack() {
	for {
		select {
		case v := <-w.back:
			w.reader.Reuse(v)
		default:
			return
		}
	}
}

// readAll reads one file after another.
func (w *worker) readAll(ctx context.Context, files []File, out chan<- []Batch) {
	w.made, w.held = nil, 0
	hand := func() bool {
		select {
		case out <- w.made:
			w.made, w.held = nil, 0
			w.takeBack()
			return true
		case <-ctx.Done():
			return false
		}
	}
	w.takeBack()
	for _, f := range files {
		w.read(ctx, f, func(b Batch) bool {
			w.made = append(w.made, b)
			w.held += len(b.Spectra)
			return b.Last && w.held < filesAtOnce && ctx.Err() == nil || hand()
		})
		if ctx.Err() != nil {
			return
		}
	}
	if len(w.made) > 0 {
		hand()
	}
}

// read sends the spectra of the file in batches.
func (w *worker) read(ctx context.Context, file File, send func(Batch) bool) {
	b := Batch{File: file}
	src := spectrum.Source{Name: file.Path}
	var in io.Reader
	var size int64
	if whole, ok := w.whole(file); ok {
		src.Modified, size, in = whole.Modified, int64(len(whole.Bytes)), bytes.NewReader(whole.Bytes)
	} else {
		f, err := open(file)
		if err != nil {
			b.Unreadable = append(b.Unreadable, &spectrum.Unreadable{File: file.Path, Reason: errors.Unwrap(short(file.Path, err)).Error()})
			b.Last = true
			send(b)
			return
		}
		defer f.Close()
		in = f
		if info, err := f.Stat(); err == nil {
			src.Modified, size = info.ModTime(), info.Size()
			if size < smallFile {
				in = w.small(f, size)
			}
		}
	}
	var few spectrum.Few
	for s, err := range w.spectra(in, src) {
		if ctx.Err() != nil {
			return
		}
		switch {
		case err == nil:
			b.Spectra = append(b.Spectra, s)
		default:
			b.note(few.Take(asUnreadable(file.Path, err)))
		}
		if len(b.Spectra)+len(b.Unreadable) == batchSize {
			b.note(few.Rest())
			if !send(b) {
				return
			}
			b = Batch{File: file}
		}
	}
	b.note(few.Rest())
	b.Info, b.Last, b.extent = w.reader.Info(), true, Extent{Bytes: size, Written: src.Modified}
	send(b)
}

// note adds one that could not be read; nil is none.
func (b *Batch) note(u *spectrum.Unreadable) {
	if u != nil {
		b.Unreadable = append(b.Unreadable, u)
	}
}

// open opens a regular file: a pipe would be waited for without end, and a device may do anything.
func open(file File) (*os.File, error) {
	if !file.regular {
		info, err := os.Stat(file.Path)
		if err != nil {
			return nil, err
		}
		if !info.Mode().IsRegular() {
			return nil, errNotRegular
		}
	}
	return arrive.OpenFile(file.Path)
}

var errNotRegular = errors.New("is no regular file")

// whole reads a small file of which the listing said that it is regular.
func (w *worker) whole(file File) (whole arrive.Whole, ok bool) {
	if !file.regular {
		return arrive.Whole{}, false
	}
	if whole, ok = arrive.ReadWhole(file.Path, w.buf, smallFile-1); ok {
		w.buf = whole.Bytes
	}
	return whole, ok
}

func (w *worker) spectra(in io.Reader, src spectrum.Source) func(yield func(spectrum.Spectrum, error) bool) {
	return func(yield func(spectrum.Spectrum, error) bool) {
		r, err := spectrum.Open(in, src.Name, w.opt.Read.MaxBytes)
		if err != nil {
			yield(spectrum.Spectrum{}, err)
			return
		}
		for s, err := range w.reader.Read(r, src) {
			if err == nil {
				s, err = Absorb(s, w.opt.Dark, w.opt.Bright)
			}
			if !yield(s, err) {
				return
			}
		}
	}
}

// small reads a small file at once. An error comes where its bytes end.
func (w *worker) small(f *os.File, size int64) io.Reader {
	w.buf = slices.Grow(w.buf[:0], int(size))[:size]
	n, err := io.ReadFull(f, w.buf)
	if err == nil || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) {
		return bytes.NewReader(w.buf[:n])
	}
	return io.MultiReader(bytes.NewReader(w.buf[:n]), f) // which says it again
}

// Absorb makes an absorbance of a raw intensity where a dark and a reference spectrum are there for it. Everything else
// stays as it is.
func Absorb(s spectrum.Spectrum, dark, bright *spectrum.Spectrum) (spectrum.Spectrum, error) {
	if s.Quantity != spectrum.Intensity || dark == nil || bright == nil {
		return s, nil
	}
	a, err := spectrum.FromIntensities(s, *dark, *bright)
	if err != nil {
		return s, &spectrum.Unreadable{File: s.File, Row: s.Row, Reason: err.Error()}
	}
	return a, nil
}

func asUnreadable(path string, err error) *spectrum.Unreadable {
	var u *spectrum.Unreadable
	if errors.As(err, &u) {
		return u
	}
	return &spectrum.Unreadable{File: path, Reason: err.Error()}
}

// One reads a file that must hold exactly one spectrum, such as a dark spectrum.
func One(path string, opt spectrum.Options) (*spectrum.Spectrum, error) {
	var found []spectrum.Spectrum
	err := Read(context.Background(), []File{{Path: path}}, Options{Read: opt, Workers: 1}, func(b Batch) error {
		if len(b.Unreadable) > 0 {
			return b.Unreadable[0]
		}
		found = append(found, b.Spectra...)
		return nil
	})
	if err != nil {
		return nil, err
	}
	if len(found) != 1 {
		return nil, &spectrum.Unreadable{File: path, Reason: "it must hold one spectrum and holds " + count(len(found))}
	}
	return &found[0], nil
}
