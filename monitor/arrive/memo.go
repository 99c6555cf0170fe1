package arrive

import (
	"encoding/binary"
	"hash/maphash"
)

// A memo remembers which files were handed on, with their size and time, in 16 bytes each: a hash of the name, and a hash of
// the rest with the number of the listing that saw it last. Two of a million names share a hash with odds of 1 to 10⁷. It
// remembers so many at most: one that it forgot is looked up anew.
type memo struct {
	seed  maphash.Seed
	files map[uint64]uint64
	most  int
	pass  uint8
}

func newMemo(most int) *memo {
	return &memo{seed: maphash.MakeSeed(), files: map[uint64]uint64{}, most: most}
}

func (m *memo) key(rel string) uint64 { return maphash.String(m.seed, rel) }

// stamp is what must not change for a file to be the same, in the upper 56 bits.
func (m *memo) stamp(f File) uint64 {
	var b [16]byte
	binary.LittleEndian.PutUint64(b[:8], uint64(f.Size))
	binary.LittleEndian.PutUint64(b[8:], uint64(f.Modified.UnixNano()))
	return maphash.Bytes(m.seed, b[:]) &^ 0xff
}

func (m *memo) put(f File) {
	m.files[m.key(f.Rel)] = m.stamp(f) | uint64(m.pass)
	if len(m.files) <= m.most {
		return
	}
	for k := range m.files { // begins at a place of chance
		delete(m.files, k)
		return
	}
}

// has reports whether the file was handed on as it is now, and marks it as seen in this listing.
func (m *memo) has(f File) bool {
	k := m.key(f.Rel)
	v, ok := m.files[k]
	if !ok || v&^0xff != m.stamp(f) {
		return false
	}
	m.files[k] = v&^0xff | uint64(m.pass)
	return true
}

func (m *memo) forget(rel string) { delete(m.files, m.key(rel)) }

// prune forgets files that the whole listing just made did not see.
func (m *memo) prune() {
	for k, v := range m.files {
		if uint8(v) != m.pass {
			delete(m.files, k)
		}
	}
}
