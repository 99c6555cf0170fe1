package fitness

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/interp"
	"gonum.org/v1/gonum/mat"

	"asusual/model/published"
	"asusual/model/spectrum"
)

// real are the published spectra of mayonnaise by oil, each oil's in two halves that share no sample; testdata/published/README.md has
// their source and licence.
func real(t *testing.T) (axis *spectrum.Axis, oils []string, halves map[string][2][][]float64) {
	t.Helper()
	halves = map[string][2][][]float64{}
	runs := map[string][]string{}
	for _, s := range published.Spectra(t, "mayonnaise.csv") {
		axis = s.Axis
		if !slices.Contains(oils, s.Label) {
			oils = append(oils, s.Label)
		}
		if !slices.Contains(runs[s.Label], s.Run) {
			runs[s.Label] = append(runs[s.Label], s.Run)
		}
		h := halves[s.Label]
		k := slices.Index(runs[s.Label], s.Run) % 2
		h[k] = append(h[k], s.Values)
		halves[s.Label] = h
	}
	if len(oils) != 6 {
		t.Fatalf("%d oils, want 6", len(oils))
	}
	return axis, oils, halves
}

// elsewhere is what an instrument of another response shows of a spectrum: its axis off by shift and by stretch from end to end, both
// in nm, and its band wider by a Gaussian of that standard deviation.
func elsewhere(axis *spectrum.Axis, x []float64, shift, stretch, wide float64) []float64 {
	at := make([]float64, axis.Len())
	for j := range at {
		at[j] = axis.At(j)
	}
	var spline interp.AkimaSpline
	if err := spline.Fit(at, x); err != nil {
		panic(err)
	}
	lo, hi := axis.Range()
	y := make([]float64, len(x))
	for j := range y {
		from := at[j] - shift - stretch*((at[j]-lo)/(hi-lo)-0.5)
		sum, weights := 0.0, 0.0
		for k := -12; k <= 12; k++ {
			step := float64(k) / 4 * wide
			w := math.Exp(-step * step / 2 / max(wide*wide, 1e-9))
			sum += w * spline.Predict(min(max(from+step, lo), hi))
			weights += w
			if wide == 0 {
				break
			}
		}
		y[j] = sum / weights
	}
	return y
}

// TestConfusionOfPublished does what TestConfusion does on real spectra: each oil in turn is usual, learned from every other sample. The
// process's changes are real ones, another oil; those of the instrument are worked out on the samples that were kept back, since no set
// of the same samples on two instruments is at hand: it shows that the variety of real samples hides no such fault and looks like none,
// not what two real instruments do beside. With -v it prints the table.
func TestConfusionOfPublished(t *testing.T) {
	axis, oils, halves := real(t)
	lo, hi := axis.Range()
	faults := []struct {
		name string
		of   func(x []float64) []float64
		told bool // it is to be told
	}{
		{"as it was", func(x []float64) []float64 { return x }, false},                                      // too small to count, whatever it is like
		{"axis off by 0.5 nm", func(x []float64) []float64 { return elsewhere(axis, x, 0.5, 0, 0) }, false}, // an eighth of a channel
		{"axis off by 2 nm", func(x []float64) []float64 { return elsewhere(axis, x, 2, 0, 0) }, true},
		{"axis off by -2 nm, stretched by 2", func(x []float64) []float64 { return elsewhere(axis, x, -2, 2, 0) }, true},
		{"0.05 more, 0.03 more at the end", func(x []float64) []float64 {
			y := slices.Clone(x)
			for j := range y {
				y[j] += 0.05 + 0.03*(axis.At(j)-lo)/(hi-lo)
			}
			return y
		}, true},
		{"bands wider by 4 nm", func(x []float64) []float64 { return elsewhere(axis, x, 0, 0, 4) }, false},
	}
	var table strings.Builder
	said := map[string]int{}
	told, faulty, process, pairs := 0, 0, 0, 0
	for _, usual := range oils {
		x := mat.NewDense(len(halves[usual][0]), axis.Len(), slices.Concat(halves[usual][0]...))
		b, err := NewBaseline(axis, x)
		if err != nil {
			t.Fatal(err)
		}
		from := func(all [][]float64, of func([]float64) []float64) []float64 {
			d := make([]float64, axis.Len())
			for _, v := range all {
				for j, y := range of(v) {
					d[j] += (y - b.Mean[j]) / float64(len(all))
				}
			}
			return d
		}
		for _, f := range faults {
			d := b.Diagnose(axis, from(halves[usual][1], f.of))
			if d.Like() {
				said[f.name]++
			}
			if f.told {
				faulty++
			}
			if f.told && d.Like() {
				told++
			}
			fmt.Fprintf(&table, "%s %-34s %-13s %.2f like %v\n", usual, f.name, d.Best, d.Shares[d.Best], d.Like())
		}
		for _, other := range oils {
			if other == usual {
				continue
			}
			d := b.Diagnose(axis, from(slices.Concat(halves[other][0], halves[other][1]), faults[0].of))
			pairs++
			if d.Like() {
				process++
			}
			fmt.Fprintf(&table, "%s %-34s %-13s %.2f like %v\n", usual, other, d.Best, d.Shares[d.Best], d.Like())
		}
	}
	t.Logf("\n%slike the instrument, of %d: %v; another oil %d of %d", &table, len(oils), said, process, pairs)
	if told < faulty-1 {
		t.Errorf("faults of the instrument that are told: %d of %d, want all but one", told, faulty)
	}
	if process > 3 {
		t.Errorf("another oil is said to be like the instrument: %d of %d, want at most 3", process, pairs)
	}
}
