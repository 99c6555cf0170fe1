package pretreat

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"asusual/model/spectrum"
)

func TestParse(t *testing.T) {
	for _, c := range []struct {
		words string
		want  []Step
	}{
		{"none", nil}, {"", nil}, {" snv , Derivative", []Step{{Name: SNV}, {Name: Derivative}}},
		{"second-derivative", []Step{{Name: Derivative, Order: 2}}},
		{"msc,detrend,smooth,offset", []Step{{Name: MSC}, {Name: Detrend}, {Name: Smooth}, {Name: Offset}}},
	} {
		if got, err := Parse(c.words); err != nil || !slices.Equal(got, c.want) {
			t.Errorf("Parse(%q) = %v, %v, want %v", c.words, got, err, c.want)
		}
	}
	for words, want := range map[string]string{
		"snw": "is not one of", "none,snv": "beside other steps", "keep": "needs a range", "snv,": `pretreatment "" is not`,
	} {
		if _, err := Parse(words); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Parse(%q) = %v, want %q in it", words, err, want)
		}
	}
}

func TestString(t *testing.T) {
	nm, index := evenAxis(t, 800, 901, 1), axis(t, spectrum.Channel, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9)
	for _, c := range []struct {
		axis  *spectrum.Axis
		steps []Step
		want  string
	}{
		{nm, nil, "no pretreatment"},
		{nm, []Step{{Name: SNV}, {Name: Derivative, Window: 15}}, "SNV, then 1st derivative (15 nm, degree 2)"},
		{nm, []Step{{Name: Derivative, Order: 2}}, "2nd derivative (24 nm, degree 2)"},
		{nm, []Step{{Name: Smooth}, {Name: Offset}}, "smoothing (16 nm, degree 2), then offset (minimum)"},
		{nm, []Step{{Name: LeaveOut, From: 950, To: 960}, {Name: Offset, From: 1300, To: 1310}}, "leave out 950–960 nm, then offset (mean of 1300–1310 nm)"},
		{index, []Step{{Name: Keep, From: 1, To: 8}, {Name: Detrend}}, "keep 1–8 channels, then detrend (degree 2)"},
		{index, []Step{{Name: Smooth}}, "smoothing (7 channels, degree 2)"},
	} {
		if got := fit(t, c.axis, nil, c.steps...).String(); got != c.want {
			t.Errorf("String = %q, want %q", got, c.want)
		}
	}
}

// The usual settings work on every grid that instruments have, and mean about the same on each.
func TestCandidates(t *testing.T) {
	wave := make([]float64, 700)
	for i := range wave {
		wave[i] = 1e7 / (10000 - 8.5*float64(i))
	}
	slices.Reverse(wave)
	for name, a := range map[string]*spectrum.Axis{
		"512 channels": evenAxis(t, 512, 900, 1.5625), "2 nm": evenAxis(t, 700, 1100, 2), "100 channels": evenAxis(t, 100, 850, 2),
		"wavenumbers in nm": axis(t, spectrum.Nanometre, wave...), "gap": grids(t)["gap"], "µm": axis(t, spectrum.Micrometre, evenAxis(t, 200, .9, .004).Values()...),
	} {
		list := Candidates(a)
		if len(list) != 7 || list[0].Name != "none" {
			t.Errorf("Candidates(%s) = %d chains, want 7", name, len(list))
		}
		for _, c := range list {
			if Learns(c.Steps) {
				t.Errorf("Candidates(%s): %s learns", name, c.Name)
			}
			chain := fit(t, a, nil, c.Steps...)
			if x := hills(a.Len()); !slices.Equal(chain.Steps(), c.Steps) {
				t.Errorf("Candidates(%s): %s is %v after Fit", name, c.Name, chain.Steps())
			} else {
				apply(t, chain, x)
			}
		}
	}
	if list := Candidates(evenAxis(t, 4, 1000, 1)); len(list) != 3 {
		t.Errorf("Candidates(4 channels) = %v, want the 3 without a filter", list)
	}
	if !Learns(steps(t, "snv,msc")) || Learns(steps(t, "snv,smooth")) {
		t.Error("Learns is wrong")
	}
}

