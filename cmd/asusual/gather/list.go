package gather

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"asusual/monitor/arrive"
)

// A File is one file that a path means.
type File struct {
	Path   string
	Folder string // the folder it lies in, from the one that was named, with slashes; the name of that one if directly in it

	regular bool // the listing said so
}

// A Listing is what paths mean.
type Listing struct {
	Files   []File   // in the order of the paths, and of the names within a folder
	Ignored []string // what lay there and is no spectrum by its name: hidden, temporary, or against the patterns
}

// maxDepth is far below what any folder of spectra needs; a link that leads back to a folder above ends there.
const maxDepth = 16

// ErrNone says that paths mean no file at all.
var ErrNone = errors.New("no files of spectra there")

// List finds the files that the paths mean: a file is itself, whatever its name; a folder is all that lies in it and below,
// of the names that match one of the patterns, where there are any.
func List(paths, patterns []string) (Listing, error) {
	var l Listing
	for _, path := range paths {
		info, err := os.Stat(path)
		if err != nil {
			return Listing{}, short(path, err)
		}
		before := len(l.Files)
		if !info.IsDir() {
			l.Files = append(l.Files, File{Path: path, Folder: filepath.Base(filepath.Dir(absolute(path)))})
			continue
		}
		if err := l.walk(path, filepath.Base(absolute(path)), patterns, 0); err != nil {
			return Listing{}, err
		}
		if len(l.Files) == before {
			return Listing{}, fmt.Errorf("%s: %w", path, ErrNone)
		}
	}
	if len(paths) > 1 {
		l.Files = once(l.Files)
	}
	return l, nil
}

// once leaves out files that an earlier path meant too.
func once(files []File) []File {
	here, err := os.Getwd() // once for all: asked for each of many files it takes as long as reading half of them
	seen := map[string]bool{}
	return slices.DeleteFunc(files, func(f File) bool {
		path := filepath.Clean(f.Path)
		if err == nil && !filepath.IsAbs(path) {
			path = filepath.Join(here, path)
		}
		twice := seen[path]
		seen[path] = true
		return twice
	})
}

func absolute(path string) string {
	if full, err := filepath.Abs(path); err == nil {
		return full
	}
	return path
}

// short says an error about a path without the name of the system call.
func short(path string, err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	return fmt.Errorf("%s: %w", path, err)
}

func (l *Listing) walk(dir, folder string, patterns []string, depth int) error {
	if depth > maxDepth {
		return fmt.Errorf("%s: folders lie more than %d deep; a link may lead back", dir, maxDepth)
	}
	files, folders, err := names(dir)
	if err != nil {
		return short(dir, err)
	}
	for _, e := range files {
		name, path := e.Name(), filepath.Join(dir, e.Name())
		if arrive.Leftover(name) || !arrive.Patterns(patterns).Take(below(folder, depth, name)) {
			l.Ignored = append(l.Ignored, path)
			continue
		}
		l.Files = append(l.Files, File{Path: path, Folder: folder, regular: e.Type().IsRegular()})
	}
	for _, name := range folders {
		if arrive.Leftover(name) {
			l.Ignored = append(l.Ignored, filepath.Join(dir, name))
			continue
		}
		if err := l.walk(filepath.Join(dir, name), below(folder, depth, name), patterns, depth+1); err != nil {
			return err
		}
	}
	return nil
}

// below is the name of what lies in a folder at that depth, from the folder that was named.
func below(folder string, depth int, name string) string {
	if depth == 0 {
		return name
	}
	return folder + "/" + name
}

// chunk is how many names are read at a time: a folder of a hundred thousand files must not take memory for more than
// their names.
const chunk = 4096

// names returns the sorted names of the files and of the folders in dir.
func names(dir string) (files []fs.DirEntry, folders []string, err error) {
	d, err := os.Open(dir)
	if err != nil {
		return nil, nil, err
	}
	defer d.Close()
	for {
		entries, err := d.ReadDir(chunk)
		for _, e := range entries {
			isDir := e.IsDir()
			if e.Type()&fs.ModeSymlink != 0 {
				info, err := os.Stat(filepath.Join(dir, e.Name()))
				isDir = err == nil && info.IsDir()
			}
			if isDir {
				folders = append(folders, e.Name())
			} else {
				files = append(files, e)
			}
		}
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, nil, err
		}
	}
	slices.SortFunc(files, func(a, b fs.DirEntry) int { return strings.Compare(a.Name(), b.Name()) })
	slices.Sort(folders)
	return files, folders, nil
}
