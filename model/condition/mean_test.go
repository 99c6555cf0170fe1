package condition

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"
)

// TestMean: one after another, in two parts that are merged, and over JSON: the mean is the sum over the number, by definition.
func TestMean(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	var whole, a, b Mean
	sum := make([]float64, 7)
	const n = 1000
	for i := range n {
		x := make([]float64, len(sum))
		for j := range x {
			x[j] = 1e3 + rng.NormFloat64()
			sum[j] += x[j] / n
		}
		whole.add(x)
		part := &a
		if i%3 == 0 {
			part = &b
		}
		part.add(x)
	}
	a.merge(b)
	a.merge(Mean{})
	for name, m := range map[string]Mean{"one after another": whole, "merged": a} {
		if m.Spectra != n {
			t.Errorf("%s: %d spectra, want %d", name, m.Spectra, n)
		}
		for j, v := range m.Values {
			if !(math.Abs(v-sum[j]) <= 1e-9) {
				t.Errorf("%s: value %d is %.12g, want %.12g", name, j, v, sum[j])
			}
		}
	}
	whole.add(nil)
	whole.add([]float64{1})
	text, err := json.Marshal(whole)
	if err != nil {
		t.Fatal(err)
	}
	var back Mean
	if err := json.Unmarshal(text, &back); err != nil || !reflect.DeepEqual(back, whole) || back.Spectra != n {
		t.Errorf("over JSON: %v, %v; want %v", back, err, whole)
	}
}

func TestMeanRefusesDamage(t *testing.T) {
	for _, text := range []string{`{"spectra":1,"values":"AAAA"}`, `{"spectra":1,"values":""}`, `{"spectra":-1,"values":""}`, `{"spectra":0,"values":"AAAAAAAA8D8="}`,
		`{"spectra":2,"values":"!"}`, `{"spectra":2,"values":"AAAAAAAA+H8="}`, `[]`} {
		var m Mean
		if err := json.Unmarshal([]byte(text), &m); err == nil {
			t.Errorf("Unmarshal(%s) = %+v, want an error", text, m)
		}
	}
}

// TestGroupsKeepTheirMean: the mean of a group is that of all its spectra, those before it was a group too, and it is told when
// the group ends.
func TestGroupsKeepTheirMean(t *testing.T) {
	c := newCloud(1, 0, 12)
	var g Groups
	var sum [3]float64
	const n = 40
	for i := range n {
		x := []float64{float64(i), 2, float64(i * i)}
		for j, v := range x {
			sum[j] += v / n
		}
		g.Add(c.next(), x, start.Add(time.Duration(i)*time.Second))
	}
	stray := make([]float64, places)
	stray[4] = 90
	g.Add(stray, []float64{1, 1, 1}, start.Add(time.Minute))
	if len(g.Open) != 1 || g.Open[0].Spectra != n {
		t.Fatalf("%d groups, want one of %d spectra", len(g.Open), n)
	}
	ended := g.Close(start.Add(2 * time.Hour))
	if len(ended) != 1 || ended[0].Mean == nil || ended[0].Mean.Spectra != n {
		t.Fatalf("Close = %+v, want the group with the mean of %d spectra", ended, n)
	}
	for j, v := range ended[0].Mean.Values {
		if !(math.Abs(v-sum[j]) <= 1e-9) {
			t.Errorf("mean %d is %g, want %g", j, v, sum[j])
		}
	}
	if text, err := json.Marshal(g); err != nil || strings.Contains(string(text), "mean") {
		t.Errorf("after it ended the state is %s, %v; want it without a mean", text, err)
	}
}
