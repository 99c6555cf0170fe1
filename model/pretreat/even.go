package pretreat

import "math"

// evenly filters a stretch with even spacing. With j the number of channels from the middle of the window, the weights
// are even or odd in j. Where they are a polynomial in j of degree 2 at most, which they are for polynomials of
// degree up to 3, running sums of x, jx and j²x do the work of a window at the price of one channel, to about 10⁻¹³ of the
// largest value.
//
// With N = 2m+1, S₂ = Σj² and S₄ = Σj⁴ over the window, and h the spacing, the weights are
//
//	value, degree 2 or 3             (S₄ − S₂j²)/(NS₄ − S₂²)
//	1st derivative, degree 1 or 2    j/(S₂h)
//	2nd derivative, degree 2 or 3    2(Nj² − S₂)/((NS₄ − S₂²)h²)
//
// and when the window moves on by a channel, from xᵢ₋ₘ … xᵢ₊ₘ to xᵢ₋ₘ₊₁ … xᵢ₊ₘ₊₁, the sums over it become
//
//	Σx   + xᵢ₊ₘ₊₁ − xᵢ₋ₘ
//	Σjx  + m·xᵢ₋ₘ + (m+1)·xᵢ₊ₘ₊₁ − Σx(new)
//	Σj²x + (m+1)²·xᵢ₊ₘ₊₁ − m²·xᵢ₋ₘ − 2·(Σjx + m·xᵢ₋ₘ + (m+1)·xᵢ₊ₘ₊₁) + Σx(new)
//
// Note: running the sums of two halves of a spectrum side by side was tried and was no quicker.
type evenly struct {
	stretch
	m     int       // half the window: it holds 2m+1 channels
	order int       // of the derivative
	half  []float64 // weights for j = 0 … m; for −j the same, or minus the same where order is odd
	sums  bool      // the running sums do
	k     [3]float64
	fit   [][]float64 // orthonormal polynomials over a window, one a row
	ends  [][]float64 // row i: what the polynomials give in channel i < m of the first window
	most  float64     // the sum of magnitudes of the weights of the first channel, which are the largest
}

// newEven works out the weights of a stretch with the positions z and the spacing h.
func newEven(st stretch, z []float64, h float64, s Step) (*evenly, error) {
	n := st.len()
	m := n // wider than any stretch
	if w := s.Window / 2 / math.Abs(h) * tie; w < float64(n) {
		m = int(w)
	}
	if 2*m+1 > n {
		return nil, tooShort(n, z[0], z[n-1])
	}
	if s.Degree > 2*m {
		return nil, tooFew(2*m+1, s.Degree, z[m])
	}
	e := &evenly{stretch: st, m: m, order: s.Order}
	u := make([]float64, 2*m+1)
	for j := range u {
		u[j] = float64(j-m) / float64(max(m, 1))
	}
	p := orthonormal(u, s.Degree)
	scale := math.Pow(1/(float64(max(m, 1))*h), float64(s.Order))
	w := p.weights(0, s.Order)
	odd := 1 - 2*float64(s.Order%2) // the two sides are averaged, so that they match to the last bit
	e.half = make([]float64, m+1)
	for j := range e.half {
		e.half[j] = scale * (w[m+j] + odd*w[m-j]) / 2
	}
	e.fit = p.value
	for i := range m {
		row := p.at(u[i], s.Order)
		for k := range row {
			row[k] *= scale
		}
		e.ends = append(e.ends, row)
	}
	for _, v := range p.weights(u[0], s.Order) {
		e.most += math.Abs(v * scale)
	}
	e.sums, e.k = quadratic(m, h, s)
	return e, nil
}

// quadratic returns the weights as k₀ + k₁j + k₂j², where they are such a polynomial. The formulas are those of the
// least-squares parabola, with Σj² = m(m+1)(2m+1)/3 and Σj⁴ = Σj²·(3m²+3m−1)/5 over the window.
func quadratic(m int, h float64, s Step) (ok bool, k [3]float64) {
	a := float64(m)
	n := 2*a + 1
	s2 := a * (a + 1) * n / 3
	s4 := s2 * (3*a*a + 3*a - 1) / 5
	d := n*s4 - s2*s2
	switch {
	case m < 3: // a few products are quicker than the sums
	case s.Order == 0 && s.Degree == 1:
		return true, [3]float64{1 / n, 0, 0}
	case s.Order == 1 && s.Degree <= 2:
		return true, [3]float64{0, 1 / (s2 * h), 0}
	case m < 5: // here j²x loses a digit or two more
	case s.Order == 0 && s.Degree <= 3:
		return true, [3]float64{s4 / d, 0, -s2 / d}
	case s.Order == 2 && s.Degree <= 3:
		return true, [3]float64{-2 * s2 / (d * h * h), 0, 2 * n / (d * h * h)}
	}
	return false, k
}

