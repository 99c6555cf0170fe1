package model_test

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"asusual/model"
	"asusual/model/compare"
	"asusual/model/finding"
	"asusual/model/oatline"
	"asusual/model/pretreat"
	"asusual/model/spectrum"
	"asusual/model/verdict"
)

var monday = time.Date(2026, 11, 16, 6, 0, 0, 0, time.UTC)

// line returns the oat-drink line of a seed, with few channels so that learning is quick.
func line(t testing.TB, seed uint64) *oatline.Line {
	t.Helper()
	l, err := oatline.New(oatline.Settings{Seed: seed, Channels: 64})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// stretch returns n spectra of the line on the given day, in a condition and with upsets.
func stretch(t testing.TB, l *oatline.Line, day int, condition string, n int, us ...oatline.Upset) []spectrum.Spectrum {
	t.Helper()
	s, err := l.Series(oatline.Stretch{
		Run: fmt.Sprintf("day %d", day), Condition: condition, From: monday.AddDate(0, 0, day), N: n, Upsets: us,
	})
	if err != nil {
		t.Fatal(err)
	}
	var out []spectrum.Spectrum
	for one := range s.All() {
		one.File = fmt.Sprintf("%s-%d-%04d.csv", condition, day, len(out))
		out = append(out, one)
	}
	return out
}

// training returns ten good days, with a rinse and an empty beam on some of them.
func training(t testing.TB, l *oatline.Line) []spectrum.Spectrum {
	t.Helper()
	var all []spectrum.Spectrum
	for day := range 10 {
		all = append(all, stretch(t, l, day, oatline.InUse, 60)...)
	}
	for day := range 5 {
		all = append(all, stretch(t, l, day, oatline.Rinse, 12)...)
		all = append(all, stretch(t, l, day, oatline.Air, 12)...)
	}
	return all
}

func gather(all []spectrum.Spectrum) *model.Training {
	var tr model.Training
	for _, s := range all {
		tr.Add(s.Label, s)
	}
	return &tr
}

var snv = []pretreat.Step{{Name: "snv"}}

func learn(t testing.TB, all []spectrum.Spectrum, opt model.Options) *model.Reference {
	t.Helper()
	if opt.Pretreat == nil {
		opt.Pretreat = snv
	}
	opt.Now = monday
	r, err := model.Learn(gather(all), opt)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// known is the reference of line 1 and its training, learned once for all tests that only read it.
var known struct {
	sync.Once
	*model.Reference
}

func reference(t testing.TB) *model.Reference {
	t.Helper()
	known.Do(func() { known.Reference = learn(t, training(t, line(t, 1)), model.Options{Name: "Filler 3"}) })
	if known.Reference == nil {
		t.Fatal("the reference of line 1 could not be learned")
	}
	return known.Reference
}

// TestJudgeNamesThePlace: spectra of days that were not learned from go where they belong.
func TestJudgeNamesThePlace(t *testing.T) {
	l, r := line(t, 1), reference(t)
	tests := []struct {
		what     string
		spectra  []spectrum.Spectrum
		want     string
		atLeast  float64 // share of the spectra
		distance bool    // beyond the border
	}{
		{"a usual day", stretch(t, l, 20, oatline.InUse, 60), model.Usual, 0.9, false},
		{"a rinse", stretch(t, l, 20, oatline.Rinse, 20), "rinse", 0.9, true},
		{"an empty beam", stretch(t, l, 20, oatline.Air, 20), "air", 0.9, true},
		{"a leak of 15 % water", stretch(t, l, 20, oatline.InUse, 60, oatline.Upset{Kind: oatline.Dilution, Size: 0.15}), model.Uncharted, 0.9, true},
		{"a band that was never there", stretch(t, l, 20, oatline.InUse, 60, oatline.Upset{Kind: oatline.NewBand, Size: 0.05}), model.Uncharted, 0.9, true},
	}
	for _, tt := range tests {
		n := 0
		for _, s := range tt.spectra {
			d := r.Judge(s)
			if d.Condition == tt.want {
				n++
				if (d.Distance > 1) != tt.distance || d.Inside == tt.distance {
					t.Errorf("Judge(%s) = %s at distance %.3g, inside %v", tt.what, d.Condition, d.Distance, d.Inside)
				}
			}
			if d.Inside != (len(d.Reasons) == 0) {
				t.Errorf("Judge(%s): inside %v with the reasons %v", tt.what, d.Inside, d.Reasons)
			}
		}
		if share := float64(n) / float64(len(tt.spectra)); share < tt.atLeast {
			t.Errorf("Judge(%s): %.0f %% are %q, want at least %.0f %%", tt.what, 100*share, tt.want, 100*tt.atLeast)
		}
	}
}

// finer returns the spectrum on a grid of another step that begins and ends where its own does.
func finer(t *testing.T, s spectrum.Spectrum) spectrum.Spectrum {
	t.Helper()
	lo, hi := s.Axis.Range()
	at := make([]float64, 2*s.Axis.Len()-13)
	for i := range at {
		at[i] = lo + (hi-lo)*float64(i)/float64(len(at)-1)
	}
	axis, err := spectrum.NewAxis(s.Axis.Unit(), at)
	if err != nil {
		t.Fatal(err)
	}
	to, err := spectrum.NewResampler(s.Axis, axis)
	if err != nil {
		t.Fatal(err)
	}
	values := make([]float64, len(at))
	to.Apply(values, s.Values)
	s.Axis, s.Values = axis, values
	return s
}

// wider returns the spectrum of an instrument that reaches twenty channels further at both ends, of which most hold v.
func wider(t *testing.T, s spectrum.Spectrum, v float64) spectrum.Spectrum {
	t.Helper()
	const beyond, measured = 20, 3 // of these, so many are measured as well
	p := s.Axis.Len()
	lo, hi := s.Axis.Range()
	at, values := make([]float64, p+2*beyond), make([]float64, p+2*beyond)
	for i := range at {
		at[i] = lo + (hi-lo)*float64(i-beyond)/float64(p-1)
		values[i] = s.Values[min(max(i-beyond, 0), p-1)]
		if i < beyond-measured || i >= p+beyond+measured {
			values[i] = v
		}
	}
	axis, err := spectrum.NewAxis(s.Axis.Unit(), at)
	if err != nil {
		t.Fatal(err)
	}
	s.Axis, s.Values = axis, values
	return s
}

// TestJudgeBeyondTheReference: what an instrument writes where the reference does not reach makes no spectrum unfit; within, its own
// channel is named.
func TestJudgeBeyondTheReference(t *testing.T) {
	r := reference(t)
	good := stretch(t, line(t, 1), 20, oatline.InUse, 1)[0]
	want := r.Judge(good)
	for _, v := range []float64{4, 1e30, math.NaN()} {
		s := wider(t, good, v)
		got := r.Judge(s)
		if got.Condition != want.Condition || !(math.Abs(got.Distance-want.Distance) <= 0.01) {
			t.Errorf("with %g beyond: %s at %v, %v; want %s at %v", v, got.Condition, got.Distance, got.Reasons, want.Condition, want.Distance)
		}
		s.Values[40] = math.Inf(1)
		if got = r.Judge(s); len(got.Reasons) != 1 || got.Reasons[0].Kind != finding.NotFinite || got.Reasons[0].Values[0] != 41 {
			t.Errorf("with %g beyond and no number in channel 41: %s, %v", v, got.Condition, got.Reasons)
		}
	}
}

// top cuts a spectrum off where its highest fifth begins.
func top(s *spectrum.Spectrum) {
	sorted := slices.Sorted(slices.Values(s.Values))
	most := sorted[len(sorted)*4/5]
	for i, v := range s.Values {
		s.Values[i] = min(v, most)
	}
}

func level(x []float64, v float64) {
	for i := range x {
		x[i] = v
	}
}

func TestJudgeUnfit(t *testing.T) {
	l, r := line(t, 1), reference(t)
	good := stretch(t, l, 20, oatline.InUse, 1)[0]
	silicon := make([]float64, 64)
	for i := range silicon {
		silicon[i] = 500 + 8*float64(i)
	}
	other, err := spectrum.NewAxis(spectrum.Nanometre, silicon)
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name   string
		change func(s *spectrum.Spectrum)
		want   finding.Kind
	}{
		{"flat", func(s *spectrum.Spectrum) { s.Values = make([]float64, 64) }, finding.Flat},
		{"no number", func(s *spectrum.Spectrum) { s.Values[3] = math.NaN() }, finding.NotFinite},
		{"the largest number where there is no value", func(s *spectrum.Spectrum) { s.Values[3] = math.MaxFloat64 }, finding.TooLarge},
		{"a saturated detector", func(s *spectrum.Spectrum) { top(s) }, finding.Saturated},
		{"a saturated detector on another grid", func(s *spectrum.Spectrum) { *s = finer(t, *s); top(s) }, finding.Saturated},
		{"flat on another grid", func(s *spectrum.Spectrum) { *s = finer(t, *s); clear(s.Values); s.Values[0] = 1e-300 }, finding.NotPretreated},
		{"flat on another grid, not at zero", func(s *spectrum.Spectrum) { *s = finer(t, *s); level(s.Values, 0.3) }, finding.Flat},
		{"another axis", func(s *spectrum.Spectrum) { s.Axis = other }, finding.OffAxis},
		{"raw intensity", func(s *spectrum.Spectrum) { s.Quantity = spectrum.Intensity }, finding.NotAbsorbance},
	}
	for _, tt := range tests {
		s := good
		s.Values = append([]float64(nil), good.Values...)
		tt.change(&s)
		d := r.Judge(s)
		if d.Condition != model.Unfit || d.Inside || len(d.Reasons) != 1 || d.Reasons[0].Kind != tt.want {
			t.Errorf("Judge(%s) = %s with reasons %v, want unfit with %q", tt.name, d.Condition, d.Reasons, tt.want)
		}
		if d.T2 != 0 || d.Q != 0 || d.Distance != 0 {
			t.Errorf("Judge(%s) has a position %+v, want none", tt.name, d.Position)
		}
	}
}

// TestJudgerIsJudge: a judger with used buffers says what Judge says.
func TestJudgerIsJudge(t *testing.T) {
	l, r := line(t, 1), reference(t)
	j := model.NewJudger(r)
	var d model.Judgement
	for _, s := range append(stretch(t, l, 30, oatline.Rinse, 5), stretch(t, l, 30, oatline.InUse, 20)...) {
		j.Judge(&d, s)
		if got, want := fmt.Sprint(d), fmt.Sprint(r.Judge(s)); got != want {
			t.Fatalf("Judger.Judge = %s, want %s", got, want)
		}
	}
}

// TestLearnIgnoresTheOrder: the order in which files are read decides nothing.
func TestLearnIgnoresTheOrder(t *testing.T) {
	l := line(t, 4)
	all := training(t, l)[:150]
	want := encode(t, learn(t, all, model.Options{}))
	rand.New(rand.NewPCG(1, 1)).Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	if got := encode(t, learn(t, all, model.Options{})); !bytes.Equal(got, want) {
		t.Error("Learn of the same spectra in another order gave another reference")
	}
}

// few keeps every so many channels, p of them.
func few(t *testing.T, all []spectrum.Spectrum, p int) []spectrum.Spectrum {
	t.Helper()
	step := all[0].Axis.Len() / p
	var at []float64
	for j := range p {
		at = append(at, all[0].Axis.At(j*step))
	}
	axis, err := spectrum.NewAxis(all[0].Axis.Unit(), at)
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range all {
		values := make([]float64, p)
		for j := range values {
			values[j] = s.Values[j*step]
		}
		all[i].Axis, all[i].Values = axis, values
	}
	return all
}

func TestLearnRefuses(t *testing.T) {
	l := line(t, 5)
	flat := stretch(t, l, 0, oatline.InUse, 40)
	for i := range flat {
		flat[i].Values = make([]float64, 64)
	}
	half := stretch(t, l, 0, oatline.InUse, 40)
	other := make([]float64, 64)
	for i := range other {
		other[i] = 400 + 7*float64(i)
	}
	axis, err := spectrum.NewAxis(spectrum.Nanometre, other)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 21 {
		half[i].Axis = axis
	}
	tests := []struct {
		name    string
		spectra []spectrum.Spectrum
		opt     model.Options
		want    string // in the error, $ for its end
	}{
		{"nothing", nil, model.Options{}, "0 good spectra"},
		{"one spectrum", stretch(t, l, 0, oatline.InUse, 1), model.Options{}, "1 good spectrum, at least 13"},
		{"constant spectra", flat, model.Options{}, "all channels hold the same value"},
		{"two axes that do not meet", half, model.Options{}, "two axes that do not meet"},
		{"as many components as channels", few(t, stretch(t, l, 0, oatline.InUse, 60), 8), model.Options{Components: 8, Pretreat: []pretreat.Step{}}, "8 components on 8 channels leave too little over: use fewer"},
		{"a belt without its parts", stretch(t, l, 0, oatline.InUse, 60), model.Options{Belt: &model.Belt{}}, "would be of no use: the empty belt: a part is missing$"},
		{"more components than spectra", stretch(t, l, 0, oatline.InUse, 30), model.Options{Components: 40}, "components"},
	}
	for _, tt := range tests {
		if tt.opt.Pretreat == nil {
			tt.opt.Pretreat = snv
		}
		r, err := model.Learn(gather(tt.spectra), tt.opt)
		if err == nil || r != nil || !strings.Contains(err.Error()+"$", tt.want) {
			t.Errorf("Learn(%s) = %v, %v; want an error with %q", tt.name, r, err, tt.want)
		}
	}
}

// TestCompareAfterFewRuns: how much whole runs differ is learned from whole runs, not from the blocks that are held out where they are few;
// of one run, and of an older reference from a few, nothing is said.
func TestCompareAfterFewRuns(t *testing.T) {
	for _, days := range []int{1, 3} {
		told := 0
		for seed := range uint64(2) {
			l := line(t, 20+seed)
			var good []spectrum.Spectrum
			for day := range days {
				good = append(good, stretch(t, l, day, oatline.InUse, 240/days)...)
			}
			r := learn(t, good, model.Options{})
			sideOf := func(day int) *compare.Side {
				var one compare.Side
				for _, s := range stretch(t, l, day, oatline.InUse, 60) {
					d := r.Judge(s)
					one.Add(s.Time, d.Features[:r.Limits.Placed()])
				}
				return &one
			}
			usual := r.BetweenRuns()
			if want := days * min(days-1, 1); usual.Runs != want {
				t.Fatalf("%d good days: a spread of %d runs, want %d", days, usual.Runs, want)
			}
			got := compare.Compare(sideOf(20), sideOf(27), usual)
			if got.Verdict == verdict.Changed {
				told++
			}
			if days == 1 && got.Verdict != verdict.CannotSay {
				t.Errorf("one good day: Compare = %v, want that it cannot say", got.Verdict)
			}
			old := *r
			old.Spread.Runs = 10
			if n := old.BetweenRuns().Runs; n != 0 {
				t.Errorf("an older reference from %d runs with a spread of 10 blocks: %d runs, want that it is not known", days, n)
			}
		}
		if told > 0 {
			t.Errorf("%d good days: %d of 2 usual days are said to differ from another", days, told)
		}
	}
}

// TestLearnLeavesOutWhatDoesNotBelong: an empty beam among the good spectra is found, named and left out, and is kept
// where the user says so.
func TestLearnLeavesOutWhatDoesNotBelong(t *testing.T) {
	l := line(t, 6)
	all := training(t, l)
	for _, s := range stretch(t, l, 3, oatline.Air, 15) {
		s.Label, s.File = oatline.InUse, "stray-"+s.File
		all = append(all, s)
	}
	r := learn(t, all, model.Options{})
	strays, honest := 0, 0
	for _, o := range r.Learning.LeftOut {
		if strings.HasPrefix(o.Spectrum, "stray-") {
			strays++
		} else {
			honest++
		}
		if o.Reason.String() == "" {
			t.Errorf("%s is left out without a reason", o.Spectrum)
		}
	}
	if strays != 15 || honest > 12 {
		t.Errorf("Learn left out %d of 15 strays and %d of 600 good spectra; want all and at most 12", strays, honest)
	}
	kept := learn(t, all, model.Options{KeepAll: true})
	if n := len(kept.Learning.LeftOut); n != 0 || kept.Learning.Spectra != 615 {
		t.Errorf("Learn(KeepAll) left out %d and learned from %d, want 0 and 615", n, kept.Learning.Spectra)
	}
}

// TestLearnLeavesOutStartUps: runs of which the first five minutes are a start-up are learned from where they have settled, and
// the reason says when that was. Without times, or with one for all of a run as tables may have it, it does not speak of minutes.
func TestLearnLeavesOutStartUps(t *testing.T) {
	l := line(t, 7)
	const early = 15
	for _, pace := range []time.Duration{20 * time.Second, 0, -1} { // of below zero: without times
		timed := pace > 0
		var all []spectrum.Spectrum
		starts := map[string]bool{}
		for day := range 8 {
			for i, s := range slices.Concat(stretch(t, l, day, oatline.StartUp, early), stretch(t, l, day, oatline.InUse, 60)) {
				s.File, s.Label, s.Time = fmt.Sprintf("%d-%03d.csv", day, i), oatline.InUse, time.Time{}
				if pace >= 0 {
					s.Time = monday.AddDate(0, 0, day).Add(time.Duration(i) * pace)
				}
				starts[s.Name()] = i < early
				all = append(all, s)
			}
		}
		r := learn(t, all, model.Options{})
		found := 0
		for _, o := range r.Learning.LeftOut {
			if starts[o.Spectrum] {
				found++
			}
			kind, values := finding.StartUpUntimed, 1
			if timed {
				kind, values = finding.StartUp, 2
			}
			if o.Reason.Kind != kind || o.Reason.About != o.Run || len(o.Reason.Values) != values {
				t.Fatalf("%s is left out because %v, want it named a start-up of its run", o.Spectrum, o.Reason)
			}
			if n := o.Reason.Values[0]; timed && math.Abs(o.Reason.Values[1]-n/3) > 1e-9 {
				t.Errorf("%g spectra, 20 s apart, are called %g minutes", n, o.Reason.Values[1])
			}
		}
		if lost := len(r.Learning.LeftOut) - found; found < 8*(early-3) || lost > 8*3 {
			t.Errorf("Learn left out %d of %d spectra of start-ups and %d of %d others; want all but the end of each, and at most the beginning of each", found, 8*early, lost, 8*60)
		}
	}
}

func encode(t testing.TB, r *model.Reference) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := r.Encode(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestFileRoundTrip: what is read back is what was written, to the last digit.
func TestFileRoundTrip(t *testing.T) {
	l, r := line(t, 1), reference(t)
	file := encode(t, r)
	back, err := model.Decode(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	if again := encode(t, back); !bytes.Equal(again, file) {
		t.Error("a reference read and written again is not the same file")
	}
	if back.Fingerprint() != r.Fingerprint() || len(r.Fingerprint()) != 12 {
		t.Errorf("fingerprint %q after reading, want %q", back.Fingerprint(), r.Fingerprint())
	}
	for _, s := range stretch(t, l, 21, oatline.InUse, 10) {
		if got, want := fmt.Sprint(back.Judge(s)), fmt.Sprint(r.Judge(s)); got != want {
			t.Fatalf("Judge after reading = %s, want %s", got, want)
		}
	}
}

func TestDecodeRefuses(t *testing.T) {
	file := encode(t, reference(t))
	tests := []struct {
		name string
		file []byte
		want error
	}{
		{"empty", nil, model.ErrNotReference},
		{"a table", []byte("time,1100,1102\n"), model.ErrNotReference},
		{"another JSON", []byte(`{"format":"recipe","version":1}`), model.ErrNotReference},
		{"half a file", file[:len(file)/2], model.ErrNotReference},
		{"a newer version", bytes.Replace(file, []byte(`"version":4`), []byte(`"version":99`), 1), model.ErrNewer},
		{"another name", bytes.Replace(file, []byte("Filler 3"), []byte("Filler 4"), 1), model.ErrAltered},
	}
	for _, tt := range tests {
		if r, err := model.Decode(bytes.NewReader(tt.file)); !errors.Is(err, tt.want) || r != nil {
			t.Errorf("Decode(%s) = %v, %v; want %v", tt.name, r, err, tt.want)
		}
	}
	if _, err := model.Decode(bytes.NewReader(bytes.ReplaceAll(file, []byte(`,"`), []byte(", \n\"")))); err != nil {
		t.Errorf("Decode(the same with white space) = %v, want it read", err)
	}
}

// TestLearnChoosesThePretreatment: with Auto the table of what was tried stands on the reference, the choice among it,
// and the reference judges with it.
func TestLearnChoosesThePretreatment(t *testing.T) {
	l := line(t, 7)
	var all []spectrum.Spectrum
	for day := range 6 {
		all = append(all, stretch(t, l, day, oatline.InUse, 40)...)
	}
	r := learn(t, all, model.Options{Auto: true})
	chosen := 0
	for _, tried := range r.Learning.Tried {
		if tried.Chosen {
			chosen++
			if tried.Words != r.Chain.String() && tried.Name != r.Chain.String() {
				t.Errorf("Learn chose %q (%s), and the reference pretreats by %q", tried.Name, tried.Words, r.Chain)
			}
		}
	}
	if chosen != 1 || len(r.Learning.Tried) != len(pretreat.Candidates(l.Axis())) {
		t.Errorf("Learn tried %d pretreatments and chose %d, want all candidates tried and one chosen", len(r.Learning.Tried), chosen)
	}
}

func FuzzDecode(f *testing.F) {
	file := encode(f, reference(f))
	f.Add(file)
	f.Add(file[:200])
	f.Add([]byte(`{"format":"asusual reference","version":1,"sha256":"","reference":{}}`))
	f.Add([]byte(`{"format":"asusual reference","version":1,"sha256":"44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a","reference":{}}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		r, err := model.Decode(bytes.NewReader(b))
		if (err == nil) == (r == nil) {
			t.Fatalf("Decode = %v, %v", r, err)
		}
		if r == nil {
			return
		}
		again, err := model.Decode(bytes.NewReader(encode(t, r)))
		if err != nil || again.Fingerprint() != r.Fingerprint() {
			t.Fatalf("what was decoded does not read back: %v", err)
		}
	})
}

func BenchmarkJudge(b *testing.B) {
	derivative := append(snv[:1:1], pretreat.Step{Name: pretreat.Derivative, Window: 15, Degree: 2, Order: 1})
	for _, p := range []int{512, 1024} {
		l, err := oatline.New(oatline.Settings{Seed: 1, Channels: p})
		if err != nil {
			b.Fatal(err)
		}
		var all []spectrum.Spectrum
		for day := range 6 {
			all = append(all, stretch(b, l, day, oatline.InUse, 40)...)
		}
		for _, c := range []struct {
			name  string
			steps []pretreat.Step
		}{{"snv", snv}, {"snv+derivative", derivative}} {
			r := learn(b, all, model.Options{Components: 6, Pretreat: c.steps})
			b.Run(fmt.Sprintf("p=%d/k=6/%s", p, c.name), func(b *testing.B) {
				j := model.NewJudger(r)
				var d model.Judgement
				b.ReportAllocs()
				for b.Loop() {
					j.Judge(&d, all[7])
				}
			})
		}
	}
}
