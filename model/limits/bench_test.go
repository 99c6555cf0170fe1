package limits

import (
	"fmt"
	"testing"
)

func BenchmarkLearn(b *testing.B) {
	for _, n := range []int{8, 40} {
		tracks := line{runs: n, length: 500, k: 6, phi: 0.5, between: 1}.tracks(1)
		b.Run(fmt.Sprintf("runs=%d/n=%d/k=6", n, n*500), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Learn(tracks, nil, Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkStep(b *testing.B) {
	tracks := line{runs: 8, length: 300, k: 6, phi: 0.5, between: 1}.tracks(1)
	l, err := Learn(tracks, nil, Options{})
	if err != nil {
		b.Fatal(err)
	}
	f := make([]float64, l.Len())
	m := l.Memories()
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		p := tracks[0].Points[i%300]
		i++
		l.Features(f, p.T, p.Q, p.Parts)
		m.Add(f)
	}
}
