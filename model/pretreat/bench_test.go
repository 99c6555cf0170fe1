package pretreat

import (
	"fmt"
	"math"
	"testing"
)

// hills is a smooth spectrum of p channels.
func hills(p int) []float64 {
	x := make([]float64, p)
	for i := range x {
		u := float64(i) / float64(p)
		x[i] = 0.4 + 0.2*u + 0.5*math.Exp(-50*(u-.3)*(u-.3)) + 0.3*math.Exp(-200*(u-.7)*(u-.7))
	}
	return x
}

func BenchmarkApply(b *testing.B) {
	for _, p := range []int{512, 1024} {
		a := evenAxis(b, p, 900, 800/float64(p))
		for _, words := range []string{"snv", "detrend", "derivative", "second-derivative", "smooth", "snv,derivative", "snv,second-derivative", "detrend,snv"} {
			steps, err := Parse(words)
			if err != nil {
				b.Fatal(err)
			}
			c := fit(b, a, nil, steps...)
			x, y, work := hills(p), make([]float64, p), make([]float64, c.Work())
			b.Run(fmt.Sprintf("%s/p=%d", words, p), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if err := c.Apply(y, x, work); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

// The peer of the running sums: the same filter by its weights.
func BenchmarkPlain(b *testing.B) {
	for _, p := range []int{512, 1024} {
		for _, order := range []int{1, 2} {
			f := fit(b, evenAxis(b, p, 900, 800/float64(p)), nil, Step{Name: Derivative, Order: order}).links[0].(*filter)
			e := f.runs[0].(*evenly)
			e.sums = false
			x, y := hills(p), make([]float64, p)
			b.Run(fmt.Sprintf("derivative/order=%d/points=%d/p=%d", order, 2*e.m+1, p), func(b *testing.B) {
				for b.Loop() {
					e.apply(y, x)
				}
			})
		}
	}
}
