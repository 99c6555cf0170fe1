package project_test

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/mat"

	"asusual/model/position"
	"asusual/model/project"
	"asusual/model/spectrum"
)

const published = "../../testdata/published"

// gasoline is what another program makes of the gasoline spectra; testdata/published/README.md names sources and scripts.
type gasoline struct {
	By          string
	Mean        []float64
	Eigenvalues []float64
	Scores      [][]float64 // signs by the same rule as here
	Models      []struct {
		K     int
		T2, Q []float64
	}
}

func parseGasoline(t *testing.T, b []byte) gasoline {
	t.Helper()
	var g gasoline
	if err := json.Unmarshal(b, &g); err != nil {
		t.Fatal(err)
	}
	if len(g.Mean) != 401 || len(g.Eigenvalues) != 4 || len(g.Scores) != 60 || len(g.Models) != 4 {
		t.Fatalf("%s: %d means, %d eigenvalues, %d rows of scores, %d models; want 401, 4, 60, 4",
			g.By, len(g.Mean), len(g.Eigenvalues), len(g.Scores), len(g.Models))
	}
	return g
}

func committed(t *testing.T, name string) gasoline {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(published, name))
	if err != nil {
		t.Fatal(err)
	}
	return parseGasoline(t, b)
}

// readTable returns the spectra of a table, one a row.
func readTable(t *testing.T, name string) *mat.Dense {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var data []float64
	n := 0
	for s, err := range spectrum.Read(f, spectrum.Source{Name: name}, spectrum.Options{}) {
		if err != nil {
			t.Fatal(err)
		}
		data = append(data, s.Values...)
		n++
	}
	if n == 0 {
		t.Fatalf("%s: no spectra", name)
	}
	return mat.NewDense(n, len(data)/n, data)
}

// TestGasoline compares PCA, T² and Q with R's prcomp and with scikit-learn, on spectra of J. H. Kalivas, Two data sets of
// near infrared spectra, Chemometrics and Intelligent Laboratory Systems 37 (1997) 255–259.
func TestGasoline(t *testing.T) {
	x := readTable(t, filepath.Join(published, "gasoline.csv"))
	for _, name := range []string{"gasoline-prcomp.json", "gasoline-sklearn.json"} {
		want := committed(t, name)
		near := func(what string, i int, got, want, rel float64) {
			t.Helper()
			if !scalar.EqualWithinAbsOrRel(got, want, 1e-11, rel) {
				t.Errorf("%s, %s %d = %.12g, want %.12g", name, what, i+1, got, want)
			}
		}
		for _, m := range want.Models {
			fit, err := project.Fit(x, m.K)
			if err != nil {
				t.Fatalf("Fit(gasoline, %d): %v", m.K, err)
			}
			for j, v := range fit.Mean {
				near("mean of channel", j, v, want.Mean[j], 1e-10)
			}
			for j, v := range fit.Eigenvalues {
				near("eigenvalue", j, v, want.Eigenvalues[j], 1e-9)
			}
			tt := make([]float64, m.K)
			for i := range want.Scores {
				row := x.RawRowView(i)
				fit.Scores(tt, row)
				for j, v := range tt {
					near("score of spectrum", i, v, want.Scores[i][j], 1e-8)
				}
				near("T² of spectrum", i, position.T2(tt, fit.Eigenvalues), m.T2[i], 1e-8)
				near("Q of spectrum", i, fit.SquaredResidual(row, tt), m.Q[i], 1e-8)
			}
		}
	}
}

// run returns what a script prints, or skips the test where its program, or a library of it, is not there. It takes
// seconds, so it is left to where all is checked: the committed values are compared always.
func run(t *testing.T, program, script string, args ...string) []byte {
	t.Helper()
	if os.Getenv("CI") == "" {
		t.Skipf("runs %s only where the environment variable CI is set", program)
	}
	script = filepath.Join(published, script)
	if _, err := os.Stat(script); err != nil { // also tells the test cache to look at the script
		t.Fatal(err)
	}
	if _, err := exec.LookPath(program); err != nil {
		t.Skipf("needs %s: %v", program, err)
	}
	cmd := exec.Command(program, append([]string{script}, args...)...)
	cmd.Env = append(os.Environ(), "LC_ALL=C.UTF-8") // so that the reasons below are said in English
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

// TestOthersStillSaySo runs the scripts again and compares with the committed values, to the digits in which versions
// of linear algebra libraries agree.
func TestOthersStillSaySo(t *testing.T) {
	for _, c := range []struct{ program, script, json string }{
		{"Rscript", "gasoline-prcomp.R", "gasoline-prcomp.json"},
		{"/usr/bin/python3", "gasoline-sklearn.py", "gasoline-sklearn.json"},
	} {
		t.Run(c.script, func(t *testing.T) {
			t.Parallel()
			got := parseGasoline(t, run(t, c.program, c.script))
			want := committed(t, c.json)
			same := func(what string, a, b []float64) {
				t.Helper()
				if len(a) != len(b) {
					t.Fatalf("%s: %d values, %d committed", what, len(a), len(b))
				}
				for i := range a {
					if !scalar.EqualWithinAbsOrRel(a[i], b[i], 1e-11, 1e-8) {
						t.Errorf("%s %d = %.12g by %s, committed %.12g by %s", what, i+1, a[i], got.By, b[i], want.By)
					}
				}
			}
			same("mean", got.Mean, want.Mean)
			same("eigenvalue", got.Eigenvalues, want.Eigenvalues)
			for i := range want.Scores {
				same("score", got.Scores[i], want.Scores[i])
			}
			for i, m := range want.Models {
				same("T²", got.Models[i].T2, m.T2)
				same("Q", got.Models[i].Q, m.Q)
			}
		})
	}
}

// TestTablesAreThePackages exports the tables again and compares them byte by byte with the committed ones.
func TestTablesAreThePackages(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	run(t, "Rscript", "export.R", dir)
	for _, name := range []string{"mayonnaise.csv", "gasoline.csv"} {
		got, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		want, err := os.ReadFile(filepath.Join(published, name))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s: the package's spectra differ from the committed table", name)
		}
	}
	// This table may not be passed on, so it is only looked at; n and p are those of the package's help page.
	if n, p := readTable(t, filepath.Join(dir, "meats.csv")).Dims(); n != 215 || p != 100 {
		t.Errorf("meats.csv has %d spectra of %d channels, want 215 of 100", n, p)
	}
}
