package main

import (
	"bytes"
	"context"
	"debug/buildinfo"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"
)

// A system is one that the program runs on.
type system struct{ goos, arch string }

// A tree is the source that a release is made from.
type tree struct {
	folder  string
	cache   string // the build cache; "" the usual one
	version string
	at      time.Time // of the commit
}

// output runs a command in a folder with more environment, and returns what it writes without the last line break.
func output(ctx context.Context, dir string, env []string, name string, args ...string) (string, error) {
	c := exec.CommandContext(ctx, name, args...)
	c.Dir, c.Env = dir, append(os.Environ(), env...)
	var errOut bytes.Buffer
	c.Stderr = &errOut
	out, err := c.Output()
	if err != nil {
		return "", fmt.Errorf("%s: %w: %s", strings.Join(c.Args, " "), err, bytes.TrimSpace(errOut.Bytes()))
	}
	return strings.TrimRight(string(out), "\n"), nil
}

// look finds out what the tree stands on.
func (t *tree) look(ctx context.Context, changed bool) error {
	status, err := output(ctx, t.folder, nil, "git", "status", "--porcelain")
	if err != nil {
		return err
	}
	if status != "" && !changed {
		return fmt.Errorf("%s has changes that are not committed; commit them, or try -changed:\n%s", t.folder, status)
	}
	said, err := output(ctx, t.folder, nil, "git", "log", "-1", "--format=%cI %H")
	if err != nil {
		return err
	}
	at, commit, _ := strings.Cut(said, " ")
	if t.at, err = time.Parse(time.RFC3339, at); err != nil {
		return err
	}
	t.at = t.at.UTC()
	t.version = versionOf(t.at, commit)
	if status != "" {
		t.version += ".changed"
	}
	return nil
}

// versionOf returns the version of a commit. The minute stands before the digits of the commit, which have no order: a package
// manager takes the larger for the newer.
func versionOf(at time.Time, commit string) string {
	return at.UTC().Format("20060102.1504") + "." + commit[:7]
}

func (t *tree) environment(more ...string) []string {
	env := append([]string{"CGO_ENABLED=0", "GOFLAGS="}, more...)
	if t.cache != "" {
		env = append(env, "GOCACHE="+t.cache)
	}
	return env
}

// build returns the program for a system.
func (t *tree) build(ctx context.Context, s system) ([]byte, error) {
	dir, err := os.MkdirTemp("", "build-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	file := filepath.Join(dir, "asusual")
	// The tuning of processors within an architecture is fixed, whatever this machine has set for itself.
	env := t.environment("GOOS="+s.goos, "GOARCH="+s.arch, "GOAMD64=v1", "GOARM64=v8.0")
	if _, err := output(ctx, t.folder, env, "go", "build", "-trimpath", "-buildvcs=true", "-ldflags=-s -w -buildid=", "-o", file, "./cmd/asusual"); err != nil {
		return nil, err
	}
	return os.ReadFile(file)
}

// beside returns what every package holds beside the program; the names of files in folders have slashes.
func (t *tree) beside(ctx context.Context) (entries, error) {
	dir, err := os.MkdirTemp("", "beside-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	program := filepath.Join(dir, "asusual")
	env := t.environment("GOOS="+runtime.GOOS, "GOARCH="+runtime.GOARCH)
	if _, err := output(ctx, t.folder, env, "go", "build", "-trimpath", "-tags=packing", "-o", program, "./cmd/asusual"); err != nil {
		return nil, err
	}
	packed := filepath.Join(dir, "packed")
	if _, err := output(ctx, t.folder, nil, program, "packing", packed, t.at.Format(time.RFC3339)); err != nil {
		return nil, err
	}
	var all entries
	if err := all.addFolder(packed); err != nil {
		return nil, err
	}
	for _, name := range []string{"README.md", "LICENSE"} {
		data, err := os.ReadFile(filepath.Join(t.folder, name))
		if err != nil {
			return nil, err
		}
		all = append(all, entry{name: name, data: data})
	}
	notices, err := t.licences(ctx, program)
	if err != nil {
		return nil, err
	}
	return append(all, entry{name: "LICENSES-OF-OTHERS.txt", data: notices}), nil
}

// licences returns the licences of all modules that are linked into the program, and of Go itself.
func (t *tree) licences(ctx context.Context, program string) ([]byte, error) {
	info, err := buildinfo.ReadFile(program)
	if err != nil {
		return nil, err
	}
	root, err := output(ctx, t.folder, nil, "go", "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	b.WriteString("The program has parts of others linked in. Their licences:\n")
	if err := writeLicences(&b, "Go and its standard library", root); err != nil {
		return nil, err
	}
	for _, dep := range info.Deps {
		if dep.Replace != nil {
			dep = dep.Replace
		}
		dir, err := output(ctx, t.folder, nil, "go", "list", "-m", "-f", "{{.Dir}}", dep.Path)
		if err != nil {
			return nil, err
		}
		if err := writeLicences(&b, dep.Path+" "+dep.Version, dir); err != nil {
			return nil, err
		}
	}
	return b.Bytes(), nil
}

// writeLicences appends the files of a module's folder that are its licence or notice. A module without one is an error: it
// could not be handed on.
func writeLicences(b *bytes.Buffer, what, dir string) error {
	files, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	found := false
	for _, f := range files { // in order of their names
		stem := strings.ToUpper(f.Name())
		if f.IsDir() || !slices.ContainsFunc([]string{"LICENSE", "LICENCE", "COPYING", "NOTICE", "PATENTS", "OFL"}, func(p string) bool { return strings.HasPrefix(stem, p) }) {
			continue
		}
		text, err := os.ReadFile(filepath.Join(dir, f.Name()))
		if err != nil {
			return err
		}
		found = true
		fmt.Fprintf(b, "\n\n======== %s: %s ========\n\n%s", what, f.Name(), text)
	}
	if !found {
		return errors.New(what + " has no licence in its folder")
	}
	return nil
}
