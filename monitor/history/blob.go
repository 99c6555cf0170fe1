package history

import (
	"encoding/binary"
	"fmt"
	"math"
	"time"
)

// The span of times that fit a count of nanoseconds since 1970 in 64 bits, in whole years.
var (
	firstTime = time.Date(1678, 1, 1, 0, 0, 0, 0, time.UTC)
	lastTime  = time.Date(2262, 1, 1, 0, 0, 0, 0, time.UTC)
)

// CheckTime returns an error for a time that a history cannot keep: before 1678 or after 2261.
func CheckTime(t time.Time) error {
	if t.Before(firstTime) || !t.Before(lastTime) {
		return fmt.Errorf("time %s cannot be kept; a history holds the years 1678 to 2261", t.UTC().Format(time.RFC3339))
	}
	return nil
}

func nanos(t time.Time) (int64, error) { return t.UnixNano(), CheckTime(t) }

func fromNanos(n int64) time.Time { return time.Unix(0, n).UTC() }

// float64s packs values little endian, nil for none.
func float64s(v []float64) []byte {
	if len(v) == 0 {
		return nil
	}
	b := make([]byte, 0, 8*len(v))
	for _, x := range v {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(finite(x)))
	}
	return b
}

func unpack64(b []byte) []float64 {
	if len(b) < 8 {
		return nil
	}
	v := make([]float64, len(b)/8)
	for i := range v {
		v[i] = math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:]))
	}
	return v
}

func float32s(v []float64) []byte {
	b := make([]byte, 0, 4*len(v))
	for _, x := range v {
		b = binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(x)))
	}
	return b
}

func unpack32(b []byte) []float64 {
	v := make([]float64, len(b)/4)
	for i := range v {
		v[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(b[4*i:])))
	}
	return v
}

// half returns half i of the digest as the number that SQLite keeps: an index of numbers is half the size of one of blobs,
// and digests, being without order, touch all of it.
func (d Digest) half(i int) int64 { return int64(binary.BigEndian.Uint64(d[8*i:])) }

func joined(a, b int64) (d Digest) {
	binary.BigEndian.PutUint64(d[:8], uint64(a))
	binary.BigEndian.PutUint64(d[8:], uint64(b))
	return d
}
