package position

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"
)

func near(t *testing.T, call string, got, want, tol float64) {
	t.Helper()
	if !scalar.EqualWithinAbsOrRel(got, want, tol, tol) {
		t.Errorf("%s = %.9g, want %.9g", call, got, want)
	}
}

func TestLimitsSmoke(t *testing.T) {
	near(t, "T2LimitBeta(10, 2, .05)", T2LimitBeta(10, 2, .05), 4.658386, 1e-6)
	near(t, "T2LimitF(10, 2, .05)", T2LimitF(10, 2, .05), 11.035951, 1e-6)
	th := [3]float64{45.740, 1129.55, 29651.1}
	near(t, "QLimitJM", QLimitJM(th, .05), 140.417, 1e-4)
	near(t, "QLimitBox", QLimitBox(th, .05), 140.808, 1e-4)
	near(t, "QLimitPearson", QLimitPearson(th, .05), 139.8, 1e-2)
	near(t, "QLimitPearson", QLimitPearson(th, .01), 221.1, 5e-3)
	if !math.IsInf(T2LimitF(3, 3, .05), 1) {
		t.Error("T2LimitF(3, 3) is finite")
	}
}
