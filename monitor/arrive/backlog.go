package arrive

import (
	"container/heap"
	"slices"
)

// A backlog keeps the first hold files of those that it is given, in an order.
type backlog struct {
	order   Order
	hold    int
	files   []File // a heap with the last in order on top
	dropped int    // how many had no room
}

// A lastFirst is the heap of a backlog.
type lastFirst struct{ *backlog }

func (b lastFirst) Len() int           { return len(b.files) }
func (b lastFirst) Less(i, j int) bool { return b.order.compare(b.files[i], b.files[j]) > 0 }
func (b lastFirst) Swap(i, j int)      { b.files[i], b.files[j] = b.files[j], b.files[i] }
func (b lastFirst) Push(x any)         { b.files = append(b.files, x.(File)) }
func (b lastFirst) Pop() any           { panic("arrive: a backlog is not taken from its top") }

func (b *backlog) add(f File) {
	switch {
	case len(b.files) < b.hold-1:
		b.files = append(b.files, f)
	case len(b.files) == b.hold-1:
		b.files = append(b.files, f)
		heap.Init(lastFirst{b}) // only now is the order of use
	default:
		b.dropped++
		if b.order.compare(f, b.files[0]) < 0 {
			b.files[0] = f
			heap.Fix(lastFirst{b}, 0)
		}
	}
}

// sorted returns the files in order and empties the backlog.
func (b *backlog) sorted() []File {
	files := b.files
	b.files = nil
	slices.SortFunc(files, b.order.compare)
	return files
}
