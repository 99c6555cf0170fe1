package main

import (
	"cmp"
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/gather"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/monitor/arrive"
	"asusual/monitor/history"
	"asusual/monitor/keep"
)

// A lying is one file in a watched folder.
type lying struct {
	gather.File
	size    int64
	written time.Time
}

// line looks at one line: its folders, its reference, and the one against the other.
func (e *examination) line(ctx context.Context, l config.Line, db *history.DB) {
	for _, good := range l.Good {
		if _, err := os.Stat(good); err != nil {
			e.look(l.Name, "good.none", "folder", good, "reason", reasonOf(err))
		} else if _, err := gather.List([]string{good}, l.Spectra.Files); errors.Is(err, gather.ErrNone) {
			e.look(l.Name, "good.empty", "folder", good)
		} else {
			e.fine(l.Name, "good", "folder", good)
		}
	}
	newest := e.watched(l)
	e.notified(ctx, l)
	ref := e.reference(l)
	e.conditions(l, ref)
	e.own(ctx, l, db)
	if len(newest) > 0 {
		e.spectra(ctx, l, newest, ref)
	}
}

// reasonOf says an error about a path without the path and the system call.
func reasonOf(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}

const (
	newestFiles = 20                  // that are read and judged
	oldAfter    = 24 * time.Hour      // without a new file, somebody should look
	aheadBy     = time.Minute         // of two clocks that agree
	paceOver    = 14 * 24 * time.Hour // over which the spectrometer's pace is taken
)

// watched looks at the watched folder, and returns its newest files, the oldest of them first.
func (e *examination) watched(l config.Line) []lying {
	if l.Watch == "" {
		e.wrong(l.Name, "watch.unset")
		return nil
	}
	list, err := gather.List([]string{l.Watch}, l.Spectra.Files)
	if err != nil && !errors.Is(err, gather.ErrNone) {
		e.wrong(l.Name, "watch.bad", "folder", l.Watch, "reason", reasonOf(err))
		return nil
	}
	if info, err := os.Stat(l.Watch); err == nil && !info.IsDir() {
		e.wrong(l.Name, "watch.bad", "folder", l.Watch, "reason", "not a folder")
		return nil
	}
	var all []lying
	for _, f := range list.Files {
		if info, err := os.Stat(f.Path); err == nil { // one that is gone meanwhile is no news
			all = append(all, lying{f, info.Size(), info.ModTime()})
		}
	}
	if len(all) == 0 {
		e.look(l.Name, "watch.empty", "folder", l.Watch, "ignored", strconv.Itoa(len(list.Ignored)))
		return nil
	}
	slices.SortStableFunc(all, func(a, b lying) int { return cmp.Or(a.written.Compare(b.written), cmp.Compare(a.Path, b.Path)) })
	last := all[len(all)-1]
	var bytes int64
	first := last.written
	for _, f := range all {
		if last.written.Sub(f.written) < paceOver {
			bytes += f.size
			if f.written.Before(first) {
				first = f.written
			}
		}
	}
	e.pace[nearestFolder(l.Watch)] += float64(bytes) / max(1, last.written.Sub(first).Hours()/24)
	age := e.now.Sub(last.written)
	put := []string{"folder", l.Watch, "files", e.count(len(all)), "age", e.lasted(max(age, 0))}
	switch {
	case age < -aheadBy:
		e.wrong(l.Name, "clock.ahead", "file", last.Path, "by", e.lasted(-age))
	case age > oldAfter:
		e.look(l.Name, "watch.old", put...)
	default:
		e.fine(l.Name, "watch", put...)
	}
	return all[max(0, len(all)-newestFiles):]
}

// notifyWait is how long a notification may take: one that is later than that is none to wait for.
const notifyWait = 2 * time.Second

// notified tries whether notifications arrive: in the watched folder itself where that was asked for, else in a folder of ours
// on the same disk.
func (e *examination) notified(ctx context.Context, l config.Line) {
	if info, err := os.Stat(l.Watch); err != nil || !info.IsDir() {
		return
	}
	if err := followable(l.Watch); err != nil {
		e.look(l.Name, "notify.refused", "folder", l.Watch, "reason", err.Error())
		return
	}
	folder, how := l.Watch, e.say("notify.here")
	if !e.opt.writeTest {
		folder, how = "", e.say("notify.same")
		for _, ours := range []string{filepath.Dir(e.config.History), e.config.Reports} {
			if ours = nearestFolder(ours); folder == "" && keep.SameDisk(ours, l.Watch) {
				folder = ours
			}
		}
	}
	if folder == "" {
		e.look(l.Name, "notify.untried", "folder", l.Watch)
		return
	}
	took, err := tryNotify(ctx, folder, !e.opt.writeTest)
	switch {
	case ctx.Err() != nil:
		return
	case errors.Is(err, errNotNotified):
		e.look(l.Name, "notify.not", "folder", folder)
		return
	case err != nil:
		e.look(l.Name, "notify.failed", "folder", folder, "reason", reasonOf(err))
		return
	}
	e.fine(l.Name, "notify", "ms", e.figure(float64(took.Microseconds())/1000), "folder", folder, "how", how)
}

