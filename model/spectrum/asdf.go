package spectrum

import (
	"errors"
	"fmt"
	"math"
)

// lastOrdinate is what the ordinate before was written as; it decides what may follow.
type lastOrdinate uint8

const (
	noOrdinate   lastOrdinate = iota // the line begins
	actual                           // a value: AFFN, PAC or SQZ
	difference                       // DIF
	missing                          // ?
	repeatActual                     // DUP of a value
	repeatDiff                       // DUP of a difference
	repeatMiss                       // DUP of a ?
)

// An ordinates decodes the lines of (X++(Y..Y)) data in the forms of JCAMP-DX: AFFN, and PAC, SQZ,
// DIF and DUP, which may be mixed (McDonald and Wilks, JCAMP-DX: a standard form for exchange of
// infrared spectra in computer readable form, Applied Spectroscopy 42, 1988, section 5 and Table
// VII). A value ? comes out as NaN.
//
// Its zero value is ready to use.
type ordinates struct {
	y    []float64
	last lastOrdinate
	diff float64
	text [maxToken]byte
}

// maxToken is how long a number may be: lines of the standard have 80 characters.
const maxToken = 80

// endedInDiff reports whether the line before ended in a difference, so that the next must repeat
// its last value.
func (o *ordinates) endedInDiff() bool { return o.last == difference || o.last == repeatDiff }

// line decodes the ordinates of a line, which stand after its abscissa, and appends them to y. If
// the line before ended in a difference, the first ordinate must repeat the last one, and is not
// appended (the Y check).
func (o *ordinates) line(b []byte) error {
	check, start := o.endedInDiff() && len(o.y) > 0, len(o.y)
	o.last = noOrdinate
	for i := 0; ; {
		for i < len(b) && isSeparator(b[i]) {
			i++
		}
		if i == len(b) {
			break
		}
		n, err := o.token(b[i:], i == 0 || isSeparator(b[i-1]))
		if err != nil {
			return err
		}
		i += n
	}
	if len(o.y) == start {
		return errors.New("the line has no ordinate")
	}
	if !check {
		return nil
	}
	if before, again := o.y[start-1], o.y[start]; !sameOrdinate(before, again) {
		return fmt.Errorf("the Y check does not hold: the line before ends with %v, this one begins with %v", before, again)
	}
	o.y = append(o.y[:start], o.y[start+1:]...)
	return nil
}

// sameOrdinate compares exactly where both are integers, as compressed ordinates are; sums of
// decimal fractions may differ in their last place.
func sameOrdinate(a, b float64) bool {
	return a == b || (a != math.Trunc(a) || b != math.Trunc(b)) && math.Abs(a-b) <= 1e-9*max(math.Abs(a), math.Abs(b))
}

func isSeparator(c byte) bool { return c == ' ' || c == '\t' || c == ',' }

// token takes the number at the start of b. apart says whether a separator, or the line's start,
// stands before it.
func (o *ordinates) token(b []byte, apart bool) (int, error) {
	c := b[0]
	switch {
	case c == '?':
		o.last = missing
		return 1, o.add(math.NaN(), 1)
	case c-'0' <= 9 || c == '.' || c == '+' || c == '-':
		v, n, err := affn(b, apart)
		if err != nil {
			return 0, err
		}
		o.last = actual
		return n, o.add(v, 1)
	}
	sign, lead, form := pseudoDigit(c)
	if form == 0 {
		return 0, fmt.Errorf("%s is no digit of any form", show(b[:1]))
	}
	n := 1
	for n < len(b) && (b[n]-'0' <= 9 || b[n] == '.') {
		n++
	}
	if n > maxToken-1 {
		return 0, fmt.Errorf("a number of %d characters", n)
	}
	t := append(o.text[:0], sign, lead)
	t = append(t, b[1:n]...)
	v, k := number(t, '.')
	if k != len(t) {
		return 0, fmt.Errorf("%s is no number", show(b[:n]))
	}
	switch form {
	case 'Q':
		o.last = actual
		return n, o.add(v, 1)
	case 'D':
		return n, o.addDiff(v)
	}
	return n, o.addRepeat(v)
}

