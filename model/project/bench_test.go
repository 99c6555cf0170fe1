package project

import (
	"fmt"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

func BenchmarkFit(b *testing.B) {
	for _, c := range []struct{ n, p, k int }{{1000, 512, 6}, {20000, 512, 6}, {5000, 1024, 6}} {
		x := spectra(c.n, c.p, 12, 1e-3)
		mean, _ := meanOf(x)
		b.Run(fmt.Sprintf("whole/n=%d/p=%d/k=%d", c.n, c.p, c.k), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Fit(x, c.k); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(fmt.Sprintf("components/n=%d/p=%d/k=%d", c.n, c.p, c.k), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, _, ok := leading(&rows{x: x, mean: mean}, c.p, c.k, guards, nil); !ok {
					b.Fatal("no convergence")
				}
			}
		})
		b.Run(fmt.Sprintf("covariance/n=%d/p=%d", c.n, c.p), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				(&rows{x: x, mean: mean}).covariance()
			}
		})
	}
}

// The peer: gonum's stat.PC, which computes all components by a singular value decomposition.
func BenchmarkPeerStatPC(b *testing.B) {
	x := spectra(1000, 512, 12, 1e-3)
	b.Run("n=1000/p=512", func(b *testing.B) {
		for b.Loop() {
			var pc stat.PC
			if !pc.PrincipalComponents(x, nil) {
				b.Fatal("no convergence")
			}
		}
	})
}

func BenchmarkFitCovariance(b *testing.B) {
	for _, p := range []int{512, 1024} {
		x := spectra(3000, p, 12, 1e-3)
		all, run := NewMoments(x.RawRowView(0)), NewMoments(x.RawRowView(0))
		if err := all.Add(x); err != nil {
			b.Fatal(err)
		}
		if err := run.Add(x.Slice(0, 200, 0, p).(*mat.Dense)); err != nil {
			b.Fatal(err)
		}
		warm := mustFit(b, x, 6)
		b.Run(fmt.Sprintf("cold/p=%d/k=6", p), func(b *testing.B) {
			for b.Loop() {
				if _, err := all.FitWithout(run, 6, nil); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(fmt.Sprintf("warm/p=%d/k=6", p), func(b *testing.B) {
			for b.Loop() {
				if _, err := all.FitWithout(run, 6, warm); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkPlace(b *testing.B) {
	for _, p := range []int{512, 1024} {
		x := spectra(100, p, 12, 1e-3)
		m := mustFit(b, x, 6)
		t, s := make([]float64, 6), x.RawRowView(3)
		b.Run(fmt.Sprintf("scores/p=%d/k=6", p), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				m.Scores(t, s)
			}
		})
		b.Run(fmt.Sprintf("residual/p=%d/k=6", p), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				m.SquaredResidual(s, t)
			}
		})
		b.Run(fmt.Sprintf("exactly/p=%d/k=6", p), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				m.squares(s, t)
			}
		})
	}
}
