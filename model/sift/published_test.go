package sift

import (
	"fmt"
	"strconv"
	"testing"

	"asusual/model/holdout"
	"asusual/model/published"

	"gonum.org/v1/gonum/mat"
)

// part returns the rows of one label ("": all) as one matrix, cut into so many runs of about the same length.
func part(t published.Table, label string, runs int) (*mat.Dense, []holdout.Range) {
	var rows [][]float64
	for i, row := range t.X {
		if label == "" || t.Label[i] == label {
			rows = append(rows, row)
		}
	}
	x := mat.NewDense(len(rows), len(rows[0]), nil)
	for i, row := range rows {
		x.SetRow(i, row)
	}
	var out []holdout.Range
	for r := range runs {
		out = append(out, holdout.Range{Name: strconv.Itoa(r + 1), From: r * len(rows) / runs, To: (r + 1) * len(rows) / runs})
	}
	return x, out
}

// Sets that others measured and published, of things that differ by nature or by design: hardly any is left out. The two
// mayonnaises lie far outside in shape, 14 and 19 times the spread of the others' residuals, with nothing between.
func TestFindPublished(t *testing.T) {
	for _, c := range []struct {
		name, label string
		runs, most  int
	}{
		{"meats.csv", "", 1, 0}, {"meats.csv", "", 8, 0},
		{"gasoline.csv", "", 1, 0}, {"gasoline.csv", "", 6, 0},
		{"mayonnaise.csv", "oil-1", 1, 0}, {"mayonnaise.csv", "", 1, 2},
		{"iris.csv", "setosa", 1, 0}, {"iris.csv", "versicolor", 1, 0}, {"iris.csv", "virginica", 1, 0},
		{"wine.csv", "class_0", 1, 0}, {"wine.csv", "class_1", 1, 0}, {"wine.csv", "class_2", 1, 0},
	} {
		t.Run(fmt.Sprintf("%s %s in %d", c.name, c.label, c.runs), func(t *testing.T) {
			x, runs := part(published.Rows(t, c.name), c.label, c.runs)
			s, err := Find(x, runs, 1, nil)
			if err != nil {
				t.Fatal(err)
			}
			if n, _ := x.Dims(); n-s.Kept() > c.most {
				t.Errorf("Find leaves out %d of %d, want at most %d", n-s.Kept(), n, c.most)
			}
		})
	}
}
