package model_test

import (
	"strings"
	"testing"

	"asusual/model"
	"asusual/model/finding"
	"asusual/model/oatline"
	"asusual/model/spectrum"
)

// TestBelt: an empty beam is told from oat drink on days that were not learned from, and on another axis.
func TestBelt(t *testing.T) {
	l := line(t, 1)
	var tr model.Training
	for day := range 5 {
		for _, s := range stretch(t, l, day, oatline.Air, 12) {
			tr.Add("empty belt", s)
		}
	}
	b, err := model.NewBelt(&tr, "empty belt", model.Options{})
	if err != nil {
		t.Fatal(err)
	}
	fine := make([]float64, 200)
	for i := range fine {
		fine[i] = l.Axis().At(0) + (l.Axis().At(l.Axis().Len()-1)-l.Axis().At(0))*float64(i)/199
	}
	axis, err := spectrum.NewAxis(l.Axis().Unit(), fine)
	if err != nil {
		t.Fatal(err)
	}
	there, err := spectrum.NewResampler(l.Axis(), axis)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		condition string
		want      float64 // share
	}{{oatline.Air, 1}, {oatline.InUse, 0}, {oatline.Rinse, 0}} {
		n, empty, onFine := 0, 0, 0
		for day := 10; day < 14; day++ {
			for _, s := range stretch(t, l, day, tt.condition, 12) {
				n++
				if is, err := b.Empty(s); err != nil {
					t.Fatal(err)
				} else if is {
					empty++
				}
				values := make([]float64, axis.Len())
				there.Apply(values, s.Values)
				s.Axis, s.Values = axis, values
				if is, err := b.Empty(s); err != nil {
					t.Fatal(err)
				} else if is {
					onFine++
				}
			}
		}
		if got := float64(empty) / float64(n); got != tt.want {
			t.Errorf("%s: %d of %d are called the empty belt, want a share of %g", tt.condition, empty, n, tt.want)
		}
		if got := float64(onFine) / float64(n); got != tt.want {
			t.Errorf("%s on another axis: %d of %d are called the empty belt, want a share of %g", tt.condition, onFine, n, tt.want)
		}
	}
	other, _ := spectrum.NewAxis(spectrum.Nanometre, []float64{400, 401})
	if _, err := b.Empty(spectrum.Spectrum{Axis: other, Values: []float64{1, 1}, Quantity: spectrum.Absorbance}); err == nil || !strings.Contains(err.Error(), "telling it from the condition empty belt") {
		t.Errorf("Empty on another range: %v", err)
	}
	if is, err := b.Empty(spectrum.Spectrum{Axis: l.Axis(), Values: make([]float64, 64), Quantity: spectrum.Intensity}); is || err != nil {
		t.Errorf("Empty of an intensity = %v, %v; want that something is there", is, err)
	}
	var few model.Training
	few.Add("empty belt", stretch(t, l, 1, oatline.Air, 1)[0])
	if _, err := model.NewBelt(&few, "empty belt", model.Options{}); err == nil || !strings.Contains(err.Error(), "1 spectra, at least 15 are needed") {
		t.Errorf("NewBelt of one spectrum: %v", err)
	}
	if _, err := model.NewBelt(&model.Training{}, "empty belt", model.Options{}); err == nil || !strings.Contains(err.Error(), "condition empty belt: no spectrum") {
		t.Errorf("NewBelt of nothing: %v", err)
	}

	// It goes with the reference, and a damaged one is refused.
	r := learn(t, training(t, l), model.Options{PerItem: 4, Belt: b})
	text := encoded(t, r)
	back, err := model.Decode(strings.NewReader(text))
	if err != nil || back.Belt == nil || back.PerItem != 4 {
		t.Fatalf("Decode: %v, belt %v", err, back)
	}
	r.Belt = &model.Belt{Axis: b.Axis}
	if _, err := model.Decode(strings.NewReader(encoded(t, r))); err == nil || !strings.Contains(err.Error(), "the empty belt: a part is missing") {
		t.Errorf("Decode of half a belt: %v", err)
	}
	if said := finding.Of(finding.OfItems, "", 3, 12, 5).String(); !strings.Contains(said, "3 items of 12 spectra; 5 of the empty belt") {
		t.Error(said)
	}
}

func encoded(t *testing.T, r *model.Reference) string {
	t.Helper()
	var b strings.Builder
	if err := r.Encode(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}
