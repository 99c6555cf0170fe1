package published

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"asusual/model/spectrum"
)

// Python is Debian's interpreter, whose packages the scripts use; another that stands before it in the path may lack them.
const Python = "/usr/bin/python3"

// folder returns the folder of the files: a test runs in the folder of its package, somewhere below the module's.
func folder(t testing.TB) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return filepath.Join(dir, "testdata", "published")
		}
		if dir == filepath.Dir(dir) {
			t.Fatal("no go.mod in a folder above: the test does not run in the module")
		}
		dir = filepath.Dir(dir)
	}
}

// Path returns the path of a file. The table of meats may not be passed on and is not kept: whoever has R and its package makes it,
// and the test is skipped elsewhere.
func Path(t testing.TB, name string) string {
	t.Helper()
	path := filepath.Join(folder(t), name)
	_, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) && name == "meats.csv" {
		dir := t.TempDir()
		Run(t, "Rscript", "export.R", dir)
		return filepath.Join(dir, name)
	}
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// Read returns the content of a file.
func Read(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(Path(t, name))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Run runs a script with arguments and returns what it prints. The test is skipped where the environment variable CI is not set, or
// where the program or a library of it is missing.
func Run(t testing.TB, program, script string, args ...string) []byte {
	t.Helper()
	if os.Getenv("CI") == "" {
		t.Skipf("runs %s only where the environment variable CI is set", program)
	}
	path := Path(t, script) // which also tells the test cache to look at the script
	if _, err := exec.LookPath(program); err != nil {
		t.Skipf("needs %s: %v", program, err)
	}
	cmd := exec.Command(program, append([]string{path}, args...)...)
	// The reasons below are said in English, and sums do not depend on the number of processors.
	cmd.Env = append(os.Environ(), "LC_ALL=C.UTF-8", "OMP_NUM_THREADS=1")
	var errOut bytes.Buffer
	cmd.Stderr = &errOut
	out, err := cmd.Output()
	for _, lacks := range []string{"there is no package called", "No module named"} {
		if err != nil && bytes.Contains(errOut.Bytes(), []byte(lacks)) {
			t.Skipf("needs a library of %s: %s", program, bytes.TrimSpace(errOut.Bytes()))
		}
	}
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", program, script, err, errOut.Bytes())
	}
	return out
}

// Spectra returns the spectra of a table.
func Spectra(t testing.TB, name string) []spectrum.Spectrum {
	t.Helper()
	f, err := os.Open(Path(t, name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out []spectrum.Spectrum
	for s, err := range spectrum.Read(f, spectrum.Source{Name: name}, spectrum.Options{}) {
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, s)
	}
	if len(out) == 0 {
		t.Fatalf("%s: no spectra", name)
	}
	return out
}

// A Table holds rows of numbers, of spectra or of anything else.
type Table struct {
	Heads []string    // of the columns of X
	X     [][]float64 // rows of equally many values
	Label []string    // of each row; empty where the table has none
	Run   []string    // of each row; empty where the table has none
}

// Rows returns the rows of a table. Columns headed id, run and label hold words, all others numbers.
func Rows(t testing.TB, name string) Table {
	t.Helper()
	r := csv.NewReader(bytes.NewReader(Read(t, name)))
	r.Comment = '#'
	lines, err := r.ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if len(lines) < 2 {
		t.Fatalf("%s: no rows", name)
	}
	out := Table{X: make([][]float64, len(lines)-1), Label: make([]string, len(lines)-1), Run: make([]string, len(lines)-1)}
	for j, head := range lines[0] {
		if !slices.Contains([]string{"id", "run", "label"}, head) {
			out.Heads = append(out.Heads, head)
		}
		for i, line := range lines[1:] {
			switch head {
			case "id":
			case "run":
				out.Run[i] = line[j]
			case "label":
				out.Label[i] = line[j]
			default:
				out.X[i] = append(out.X[i], Number(t, line[j]))
			}
		}
	}
	return out
}

// Number returns the number that a text says.
func Number(t testing.TB, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
