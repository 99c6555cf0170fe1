package gather

import (
	"syscall"
	"unsafe"
)

const haveLargePages = true

// largePage is the size of one on most machines. Where another is in use, the system takes what fits.
const largePage = 2 << 20

// largePages asks for them where whole ones lie in the room: what sticks out would take memory that is never used.
func largePages(room []float64) {
	if len(room) == 0 {
		return
	}
	at := unsafe.Pointer(unsafe.SliceData(room))
	b := unsafe.Slice((*byte)(at), 8*len(room))
	skip := int(-uintptr(at) & (largePage - 1))
	if whole := (len(b) - skip) &^ (largePage - 1); whole > 0 {
		_ = syscall.Madvise(b[skip:skip+whole], syscall.MADV_HUGEPAGE) // refused, it is as it was
	}
}
