package project

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// The quick way to a few directions gives what the singular values give.
func TestDirectionsAreThoseOfAll(t *testing.T) {
	for _, c := range []struct{ n, p, bands, k int }{{300, 120, 5, 4}, {90, 400, 8, 6}, {400, 512, 9, 8}, {40, 30, 3, 3}} {
		x := spectra(c.n, c.p, c.bands, 1e-3)
		want, far, err := allDirections(x, c.k)
		if err != nil {
			t.Fatal(err)
		}
		got, axes, err := Directions(x, c.k)
		if err != nil {
			t.Fatal(err)
		}
		for i := range c.k {
			share64(t, fmt.Sprintf("%+v: variance %d", c, i), got[i], want[i], 1e-9)
			near64(t, fmt.Sprintf("%+v: direction %d", c, i), math.Abs(floats.Dot(axes.RawRowView(i), far.RawRowView(i))), 1, 1e-9)
		}
	}
}

func TestDirectionsOfLess(t *testing.T) {
	// Rows in one direction alone, about zero: Σ(i·√p)²/(n−1) along it, and nothing beside.
	n, p := 60, 80
	x := mat.NewDense(n, p, nil)
	var squares float64
	for i := range n {
		for j := range p {
			x.Set(i, j, float64(i))
		}
		squares += float64(i * i * p)
	}
	got, axes, err := Directions(x, 3)
	if err != nil {
		t.Fatal(err)
	}
	share64(t, "the one variance", got[0], squares/float64(n-1), 1e-12)
	near64(t, "a channel of the one direction", math.Abs(axes.At(0, 7)), 1/math.Sqrt(float64(p)), 1e-12)
	for _, v := range got[1:] {
		if !(v <= 1e-12*got[0]) {
			t.Errorf("beside the one direction there is a variance of %v", v)
		}
	}
	zero, _, err := Directions(mat.NewDense(n, p, nil), 3)
	if err != nil || floats.Sum(zero) != 0 {
		t.Errorf("rows of nothing vary by %v, %v", zero, err)
	}
	if _, _, err := Directions(x, n+1); err == nil {
		t.Error("more directions than spectra were found")
	}
	if v, _, err := Directions(x, 0); len(v) != 0 || err != nil {
		t.Errorf("no directions are %v, %v", v, err)
	}
}
