package monitor

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"os"
	"slices"
	"sync"
	"time"

	"asusual/model"
	"asusual/monitor/arrive"
	"asusual/monitor/keep"
)

// A ReferenceFile is the reference in a file. A new file under the name is taken up; one that cannot be read is refused, and
// the reference before stays in force.
type ReferenceFile struct {
	path     string
	approved bool // only references that somebody approved are taken up
	log      *slog.Logger

	mu      sync.Mutex
	current *Reference
	seen    fs.FileInfo // of the file that was looked at last
	closed  bool        // it could not be read then, which may pass
	looked  time.Time
}

var _ References = (*ReferenceFile)(nil)

// ErrNotApproved says that nobody has approved a reference where only approved ones are accepted.
var ErrNotApproved = errors.New("nobody has approved this reference, and only approved ones are accepted")

// InForce returns where the version of a reference that is in force is kept while the one in the file of that path waits for its
// approval.
func InForce(path string) string { return path + ".in-force" }

// NewReferenceFile reads the reference of that path. The log is told when it is replaced; nil: nobody is.
func NewReferenceFile(path string, log *slog.Logger) (*ReferenceFile, error) {
	return newReferenceFile(path, false, log)
}

// NewApprovedFile is NewReferenceFile where only references that somebody approved are accepted, now and later: while another waits
// for its approval the one before is in force, which is kept as InForce says; where there is none the error is ErrNotApproved.
func NewApprovedFile(path string, log *slog.Logger) (*ReferenceFile, error) {
	return newReferenceFile(path, true, log)
}

func newReferenceFile(path string, approved bool, log *slog.Logger) (*ReferenceFile, error) {
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	f := &ReferenceFile{path: path, approved: approved, log: log}
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	f.current, err = f.load(path)
	switch {
	case errors.Is(err, ErrNotApproved):
		f.current, err = f.before(err)
	case err == nil:
		f.settled()
	}
	if err != nil {
		return nil, err
	}
	f.seen, f.looked = info, time.Now()
	return f, nil
}

// lookEvery is how often the file is looked at.
const lookEvery = time.Second

// Current returns the reference in force.
func (f *ReferenceFile) Current() (*Reference, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if now := time.Now(); now.Sub(f.looked) >= lookEvery {
		f.looked = now
		f.look()
	}
	return f.current, nil
}

func (f *ReferenceFile) look() {
	info, err := os.Stat(f.path)
	if err != nil {
		if f.seen != nil {
			f.log.Warn("the reference file is gone; the reference in force stays", "file", f.path, "reason", err)
		}
		f.seen = nil
		return
	}
	if f.seen != nil && os.SameFile(info, f.seen) && info.Size() == f.seen.Size() && info.ModTime().Equal(f.seen.ModTime()) {
		return
	}
	ref, err := f.load(f.path)
	var unread *fs.PathError
	if errors.As(err, &unread) { // somebody has it open, or the share is away for a moment
		if !f.closed {
			f.log.Warn("the new reference cannot be read yet; trying again, the one before stays in force", "file", f.path, "reason", err)
		}
		f.closed = true
		return
	}
	f.seen, f.closed = info, false
	if err == nil {
		f.settled()
	}
	switch {
	case err != nil:
		f.log.Error("the new reference is refused; the one before stays in force", "file", f.path, "reason", err)
		if errors.Is(err, ErrNotApproved) {
			f.keep()
		}
	case ref.Fingerprint != f.current.Fingerprint:
		f.log.Info("a new reference is in force", "file", f.path, "fingerprint", ref.Fingerprint, "before", f.current.Fingerprint)
		f.current = ref
	case !slices.EqualFunc(ref.Model.Approvals, f.current.Model.Approvals, model.Approval.Equal):
		f.log.Info("the approvals of the reference are others", "file", f.path, "fingerprint", ref.Fingerprint, "approvals", len(ref.Model.Approvals))
		f.current = ref
	}
}

// before returns the version that was in force before the one in the file, which is refused for that reason.
func (f *ReferenceFile) before(why error) (*Reference, error) {
	ref, err := f.load(InForce(f.path))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, why
	case err != nil:
		return nil, errors.Join(why, err)
	}
	f.log.Warn("the new reference is not approved; the one before is in force", "file", f.path, "fingerprint", ref.Fingerprint, "reason", why)
	return ref, nil
}

// settled takes away what was kept while the version that is accepted now waited: it would come into force again while the next one waits.
// What cannot be removed stays, as where the folder may only be read.
func (f *ReferenceFile) settled() {
	if f.approved {
		os.Remove(InForce(f.path))
	}
}

// keep keeps the version in force for the next start, where whoever wrote the one that waits for its approval did not.
func (f *ReferenceFile) keep() {
	path := InForce(f.path)
	if kept, err := f.load(path); err == nil && kept.Fingerprint == f.current.Fingerprint {
		return
	}
	var b bytes.Buffer
	err := f.current.Model.Encode(&b)
	if err == nil {
		err = keep.WriteFile(path, b.Bytes())
	}
	if err != nil {
		f.log.Warn("the reference in force is not kept for the next start", "file", path, "reason", err)
	}
}

func (f *ReferenceFile) load(path string) (*Reference, error) {
	ref, err := load(path)
	if err == nil && f.approved && len(ref.Model.Approved()) == 0 {
		return nil, fmt.Errorf("%s: %w (%s)", path, ErrNotApproved, ref.Fingerprint)
	}
	return ref, err
}

func load(path string) (*Reference, error) {
	file, err := arrive.OpenFile(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	text, err := io.ReadAll(file) // at once, so that what cannot be read is told from what is no reference
	if err != nil {
		return nil, err
	}
	r, err := model.Decode(bytes.NewReader(text))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return Of(r), nil
}
