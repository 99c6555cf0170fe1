package main

import (
	"math"
	"math/rand/v2"
)

// Bands make spectra of any number of channels quickly: ten bands whose heights vary together with the next, each half as much as
// the one before it, on a sloping line, with noise. They are for sizes that the invented line does not have.
type bands struct {
	rnd    *rand.Rand
	shapes [][]float64
}

func newBands(p int, seed uint64) *bands {
	b := &bands{rnd: rand.New(rand.NewPCG(seed, uint64(p)))}
	for i := range 10 {
		shape := make([]float64, p)
		mid, width := (float64(i)+0.5)/10, 0.03+0.01*float64(i%4)
		for j := range shape {
			d := (float64(j)/float64(p) - mid) / width
			shape[j] = 0.1 * math.Pow(0.5, float64(i)) * math.Exp(-d*d/2)
		}
		b.shapes = append(b.shapes, shape)
	}
	return b
}

// next fills x with the next spectrum.
func (b *bands) next(x []float64) {
	for j := range x {
		x[j] = 0.5 + 0.1*float64(j)/float64(len(x)) + 1e-4*b.rnd.NormFloat64()
	}
	for _, shape := range b.shapes {
		h := b.rnd.NormFloat64()
		for j, v := range shape {
			x[j] += h * v
		}
	}
}