// followable asks for the notifications of a folder, and gives them up at once: it says whether the system has any left.
func followable(folder string) error {
	n, err := arrive.NewNotifier(folder)
	if err != nil {
		return err
	}
	return errors.Join(n.Follow("."), n.Close())
}

var errNotNotified = errors.New("no notification came")

// tryNotify writes a hidden file into the folder, or into one of its own below it, and returns how long its notification took.
func tryNotify(ctx context.Context, folder string, below bool) (took time.Duration, err error) {
	if below {
		if folder, err = os.MkdirTemp(folder, keep.Prefix); err != nil {
			return 0, err
		}
		defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
	}
	n, err := arrive.NewNotifier(folder)
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, n.Close()) }()
	if err := n.Follow("."); err != nil {
		return 0, err
	}
	began := time.Now()
	if err := canWrite(folder); err != nil {
		return 0, err
	}
	ctx, cancel := context.WithTimeout(ctx, notifyWait)
	defer cancel()
	select {
	case <-n.Events():
		return time.Since(began), nil
	case <-ctx.Done():
		return 0, errNotNotified
	}
}

// reference looks at the reference of a line, and returns the one that judges it; nil where there is none that can be used.
func (e *examination) reference(l config.Line) *model.Reference {
	ref, path, err := e.app.reference("", l)
	var none *words.NoReference
	switch {
	case errors.As(err, &none):
		e.wrong(l.Name, "reference.none", "file", path)
		return nil
	case err != nil:
		e.wrong(l.Name, "reference.bad", "reason", err.Error(), "hint", words.HintIn(e.tag, err))
		return nil
	}
	zone := e.config.Zone()
	e.fine(l.Name, "reference", "name", ref.Name, "fingerprint", ref.Fingerprint(), "day", words.Moment(ref.Learned.In(zone)),
		"runs", strconv.Itoa(len(ref.Learning.Runs)), "axis", ref.Axis().String())
	approved := ref.Approved()
	if len(approved) > 0 {
		last := approved[len(approved)-1]
		e.fine(l.Name, "approved", "by", last.By, "day", words.Moment(last.At.In(zone)))
	} else if before, _, err := e.app.inForce(l); l.ApprovedOnly && err == nil && len(before.Approved()) > 0 {
		e.look(l.Name, "approved.waits", "fingerprint", ref.Fingerprint(), "before", before.Fingerprint())
		return before
	} else if l.ApprovedOnly {
		e.wrong(l.Name, "approved.no", "fingerprint", ref.Fingerprint())
	}
	return ref
}

// staleAfter is how old the newest of the instrument's own spectra may be where nothing is stated: a day, as for its checks.
const staleAfter = 24 * time.Hour

// own looks at what checks the instrument.
func (e *examination) own(ctx context.Context, l config.Line, db *history.DB) {
	i := l.Instrument
	if i.Dark != "" {
		if _, _, err := instrument(i, readOptions(l, e.config.Zone())); err != nil {
			e.wrong(l.Name, "files.bad", "reason", err.Error())
		} else {
			e.fine(l.Name, "files")
		}
	}
	if len(i.Rules) == 0 {
		if i.Dark == "" {
			e.look(l.Name, "instrument.none")
		}
		return
	}
	if since := i.Check.Since; since.After(e.now) {
		e.look(l.Name, "instrument.since", "since", words.Moment(since.In(e.config.Zone())))
	}
	if db == nil {
		return // nothing was watched yet
	}
	newest, err := db.LastOwn(ctx, l.Name)
	age := e.lasted(max(e.now.Sub(newest), 0))
	switch {
	case err != nil:
		e.wrong(l.Name, "history.bad", "reason", err.Error(), "hint", words.HintIn(e.tag, err))
	case newest.IsZero():
		e.look(l.Name, "instrument.never")
	case e.now.Sub(newest) > cmp.Or(i.Check.Light.Stale, staleAfter):
		e.look(l.Name, "instrument.stale", "age", age)
	default:
		e.fine(l.Name, "instrument", "age", age)
	}
}

