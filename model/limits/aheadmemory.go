package limits

import (
	"math"

	"asusual/model/memory"
)

// A memoryOn is what the memory of a question held after each spectrum that came.
type memoryOn struct {
	q      *Question
	z      []float64 // white, a spectrum a row
	length []float64 // of each row
	share  []float64 // of a step that began with the first spectrum, how much the memory has after each
	far    []float64 // the largest length of features, white, so far
	most   float64   // up to which they surely count in full

	held, white []float64 // what the memory holds now, and scratch
}

// begin makes it that of a memory that has seen none of n spectra.
func (m *memoryOn) begin(q *Question, held *memory.Memory, n int) {
	d := q.To - q.From
	m.q, m.most, m.held, m.white = q, q.mostCounts()*(1-near), append(m.held[:0], held.Z...), make([]float64, d)
	m.z, m.length, m.share, m.far = make([]float64, 0, n*d), make([]float64, 0, n), make([]float64, 0, n), make([]float64, 0, n)
}

// copyFrom makes m what o is, which has seen no spectrum, in memory of its own.
func (m *memoryOn) copyFrom(o *memoryOn) {
	m.q, m.most, m.held, m.white = o.q, o.most, append(m.held[:0], o.held...), append(m.white[:0], o.white...)
	m.z, m.length, m.share, m.far = m.z[:0], m.length[:0], m.share[:0], m.far[:0]
}

// add takes in the features of the next spectrum, in full.
func (m *memoryOn) add(f []float64) {
	far, share := 0.0, 0.0
	if n := len(m.far); n > 0 {
		far, share = m.far[n-1], m.share[n-1]
	}
	m.far = append(m.far, max(far, m.q.White.length(f)))
	m.share = append(m.share, share+m.q.R*(1-share))
	for c, v := range f {
		m.held[c] += m.q.R * (v - m.held[c])
	}
	m.q.White.times(m.white, m.held)
	m.z = append(m.z, m.white...)
	m.length = append(m.length, math.Sqrt(squareOf(m.white)))
}

// addOne is add for a single feature.
func (m *memoryOn) addOne(f float64) {
	w := m.q.White[0]
	far := math.Abs(w * f)
	if n := len(m.far); n > 0 {
		far = max(far, m.far[n-1])
	}
	m.held[0] += m.q.R * (f - m.held[0])
	m.far, m.length = append(m.far, far), append(m.length, math.Abs(w*m.held[0]))
}

// passes reports whether the answer to spectrum j reaches the threshold, with a change by size times p from the first on.
func (m *memoryOn) passes(j int, p *pull, size float64) (passes, sure bool) {
	most := m.q.Threshold
	if p == nil {
		return m.length[j] >= most, math.Abs(m.length[j]-most) > near*most
	}
	by := size * m.share[j]
	if m.length[j]+by*p.length < most*(1-near) {
		return false, true
	}
	d, sum := len(p.y), 0.0
	for c, v := range m.z[j*d : (j+1)*d] {
		v += by * p.y[c]
		sum += v * v
	}
	return sum >= most*most, math.Abs(sum-most*most) > near*most*most
}
