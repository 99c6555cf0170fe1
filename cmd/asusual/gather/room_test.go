package gather

import (
	"fmt"
	"runtime"
	"runtime/debug"
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
	const size = 16 * largePage
	made := int64(0)
	for range 8 { // the collector may give back at once what it was to have at hand
		var before, after runtime.MemStats
		debug.FreeOSMemory() // what tests before this one left idle is no room that it made
		runtime.ReadMemStats(&before)
		for _, bytes := range []int{0, largePage - 1, size} {
			LargeHeap(bytes)
		}
		runtime.ReadMemStats(&after)
		if grown := int64(after.HeapAlloc) - int64(before.HeapAlloc); grown > size/4 {
			t.Errorf("the heap holds %d bytes more after LargeHeap(%d), want next to none", grown, size)
		}
		at := func(m runtime.MemStats) int64 { return int64(m.HeapSys) - int64(m.HeapReleased) }
		made = max(made, at(after)-at(before))
	}
	if haveLargePages && made < size/2 {
		t.Errorf("the heap has %d bytes more at hand after LargeHeap(%d), want about as many as asked for", made, size)
	}
}
