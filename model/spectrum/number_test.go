package spectrum

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
)

func TestNumber(t *testing.T) {
	for _, tt := range []struct {
		text string
		mark byte
		want float64
		n    int
	}{
		{"0", '.', 0, 1}, {"900", '.', 900, 3}, {"-1.5", '.', -1.5, 4}, {"+1.5", '.', 1.5, 4}, {".5", '.', .5, 2}, {"5.", '.', 5, 2},
		{"1e3", '.', 1000, 3}, {"1E-03", '.', .001, 5}, {"1.25e+2x", '.', 125, 7}, {"1e", '.', 1, 1}, {"1e+", '.', 1, 1},
		{"0,5", ',', .5, 3}, {"0,5", '.', 0, 1}, {"0.5", ',', 0, 1}, {"1,5e2", ',', 150, 5},
		{"", '.', 0, 0}, {".", '.', 0, 0}, {"-", '.', 0, 0}, {"e5", '.', 0, 0}, {"NaN", '.', 0, 0}, {"Inf", '.', 0, 0}, {"0x10", '.', 0, 1}, {"1_0", '.', 1, 1},
		{"1e400", '.', math.Inf(1), 5}, {"-1e400", '.', math.Inf(-1), 6}, {"1e-400", '.', 0, 6}, {"1e99999999999", '.', math.Inf(1), 13},
		{"9007199254740993", '.', 9007199254740992, 16}, // 2⁵³ + 1 is no float64: the even neighbour
		{"123456789012345678901234567890", '.', 123456789012345678901234567890, 30},
		{"0.30000000000000004", '.', 0.30000000000000004, 19},
		{"00000000000000000000000000.5", '.', .5, 28},
	} {
		if v, n := number([]byte(tt.text), tt.mark); v != tt.want || n != tt.n {
			t.Errorf("number(%q, %q) = %v, %d; want %v, %d", tt.text, tt.mark, v, n, tt.want, tt.n)
		}
	}
	if v, _ := number([]byte("-0.0"), '.'); !math.Signbit(v) {
		t.Error("number(-0.0) lost its sign")
	}
}

// TestNumberIsNearest compares with strconv.ParseFloat, the standard library's correctly rounded conversion, bit for bit: on
// numbers as instruments write them, and on numbers at random with all digits and exponents.
func TestNumberIsNearest(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 200_000 {
		var s string
		switch rng.IntN(4) {
		case 0:
			s = strconv.FormatFloat(rng.NormFloat64()*3, 'f', rng.IntN(12), 64)
		case 1:
			s = strconv.FormatFloat(2500*rng.Float64(), 'g', 1+rng.IntN(17), 64)
		case 2:
			s = strconv.FormatFloat(math.Float64frombits(rng.Uint64()), 'e', rng.IntN(20), 64)
		case 3:
			s = strconv.FormatUint(rng.Uint64(), 10) + "e" + strconv.Itoa(rng.IntN(60)-30)
		}
		if strings.ContainsAny(s, "NI") { // NaN and infinities are not numbers to number
			continue
		}
		want, err := strconv.ParseFloat(s, 64)
		got, n := number([]byte(s), '.')
		if n != len(s) || math.Float64bits(got) != math.Float64bits(want) {
			t.Fatalf("number(%q) = %v, %d; strconv has %v, %v", s, got, n, want, err)
		}
	}
}

func FuzzNumber(f *testing.F) {
	for _, s := range []string{"1", "-1.5e3", ".", "1e", "1e+5", "99999999999999999999", "0.1e-300", "+.5"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		v, n := number([]byte(s), '.')
		if n == 0 {
			return
		}
		want, err := strconv.ParseFloat(s[:n], 64)
		if err != nil && !math.IsInf(want, 0) || math.Float64bits(v) != math.Float64bits(want) {
			t.Errorf("number(%q) = %v, %d; strconv has %v, %v", s, v, n, want, err)
		}
	})
}

func BenchmarkNumber(b *testing.B) {
	text := []byte("0.482913")
	b.Run("number", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			number(text, '.')
		}
	})
	b.Run("strconv", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			strconv.ParseFloat(string(text), 64)
		}
	})
}
