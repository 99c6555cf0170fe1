package words

import (
	"math"
	"testing"
	"time"
)

func TestNumber(t *testing.T) {
	for n, want := range map[int]string{0: "0", 7: "7", 999: "999", 1000: "1,000", 28800: "28,800", 1234567: "1,234,567", -1000: "-1,000", -999: "-999"} {
		if got := Number(n); got != want {
			t.Errorf("Number(%d) = %s, want %s", n, got, want)
		}
	}
}

func TestFigure(t *testing.T) {
	for v, want := range map[float64]string{0: "0", 0.3412: "0.34", 0.02: "0.02", 1.249: "1.2", 9.96: "10", 47.3: "47", 1842.4: "1,842", -3.14: "-3.1", 0.000012: "1.2e-05",
		math.Inf(1): "–"} {
		if got := Figure(v); got != want {
			t.Errorf("Figure(%v) = %s, want %s", v, got, want)
		}
	}
}

func TestDuration(t *testing.T) {
	for d, want := range map[time.Duration]string{
		40 * time.Second: "40 s", 90 * time.Second: "90 s", 12 * time.Minute: "12 min", 59*time.Minute + 50*time.Second: "60 min",
		time.Hour: "1 h", 200 * time.Minute: "3 h 20 min", 47 * time.Hour: "47 h", 96 * time.Hour: "4 days", 0: "0 s",
	} {
		if got := Duration(d); got != want {
			t.Errorf("Duration(%v) = %s, want %s", d, got, want)
		}
	}
}

func TestBetween(t *testing.T) {
	a := time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)
	for d, want := range map[time.Duration]string{
		8 * time.Hour:    "2026-11-25 06:00–14:00",
		24 * time.Hour:   "2026-11-25 06:00 – 2026-11-26 06:00",
		20 * time.Second: "2026-11-25 06:00:00–06:00:20",
		0:                "2026-11-25 06:00–06:00",
	} {
		if got := Between(a, a.Add(d)); got != want {
			t.Errorf("Between(06:00, +%v) = %s, want %s", d, got, want)
		}
	}
	if got := Moment(time.Time{}); got != "at no known time" {
		t.Errorf("Moment(zero) = %s, want that it is not known", got)
	}
}

func TestCountAndList(t *testing.T) {
	if got := Spectra(1) + ", " + Spectra(1842); got != "1 spectrum, 1,842 spectra" {
		t.Errorf("Count = %s", got)
	}
	for want, all := range map[string][]string{"": nil, "a": {"a"}, "a and b": {"a", "b"}, "a, b and c": {"a", "b", "c"}} {
		if got := List(all); got != want {
			t.Errorf("List(%v) = %q, want %q", all, got, want)
		}
	}
}
