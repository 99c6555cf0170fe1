package spectrum

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The tests of this file write JCAMP-DX in every form that the standard has, from integers at random, and read it back; and they
// damage what was written, and assert that the damage is said.

// form is how ordinates are written.
type form struct {
	name  string
	first func(v int) string       // of a line
	next  func(v, last int) string // of the others
	dup   bool                     // equal items are counted
	check bool                     // the last ordinate of a line is said again on the next
}

func pseudo(v int, plus, minus string) string {
	s := strconv.Itoa(max(v, -v))
	digits := plus
	if v < 0 {
		digits = minus
	}
	return string(digits[s[0]-'0']) + s[1:]
}

// The pseudo-digits of Table VII of McDonald and Wilks, Applied Spectroscopy 42 (1988) 151–162.
func sqz(v int) string { return pseudo(v, "@ABCDEFGHI", "@abcdefghi") }
func dif(v int) string { return pseudo(v, "%JKLMNOPQR", "%jklmnopqr") }
func dup(n int) string { return pseudo(n, " STUVWXYZs", "") }

var forms = []form{
	{"FIX", func(v int) string { return fmt.Sprintf(" %6d", v) }, func(v, _ int) string { return fmt.Sprintf(" %6d", v) }, false, false},
	{"PAC", func(v int) string { return fmt.Sprintf("%+d", v) }, func(v, _ int) string { return fmt.Sprintf("%+d", v) }, false, false},
	{"SQZ", sqz, func(v, _ int) string { return sqz(v) }, false, false},
	{"SQZDUP", sqz, func(v, _ int) string { return sqz(v) }, true, false},
	{"DIF", sqz, func(v, last int) string { return dif(v - last) }, false, true},
	{"DIFDUP", sqz, func(v, last int) string { return dif(v - last) }, true, true},
}

// encode writes ordinates on the grid first, first + step, …; perLine is how many items a line has.
func (f form) encode(y []int, first, step float64, perLine int) string {
	var b strings.Builder
	for i := 0; i < len(y); {
		start := i
		b.WriteString(strconv.FormatFloat(first+step*float64(i), 'f', -1, 64))
		items := []string{f.first(y[i])}
		for i++; i < len(y) && len(items) < perLine; i++ {
			items = append(items, f.next(y[i], y[i-1]))
		}
		f.writeItems(&b, items)
		b.WriteByte('\n')
		if !f.check {
			continue
		}
		if i == len(y) && i > start+1 { // the check line
			fmt.Fprintf(&b, "%s%s\n", strconv.FormatFloat(first+step*float64(i-1), 'f', -1, 64), f.first(y[i-1]))
		} else if i < len(y) && i > start+1 {
			i-- // the next line begins with the ordinate that this one ends with
		}
	}
	return b.String()
}

func (f form) writeItems(b *strings.Builder, items []string) {
	for i := 0; i < len(items); {
		k := i + 1
		for f.dup && k < len(items) && items[k] == items[i] {
			k++
		}
		b.WriteString(items[i])
		if k > i+1 {
			b.WriteString(dup(k - i))
		}
		i = k
	}
}

// walk returns p integers that wander and often stay.
func walk(rng *rand.Rand, p int) []int {
	y := make([]int, p)
	v := rng.IntN(2000) - 1000
	for i := range y {
		if rng.IntN(3) > 0 {
			v += rng.IntN(300) - 150
		}
		y[i] = v
	}
	return y
}

func (f form) block(y []int, first, step float64, perLine int) jdx {
	last := first + step*float64(len(y)-1)
	return newJDX().with("FIRSTX", fmt.Sprint(first), "LASTX", fmt.Sprint(last), "DELTAX", fmt.Sprint(step), "NPOINTS", fmt.Sprint(len(y)),
		"YFACTOR", "0.25", "FIRSTY", fmt.Sprint(float64(y[0])/4)).lines(f.encode(y, first, step, perLine))
}

func TestReadJCAMPForms(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for _, f := range forms {
		for _, step := range []float64{-2, 1, .5} {
			for _, perLine := range []int{1, 2, 7, 40} {
				for _, p := range []int{2, 3, 41, 200} {
					y := walk(rng, p)
					text := f.block(y, 5000, step, perLine).String()
					ss, bad := collect(t, NewReader(Options{}), text, "oat.jdx")
					if len(ss) != 1 || len(bad) > 0 {
						t.Fatalf("%s, step %v, %d a line, p=%d: Read gave %d spectra and %q of\n%s", f.name, step, perLine, p, len(ss), bad, text)
					}
					for i, v := range ss[0].Values {
						if v != float64(y[i])/4 || ss[0].Axis.At(i) != 5000+step*float64(i) {
							t.Fatalf("%s: channel %d = %v at %v, want %v at %v; the file is\n%s", f.name, i+1, v, ss[0].Axis.At(i), float64(y[i])/4, 5000+step*float64(i), text)
						}
					}
				}
			}
		}
	}
}

