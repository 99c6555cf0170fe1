package keep

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// Prefix starts the names of files that are being written. They are hidden and are no one's spectra; Sweep removes
// what a power cut left of them.
const Prefix = ".asusual-unfinished-"

// WriteFile makes data the whole content of the file of that path: written beside it, synced, closed, renamed over it,
// the folder synced. Whoever reads the path at any moment finds the old content or the new one, also after a power cut.
// The folder must exist. A link at the path is replaced, not followed.
func WriteFile(path string, data []byte) error {
	return Replace(path, data, func() error { return nil })
}

// Replace is WriteFile where the file that is there may still be looked at: still is asked when all is ready, a moment before data takes its
// place, and its error leaves the file as it is.
func Replace(path string, data []byte, still func() error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), Prefix+"*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, ignoreMissing(f.Close()), ignoreMissing(os.Remove(f.Name())))
		}
	}()
	if _, err := f.Write(data); err != nil {
		return err
	}
	if err := f.Chmod(0o644); err != nil { // CreateTemp's 0600 would hide reports from everyone else
		return err
	}
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	if err := still(); err != nil {
		return err
	}
	return rename(f.Name(), path)
}

// ReplaceAlone is Replace for a file that several write: from what still sees until data is in its place no other ReplaceAlone of that path
// goes on. Where another takes longer than a moment over it, the error is a *Held. The lock is a hidden file beside it, which stays, and
// which every user may take.
func ReplaceAlone(path string, data []byte, still func() error) error {
	var h *Hold
	defer func() { _ = h.Release() }() // the file is closed in any case
	return Replace(path, data, func() (err error) {
		var held *Held
		by := Holder{"writing", os.Getpid(), time.Now()}
		if h, err = takeShared(lockOf(path), by, patience{isLocked, time.Sleep, waitMost}); errors.As(err, &held) {
			return err
		}
		return still() // also where nothing can be locked, as on some shares
	})
}

// lockOf returns where the lock of a file lies: hidden, so that it is no one's spectrum.
func lockOf(path string) string {
	return filepath.Join(filepath.Dir(path), "."+filepath.Base(path)+".lock")
}

// ReadFile reads a file that others may be replacing by WriteFile.
func ReadFile(path string) (data []byte, err error) {
	err = patient.do(func() error {
		data, err = os.ReadFile(path)
		return err
	})
	return data, err
}

// Rename gives a file that is whole another name on the same disk, so that it has the one or the other after a power cut,
// and all of it. A folder may have another name, too; what is in it is to be whole.
func Rename(from, to string) error {
	if info, err := os.Lstat(from); err == nil && info.IsDir() {
		return rename(from, to)
	}
	f, err := os.OpenFile(from, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	return rename(from, to)
}

func rename(from, to string) error {
	if err := patient.do(func() error { return os.Rename(from, to) }); err != nil {
		return err
	}
	return syncFolder(filepath.Dir(to))
}

// Sweep removes what interrupted writes left in the folder and did not touch since that time: what is younger, somebody may be
// writing. A folder that is not there has nothing of the kind.
func Sweep(folder string, since time.Time) error {
	left, err := os.ReadDir(folder)
	if err != nil {
		return ignoreMissing(err)
	}
	for _, e := range left {
		if !strings.HasPrefix(e.Name(), Prefix) || !e.Type().IsRegular() && !e.IsDir() {
			continue
		}
		if info, gone := e.Info(); gone == nil && touched(filepath.Join(folder, e.Name()), info).Before(since) {
			err = errors.Join(err, ignoreMissing(os.RemoveAll(filepath.Join(folder, e.Name()))))
		}
	}
	return err
}

// touched returns when a file, or anything in a folder, was written to last: a copy of a large history takes hours to be written into one.
func touched(path string, info fs.FileInfo) time.Time {
	last := info.ModTime()
	if !info.IsDir() {
		return last
	}
	below, err := os.ReadDir(path)
	if err != nil {
		return last
	}
	for _, e := range below {
		if info, err := e.Info(); err == nil && info.ModTime().After(last) {
			last = info.ModTime()
		}
	}
	return last
}

func ignoreMissing(err error) error {
	if errors.Is(err, fs.ErrNotExist) || errors.Is(err, fs.ErrClosed) || errors.Is(err, os.ErrClosed) {
		return nil
	}
	return err
}
