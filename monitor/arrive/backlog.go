package arrive

import (
	"container/heap"
	"slices"
)

// A backlog keeps the first hold files of those that it is given, in an order.
type backlog struct {
	order   Order
	hold    int
	parts   [][]File // of chunk files each but the last: one list would be copied time and again as it grows
	files   []File   // all, once they are hold: a heap with the last in order on top
	dropped int      // how many had no room
}

// A lastFirst is the heap of a backlog.
type lastFirst struct{ *backlog }

func (b lastFirst) Len() int           { return len(b.files) }
func (b lastFirst) Less(i, j int) bool { return b.order.compare(b.files[i], b.files[j]) > 0 }
func (b lastFirst) Swap(i, j int)      { b.files[i], b.files[j] = b.files[j], b.files[i] }
func (b lastFirst) Push(x any)         { b.files = append(b.files, x.(File)) }
func (b lastFirst) Pop() any           { panic("arrive: a backlog is not taken from its top") }

func (b *backlog) add(f File) {
	if b.files != nil {
		b.dropped++
		if b.order.compare(f, b.files[0]) < 0 {
			b.files[0] = f
			heap.Fix(lastFirst{b}, 0)
		}
		return
	}
	last := len(b.parts) - 1
	switch {
	case last < 0:
		b.parts, last = append(b.parts, nil), 0 // which is short as a rule
	case len(b.parts[last]) == chunk:
		b.parts, last = append(b.parts, make([]File, 0, chunk)), last+1
	}
	b.parts[last] = append(b.parts[last], f)
	if last*chunk+len(b.parts[last]) == b.hold { // only now is the order of use
		b.join()
		heap.Init(lastFirst{b})
	}
}

// len returns how many files it keeps.
func (b *backlog) len() int {
	n := len(b.files)
	for _, part := range b.parts {
		n += len(part)
	}
	return n
}

// join makes one list of the parts.
func (b *backlog) join() {
	b.files, b.parts = slices.Concat(b.parts...), nil
}

// sorted returns the files in order and empties the backlog.
func (b *backlog) sorted() []File {
	if b.files == nil {
		b.join()
	}
	files := b.files
	b.files = nil
	slices.SortFunc(files, b.order.compare)
	return files
}
