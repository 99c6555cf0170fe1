package memory

import (
	"fmt"
)

// A Memory holds the weighted mean of the vectors added since it was last reset. It marshals to JSON completely:
// one that was read back goes on exactly where the written one stood.
//
// Two starts are in use. One made by New starts at zero, the centre of what is usual, and departs from there as
// evidence comes in. One made by NewMean starts as the plain mean of what it has seen:
//
//	Z_i = Z_{i−1} + w (x_i − Z_{i−1}),   w = r, or max(r, 1/i) with the mean start
type Memory struct {
	R    float64   `json:"r"`              // weight of the newest vector, in (0, 1]
	Mean bool      `json:"mean,omitempty"` // starts as the plain mean instead of at zero
	Z    []float64 `json:"z"`
	Age  int       `json:"age"` // vectors added since the last reset
}

// New returns a memory of p-vectors that starts at zero. It panics unless 0 < r ≤ 1 and p ≥ 1.
func New(r float64, p int) Memory {
	if !(r > 0 && r <= 1) || p < 1 {
		panic(fmt.Sprintf("memory: r = %v, p = %d; want 0 < r ≤ 1 and p ≥ 1", r, p))
	}
	return Memory{R: r, Z: make([]float64, p)}
}

// NewMean returns a memory of p-vectors that starts as their plain mean. It panics as New does.
func NewMean(r float64, p int) Memory {
	m := New(r, p)
	m.Mean = true
	return m
}

// Add takes the next vector, len(x) = len(m.Z). It does not allocate.
func (m *Memory) Add(x []float64) {
	m.Age++
	w := m.Weight()
	for i, v := range x {
		m.Z[i] += w * (v - m.Z[i])
	}
}

// Weight returns the weight with which the newest vector stands in the memory.
func (m *Memory) Weight() float64 {
	if m.Mean {
		return max(m.R, 1/float64(max(m.Age, 1)))
	}
	return m.R
}

// Reset forgets all.
func (m *Memory) Reset() {
	clear(m.Z)
	m.Age = 0
}

// Asymptotic returns r/(2−r), what the variance of independent values shrinks to in a memory that has run for long.
func Asymptotic(r float64) float64 { return r / (2 - r) }
