package project_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/mat"

	"asusual/model/position"
	"asusual/model/project"
	"asusual/model/published"
)

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
	return parseGasoline(t, published.Read(t, name))
}

// matrix returns the spectra of a table, one a row.
func matrix(t *testing.T, name string) *mat.Dense {
	t.Helper()
	all := published.Spectra(t, name)
	x := mat.NewDense(len(all), len(all[0].Values), nil)
	for i, s := range all {
		x.SetRow(i, s.Values)
	}
	return x
}

// TestGasoline compares PCA, T² and Q with R's prcomp and with scikit-learn, on spectra of J. H. Kalivas, Two data sets of
// near infrared spectra, Chemometrics and Intelligent Laboratory Systems 37 (1997) 255–259.
func TestGasoline(t *testing.T) {
	x := matrix(t, "gasoline.csv")
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

// TestOthersStillSaySo runs the scripts again and compares with the committed values, to the digits in which versions
// of linear algebra libraries agree.
func TestOthersStillSaySo(t *testing.T) {
	for _, c := range []struct{ program, script, json string }{
		{"Rscript", "gasoline-prcomp.R", "gasoline-prcomp.json"},
		{published.Python, "gasoline-sklearn.py", "gasoline-sklearn.json"},
	} {
		t.Run(c.script, func(t *testing.T) {
			t.Parallel()
			got := parseGasoline(t, published.Run(t, c.program, c.script))
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
	published.Run(t, "Rscript", "export.R", dir)
	for _, name := range []string{"mayonnaise.csv", "gasoline.csv"} {
		got, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, published.Read(t, name)) {
			t.Errorf("%s: the package's spectra differ from the committed table", name)
		}
	}
	// This table may not be passed on, so it is only looked at; n and p are those of the package's help page.
	if n, p := matrix(t, "meats.csv").Dims(); n != 215 || p != 100 {
		t.Errorf("meats.csv has %d spectra of %d channels, want 215 of 100", n, p)
	}
}
