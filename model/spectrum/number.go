package spectrum

import "strconv"

// tens holds the powers of ten that a float64 holds exactly.
var tens = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// number reads the decimal number at the start of b and returns it with the count of bytes that it
// takes; the count is 0 where b does not begin with one. mark is the decimal mark.
//
//	number = [+|-] digits [mark [digits]] | [+|-] mark digits   then  [(e|E) [+|-] digits]
//
// The value is the float64 nearest to the text, as strconv.ParseFloat gives it. It is found without
// strconv where the digits without their mark are an integer below 2⁵³ and the power of ten is at
// most 10²² either way: both are then exact, and one multiplication or division rounds once
// (Clinger, How to read floating point numbers accurately, 1990, section 3). A number too large for
// a float64 gives an infinity.
func number(b []byte, mark byte) (v float64, n int) {
	i := 0
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		i++
	}
	var m uint64
	first := i
	for ; i < len(b); i++ {
		c := b[i] - '0'
		if c > 9 {
			break
		}
		m = m*10 + uint64(c)
	}
	digits, exp := i-first, 0
	if i < len(b) && b[i] == mark {
		i++
		first = i
		for ; i < len(b); i++ {
			c := b[i] - '0'
			if c > 9 {
				break
			}
			m = m*10 + uint64(c)
		}
		exp = first - i
		digits -= exp
	}
	if digits == 0 {
		return 0, 0
	}
	if i < len(b) && b[i]|0x20 == 'e' {
		e, k := exponent(b[i+1:])
		if k > 0 {
			exp += e
			i += 1 + k
		}
	}
	// More than 18 digits may have overflowed m.
	if digits > 18 || m >= 1<<53 || exp < -22 || exp > 22 {
		return slowNumber(b[:i], mark), i
	}
	v = float64(m)
	if exp < 0 {
		v /= tens[-exp]
	} else if exp > 0 {
		v *= tens[exp]
	}
	if b[0] == '-' {
		v = -v
	}
	return v, i
}

// exponent reads the signed integer at the start of b; the count of its bytes is 0 where there is
// none.
func exponent(b []byte) (e, n int) {
	i := 0
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		i++
	}
	first := i
	for ; i < len(b) && b[i]-'0' <= 9; i++ {
		if e < 1<<16 { // beyond it, only the size matters
			e = e*10 + int(b[i]-'0')
		}
	}
	if i == first {
		return 0, 0
	}
	if b[0] == '-' {
		e = -e
	}
	return e, i
}

func slowNumber(b []byte, mark byte) float64 {
	c := make([]byte, len(b))
	for i, x := range b {
		if x == mark {
			x = '.'
		}
		c[i] = x
	}
	// The only error left is one of range, and then the value is an infinity of the right sign.
	v, _ := strconv.ParseFloat(string(c), 64)
	return v
}

// isNumber reports whether all of b is a number.
func isNumber(b []byte, mark byte) bool {
	_, n := number(b, mark)
	return n > 0 && n == len(b)
}

// finite reports whether v is neither infinite nor NaN.
func finite(v float64) bool { return v-v == 0 }
