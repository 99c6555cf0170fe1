package gather

import "runtime"

// Room returns room for n numbers, none used yet, that a large set is read into, and sees to it that what is computed of them has as
// much beside it. Where the system has large pages, they are asked for: to come to a page at a time costs as much as reading a small file.
func Room(n int) []float64 {
	room := make([]float64, 0, n)
	largePages(room[:n])
	LargeHeap(min(8*n, heapMost))
	return room
}

// heapMost bounds what Room sees to beside the room itself: learning from any number of spectra takes little more.
const heapMost = 64 << 20

// LargeHeap has the next so many bytes that the program comes to be in large pages, where the system has them. No memory is taken until
// it is used; what is not used soon is forgotten by the collector in its usual way.
func LargeHeap(bytes int) {
	if !haveLargePages || bytes < largePage {
		return
	}
	room := make([]float64, bytes/8)
	largePages(room)
	runtime.KeepAlive(room)
	runtime.GC() // frees the room, whose pages the heap gives out first from here on
}
