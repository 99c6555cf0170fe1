package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// An entry is one file of a package.
type entry struct {
	name string // with slashes, below the package's folder
	data []byte
	run  bool // it can be run
}

func (e entry) mode() int64 {
	if e.run {
		return 0o755
	}
	return 0o644
}

type entries []entry

// addFolder adds all files below dir, in order of their names.
func (es *entries) addFolder(dir string) error {
	return filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		rel, err := filepath.Rel(dir, p)
		if err != nil {
			return err
		}
		data, err := os.ReadFile(p)
		*es = append(*es, entry{name: filepath.ToSlash(rel), data: data})
		return err
	})
}

// sorted returns them in order of their names.
func (es entries) sorted() entries {
	return slices.SortedFunc(slices.Values(es), func(a, b entry) int { return strings.Compare(a.name, b.name) })
}

// A pack is one file that is handed out.
type pack struct {
	name string
	data []byte
}

func (p pack) sum() string {
	sum := sha256.Sum256(p.data)
	return hex.EncodeToString(sum[:])
}

// pack returns the packages for a system.
func (t *tree) pack(s system, program []byte, beside entries) ([]pack, error) {
	stem := "asusual-" + t.version + "-" + s.goos + "-" + s.arch
	if s.goos == "windows" {
		files := slices.DeleteFunc(slices.Clone(beside), func(e entry) bool { // what Windows has no use for
			return strings.HasPrefix(e.name, "man/") || path.Ext(e.name) == ".service" || path.Dir(e.name) == "completions" && path.Ext(e.name) != ".ps1"
		})
		data, err := zipped(stem, append(files, entry{"asusual.exe", program, true}), t.at)
		return []pack{{stem + ".zip", data}}, err
	}
	files := append(slices.Clone(beside), entry{"asusual", program, true})
	data, err := tarred(stem+"/", files, t.at)
	packs := []pack{{stem + ".tar.gz", data}}
	if err == nil && s.goos == "linux" {
		var deb []byte
		deb, err = debian(t, s.arch, program, beside)
		packs = append(packs, pack{"asusual_" + t.version + "_" + s.arch + ".deb", deb})
	}
	return packs, err
}

// tarred returns a .tar.gz of the files, each below prefix, all folders named before what they hold.
func tarred(prefix string, files entries, at time.Time) ([]byte, error) {
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	w := tar.NewWriter(z)
	made := map[string]bool{"./": true, "/": true}
	for _, e := range files.sorted() {
		name := prefix + e.name
		for _, dir := range above(name) {
			if !made[dir] {
				made[dir] = true
				if err := w.WriteHeader(&tar.Header{Typeflag: tar.TypeDir, Name: dir, Mode: 0o755, ModTime: at, Format: tar.FormatUSTAR}); err != nil {
					return nil, err
				}
			}
		}
		h := &tar.Header{Typeflag: tar.TypeReg, Name: name, Mode: e.mode(), Size: int64(len(e.data)), ModTime: at, Format: tar.FormatUSTAR}
		if err := w.WriteHeader(h); err != nil {
			return nil, err
		}
		if _, err := w.Write(e.data); err != nil {
			return nil, err
		}
	}
	err = errors.Join(w.Close(), z.Close())
	return b.Bytes(), err
}

// above returns the folders that a file lies in, the outermost first, each with a slash at its end.
func above(name string) []string {
	var dirs []string
	for i, c := range name {
		if c == '/' {
			dirs = append(dirs, name[:i+1])
		}
	}
	return dirs
}

// zipped returns a .zip of the files in one folder.
func zipped(folder string, files entries, at time.Time) ([]byte, error) {
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, e := range files.sorted() {
		h := &zip.FileHeader{Name: folder + "/" + e.name, Method: zip.Deflate, Modified: at}
		h.SetMode(fs.FileMode(e.mode()))
		f, err := w.CreateHeader(h)
		if err != nil {
			return nil, err
		}
		if _, err := f.Write(e.data); err != nil {
			return nil, err
		}
	}
	err := w.Close()
	return b.Bytes(), err
}
