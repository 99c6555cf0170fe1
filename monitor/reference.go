package monitor

import (
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"sync"
	"time"

	"asusual/model"
)

// A ReferenceFile is the reference in a file. A new file under the name is taken up; one that cannot be read is refused, and
// the reference before stays in force.
type ReferenceFile struct {
	path string
	log  *slog.Logger

	mu      sync.Mutex
	current *Reference
	seen    fs.FileInfo // of the file that was looked at last
	looked  time.Time
}

var _ References = (*ReferenceFile)(nil)

// NewReferenceFile reads the reference of that path. The log is told when it is replaced; nil: nobody is.
func NewReferenceFile(path string, log *slog.Logger) (*ReferenceFile, error) {
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	f := &ReferenceFile{path: path, log: log}
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if f.current, err = load(path); err != nil {
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
	f.seen = info
	ref, err := load(f.path)
	switch {
	case err != nil:
		f.log.Error("the new reference is refused; the one before stays in force", "file", f.path, "reason", err)
	case ref.Fingerprint != f.current.Fingerprint:
		f.log.Info("a new reference is in force", "file", f.path, "fingerprint", ref.Fingerprint, "before", f.current.Fingerprint)
		f.current = ref
	}
}

func load(path string) (*Reference, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	r, err := model.Decode(file)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return Of(r), nil
}
