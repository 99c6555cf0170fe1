package pretreat

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// polynomials are the polynomials of degree 0 to d that are orthonormal over a set of points, by their recurrence
//
//	c₍ₖ₊₁₎·pₖ₊₁(u) = (u − aₖ)·pₖ(u) − cₖ·pₖ₋₁(u)
//
// which also gives their derivatives and needs no power of u, so that high degrees keep their digits.
// Source: Forsythe, "Generation and Use of Orthogonal Polynomials for Data-Fitting with a Digital Computer",
// Journal of the Society for Industrial and Applied Mathematics 5 (1957), 74–88.
type polynomials struct {
	a, c  []float64   // c[0] is 1/p₀
	value [][]float64 // value[k][j] is pₖ at point j
}

// orthonormal needs more points than degree, no two the same.
func orthonormal(u []float64, degree int) *polynomials {
	n := len(u)
	p := &polynomials{c: []float64{math.Sqrt(float64(n))}, value: make([][]float64, degree+1)}
	p.value[0] = make([]float64, n)
	for j := range u {
		p.value[0][j] = 1 / p.c[0]
	}
	for k := range degree {
		v, next := p.value[k], make([]float64, n)
		var a float64
		for j, x := range u {
			a += x * v[j] * v[j]
		}
		for j, x := range u {
			next[j] = (x - a) * v[j]
			if k > 0 {
				next[j] -= p.c[k] * p.value[k-1][j]
			}
		}
		c := math.Sqrt(floats.Dot(next, next))
		for j := range next {
			next[j] /= c
		}
		p.a, p.c, p.value[k+1] = append(p.a, a), append(p.c, c), next
	}
	return p
}

// at returns the derivatives of that order of all the polynomials at u; order 0 is their value.
func (p *polynomials) at(u float64, order int) []float64 {
	var below, row []float64 // derivatives of order r−1 and r
	for r := range order + 1 {
		row = make([]float64, len(p.c))
		if r == 0 {
			row[0] = 1 / p.c[0]
		}
		for k, a := range p.a {
			v := (u - a) * row[k]
			if k > 0 {
				v -= p.c[k] * row[k-1]
			}
			if r > 0 {
				v += float64(r) * below[k]
			}
			row[k+1] = v / p.c[k+1]
		}
		below = row
	}
	return row
}

// weights returns the weights w that give the derivative of that order, at u, of the polynomial that fits values at
// the points best: Σ wⱼ·xⱼ.
func (p *polynomials) weights(u float64, order int) []float64 {
	w := make([]float64, len(p.value[0]))
	for k, e := range p.at(u, order) {
		for j, v := range p.value[k] {
			w[j] += e * v
		}
	}
	return w
}