// spectra reads the newest files, and looks at their times and at where they lie against the reference.
func (e *examination) spectra(ctx context.Context, l config.Line, newest []lying, ref *model.Reference) {
	src := &input{line: l, opt: gather.Options{Read: readOptions(l, e.config.Zone())}}
	var err error
	if src.opt.Dark, src.opt.Bright, err = instrument(l.Instrument, src.opt.Read); err != nil {
		return // it is said with the instrument
	}
	for _, f := range newest {
		src.listing.Files = append(src.listing.Files, f.File)
	}
	var v gather.Survey
	alone := map[string]time.Time{} // times of spectra that have a file for themselves
	err = gather.Read(ctx, src.listing.Files, src.opt, func(b gather.Batch) error {
		v.Add(b)
		if b.Last && len(b.Spectra) == 1 && b.Spectra[0].Row == 0 {
			alone[b.File.Path] = b.Spectra[0].Time
		}
		return nil
	})
	if err != nil {
		e.wrong(l.Name, "watch.bad", "folder", l.Watch, "reason", reasonOf(err))
		return
	}
	v.Finish()
	if v.Broken > 0 {
		first := v.Unreadable[0]
		e.look(l.Name, "read.bad", "bad", strconv.Itoa(v.Broken), "files", strconv.Itoa(len(newest)), "file", first.File, "reason", first.Reason)
	}
	if len(v.Kinds) == 0 {
		return
	}
	e.fine(l.Name, "read", "axis", axisWords(v.Kinds[0].Info), "quantity", quantityWords(v.Kinds[0].Info))
	e.clock(l, newest, alone, v.To)
	if ref != nil {
		e.against(ctx, l, src, ref)
	}
}

// against judges the newest spectra by the reference.
func (e *examination) against(ctx context.Context, l config.Line, src *input, ref *model.Reference) {
	d, err := e.place(ctx, src, ref)
	if err != nil || len(d.spectra) == 0 {
		if err != nil {
			e.wrong(l.Name, "watch.bad", "folder", l.Watch, "reason", reasonOf(err))
		}
		return
	}
	inside, unfit, why := 0, 0, ""
	for _, s := range d.spectra {
		switch s.Condition {
		case model.Unfit:
			unfit++
			why = cmp.Or(why, e.reasons(s.Reasons))
		case model.Uncharted:
		default:
			inside++
		}
	}
	put := []string{"inside", strconv.Itoa(inside), "n", strconv.Itoa(len(d.spectra)), "reason", why}
	switch {
	case unfit == len(d.spectra):
		e.wrong(l.Name, "inside.none", put...)
	case 2*inside < len(d.spectra):
		e.look(l.Name, "inside.few", put...)
	default:
		e.fine(l.Name, "inside", put...)
	}
}

// Two times that stand apart by a multiple of this, all alike, differ by their zone: zones lie at quarters of an hour.
const (
	quarter   = 15 * time.Minute
	alike     = 2 * time.Minute
	leastOff  = 30 * time.Minute
	mostOff   = 14 * time.Hour
	leastSeen = 3 // files
)

// clock looks whether the times in the files fit those at which they were written, and go forward.
func (e *examination) clock(l config.Line, newest []lying, alone map[string]time.Time, last time.Time) {
	if by := last.Sub(e.now); by > aheadBy {
		e.look(l.Name, "clock.future", "file", newest[len(newest)-1].Path, "by", e.lasted(by))
		return
	}
	var off []time.Duration
	var before lying
	for _, f := range newest {
		at := alone[f.Path]
		if at.IsZero() {
			continue
		}
		if was := alone[before.Path]; !was.IsZero() && was.Sub(at) > aheadBy && f.written.Sub(before.written) > time.Second {
			e.look(l.Name, "clock.step", "file", f.Path, "by", e.lasted(was.Sub(at)))
			return
		}
		before = f
		off = append(off, at.Sub(f.written))
	}
	if zoneOff(off) != 0 {
		e.look(l.Name, "clock.zone", "by", e.lasted(zoneOff(off).Abs()))
		return
	}
	e.fine(l.Name, "clock")
}

// zoneOff returns by how much the times in files lie beside those at which the files were written, where that looks like a zone:
// the same for all, and near a multiple of a quarter of an hour. It is 0 otherwise.
func zoneOff(off []time.Duration) time.Duration {
	if len(off) < leastSeen || slices.Max(off)-slices.Min(off) > alike {
		return 0
	}
	slices.Sort(off)
	middle := off[len(off)/2]
	near := middle.Round(quarter)
	if near.Abs() < leastOff || near.Abs() > mostOff || (middle-near).Abs() > alike {
		return 0
	}
	return near
}
