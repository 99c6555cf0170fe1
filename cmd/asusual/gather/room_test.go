package gather

import (
	"fmt"
	"testing"
)

// Room is room, of any size, that holds what is put into it.
func TestRoom(t *testing.T) {
	for _, n := range []int{0, 1, 511, 512, 300_000, 700_001} {
		room := Room(n)
		if len(room) != 0 || cap(room) < n {
			t.Fatalf("Room(%d) holds %d numbers and has room for %d, want none and at least %d", n, len(room), cap(room), n)
		}
		for i := range n {
			room = append(room, float64(i))
		}
		for i, v := range room {
			if v != float64(i) {
				t.Fatalf("Room(%d): number %d is %g, want %d", n, i, v, i)
			}
		}
	}
}

func BenchmarkRoom(b *testing.B) {
	const n = 10 << 20
	for _, c := range []struct {
		name string
		room func(int) []float64
	}{{"Room", Room}, {"make", func(n int) []float64 { return make([]float64, 0, n) }}} {
		b.Run(fmt.Sprintf("%s/n=%d", c.name, n), func(b *testing.B) {
			for b.Loop() {
				room := c.room(n)[:n]
				for i := 0; i < n; i += 512 {
					room[i] = 1
				}
			}
		})
	}
}

// What LargeHeap does is not seen but by the clock: what is asked for afterwards is room as any other.
func TestLargeHeap(t *testing.T) {
	for _, bytes := range []int{0, 1, largePage - 1, largePage, 3*largePage + 5} {
		LargeHeap(bytes)
		room := make([]byte, largePage)
		for i, v := range room {
			if v != 0 {
				t.Fatalf("after LargeHeap(%d): byte %d of new room is %d, want 0", bytes, i, v)
			}
		}
	}
}
