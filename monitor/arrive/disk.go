package arrive

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
)

// A Tree is the folder that is watched, with what lies below it. Its names are relative and have slashes.
type Tree interface {
	fs.StatFS
	Lstat(name string) (fs.FileInfo, error) // does not follow a link
	Renew() error                           // finds the folder again: another may have taken its name; an error where it is gone
}

// A Disk is a folder of this computer or a network share. It never leads out of the folder, whatever links lie in it.
type Disk struct {
	path string
	mu   sync.RWMutex
	root *os.Root
	dir  *os.File // the same, for ReadWhole; nil where there is none
}

var _ Tree = (*Disk)(nil)

// OpenDisk returns the folder of that path.
func OpenDisk(path string) (*Disk, error) {
	d := &Disk{path: path}
	return d, d.Renew()
}

// Path returns the path of the folder.
func (d *Disk) Path() string { return d.path }

// Renew opens the folder anew. Where it is gone, the old one stays open and its files are not found.
func (d *Disk) Renew() error {
	root, err := openRoot(d.path)
	if err != nil {
		return err
	}
	d.mu.Lock()
	old := d.root
	d.root = root
	d.mu.Unlock()
	if old != nil {
		return old.Close()
	}
	return nil
}

// OneClock reports whether the times of the files are by this computer's clock: not so on a network share.
func (d *Disk) OneClock() bool { return local(d.path) }

// use calls do with the folder as it is open now. Names go through os.Root and not through its FS, which refuses names that
// are no UTF-8, and such lie in folders of old instruments.
func use[T any](d *Disk, name string, do func(root *os.Root, name string) (T, error)) (T, error) {
	d.mu.RLock()
	defer d.mu.RUnlock()
	if d.root == nil {
		var none T
		return none, &fs.PathError{Op: "open", Path: name, Err: fs.ErrClosed}
	}
	return do(d.root, filepath.FromSlash(name))
}

// Open opens a file of the folder.
func (d *Disk) Open(name string) (fs.File, error) {
	f, err := use(d, name, openPlainly)
	if err != nil {
		return nil, err // not f, a nil that would not be nil as an fs.File
	}
	return f, nil
}

func openPlainly(root *os.Root, name string) (*os.File, error) {
	return root.OpenFile(name, os.O_RDONLY|plainly, 0)
}

// Below opens a folder in the folder, for a moment: many of its files are opened faster through it.
func (d *Disk) Below(name string) (*Disk, error) {
	root, err := use(d, name, (*os.Root).OpenRoot)
	if err != nil {
		return nil, err
	}
	return &Disk{path: root.Name(), root: root, dir: openDir(root)}, nil
}

// Stat describes a file of the folder, following a link that stays inside it.
func (d *Disk) Stat(name string) (fs.FileInfo, error) { return use(d, name, (*os.Root).Stat) }

// Lstat describes a file of the folder, or the link that it is.
func (d *Disk) Lstat(name string) (fs.FileInfo, error) { return use(d, name, (*os.Root).Lstat) }

// Close closes the folder. A second call does nothing.
func (d *Disk) Close() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.root == nil {
		return nil
	}
	err := d.root.Close()
	if d.dir != nil {
		err = errors.Join(err, d.dir.Close())
	}
	d.root, d.dir = nil, nil
	if errors.Is(err, fs.ErrClosed) {
		return nil
	}
	return err
}
