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

// NewReferenceFile reads the reference of that path. The log is told when it is replaced; nil: nobody is.
func NewReferenceFile(path string, log *slog.Logger) (*ReferenceFile, error) {
	return newReferenceFile(path, false, log)
}

// NewApprovedFile is NewReferenceFile where only references that somebody approved are accepted, now and later: another is
// refused with ErrNotApproved.
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
	if f.current, err = f.load(); err != nil {
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
	ref, err := f.load()
	var unread *fs.PathError
	if errors.As(err, &unread) { // somebody has it open, or the share is away for a moment
		if !f.closed {
			f.log.Warn("the new reference cannot be read yet; trying again, the one before stays in force", "file", f.path, "reason", err)
		}
		f.closed = true
		return
	}
	f.seen, f.closed = info, false
	switch {
	case err != nil:
		f.log.Error("the new reference is refused; the one before stays in force", "file", f.path, "reason", err)
	case ref.Fingerprint != f.current.Fingerprint:
		f.log.Info("a new reference is in force", "file", f.path, "fingerprint", ref.Fingerprint, "before", f.current.Fingerprint)
		f.current = ref
	case !slices.EqualFunc(ref.Model.Approvals, f.current.Model.Approvals, model.Approval.Equal):
		f.log.Info("the approvals of the reference are others", "file", f.path, "fingerprint", ref.Fingerprint, "approvals", len(ref.Model.Approvals))
		f.current = ref
	}
}

func (f *ReferenceFile) load() (*Reference, error) {
	ref, err := load(f.path)
	if err == nil && f.approved && len(ref.Model.Approved()) == 0 {
		return nil, fmt.Errorf("%s: %w (%s)", f.path, ErrNotApproved, ref.Fingerprint)
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
