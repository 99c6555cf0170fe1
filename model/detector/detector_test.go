package detector

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"

	"asusual/model/finding"
	"asusual/model/oatline"
	"asusual/model/pretreat"
	"asusual/model/project"
	"asusual/model/spectrum"
)

func axisOf(t testing.TB, u spectrum.Unit, from, to float64, p int) *spectrum.Axis {
	t.Helper()
	at := make([]float64, p)
	for i := range at {
		at[i] = from + (to-from)*float64(i)/float64(p-1)
	}
	a, err := spectrum.NewAxis(u, at)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func kinds(fs []finding.Finding) string {
	var out []string
	for _, f := range fs {
		out = append(out, string(f.Kind))
	}
	return strings.Join(out, " ")
}

func named(t testing.TB, name string) Detector {
	t.Helper()
	d, err := Named(name)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestNamed(t *testing.T) {
	for name, want := range map[string]string{
		"silicon": "silicon", "Silicon": "silicon", "ingaas": "InGaAs", "In-Ga-As": "InGaAs", "extended InGaAs": "extended InGaAs 2.2",
		"Extended-InGaAs_2.5": "extended InGaAs 2.5", "ft ingaas": "FT InGaAs", "FT-DTGS": "FT DTGS",
	} {
		if got, err := Named(name); err != nil || got.Name != want {
			t.Errorf("Named(%q) = %q, %v; want %q", name, got.Name, err, want)
		}
	}
	if _, err := Named("selenium"); err == nil || !strings.Contains(err.Error(), `detector "selenium" is not one of silicon, InGaAs,`) {
		t.Errorf("Named(selenium) = %v, want an error that names those there are", err)
	}
	for _, name := range Names() {
		d := named(t, name)
		if d.Name != name || d.Validate() != nil {
			t.Errorf("Named(%q) = %+v, %v", name, d, d.Validate())
		}
	}
	for _, d := range []Detector{{}, {From: 900, To: 800}, {From: -1, To: 9}, {From: math.NaN(), To: 9}, {From: 1, To: math.Inf(1)}} {
		if d.Validate() == nil {
			t.Errorf("Validate(%+v) gave no error", d)
		}
	}
}

// TestRange: 1,100 nm are 1.1 µm and 9,090.9 cm⁻¹, by hand.
func TestRange(t *testing.T) {
	d := named(t, "silicon")
	for _, tt := range []struct {
		unit   spectrum.Unit
		lo, hi float64
		say    string
	}{
		{spectrum.Nanometre, 350, 1100, "silicon (350–1100 nm)"},
		{spectrum.Micrometre, 0.35, 1.1, "silicon (0.35–1.1 µm)"},
		{spectrum.ReciprocalCentimetre, 1e7 / 1100, 1e7 / 350, "silicon (9090.9–28571 cm⁻¹)"},
	} {
		lo, hi, err := d.Range(tt.unit)
		if err != nil || math.Abs(lo-tt.lo) > 1e-9 || math.Abs(hi-tt.hi) > 1e-9 || d.In(tt.unit) != tt.say {
			t.Errorf("Range(%v) = %g, %g, %v, said %q; want %g, %g, %q", tt.unit, lo, hi, err, d.In(tt.unit), tt.lo, tt.hi, tt.say)
		}
	}
	if _, _, err := d.Range(spectrum.Channel); err == nil || d.In(spectrum.Channel) != "silicon" {
		t.Errorf("Range(channel) = %v, said %q; want an error and the name alone", err, d.In(spectrum.Channel))
	}
}

func TestLook(t *testing.T) {
	even := func(p int) []float64 {
		w := make([]float64, p)
		for i := range w {
			w[i] = 1 / float64(p)
		}
		return w
	}
	at := func(p int, where ...int) []float64 {
		w := make([]float64, p)
		for _, i := range where {
			w[i] += 1 / float64(len(where))
		}
		return w
	}
	ms := time.Millisecond
	for _, tt := range []struct {
		name     string
		detector string
		setup    Setup
		want     string
	}{
		{"all fits", "InGaAs", Setup{Axis: axisOf(t, spectrum.Nanometre, 900, 1700, 256), Weights: even(256), Exposure: 50 * ms, Every: time.Second}, ""},
		{"no reference yet", "InGaAs", Setup{Axis: axisOf(t, spectrum.Nanometre, 900, 1700, 256)}, ""},
		{"silicon up to 1,700 nm", "silicon", Setup{Axis: axisOf(t, spectrum.Nanometre, 900, 1700, 256), Weights: even(256)}, "axis-beyond leans-beyond"},
		{"silicon a little beyond, not leant on", "silicon", Setup{Axis: axisOf(t, spectrum.Nanometre, 700, 1101, 401), Weights: at(401, 100, 200)}, ""},
		{"silicon, leaning on a few channels beyond", "silicon", Setup{Axis: axisOf(t, spectrum.Nanometre, 700, 1102, 403), Weights: at(403, 200, 402)}, "leans-beyond leans-on-edges"},
		{"silicon in cm⁻¹", "silicon", Setup{Axis: axisOf(t, spectrum.ReciprocalCentimetre, 6000, 12000, 300), Weights: at(300, 20)}, "axis-beyond leans-beyond"},
		{"InGaAs with silicon's axis", "InGaAs", Setup{Axis: axisOf(t, spectrum.Nanometre, 400, 880, 256), Weights: even(256)}, "not-its-axis leans-beyond"},
		{"on the edges", "InGaAs", Setup{Axis: axisOf(t, spectrum.Nanometre, 900, 1700, 256), Weights: at(256, 2, 128, 254)}, "leans-on-edges"},
		{"few channels", "InGaAs", Setup{Axis: axisOf(t, spectrum.Nanometre, 900, 1700, 32), Weights: even(32)}, "few-channels"},
		{"too slow", "InGaAs", Setup{Axis: axisOf(t, spectrum.Nanometre, 900, 1700, 256), Exposure: 500 * ms, Every: 200 * ms}, "exposure-too-long"},
		{"very short", "InGaAs", Setup{Axis: axisOf(t, spectrum.Nanometre, 900, 1700, 256), Exposure: ms, Every: time.Second}, "exposure-unusual"},
		{"very long, and too slow", "InGaAs", Setup{Axis: axisOf(t, spectrum.Nanometre, 900, 1700, 256), Exposure: 5000 * ms, Every: time.Second}, "exposure-too-long exposure-unusual"},
		{"channels say nothing", "silicon", Setup{Axis: axisOf(t, spectrum.Channel, 1, 256, 256), Weights: even(256)}, ""},
		{"Fourier transform", "FT InGaAs", Setup{Axis: axisOf(t, spectrum.ReciprocalCentimetre, 6000, 12000, 500), Weights: even(500), Exposure: 5000 * ms}, ""},
		{"Fourier transform in nm", "FT InGaAs", Setup{Axis: axisOf(t, spectrum.Nanometre, 900, 1700, 256), Weights: even(256)}, "not-its-axis"},
	} {
		if got := named(t, tt.detector).Look(tt.setup); kinds(got) != tt.want {
			t.Errorf("%s: Look = %v, want %q", tt.name, got, tt.want)
		}
	}
}

// TestNotNamed: of a detector that was not named, the pace and the number of channels are looked at.
func TestNotNamed(t *testing.T) {
	w := make([]float64, 32)
	w[0] = 1
	s := Setup{Axis: axisOf(t, spectrum.Nanometre, 900, 1700, 32), Weights: w, Exposure: 500 * time.Millisecond, Every: 200 * time.Millisecond}
	if got := kinds((Detector{}).Look(s)); got != "few-channels exposure-too-long" {
		t.Errorf("Look = %q, want few-channels exposure-too-long", got)
	}
	s.Exposure = 5 * time.Second
	if got := kinds((Detector{Fourier: true}).Look(s)); got != "few-channels exposure-too-long" {
		t.Errorf("Look of a Fourier transform = %q, want few-channels exposure-too-long", got)
	}
}

// TestEvenWavenumbers: a stretch that was left out does not make an axis uneven; rounded positions do not, either.
func TestEvenWavenumbers(t *testing.T) {
	var at []float64
	for i := range 400 {
		if i < 100 || i > 150 {
			at = append(at, math.Round(100*(4000+3.857*float64(i)))/100)
		}
	}
	a, err := spectrum.NewAxis(spectrum.ReciprocalCentimetre, at)
	if err != nil {
		t.Fatal(err)
	}
	if !evenWavenumbers(a) {
		t.Error("an axis of a Fourier transform with a gap is taken for uneven")
	}
	nm, err := a.In(spectrum.Nanometre)
	if err != nil || !evenWavenumbers(nm) {
		t.Errorf("the same in nm is taken for uneven, %v", err)
	}
	if evenWavenumbers(axisOf(t, spectrum.Nanometre, 900, 1700, 256)) {
		t.Error("an axis of even nm is taken for one of even wavenumbers")
	}
}

// TestWeights: by hand, and against what PCA leaves: the weights are the shares of each channel in the variance of the reconstruction.
func TestWeights(t *testing.T) {
	got := Weights([]float64{0.6, 0.8, 0, 0, 0, 1}, []float64{3, 1})
	for i, want := range []float64{0.36 * 3 / 4, 0.64 * 3 / 4, 0.25} {
		if math.Abs(got[i]-want) > 1e-15 {
			t.Errorf("weight %d = %g, want %g", i+1, got[i], want)
		}
	}
	for _, bad := range [][2][]float64{{nil, nil}, {{1, 2, 3}, {1, 1}}, {{1, 0}, {0}}} {
		if w := Weights(bad[0], bad[1]); w != nil {
			t.Errorf("Weights(%v) = %v, want none", bad, w)
		}
	}
	rng := rand.New(rand.NewPCG(1, 5))
	x := mat.NewDense(60, 12, nil)
	for i := range 60 {
		a, b := rng.NormFloat64(), rng.NormFloat64()
		for j := range 12 {
			x.Set(i, j, a*math.Sin(float64(j))+b*float64(j%3)+0.01*rng.NormFloat64())
		}
	}
	m, err := project.Fit(x, 2)
	if err != nil {
		t.Fatal(err)
	}
	w := Weights(m.Loadings, m.Eigenvalues)
	sum, variance, total := 0.0, make([]float64, 12), 0.0
	scores, back := make([]float64, 2), make([]float64, 12)
	for i := range 60 {
		m.Scores(scores, x.RawRowView(i))
		m.Reconstruct(back, scores)
		for j, v := range back {
			variance[j] += (v - m.Mean[j]) * (v - m.Mean[j])
			total += (v - m.Mean[j]) * (v - m.Mean[j])
		}
	}
	for j := range w {
		sum += w[j]
		if math.Abs(w[j]-variance[j]/total) > 1e-9 {
			t.Errorf("weight %d = %.9f, the reconstruction has %.9f of the variance there", j+1, w[j], variance[j]/total)
		}
	}
	if math.Abs(sum-1) > 1e-12 {
		t.Errorf("weights add up to %.15f", sum)
	}
}

// TestReferenceOfNoise: a reference learned where half of the axis holds noise alone leans there, and one without noise does not.
func TestReferenceOfNoise(t *testing.T) {
	l, err := oatline.New(oatline.Settings{Seed: 1, Channels: 128})
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(8, 1))
	for _, tt := range []struct {
		noise float64
		want  bool
	}{{0, false}, {0.3, true}} {
		x := mat.NewDense(120, 128, nil)
		for r := range 6 {
			s, err := l.Series(oatline.Stretch{Run: string(rune('a' + r)), From: time.Date(2026, 11, 25+r, 6, 0, 0, 0, time.UTC), N: 20, Every: time.Minute})
			if err != nil {
				t.Fatal(err)
			}
			for i := range 20 {
				row := x.RawRowView(20*r + i)
				s.Fill(row, i)
				for j := range row {
					if l.Axis().At(j) > 1600 {
						row[j] = row[j]*0.02 + tt.noise*rng.NormFloat64()
					}
				}
			}
		}
		m, err := project.Fit(x, 3)
		if err != nil {
			t.Fatal(err)
		}
		d := Detector{Name: "one to 1,600 nm", From: 900, To: 1600}
		got := d.Look(Setup{Axis: l.Axis(), Weights: Weights(m.Loadings, m.Eigenvalues)})
		if strings.Contains(kinds(got), "leans-beyond") != tt.want {
			t.Errorf("noise of %g beyond the detector: Look = %v, want that it leans there: %v", tt.noise, got, tt.want)
		}
	}
}

// TestLeaveOutCarbonDioxide: 2,280 to 2,390 cm⁻¹ are 4,184.1 to 4,386.0 nm, by hand; the step is one that pretreatment takes.
func TestLeaveOutCarbonDioxide(t *testing.T) {
	for _, tt := range []struct {
		name     string
		axis     *spectrum.Axis
		ok       bool
		from, to float64
	}{
		{"mid-infrared", axisOf(t, spectrum.ReciprocalCentimetre, 4000, 400, 901), true, 2280, 2390},
		{"in nm", axisOf(t, spectrum.Nanometre, 2500, 5000, 500), true, 4184.1, 4385.96},
		{"in µm", axisOf(t, spectrum.Micrometre, 2.5, 25, 500), true, 4.1841, 4.38596},
		{"near infrared", axisOf(t, spectrum.Nanometre, 900, 1700, 256), false, 0, 0},
		{"channels", axisOf(t, spectrum.Channel, 1, 4000, 4000), false, 0, 0},
		{"within the region", axisOf(t, spectrum.ReciprocalCentimetre, 2300, 2380, 40), false, 0, 0},
	} {
		step, said, ok := LeaveOutCarbonDioxide(tt.axis)
		if ok != tt.ok || math.Abs(step.From-tt.from) > 0.01 || math.Abs(step.To-tt.to) > 0.01 {
			t.Errorf("%s: LeaveOutCarbonDioxide = %+v, %v; want %g to %g, %v", tt.name, step, ok, tt.from, tt.to, tt.ok)
		}
		if !ok {
			continue
		}
		chain, err := pretreat.Fit(tt.axis, []pretreat.Step{step}, nil)
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		left := 0
		for j := range tt.axis.Len() {
			if at := tt.axis.At(j); at < step.From || at > step.To {
				left++
			}
		}
		if got := chain.Out().Len(); got != left {
			t.Errorf("%s: %d channels are left, want %d", tt.name, got, left)
		}
		if !strings.Contains(said.String(), "is left out: there the air's carbon dioxide absorbs") {
			t.Errorf("%s: said %q", tt.name, said)
		}
	}
}

func TestWords(t *testing.T) {
	d := named(t, "silicon")
	w := make([]float64, 300)
	w[299] = 1
	for _, f := range d.Look(Setup{Axis: axisOf(t, spectrum.Nanometre, 900, 1700, 300), Weights: w, Exposure: 2 * time.Second, Every: time.Second}) {
		if text := f.String(); strings.Contains(text, "{") || text == string(f.Kind) {
			t.Errorf("words are missing in %q", text)
		}
	}
}
