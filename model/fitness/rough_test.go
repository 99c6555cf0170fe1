package fitness

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The quick way gives what the definition says: the mean squares of third differences over 20, in the middle half and outside it.
func TestRoughnessIsItsDefinition(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 20))
	for p := range 200 {
		x := make([]float64, p)
		for j := range x {
			x[j] = rng.NormFloat64()
		}
		var middle, edge []float64
		for j := 0; j+3 < p; j++ {
			d := x[j+3] - 3*x[j+2] + 3*x[j+1] - x[j]
			if j < p/4 || j >= p-p/4 {
				edge = append(edge, d*d/20)
			} else {
				middle = append(middle, d*d/20)
			}
		}
		got := roughness(x)
		for _, c := range []struct {
			name string
			of   []float64
			got  float64
		}{{"middle", middle, got.Middle}, {"edge", edge, got.Edge}} {
			want := 0.0
			for _, v := range c.of {
				want += v / float64(len(c.of))
			}
			if math.Abs(c.got-want) > 1e-12*want {
				t.Errorf("%d channels: %s %v, want %v", p, c.name, c.got, want)
			}
		}
	}
}
