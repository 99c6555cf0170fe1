package keep

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"time"
)

// A Holder says who holds something.
type Holder struct {
	Name  string    `json:"name"`  // what it is doing, such as "watch"
	PID   int       `json:"pid"`   // its process
	Since time.Time `json:"since"` // when it began
}

// A Held is the error of a second holder. It names the first.
type Held struct {
	Path string
	By   Holder // its zero value where the first left no readable name
}

func (h *Held) Error() string {
	if h.By.PID == 0 {
		return h.Path + ": held by another process that left no name"
	}
	return fmt.Sprintf("%s: held by %q, process %d, since %s", h.Path, h.By.Name, h.By.PID,
		h.By.Since.Local().Format("2006-01-02 15:04:05"))
}

// A Hold is a lock that lasts until Release or the end of the process, whichever comes first: the operating system
// drops it, so a killed process leaves nothing to clear away. The file stays; it is only the place of the lock.
type Hold struct {
	f    *os.File
	left Holder
}

// Left returns who held it last and did not release it: a process that was killed, or the power that failed. Its zero value stands
// for nobody.
func (h *Hold) Left() Holder { return h.left }

// Take locks the file of that path, which it makes where there is none, and writes the holder to it. Where another process
// or another part of this one holds it, the error is a *Held. Look holds it for a moment, which is waited out.
func Take(path string, by Holder) (*Hold, error) {
	return take(path, by, patience{isLocked, time.Sleep, waitLook})
}

func isLocked(err error) bool { return errors.Is(err, errLocked) }

func take(path string, by Holder, p patience) (*Hold, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return nil, err
	}
	h, err := p.hold(f)
	if err != nil {
		return nil, err
	}
	if err := h.write(by); err != nil {
		return nil, errors.Join(err, h.Release())
	}
	return h, nil
}

// takeShared is take of a lock that several users take, whoever of them made it.
func takeShared(path string, by Holder, p patience) (*Hold, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o644) // which follows no link that others put there
	if err == nil {
		_ = f.Chmod(0o666)
	} else if f, err = os.OpenFile(path, os.O_RDWR, 0); errors.Is(err, os.ErrPermission) {
		f, err = os.Open(path) // a lock needs no more
	}
	if err != nil {
		return nil, err
	}
	h, err := p.hold(f)
	if err != nil {
		return nil, err
	}
	_ = h.write(by) // who may only read it leaves no name
	return h, nil
}

// hold locks an open file, and closes it where it cannot.
func (p patience) hold(f *os.File) (*Hold, error) {
	if err := p.do(func() error { return lock(f) }); err != nil {
		defer f.Close()
		if errors.Is(err, errLocked) {
			return nil, &Held{Path: f.Name(), By: readHolder(f)}
		}
		return nil, fmt.Errorf("locking %s: %w", f.Name(), err)
	}
	return &Hold{f, readHolder(f)}, nil
}

// Release gives the lock up. A second call does nothing.
func (h *Hold) Release() error {
	if h == nil || h.f == nil {
		return nil
	}
	err := h.f.Truncate(0)
	err = errors.Join(err, h.f.Close()) // closing drops the lock
	h.f = nil
	return err
}

func (h *Hold) write(by Holder) error {
	b, err := json.Marshal(by)
	if err != nil {
		return err
	}
	if err := h.f.Truncate(0); err != nil {
		return err
	}
	_, err = h.f.WriteAt(append(b, '\n'), 0)
	return err
}

// maxHolder bounds what is read of a lock file that somebody else may have written.
const maxHolder = 4096

func readHolder(f *os.File) Holder {
	var by Holder
	b, err := io.ReadAll(io.NewSectionReader(f, 0, maxHolder))
	if err != nil || json.Unmarshal(b, &by) != nil {
		return Holder{}
	}
	return by
}

var errLocked = errors.New("locked by another process")