// addDiff takes the difference to the ordinate before.
func (o *ordinates) addDiff(d float64) error {
	switch o.last {
	case noOrdinate:
		return errors.New("a difference (DIF) has no ordinate before it on its line")
	case missing, repeatMiss:
		return errors.New("a difference (DIF) follows a missing ordinate (?)")
	}
	o.last, o.diff = difference, d
	return o.add(o.y[len(o.y)-1]+d, 1)
}

// addRepeat takes a count (DUP) of how often the item before stands, itself included.
func (o *ordinates) addRepeat(count float64) error {
	if count != math.Trunc(count) || count < 1 || count > maxChannels {
		return fmt.Errorf("a count (DUP) of %v", count)
	}
	k := int(count) - 1
	switch o.last {
	case actual:
		o.last = repeatActual
		return o.add(o.y[len(o.y)-1], k)
	case missing:
		o.last = repeatMiss
		return o.add(math.NaN(), k)
	case difference:
		o.last = repeatDiff
		for range k {
			if err := o.add(o.y[len(o.y)-1]+o.diff, 1); err != nil {
				return err
			}
		}
		return nil
	case noOrdinate:
		return errors.New("a count (DUP) has no ordinate before it on its line")
	}
	return errors.New("a count (DUP) follows a count")
}

func (o *ordinates) add(v float64, k int) error {
	if len(o.y)+k > maxChannels {
		return fmt.Errorf("more than %d ordinates; no spectrum has as many", maxChannels)
	}
	for range k {
		o.y = append(o.y, v)
	}
	return nil
}

// pseudoDigit returns the sign and the digit that a pseudo-digit stands for, and its form: Q for
// SQZ, D for DIF, R for DUP (Table VII of the standard); 0 for a character that is none.
func pseudoDigit(c byte) (sign, digit, form byte) {
	switch {
	case c == '@':
		return '+', '0', 'Q'
	case 'A' <= c && c <= 'I':
		return '+', '1' + c - 'A', 'Q'
	case 'a' <= c && c <= 'i':
		return '-', '1' + c - 'a', 'Q'
	case c == '%':
		return '+', '0', 'D'
	case 'J' <= c && c <= 'R':
		return '+', '1' + c - 'J', 'D'
	case 'j' <= c && c <= 'r':
		return '-', '1' + c - 'j', 'D'
	case 'S' <= c && c <= 'Z':
		return '+', '1' + c - 'S', 'R'
	case c == 's':
		return '+', '9', 'R'
	}
	return 0, 0, 0
}

// affn reads the number in free form at the start of b. An E is an exponent if a sign and two or
// three digits follow it at once; otherwise it is the pseudo-digit 5 of the next ordinate. apart
// allows one more form that files hold, 1E2: there the whole number stands between separators, with
// one to three digits after the E.
func affn(b []byte, apart bool) (v float64, n int, err error) {
	i := 0
	if i < len(b) && (b[i] == '+' || b[i] == '-') {
		i++
	}
	digits := 0
	for ; i < len(b) && (b[i]-'0' <= 9 || b[i] == '.'); i++ {
		if b[i] != '.' {
			digits++
		}
	}
	if i < len(b) && b[i]|0x20 == 'e' && digits > 0 {
		k := i + 1
		signed := k < len(b) && (b[k] == '+' || b[k] == '-')
		if signed {
			k++
		}
		first := k
		for k < len(b) && b[k]-'0' <= 9 {
			k++
		}
		count := k - first
		ends := k == len(b) || isSeparator(b[k])
		if signed && (count == 2 || count == 3) || apart && ends && count >= 1 && count <= 3 {
			i = k
		}
	}
	v, n = number(b[:i], '.')
	if n == 0 || n != i || !finite(v) {
		return 0, 0, fmt.Errorf("%s is no number", show(b[:max(i, min(1, len(b)))]))
	}
	return v, n, nil
}
