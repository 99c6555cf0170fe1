package position

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/stat/distuv"
)

func near(t testing.TB, call string, got, want, tol float64) {
	t.Helper()
	if !scalar.EqualWithinAbsOrRel(got, want, tol, tol) {
		t.Errorf("%s = %.9g, want %.9g", call, got, want)
	}
}

// The quantiles that all limits rest on: NIST/SEMATECH e-Handbook of Statistical Methods, tables 1.3.6.7.3 and
// 1.3.6.7.4, with one digit more than they print, computed independently (SciPy 1.10); beta: SciPy 1.10.
func TestQuantiles(t *testing.T) {
	for _, c := range []struct{ d1, d2, p, want float64 }{
		{1, 1, .95, 161.4476}, {1, 10, .95, 4.9646}, {2, 10, .95, 4.1028}, {2, 13, .95, 3.8056}, {3, 20, .95, 3.0984},
		{5, 30, .95, 2.5336}, {10, 10, .95, 2.9782}, {10, 100, .95, 1.9267},
		{1, 10, .99, 10.0443}, {2, 10, .99, 7.5594}, {2, 13, .99, 6.7010}, {3, 20, .99, 4.9382}, {5, 30, .99, 3.6990},
		{10, 10, .99, 4.8491}, {10, 100, .99, 2.5033},
	} {
		near(t, fmt.Sprintf("F(%g; %g, %g)", c.p, c.d1, c.d2), distuv.F{D1: c.d1, D2: c.d2}.Quantile(c.p), c.want, 6e-5)
	}
	shares := []float64{.90, .95, .975, .99, .995, .999, .9973}
	for _, c := range []struct {
		df   int
		want [7]float64
	}{
		{1, [7]float64{2.7055, 3.8415, 5.0239, 6.6349, 7.8794, 10.8276, 8.9999}},
		{2, [7]float64{4.6052, 5.9915, 7.3778, 9.2103, 10.5966, 13.8155, 11.8290}},
		{3, [7]float64{6.2514, 7.8147, 9.3484, 11.3449, 12.8382, 16.2662, 14.1563}},
		{4, [7]float64{7.7794, 9.4877, 11.1433, 13.2767, 14.8603, 18.4668, 16.2512}},
		{5, [7]float64{9.2364, 11.0705, 12.8325, 15.0863, 16.7496, 20.5150, 18.2051}},
		{10, [7]float64{15.9872, 18.3070, 20.4832, 23.2093, 25.1882, 29.5883, 26.9009}},
		{20, [7]float64{28.4120, 31.4104, 34.1696, 37.5662, 39.9968, 45.3147, 42.0799}},
		{50, [7]float64{63.1671, 67.5048, 71.4202, 76.1539, 79.4900, 86.6608, 82.3186}},
		{100, [7]float64{118.4980, 124.3421, 129.5612, 135.8067, 140.1695, 149.4493, 143.8453}},
	} {
		for i, p := range shares {
			near(t, fmt.Sprintf("T2LimitChi2(%d, %g)", c.df, 1-p), T2LimitChi2(c.df, 1-p), c.want[i], 6e-5)
		}
	}
	for _, c := range []struct{ a, b, p95, p99 float64 }{
		{1, 3.5, .575109, .731730}, {1, 11, .238404, .342067}, {1.5, 8, .377834, .498065},
		{2, 5, .581803, .705686}, {2.5, 22, .216178, .282519}, {5, 20, .341807, .411812},
	} {
		beta := distuv.Beta{Alpha: c.a, Beta: c.b}
		near(t, fmt.Sprintf("B(.95; %g, %g)", c.a, c.b), beta.Quantile(.95), c.p95, 1e-6)
		near(t, fmt.Sprintf("B(.99; %g, %g)", c.a, c.b), beta.Quantile(.99), c.p99, 1e-6)
	}
	for _, b := range []float64{.5, 1, 3.5, 11, 200} { // closed form for a = 1
		for _, q := range []float64{.5, .95, .999} {
			near(t, fmt.Sprintf("B(%g; 1, %g)", q, b), distuv.Beta{Alpha: 1, Beta: b}.Quantile(q), 1-math.Pow(1-q, 1/b), 1e-9)
		}
	}
}
