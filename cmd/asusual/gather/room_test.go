package gather

import (
	"fmt"
	"runtime"
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

// LargeHeap holds on to nothing: the room is there for what comes next.
func TestLargeHeap(t *testing.T) {
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	const size = 16 * largePage
	for _, bytes := range []int{0, largePage - 1, size} {
		LargeHeap(bytes)
	}
	runtime.ReadMemStats(&after)
	if grown := int64(after.HeapAlloc) - int64(before.HeapAlloc); grown > size/4 {
		t.Errorf("the heap holds %d bytes more after LargeHeap(%d), want next to none", grown, size)
	}
	if haveLargePages && int64(after.HeapSys)-int64(before.HeapSys) < size/2 && after.HeapIdle < size/2 {
		t.Errorf("the heap has %d bytes idle after LargeHeap(%d), want about as many as asked for", after.HeapIdle, size)
	}
}
