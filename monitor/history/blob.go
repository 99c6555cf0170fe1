package history

import (
	"bytes"
	"compress/flate"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"time"

	"asusual/model/finding"
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

// Kept returns the time as a history keeps it of a file: the first or the last that it can, for one beyond.
func Kept(t time.Time) time.Time {
	switch {
	case t.Before(firstTime):
		return firstTime
	case !t.Before(lastTime):
		return lastTime.Add(-1)
	}
	return t
}

func nanos(t time.Time) (int64, error) { return t.UnixNano(), CheckTime(t) }

// orNull returns the time for a column that may be empty.
func orNull(t time.Time) (any, error) {
	if t.IsZero() {
		return nil, nil
	}
	return nanos(t)
}

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

// pair packs two values, nil for two zeros.
func pair(v [2]float32) []byte {
	if v == [2]float32{} {
		return nil
	}
	return float32s([]float64{float64(v[0]), float64(v[1])})
}

func unpair(b []byte) (v [2]float32) {
	if len(b) == 8 {
		x := unpack32(b)
		v = [2]float32{float32(x[0]), float32(x[1])}
	}
	return v
}

// findings writes findings as JSON, nil for none.
func findings(fs []finding.Finding) (any, error) {
	if len(fs) == 0 {
		return nil, nil
	}
	text, err := json.Marshal(fs)
	if err != nil {
		return nil, fmt.Errorf("reasons: %w", err)
	}
	return string(text), nil
}

func unfind(text []byte) (fs []finding.Finding, err error) {
	if len(text) == 0 {
		return nil, nil
	}
	if err := json.Unmarshal(text, &fs); err != nil {
		return nil, fmt.Errorf("%w: reasons: %w", ErrDamaged, err)
	}
	return fs, nil
}

// deflate packs text of numbers to less than half; nil stays nil. Its quickest level: the gain of the others is small.
func (d *DB) deflate(text []byte) ([]byte, error) {
	if text == nil {
		return nil, nil
	}
	var out bytes.Buffer
	if d.flate == nil {
		w, err := flate.NewWriter(&out, flate.BestSpeed)
		if err != nil {
			return nil, err
		}
		d.flate = w
	}
	d.flate.Reset(&out)
	if _, err := d.flate.Write(text); err != nil {
		return nil, err
	}
	if err := d.flate.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// maxState bounds what is unpacked of a state that somebody else may have written.
const maxState = 256 << 20

func inflate(b []byte) ([]byte, error) {
	if b == nil {
		return nil, nil
	}
	text, err := io.ReadAll(io.LimitReader(flate.NewReader(bytes.NewReader(b)), maxState))
	if err != nil {
		return nil, fmt.Errorf("%w: the state of a line: %w", ErrDamaged, err)
	}
	return text, nil
}
