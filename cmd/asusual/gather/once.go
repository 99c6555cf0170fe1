package gather

import (
	"encoding/binary"
	"hash/maphash"
	"math"

	"asusual/model/spectrum"
)

// An Once finds spectra that were there before: the same time and the same values, in whatever file. Two that differ
// are taken for one with odds of 1 to 2⁶⁴. Its zero value has seen none.
type Once struct {
	seed maphash.Seed
	seen map[uint64]string
	buf  []byte
}

// Take returns the batch without the spectra that were there before; each of those is named among what cannot be read,
// with where it was.
func (o *Once) Take(b Batch) Batch {
	if o.seen == nil {
		o.seed, o.seen = maphash.MakeSeed(), map[uint64]string{}
	}
	kept := b.Spectra[:0]
	for _, s := range b.Spectra {
		mark := o.mark(s)
		if before, ok := o.seen[mark]; ok {
			b.Unreadable = append(b.Unreadable, &spectrum.Unreadable{File: s.File, Row: s.Row, Reason: "the same spectrum as " + before + "; it counts once"})
			continue
		}
		o.seen[mark] = s.Name()
		kept = append(kept, s)
	}
	b.Spectra = kept
	return b
}

func (o *Once) mark(s spectrum.Spectrum) uint64 {
	b := binary.LittleEndian.AppendUint64(o.buf[:0], uint64(s.Time.Unix()))
	b = binary.LittleEndian.AppendUint64(b, uint64(s.Time.Nanosecond()))
	for _, v := range s.Values {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
	}
	o.buf = b
	return maphash.Bytes(o.seed, b)
}
