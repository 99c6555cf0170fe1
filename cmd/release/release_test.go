package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

var (
	commit = tree{version: "20261125.1011.abcdef1", at: time.Date(2026, 11, 25, 10, 11, 12, 0, time.UTC)}
	beside = entries{
		{name: "man/asusual.1", data: []byte(".TH asusual 1\n")}, {name: "completions/asusual.bash", data: []byte("complete\n")},
		{name: "completions/asusual.ps1", data: []byte("Register\n")}, {name: "completions/_asusual", data: []byte("#compdef\n")},
		{name: "completions/asusual.fish", data: []byte("complete\n")},
		{name: "asusual.service", data: []byte("[Unit]\n")}, {name: "README.md", data: []byte("# asusual\n")},
		{name: "LICENSE", data: []byte("MIT\n")}, {name: "LICENSES-OF-OTHERS.txt", data: []byte("Go\n")},
	}
	program = bytes.Repeat([]byte("program "), 1000)
)

// unpacked returns what a .tar.gz holds: mode, owner and time are checked on the way.
func unpacked(t *testing.T, data []byte) map[string]string {
	t.Helper()
	z, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	r := tar.NewReader(z)
	files := map[string]string{}
	for {
		h, err := r.Next()
		if errors.Is(err, io.EOF) {
			return files
		}
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if h.Uid != 0 || h.Gid != 0 || h.Uname != "" || !h.ModTime.Equal(commit.at) {
			t.Errorf("%s is of %d:%d %q at %v, want nobody's, at the commit's time", h.Name, h.Uid, h.Gid, h.Uname, h.ModTime)
		}
		if run := h.Mode&0o111 != 0; run != (h.Typeflag == tar.TypeDir || strings.HasSuffix(h.Name, "/asusual") && !strings.Contains(h.Name, "completions") ||
			strings.HasSuffix(h.Name, "inst") || strings.HasSuffix(h.Name, "prerm")) {
			t.Errorf("%s has the mode %o", h.Name, h.Mode)
		}
		if h.Typeflag == tar.TypeReg {
			files[h.Name] = string(b)
		}
	}
}

func TestPackForUnix(t *testing.T) {
	packs, err := commit.pack(system{"darwin", "arm64"}, program, beside)
	if err != nil || len(packs) != 1 || packs[0].name != "asusual-20261125.1011.abcdef1-darwin-arm64.tar.gz" {
		t.Fatalf("pack = %d packs, %v, want one .tar.gz", len(packs), err)
	}
	files := unpacked(t, packs[0].data)
	for _, e := range append(slices.Clone(beside), entry{name: "asusual", data: program}) {
		if got := files["asusual-20261125.1011.abcdef1-darwin-arm64/"+e.name]; got != string(e.data) {
			t.Errorf("%s holds %q, want %q", e.name, got, e.data)
		}
	}
	if len(files) != len(beside)+1 {
		t.Errorf("%d files, want %d", len(files), len(beside)+1)
	}
}

func TestPackForWindows(t *testing.T) {
	packs, err := commit.pack(system{"windows", "amd64"}, program, beside)
	if err != nil || len(packs) != 1 {
		t.Fatalf("pack = %d packs, %v, want one", len(packs), err)
	}
	r, err := zip.NewReader(bytes.NewReader(packs[0].data), int64(len(packs[0].data)))
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range r.File {
		names = append(names, strings.TrimPrefix(f.Name, "asusual-20261125.1011.abcdef1-windows-amd64/"))
		if !f.Modified.Equal(commit.at) {
			t.Errorf("%s is of %v, want the commit's time", f.Name, f.Modified)
		}
	}
	if want := []string{"LICENSE", "LICENSES-OF-OTHERS.txt", "README.md", "asusual.exe", "completions/asusual.ps1"}; !slices.Equal(names, want) {
		t.Errorf("files = %q, want %q", names, want)
	}
}

// The order in which files are handed over does not matter.
func TestPackIsTheSameBytes(t *testing.T) {
	turned := slices.Clone(beside)
	slices.Reverse(turned)
	for _, s := range []system{{"linux", "amd64"}, {"windows", "arm64"}} {
		a, err := commit.pack(s, program, beside)
		if err != nil {
			t.Fatal(err)
		}
		b, err := commit.pack(s, program, turned)
		if err != nil {
			t.Fatal(err)
		}
		for i := range a {
			if a[i].name != b[i].name || !bytes.Equal(a[i].data, b[i].data) {
				t.Errorf("%s differs from %s", a[i].name, b[i].name)
			}
		}
	}
}

