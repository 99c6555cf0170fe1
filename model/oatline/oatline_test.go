package oatline

import (
	"fmt"
	"testing"
)

func BenchmarkFill(b *testing.B) {
	for _, p := range []int{64, 256, 1024} {
		b.Run(fmt.Sprintf("p=%d", p), func(b *testing.B) {
			l, err := New(Settings{Channels: p})
			if err != nil {
				b.Fatal(err)
			}
			const n = 1000
			s, err := l.Series(Stretch{Run: "a", N: n})
			if err != nil {
				b.Fatal(err)
			}
			v := make([]float64, p)
			b.ReportAllocs()
			i := 0
			for b.Loop() {
				s.Fill(v, i%n)
				i++
			}
		})
	}
}