// A chain that was written and read computes the same, bit by bit.
func TestRoundTrip(t *testing.T) {
	for name, a := range grids(t) {
		train := noisy(20, a.Len())
		for _, s := range [][]Step{
			nil, steps(t, "msc,derivative,msc"), steps(t, "snv,second-derivative,detrend,offset,smooth"),
			{{Name: Keep, From: 950, To: 1040}, {Name: Keep, From: 1060, To: 1080}, {Name: LeaveOut, From: 1030, To: 1036}, {Name: SNV}},
		} {
			c := fit(t, a, train, s...)
			b, err := json.Marshal(c)
			if err != nil {
				t.Fatal(err)
			}
			var d Chain
			if err := json.Unmarshal(b, &d); err != nil {
				t.Fatalf("%s: %v: reading what was written: %v", name, c, err)
			}
			equal(t, name+": "+c.String(), apply(t, &d, train.RawRowView(1)), apply(t, c, train.RawRowView(1)), 0)
			again, err := json.Marshal(&d)
			if err != nil || string(again) != string(b) {
				t.Errorf("%s: %v: written again it is another file", name, c)
			}
		}
	}
}

func TestDamagedFiles(t *testing.T) {
	const head = `{"axis":{"unit":"nm","at":[1000,1001,1002,1003]},`
	for text, want := range map[string]string{
		`null`: "needs an axis", `{"steps":[]}`: "needs an axis", `{"axis":{"unit":"nm","at":[1]},"steps":[]}`: "at least 2",
		head + `"steps":[{"step":"msc"}]}`:                                                       "reference spectrum is missing",
		head + `"steps":[{"step":"msc"}],"references":[[1,2,3]]}`:                                "has 3 channels, 4 are needed",
		head + `"steps":[{"step":"msc"}],"references":[[1,1,1,1]]}`:                              "is flat",
		head + `"steps":[{"step":"snv"}],"references":[[1,1,1,1]]}`:                              "belong to no msc step",
		head + `"steps":[{"step":"mcs"}]}`:                                                       "is not one of",
		head + `"steps":[{"step":"smooth","window":1e300}]}`:                                     "wider than the 4 channels",
		head + `"steps":[{"step":"smooth","window":1e-300}]}`:                                    "needs at least 3",
		head + `"steps":[{"step":"detrend","degree":1000000}]}`:                                  "not within 1 to 10",
		head + `"steps":[` + strings.Repeat(`{"step":"snv"},`, 40) + `{"step":"snv"}]}`:          "32 is the most",
		`{"axis":{"unit":"nm","at":[1000,1001,1009,1010,1050]},"steps":[{"step":"derivative"}]}`: "wider than the 2 channels of the stretch",
	} {
		var c Chain
		if err := json.Unmarshal([]byte(text), &c); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("reading %s = %v, want %q in it", text, err, want)
		}
	}
	if _, err := json.Marshal(&Chain{}); err == nil {
		t.Error("writing a chain that was never fitted = nil, want an error")
	}
}

// FuzzChain reads any text: it is an error, or a chain that can be written, read again and applied.
func FuzzChain(f *testing.F) {
	a := evenAxis(f, 12, 1000, 2)
	for _, words := range []string{"none", "snv,derivative", "msc", "detrend,smooth,offset", "second-derivative"} {
		b, err := json.Marshal(fit(f, a, noisy(3, 12), steps(f, words)...))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Add([]byte(`{"axis":{"unit":"nm","at":[1,2,4,7,8]},"steps":[{"step":"smooth","window":4}]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		var c, d Chain
		if json.Unmarshal(b, &c) != nil {
			return
		}
		out, err := json.Marshal(&c)
		if err != nil {
			t.Fatalf("writing what was read: %v", err)
		}
		if err := json.Unmarshal(out, &d); err != nil {
			t.Fatalf("reading what was written: %v", err)
		}
		x := hills(c.In().Len())
		y, z := make([]float64, c.Out().Len()), make([]float64, d.Out().Len())
		e1 := c.Apply(y, x, make([]float64, c.Work()))
		e2 := d.Apply(z, x, make([]float64, d.Work()))
		if (e1 == nil) != (e2 == nil) || e1 == nil && !slices.Equal(y, z) {
			t.Errorf("%s computes another spectrum after a round trip", b)
		}
	})
}
