package check

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"asusual/model/spectrum"
)

// FuzzBook: whatever comes in whatever role, results are finite or say why not, and the state can be kept and taken up again.
func FuzzBook(f *testing.F) {
	f.Add([]byte{1, 2, 3, 1, 2, 3, 9, 200, 17, 4, 90, 33})
	f.Add([]byte("a day of darks and references"))
	f.Add([]byte{1, 0, 0, 0, 0, 0, 1, 0, 0, 2, 0, 0, 2, 255, 255, 3, 128, 128})
	f.Fuzz(func(t *testing.T, data []byte) {
		const p = 24
		axis := evenAxis(t, spectrum.Nanometre, 1350, 2, p)
		set := Settings{First: 2, Standard: &Certificate{Unit: spectrum.Nanometre, Bands: []Band{{At: 1366.8}}}}
		k, err := NewBook(set, BookState{})
		if err != nil {
			t.Fatal(err)
		}
		for n := 0; n+2 < len(data) && n < 90; n += 3 {
			v := make([]float64, p)
			for i := range v {
				v[i] = float64(int8(data[(n+1+i*i)%len(data)])) * math.Pow(2, float64(int8(data[n+2])))
			}
			s := spectrum.Spectrum{Axis: axis, Values: v, Quantity: spectrum.Quantity(1 + data[n]>>2%5), Time: monday.Add(time.Duration(n) * time.Minute),
				Exposure: time.Duration(data[n+1]&3) * time.Millisecond}
			for _, r := range k.Add(Role(data[n]&3), s) {
				if math.IsNaN(r.Value) || math.IsInf(r.Value, 0) {
					t.Fatalf("%s %s is %v", r.Measure, r.About, r.Value)
				}
				if r.Measure == NotMeasured && r.Finding.Kind == "" {
					t.Fatalf("%s %s was not measured and does not say why", r.Measure, r.About)
				}
			}
		}
		kept, err := json.Marshal(k.State)
		if err != nil {
			t.Fatal(err)
		}
		var state BookState
		if err := json.Unmarshal(kept, &state); err != nil {
			t.Fatal(err)
		}
		if _, err := NewBook(set, state); err != nil {
			t.Fatal(err)
		}
	})
}
