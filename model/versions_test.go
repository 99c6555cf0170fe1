package model_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"testing"
	"time"

	"gonum.org/v1/gonum/floats/scalar"

	"asusual/model"
	"asusual/model/spectrum"
)

// The kept references were written by the programs of their versions: the first from two invented days of the oat-drink line, seed 3, 64
// channels, a spectrum every 30 minutes; the others from six hours of it, a spectrum a minute, with 20 minutes of a rinse. Beside each stands
// how that program judged 30 spectra of half an hour in which the oil pump fails after 12 minutes, and how its course stood after 20. Numbers agree but for the last digits,
// in which machines may differ.
var keptVersions = []struct {
	fingerprint string
	spectra     int
	conditions  int // besides usual
	sourced     bool
}{{"5cb49e590c5b", 22, 0, false}, {"89ab19c390dc", 360, 1, false}, {"657c1683007f", 360, 1, false}, {"b3e208a6ebd3", 360, 1, false}}

func keptReference(t *testing.T, version int) *model.Reference {
	t.Helper()
	b, err := os.ReadFile(fmt.Sprintf("testdata/version-%d.reference", version))
	if err != nil {
		t.Fatal(err)
	}
	r, err := model.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatalf("version %d: Decode = %v", version, err)
	}
	return r
}

// A file of every version reads for ever, and is known by the fingerprint that it had.
func TestDecodeReadsEveryVersion(t *testing.T) {
	if len(keptVersions) != model.FileVersion {
		t.Fatalf("references of %d versions are kept, want one of each up to %d", len(keptVersions), model.FileVersion)
	}
	for i, want := range keptVersions {
		r := keptReference(t, i+1)
		if r.Fingerprint() != want.fingerprint || len(r.Approved()) != 0 || r.Learning.Spectra < want.spectra || r.Source.IsZero() == want.sourced || len(r.Conditions) != want.conditions {
			t.Errorf("version %d: fingerprint %s, approvals %v, %d spectra, source %v, %d conditions; want %+v",
				i+1, r.Fingerprint(), r.Approved(), r.Learning.Spectra, r.Source, len(r.Conditions), want)
		}
		a, err := r.Approve("A. Miller", "seen", monday)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := model.Decode(bytes.NewReader(encode(t, a))); err != nil || back.Fingerprint() != r.Fingerprint() || len(back.Approved()) != 1 {
			t.Errorf("version %d approved and written anew = %v, want it read with the same fingerprint", i+1, err)
		}
	}
}

// A judgedThen is what the program of a version said of a spectrum.
type judgedThen struct {
	T2        float64 `json:"t2"`
	Q         float64 `json:"q"`
	Distance  float64 `json:"distance"`
	Inside    bool    `json:"inside"`
	Condition string  `json:"condition"`
	Verdict   string  `json:"verdict"`
}

func readKept(t *testing.T, name string, into any) {
	t.Helper()
	b, err := os.ReadFile("testdata/" + name)
	if err == nil {
		err = json.Unmarshal(b, into)
	}
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

// A reference of every version judges as it did by the program that wrote it.
func TestEveryVersionJudgesAsItDid(t *testing.T) {
	var kept struct {
		Axis   *spectrum.Axis `json:"axis"`
		Values [][]float64    `json:"values"`
	}
	readKept(t, "kept-spectra.json", &kept)
	for v := 1; v <= model.FileVersion; v++ {
		r := keptReference(t, v)
		var want []judgedThen
		readKept(t, fmt.Sprintf("version-%d.judged.json", v), &want)
		if len(want) != 30 || len(kept.Values) != len(want) {
			t.Fatalf("version %d: %d spectra and %d judgements are kept, want 30 of each", v, len(kept.Values), len(want))
		}
		var half model.CourseState // as that program kept it after 20 spectra
		readKept(t, fmt.Sprintf("version-%d.state.json", v), &half)
		course, resumed, judger := model.NewCourse(r, model.CourseState{}), model.NewCourse(r, half), model.NewJudger(r)
		for i, values := range kept.Values {
			at := monday.Add(time.Duration(i) * time.Minute)
			var d model.Judgement
			judger.Judge(&d, spectrum.Spectrum{Axis: kept.Axis, Values: values, Quantity: spectrum.Absorbance, Time: at})
			turn := course.Add(at, &d, judger.Absorbance())
			if i >= 20 {
				if again := resumed.Add(at, &d, judger.Absorbance()); again.Verdict != turn.Verdict || again.Instrument != turn.Instrument {
					t.Errorf("version %d, spectrum %d: from the kept state %v, instrument %q; in one go %v, %q", v, i, again.Verdict, again.Instrument, turn.Verdict, turn.Instrument)
				}
			}
			got := judgedThen{d.T2, d.Q, d.Distance, d.Inside, d.Condition, turn.Verdict.String()}
			w := want[i]
			near := func(a, b float64) bool { return scalar.EqualWithinAbsOrRel(a, b, 1e-12, 1e-6) }
			if !near(got.T2, w.T2) || !near(got.Q, w.Q) || !near(got.Distance, w.Distance) || got.Inside != w.Inside || got.Condition != w.Condition || got.Verdict != w.Verdict {
				t.Errorf("version %d, spectrum %d: judged %+v, then %+v", v, i, got, w)
			}
		}
	}
}