func (e *evenly) gain() float64 { return e.most }

func (e *evenly) apply(dst, src []float64) {
	dst, src = dst[e.from:e.to], src[e.from:e.to]
	inner := dst[e.m : len(dst)-e.m]
	switch {
	case e.sums && e.k[1] != 0:
		e.odd(inner, src)
	case e.sums:
		e.even(inner, src)
	default:
		e.plain(inner, src)
	}
	e.atEnds(dst, src)
}

// plain fills dst, whose channel i has its window in src[i:i+2m+1], by the weights.
func (e *evenly) plain(dst, src []float64) {
	m, half := e.m, e.half
	odd := e.order%2 == 1
	for i := range dst {
		w := src[i : i+2*m+1]
		y := half[0] * w[m]
		up, down := w[m+1:], w[:m]
		for j, c := range half[1:] {
			if odd {
				y += c * (up[j] - down[m-1-j])
			} else {
				y += c * (up[j] + down[m-1-j])
			}
		}
		dst[i] = y
	}
}

// anew is the number of channels after which the running sums are formed anew, so that rounding cannot build up.
const anew = 64

// odd is plain by running sums, for weights k₁j.
func (e *evenly) odd(dst, src []float64) {
	m, k := e.m, e.k[1]
	a, b := float64(m), float64(m+1)
	for len(dst) > 0 {
		n := min(anew, len(dst))
		s0, s1, _ := sums(src[:2*m+1])
		dst[0] = k * s1
		out, in := src[:n-1], src[2*m+1:][:n-1]
		to := dst[1:n]
		for i, x := range out {
			y := in[i]
			s0 += y - x
			s1 += a*x + b*y - s0
			to[i] = k * s1
		}
		dst, src = dst[n:], src[n:]
	}
}

// even is plain by running sums, for weights k₀ + k₂j².
func (e *evenly) even(dst, src []float64) {
	m, k0, k2 := e.m, e.k[0], e.k[2]
	a, b := float64(m), float64(m+1)
	for len(dst) > 0 {
		n := min(anew, len(dst))
		s0, s1, s2 := sums(src[:2*m+1])
		dst[0] = k0*s0 + k2*s2
		out, in := src[:n-1], src[2*m+1:][:n-1]
		to := dst[1:n]
		for i, x := range out {
			y := in[i]
			ax, by := a*x, b*y
			s0 += y - x
			s1 += ax + by
			s2 += b*by - a*ax - 2*s1 + s0
			s1 -= s0
			to[i] = k0*s0 + k2*s2
		}
		dst, src = dst[n:], src[n:]
	}
}

// sums returns Σx, Σjx and Σj²x over a window.
func sums(w []float64) (s0, s1, s2 float64) {
	j := -float64(len(w) / 2)
	for _, v := range w {
		jv := j * v
		s0 += v
		s1 += jv
		s2 += j * jv
		j++
	}
	return s0, s1, s2
}

// atEnds fills the first and the last m channels from the polynomial of the first and the last window.
// The last window is the first one seen from the other end, where odd derivatives have the other sign.
func (e *evenly) atEnds(dst, src []float64) {
	var first, last [maxDegree + 1]float64
	w, n := 2*e.m+1, len(src)
	for k, p := range e.fit {
		var a, b float64
		tail := src[n-w:]
		for j, v := range p {
			a += v * src[j]
			b += v * tail[w-1-j]
		}
		first[k], last[k] = a, b
	}
	sign := 1 - 2*float64(e.order%2)
	for i, row := range e.ends {
		var a, b float64
		for k, v := range row {
			a += v * first[k]
			b += v * last[k]
		}
		dst[i], dst[n-1-i] = a, sign*b
	}
}
