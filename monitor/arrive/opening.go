package arrive

import (
	"cmp"
	"context"
	"errors"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

// An opening finds some files to begin with, by their names alone: of a folder with a million files, describing each takes
// long, above all after a power cut, when nothing of the disk is in memory.
type opening struct {
	disk     *Disk
	order    Order
	patterns Patterns
	from     string // only names behind it

	until time.Time // when to have seen enough; zero: at the end

	pick   backlog
	n      int // files seen
	sample []string
	stride int
	before []string // some of those not behind from, by chance, where there is an until
	passed int      // how many of those there were
}

// hasteMost is how many files are handed on in haste: few, for others that come before them in order are not known yet.
const hasteMost = 512

// openingSample is of how many other files the times must agree.
const openingSample = 32

// open hands on the files that come first by name, where there are many and their times are in the order of their names, and
// those behind them, until few are left. The rest, and all where that is not so, is for the listing.
func (s *Scanner) open(ctx context.Context) error {
	disk, ok := s.opt.Tree.(*Disk)
	if !ok {
		return nil
	}
	if s.opt.Haste > 0 {
		if err := s.hasten(ctx, disk); err != nil {
			return err
		}
	}
	hold := chunk // to have some soon
	for from, more := s.opt.After, true; more; hold = s.opt.Hold {
		o := &opening{disk: disk, order: s.opt.Order, patterns: s.opt.Patterns, from: from, stride: 1}
		o.pick = backlog{order: ByName, hold: hold}
		if s.opt.Order == NewestFirst {
			o.from, o.pick.order = "", NewestFirst // none has a time yet, so by name, from the last
		}
		if err := o.folder(ctx, ".", 0); err != nil || o.n <= chunk {
			return ctx.Err() // the listing will say what is the matter
		}
		files := o.pick.sorted()
		from = files[len(files)-1].Rel
		var err error
		if more, err = s.begin(ctx, o, files); err != nil {
			return err
		}
		more = more && s.opt.Order != NewestFirst // of which newer ones may have come
	}
	return nil
}

// hasten hands on some files after a part of the names was gone through: a folder that takes longer to go through than the watch is let
// live would otherwise never be begun with.
func (s *Scanner) hasten(ctx context.Context, disk *Disk) error {
	o := &opening{disk: disk, order: s.opt.Order, patterns: s.opt.Patterns, from: s.opt.After, stride: 1, until: time.Now().Add(s.opt.Haste)}
	o.pick = backlog{order: ByName, hold: hasteMost}
	if s.opt.Order == NewestFirst {
		o.from, o.pick.order = "", NewestFirst
	}
	if err := o.folder(ctx, ".", 0); err != nil || o.n+o.passed <= chunk {
		return ctx.Err()
	}
	var names []string
	for _, f := range o.pick.sorted() {
		names = append(names, f.Rel)
	}
	for _, some := range [][]string{names, o.before} { // the others where all of the first were dealt with
		l := &listing{s: s, ctx: ctx, only: true, began: time.Now(), backlog: backlog{order: s.opt.Order, hold: hasteMost}}
		l.batch = slices.DeleteFunc(describeAll(ctx, s, some), func(f File) bool { return f.Refused != "" })
		if err := l.sift(); err != nil {
			return ctx.Err() // the listing finds the same trouble
		}
		if n := l.backlog.len(); n > 0 {
			s.opt.Log.Warn("the watch before was killed soon after its start: some files are judged before all are known, and those between them late",
				"files", n)
			return cmp.Or(errors.Unwrap(l.hand()), ctx.Err())
		}
	}
	return ctx.Err()
}

// begin hands on files of which only the names are known. more is false where their times are not in that order.
func (s *Scanner) begin(ctx context.Context, o *opening, files []File) (more bool, err error) {
	sample := describeAll(ctx, s, o.sample)
	for part := range slices.Chunk(files, chunk) {
		l := &listing{s: s, ctx: ctx, only: true, began: time.Now(), backlog: backlog{order: s.opt.Order, hold: chunk}}
		names := make([]string, len(part))
		for i, f := range part {
			names[i] = f.Rel
		}
		l.batch = describeAll(ctx, s, names)
		if s.opt.Order == ByTime && !agree(l.batch, sample) {
			return false, ctx.Err()
		}
		l.batch = slices.DeleteFunc(l.batch, func(f File) bool { return f.Refused != "" || s.memo.has(f) })
		if err := l.sift(); err != nil {
			return false, ctx.Err() // the listing finds the same trouble
		}
		if err := errors.Unwrap(l.hand()); err != nil {
			return false, err
		}
	}
	return true, ctx.Err()
}

// describeAll describes the files of those names that are there, several at a time.
func describeAll(ctx context.Context, s *Scanner, names []string) []File {
	files := make([]File, len(names))
	var asking sync.WaitGroup
	for part := range describers {
		asking.Go(func() {
			for i := part; i < len(names) && ctx.Err() == nil; i += describers {
				if f, dir, err := s.look(names[i]); err == nil && !dir {
					files[i] = f
				}
			}
		})
	}
	asking.Wait()
	return slices.DeleteFunc(files, func(f File) bool { return f.Rel == "" })
}

// agree reports whether the files, which are in the order of their names, are so in time, and those of the sample with later
// names lie behind.
func agree(files, sample []File) bool {
	if len(files) == 0 {
		return true
	}
	last := files[len(files)-1]
	return slices.IsSortedFunc(files, func(a, b File) int { return a.Modified.Compare(b.Modified) }) &&
		!slices.ContainsFunc(sample, func(f File) bool { return f.Rel > last.Rel && f.Modified.Before(last.Modified) })
}

// folder goes through the names of a folder, and where there are too few to begin with, through those of folders below.
func (o *opening) folder(ctx context.Context, dir string, depth int) error {
	var below []string
	err := o.disk.each(ctx, dir, func(e fs.DirEntry) {
		rel := path.Join(dir, e.Name())
		switch {
		case Leftover(e.Name()):
		case e.IsDir():
			below = append(below, rel)
		case !o.patterns.Take(rel):
		case o.order == NewestFirst || rel > o.from:
			o.add(rel)
		default:
			o.pass(rel)
		}
	}, o.enough)
	if err != nil || depth == maxDepth || o.enough() {
		return err
	}
	slices.Sort(below)
	if o.order == NewestFirst {
		slices.Reverse(below)
	}
	for _, sub := range below {
		if o.n > chunk {
			return nil
		}
		if o.order != NewestFirst && sub < o.from && !strings.HasPrefix(o.from, sub+"/") {
			continue
		}
		if err := o.folder(ctx, sub, depth+1); err != nil {
			return err
		}
	}
	return nil
}

// enough reports whether enough names were seen.
func (o *opening) enough() bool {
	return !o.until.IsZero() && o.n+o.passed > chunk && time.Now().After(o.until)
}

// pass keeps some of the names that come before from, each with the same odds.
func (o *opening) pass(rel string) {
	if o.until.IsZero() {
		return
	}
	o.passed++
	if len(o.before) < hasteMost {
		o.before = append(o.before, rel)
	} else if i := rand.IntN(o.passed); i < hasteMost {
		o.before[i] = rel
	}
}

func (o *opening) add(rel string) {
	if o.order == NewestFirst {
		o.pass(rel)
	}
	o.pick.add(File{Rel: rel})
	if o.n++; o.n%o.stride == 0 {
		o.sample = append(o.sample, rel)
	}
	if len(o.sample) < 2*openingSample {
		return
	}
	for i := range openingSample { // every other one stays
		o.sample[i] = o.sample[2*i+1]
	}
	o.sample, o.stride = o.sample[:openingSample], 2*o.stride
}

// each calls do for each entry of a folder. What it is called with is not described: only its name is known, and whether it
// is a folder. It ends when enough is true.
func (d *Disk) each(ctx context.Context, dir string, do func(fs.DirEntry), enough func() bool) error {
	// Not through the os.Root, which would describe each. That it is the same folder is made sure of.
	f, err := os.Open(filepath.Join(d.path, filepath.FromSlash(dir)))
	if err != nil {
		return err
	}
	defer f.Close()
	this, err := f.Stat()
	if err != nil {
		return err
	}
	if that, err := d.Stat(dir); err != nil || !os.SameFile(this, that) {
		return errors.Join(fs.ErrNotExist, err)
	}
	for {
		entries, err := f.ReadDir(chunk)
		for _, e := range entries {
			do(e)
		}
		switch {
		case errors.Is(err, io.EOF), err == nil && enough():
			return nil
		case err != nil:
			return err
		case ctx.Err() != nil:
			return ctx.Err()
		}
	}
}