// dpkg-deb, which Debian unpacks with, takes the package.
func TestDebianPackage(t *testing.T) {
	if _, err := exec.LookPath("dpkg-deb"); err != nil {
		t.Skip("no dpkg-deb here: it comes with Debian")
	}
	data, err := debian(&commit, "amd64", program, beside)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	file := filepath.Join(dir, "a.deb")
	if err := os.WriteFile(file, data, 0o644); err != nil {
		t.Fatal(err)
	}
	said, err := exec.Command("dpkg-deb", "--field", file, "Package", "Version", "Architecture").CombinedOutput()
	if want := "Package: asusual\nVersion: 20261125.1011.abcdef1\nArchitecture: amd64\n"; err != nil || string(said) != want {
		t.Errorf("dpkg-deb --field = %q, %v, want %q", said, err, want)
	}
	for _, args := range [][]string{{"--extract", file, filepath.Join(dir, "x")}, {"--control", file, filepath.Join(dir, "c")}} {
		if said, err := exec.Command("dpkg-deb", args...).CombinedOutput(); err != nil {
			t.Fatalf("dpkg-deb %s: %v: %s", args[0], err, said)
		}
	}
	check := exec.Command("md5sum", "--check", "--quiet", filepath.Join(dir, "c", "md5sums"))
	check.Dir = filepath.Join(dir, "x")
	if said, err := check.CombinedOutput(); err != nil {
		t.Errorf("md5sum --check: %v: %s", err, said)
	}
	got, err := os.ReadFile(filepath.Join(dir, "x", "usr", "bin", "asusual"))
	if err != nil || !bytes.Equal(got, program) {
		t.Errorf("usr/bin/asusual = %d bytes, %v, want %d", len(got), err, len(program))
	}
}

func TestWriteLicences(t *testing.T) {
	dir := t.TempDir()
	var b bytes.Buffer
	if err := writeLicences(&b, "a module", dir); err == nil || !strings.Contains(err.Error(), "a module has no licence") {
		t.Errorf("writeLicences of an empty folder = %v, want an error", err)
	}
	for _, f := range []string{"LICENSE", "Notice.txt", "main.go"} {
		if err := os.WriteFile(filepath.Join(dir, f), []byte("text of "+f+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := writeLicences(&b, "a module", dir); err != nil {
		t.Fatal(err)
	}
	if got := b.String(); !strings.Contains(got, "text of LICENSE") || !strings.Contains(got, "text of Notice.txt") || strings.Contains(got, "main.go") {
		t.Errorf("licences = %q", got)
	}
}

func TestWrongCommandLines(t *testing.T) {
	for _, args := range [][]string{{"-systems", "linux"}, {"more"}, {"-changed", "-twice"}, {"-nonsense"}} {
		if status := run(t.Context(), args, io.Discard, io.Discard); status != 2 {
			t.Errorf("run(%q) = %d, want 2", args, status)
		}
	}
}

// A later release is the newer one to who compares: as text, and to Debian's program, where it is there.
func TestVersionsHaveTheOrderOfTime(t *testing.T) {
	dpkg, err := exec.LookPath("dpkg")
	if err != nil {
		t.Log("no dpkg here; versions are compared as text alone")
	}
	noon := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	before := "20261124.fedcba9" // as versions were without the minute
	for _, c := range []struct {
		at     time.Time
		commit string
		want   string
	}{
		{noon, "fedcba9876", "20261125.1200.fedcba9"}, {noon.Add(time.Minute), "0000000876", "20261125.1201.0000000"},
		{noon.Add(9 * time.Hour).In(time.FixedZone("CET", 3600)), "1e00000876", "20261125.2100.1e00000"}, {noon.Add(13 * time.Hour), "00fedcba98", "20261126.0100.00fedcb"},
	} {
		got := versionOf(c.at, c.commit)
		if got != c.want || got <= before {
			t.Errorf("versionOf(%v, %s) = %s, want %s, after %s", c.at, c.commit, got, c.want, before)
		}
		if dpkg != "" && exec.CommandContext(t.Context(), dpkg, "--compare-versions", before, "lt", got).Run() != nil {
			t.Errorf("Debian takes %s for older than %s", got, before)
		}
		before = got
	}
}