// TestReadJCAMPDamage asserts that no line of data can be lost, doubled or swapped without a word, in any form.
func TestReadJCAMPDamage(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for _, f := range forms {
		y := walk(rng, 60)
		b := f.block(y, 5000, -2, 9)
		lines := strings.Split(strings.TrimSuffix(b.data, "\n"), "\n")
		for i := range lines {
			lost := slices.Delete(slices.Clone(lines), i, i+1)
			twice := slices.Insert(slices.Clone(lines), i, lines[i])
			damaged := map[string][]string{"lost": lost, "twice": twice}
			if i > 0 {
				swapped := slices.Clone(lines)
				swapped[i], swapped[i-1] = swapped[i-1], swapped[i]
				damaged["swapped"] = swapped
			}
			// The check line at the end repeats what is known: without it the data are whole, and said twice it still holds.
			if f.check && i == len(lines)-1 {
				delete(damaged, "lost")
				delete(damaged, "twice")
			}
			for what, l := range damaged {
				ss, bad := collect(t, NewReader(Options{}), b.lines(strings.Join(l, "\n")+"\n").String(), "oat.jdx")
				if len(ss) > 0 || len(bad) != 1 {
					t.Errorf("%s, line %d of %d %s: Read gave %d spectra and %q, want a reason", f.name, i+1, len(lines), what, len(ss), bad)
				}
			}
		}
	}
}

// TestReadJCAMPWrongDigit changes each character of DIF data to each other one of its kind: the Y checks see all of them.
func TestReadJCAMPWrongDigit(t *testing.T) {
	y := walk(rand.New(rand.NewPCG(9, 10)), 30)
	for _, f := range forms {
		if f.name != "DIF" {
			continue
		}
		b := f.block(y, 5000, -2, 8)
		for i, c := range []byte(b.data) {
			if c == '\n' || c-'0' <= 9 && (i == 0 || b.data[i-1] == '\n') {
				continue
			}
			for _, kind := range []string{"%JKLMNOPQRjklmnopqr", "@ABCDEFGHIabcdefghi", "0123456789"} {
				if !strings.ContainsRune(kind, rune(c)) {
					continue
				}
				for _, other := range []byte(kind) {
					if other == c {
						continue
					}
					data := []byte(b.data)
					data[i] = other
					ss, _ := collect(t, NewReader(Options{}), b.lines(string(data)).String(), "oat.jdx")
					// An abscissa may be off by less than half a step and be right.
					if len(ss) > 0 && !sameOrdinates(ss[0].Values, y) {
						t.Errorf("%q in place of %q at byte %d gives other values and no reason", other, c, i)
					}
				}
			}
		}
	}
}

func sameOrdinates(v []float64, y []int) bool {
	for i := range v {
		if !(math.Abs(v[i]-float64(y[i])/4) <= 1e-12) {
			return false
		}
	}
	return len(v) == len(y)
}

// TestReadCutOff cuts each kind of file after each of its bytes: what is read must be a beginning of what the whole file holds, and
// JCAMP-DX and a file that says its number of channels must be refused until they are whole.
func TestReadCutOff(t *testing.T) {
	counted := "# axis: nm\n# number of channels: 6\n900,0.125\n901,0.25\n902,0.5\n903,0.75\n904,0.875\n905,0.5\n"
	table := "time,run,900,901,902,903\n2026-11-25 06:00,7,0.125,0.25,0.5,0.75\n2026-11-25 06:01,7,0.25,0.5,0.75,0.125\n"
	for _, tt := range []struct {
		name, text string
		whole      int // how many bytes make the first spectrum whole
	}{
		{"JCAMP-DX", newJDX().String(), len(newJDX().String()) - len("\n")},
		{"counted columns", counted, strings.LastIndex(counted, "905,") + len("905,0")},
		{"table", table, strings.Index(table, "0.75\n") + 1},
	} {
		want, _ := collect(t, NewReader(Options{}), tt.text, "oat")
		for n := range len(tt.text) {
			ss, bad := collect(t, NewReader(Options{}), tt.text[:n], "oat")
			if len(ss) > len(want) || len(ss)+len(bad) == 0 {
				t.Fatalf("%s after %d bytes: %d spectra and %q", tt.name, n, len(ss), bad)
			}
			if n < tt.whole && len(ss) > 0 {
				t.Errorf("%s after %d bytes, before its first spectrum is whole: Read gave one", tt.name, n)
			}
			for k, s := range ss {
				// The last number alone may have lost digits, which nothing can tell.
				if last := len(s.Values) - 1; !s.Axis.Equal(want[k].Axis) || !sameFloats(s.Values[:last], want[k].Values[:last]) {
					t.Errorf("%s after %d bytes: spectrum %d = %v, want %v", tt.name, n, k+1, s.Values, want[k].Values)
				}
			}
		}
	}
}
