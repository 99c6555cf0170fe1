package reach

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"asusual/model/holdout"
	"asusual/model/limits"
	"asusual/model/oatline"
	"asusual/model/pretreat"

	"gonum.org/v1/gonum/mat"
)

var start = time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC)

// oats returns a set of the invented line: runs of each spectra.
func oats(tb testing.TB, set oatline.Settings, runs, each int) holdout.Set {
	tb.Helper()
	l, err := oatline.New(set)
	if err != nil {
		tb.Fatal(err)
	}
	s := holdout.Set{Axis: l.Axis(), X: mat.NewDense(runs*each, l.Axis().Len(), nil)}
	for r := range runs {
		name := fmt.Sprintf("run %d", r+1)
		series, err := l.Series(oatline.Stretch{Run: name, From: start.AddDate(0, 0, r), N: each})
		if err != nil {
			tb.Fatal(err)
		}
		for i := range each {
			series.Fill(s.X.RawRowView(r*each+i), i)
			s.Times = append(s.Times, series.Time(i))
		}
		s.Runs = append(s.Runs, holdout.Range{Name: name, From: r * each, To: (r + 1) * each})
	}
	return s
}

func atOnce(n int, f func(i int)) {
	var wg sync.WaitGroup
	for i := range n {
		wg.Go(func() { f(i) })
	}
	wg.Wait()
}

func learned(tb testing.TB, s holdout.Set, steps []pretreat.Step, k int) (*holdout.Placed, *limits.Limits) {
	tb.Helper()
	p, err := holdout.Tracks(s, holdout.Options{Steps: steps, K: k})
	if err != nil {
		tb.Fatal(err)
	}
	l, err := limits.Learn(p.Tracks, p.Whole.Eigenvalues, limits.Options{})
	if err != nil {
		tb.Fatal(err)
	}
	return p, l
}

var chains = []struct {
	name  string
	steps []pretreat.Step
	k     int
}{
	{"none", nil, 5},
	{"snv", []pretreat.Step{{Name: pretreat.SNV}}, 3},
	{"msc", []pretreat.Step{{Name: pretreat.MSC}}, 3},
	{"derivative", []pretreat.Step{{Name: pretreat.Derivative}}, 4},
	{"snv, derivative", []pretreat.Step{{Name: pretreat.SNV}, {Name: pretreat.Derivative}}, 6},
}

// The size found is that of the whole way: the change added to raw spectra, pretreated, projected and given to the
// memories, one spectrum after another. A tenth less is seen at fewer moments than asked for, a tenth more at as many.
func TestReachIsThatOfTheWholeWay(t *testing.T) {
	s := oats(t, oatline.Settings{Seed: 1, Channels: 64}, 8, 150)
	for _, c := range chains {
		p, l := learned(t, s, c.steps, c.k)
		opt := Options{Places: 5, Starts: 50, Widths: []float64{50}, Within: 30}
		r, err := Measure(s, p, l, opt)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		opt, err = opt.filled(s.Axis)
		if err != nil {
			t.Fatal(err)
		}
		w, err := newWatch(s, p, l, opt)
		if err != nil {
			t.Fatal(err)
		}
		for i, at := range r.At {
			size := r.Bands[0].Size[i]
			if !size.Seen() {
				t.Errorf("%s: a band at %g nm is never seen", c.name, at)
				continue
			}
			band := each(s.Axis, func(x float64) float64 { return math.Exp2(-4 * (x - at) * (x - at) / 2500) })
			less, more := wholeWay(t, w, band, 0.9*float64(size)), wholeWay(t, w, band, 1.1*float64(size))
			if less > 0.92 || more < 0.88 {
				t.Errorf("%s: band of %.3g at %g nm: a tenth less is seen at %.2f of the moments, a tenth more at %.2f; want about 0.9 or less, and about that or more", c.name, size, at, less, more)
			}
		}
	}
}

// wholeWay returns the share of moments at which raw spectra with the change added are seen.
func wholeWay(t *testing.T, w *watch, raw []float64, size float64) float64 {
	seen := 0
	var r limits.Recall
	for _, b := range w.starts {
		f := w.placed.Folds[w.placed.Of[b.track]]
		x, y, work := make([]float64, len(raw)), make([]float64, f.PCA.P), make([]float64, f.Chain.Work())
		tt, own, feat := make([]float64, f.PCA.K), make([]float64, f.PCA.K), make([]float64, w.limits.Len())
		r.CopyFrom(&b.held)
		above := 0
		for j := range w.within {
			copy(x, w.set.X.RawRowView(w.placed.Rows[b.track].From+b.at+j))
			for i, v := range raw {
				x[i] += size * v
			}
			if err := f.Chain.Apply(y, x, work); err != nil {
				t.Fatal(err)
			}
			f.Scores(tt, own, y)
			parts := make([]float64, f.Bank.Len())
			if len(parts) > 0 {
				f.Bank.Of(parts, y, own)
			}
			w.limits.Features(feat, tt, f.PCA.SquaredResidual(y, own), parts)
			if above++; w.limits.Step(&r, feat) < 1 {
				above = 0
			}
			if above == limits.Sustained {
				seen++
				break
			}
		}
	}
	return float64(seen) / float64(len(w.starts))
}

// A moment sees a size where its memories do that are given one spectrum after another, from wherever it is looked at first.
func TestSeesIsFollows(t *testing.T) {
	s := oats(t, oatline.Settings{Seed: 3, Channels: 96}, 8, 150)
	p, err := holdout.Tracks(s, holdout.Options{Steps: chains[4].steps, K: 3, Stretches: true})
	if err != nil {
		t.Fatal(err)
	}
	l, err := limits.Learn(p.Tracks, p.Whole.Eigenvalues, limits.Options{})
	if err != nil {
		t.Fatal(err)
	}
	opt, err := Options{Starts: 12, Places: 3}.filled(s.Axis)
	if err != nil {
		t.Fatal(err)
	}
	w, err := newWatch(s, p, l, opt)
	if err != nil {
		t.Fatal(err)
	}
	r := &Reach{At: places(s.Axis, opt.Places)}
	changes := r.changes(s.Axis, w.mean, opt)
	if err := w.prepare(changes); err != nil {
		t.Fatal(err)
	}
	rng, seen, not := rand.New(rand.NewPCG(3, 0x73656573)), 0, 0
	for n, c := range changes {
		trail := newTrail(w)
		search := w.search(c, opt.Share, trail)
		for size := 0.02 * w.guess(c); size > 0 && size < 3*w.guess(c); size *= 1.3 {
			for i := range w.starts {
				trail.after[i] = rng.IntN(w.within)
				got, want := w.sees(search, i, size), w.follows(search, i, size)
				if (got == 0) != (want == 0) || got < want {
					t.Fatalf("change %d, moment %d, size %g: seen after %d spectra, followed one after another after %d", n+1, i+1, size, got, want)
				}
				if want > 0 {
					seen++
				} else {
					not++
				}
			}
		}
	}
	if seen < 500 || not < 500 {
		t.Errorf("%d seen and %d not: too few of one to compare", seen, not)
	}
	t.Logf("%d seen, %d not", seen, not)
}

// On a line that never moves, a step is seen as soon as a memory of the question "where does it stand" has filled:
//
//	a = min over the questions of threshold / ((1 − (1−r)^N) ‖W s‖),   s the step in features for a = 1
//
// a closed form of the memories. Leaps can only see it earlier, and no earlier than they could were the level before known.
func TestReachOfAStillLine(t *testing.T) {
	s := oats(t, oatline.Settings{Seed: 7, Channels: 64}, 8, 100)
	p, l := learned(t, s, nil, 3)
	for i := range p.Tracks {
		for j := range p.Tracks[i].Points {
			pt := &p.Tracks[i].Points[j]
			pt.Q, pt.T2 = math.Exp(l.Center[3]), 0
			for a := range pt.T {
				pt.T[a] = l.Center[a]
			}
		}
	}
	const within = 30
	opt, err := Options{Within: within, Starts: 5, Places: 1}.filled(s.Axis)
	if err != nil {
		t.Fatal(err)
	}
	w, err := newWatch(s, p, l, opt)
	if err != nil {
		t.Fatal(err)
	}
	c := &change{moves: make([]move, len(p.Folds)), along: make([][]float64, len(w.starts)), raw: [][]float64{make([]float64, 64)}}
	c.raw[0][0] = 1
	for i := range c.moves {
		c.moves[i] = move{d: [][]float64{nil}, t: [][]float64{{l.Scale[0], 0, 0}}, r2: []float64{0}}
	}
	for i := range c.along {
		c.along[i] = make([]float64, within)
	}
	got := float64(w.smallest(c, 0.9, 1, 1.12, newTrail(w)))
	want := math.Inf(1)
	for _, q := range l.Questions {
		if !q.Moved && q.From == 0 {
			want = min(want, q.Threshold/((1-math.Pow(1-q.R, within))*whitened(q, q.To-q.From)))
		}
	}
	// a leap from a level known for certain: threshold / √(‖W s‖² (a² + b² N)), with the largest gains of all features
	least := want
	for _, q := range l.Leaps {
		if q.From == 0 {
			white := limits.Question{White: q.White}
			a, b := 1/slices.Min(q.Sigma), (1-slices.Min(q.Phi))/slices.Min(q.Sigma)
			least = min(least, q.Threshold*math.Sqrt(slices.Min(q.Inflate)/(a*a+b*b*within))/whitened(white, q.To-q.From))
		}
	}
	if got > 1.03*want || got < 0.9*least {
		t.Errorf("a step on a still line is seen from %.4g on, want at most %.4g and at least %.4g", got, want, least)
	}
}

// whitened returns the length of a unit step in the first feature, found from what the question's JSON holds.
func whitened(q limits.Question, d int) float64 {
	b, err := json.Marshal(q.White)
	if err != nil {
		panic(err)
	}
	var packed []float64
	if err := json.Unmarshal(b, &packed); err != nil {
		panic(err)
	}
	sum := 0.0
	for i, at := 0, 0; i < d; i++ {
		sum += packed[at] * packed[at] // first number of each row of the lower triangle
		at += i + 1
	}
	return math.Sqrt(sum)
}

// What the pretreatment takes out is never seen; what it leaves is.
func TestReachOfWhatIsTakenOut(t *testing.T) {
	s := oats(t, oatline.Settings{Seed: 2, Channels: 64}, 8, 120)
	for _, c := range []struct {
		name                 string
		steps                []pretreat.Step
		k                    int
		offset, slope, scale bool
	}{
		{"none", nil, 5, true, true, true},
		{"snv", []pretreat.Step{{Name: pretreat.SNV}}, 3, false, true, false},
		{"derivative", []pretreat.Step{{Name: pretreat.Derivative}}, 4, false, true, true},
		{"detrend", []pretreat.Step{{Name: pretreat.Detrend, Degree: 1}, {Name: pretreat.SNV}}, 4, false, false, false},
	} {
		p, l := learned(t, s, c.steps, c.k)
		r, err := Measure(s, p, l, Options{Places: 2, Starts: 30})
		if err != nil {
			t.Fatal(err)
		}
		for what, v := range map[string]struct {
			size Size
			want bool
		}{"offset": {r.Offset, c.offset}, "slope": {r.Slope, c.slope}, "scale": {r.Scale, c.scale}, "shift": {r.Shift, true}, "noise": {r.Noise, true}} {
			if v.size.Seen() != v.want {
				t.Errorf("%s: a change of %s is seen from %g on; want seen: %v", c.name, what, v.size, v.want)
			}
		}
	}
}

// A reference on quieter spectra sees smaller changes, and more time shows smaller ones.
func TestReachOrders(t *testing.T) {
	measure := func(noise float64, within int) *Reach {
		s := oats(t, oatline.Settings{Seed: 3, Channels: 64, Noise: noise}, 8, 120)
		p, l := learned(t, s, nil, 5)
		r, err := Measure(s, p, l, Options{Places: 4, Starts: 40, Within: within})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	loud, usual, soon := measure(3, 40), measure(1, 40), measure(1, 5)
	if !(loud.Noise > 1.5*usual.Noise) {
		t.Errorf("noise seen from %g on a loud line, %g on a quiet one; want more on the loud", loud.Noise, usual.Noise)
	}
	for i := range usual.At {
		if soon.Bands[0].Size[i] < 0.99*usual.Bands[0].Size[i] {
			t.Errorf("band at %g: %g within 5 spectra, %g within 40; want no less", usual.At[i], soon.Bands[0].Size[i], usual.Bands[0].Size[i])
		}
	}
}

func TestReachIsTheSameAtOnce(t *testing.T) {
	s := oats(t, oatline.Settings{Seed: 4, Channels: 64}, 6, 100)
	p, l := learned(t, s, nil, 4)
	var text [2]string
	for i, each := range []func(int, func(int)){nil, atOnce} {
		r, err := Measure(s, p, l, Options{Places: 6, Starts: 20, Each: each})
		if err != nil {
			t.Fatal(err)
		}
		b, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		text[i] = string(b)
	}
	if text[0] != text[1] {
		t.Errorf("Measure one after another = %s\nat once = %s", text[0], text[1])
	}
}

func TestSizeJSON(t *testing.T) {
	for _, c := range []struct {
		size Size
		text string
	}{{0.25, "0.25"}, {Never, "null"}} {
		b, err := json.Marshal(c.size)
		if err != nil || string(b) != c.text {
			t.Errorf("Marshal(%v) = %s, %v; want %s", c.size, b, err, c.text)
		}
		var back Size
		if err := json.Unmarshal(b, &back); err != nil || back != c.size {
			t.Errorf("Unmarshal(%s) = %v, %v; want %v", b, back, err, c.size)
		}
	}
	var s Size
	for _, bad := range []string{"-1", `"x"`} {
		if err := json.Unmarshal([]byte(bad), &s); err == nil {
			t.Errorf("Unmarshal(%s): no error", bad)
		}
	}
}

func TestMeasureRefuses(t *testing.T) {
	s := oats(t, oatline.Settings{Seed: 5, Channels: 64}, 6, 30)
	p, l := learned(t, s, nil, 3)
	for _, opt := range []Options{{Within: 30}, {Share: 1}, {Widths: []float64{0}}, {Within: -1}} {
		if _, err := Measure(s, p, l, opt); err == nil {
			t.Errorf("Measure(%+v): no error", opt)
		}
	}
}

func TestRoundly(t *testing.T) {
	for _, c := range []struct{ v, want float64 }{{20, 20}, {50, 50}, {133, 150}, {0.9, 1}, {8.9, 10}, {0.0026, 0.003}} {
		if got := roundly(c.v); math.Abs(got-c.want) > 1e-9*c.want {
			t.Errorf("roundly(%g) = %g, want %g", c.v, got, c.want)
		}
	}
}

func TestChooseOnTheLine(t *testing.T) {
	s := oats(t, oatline.Settings{Seed: 6, Channels: 64}, 6, 80)
	candidates := pretreat.Candidates(s.Axis)
	if !testing.Verbose() {
		candidates = candidates[2:5]
	}
	candidates = append(candidates, pretreat.Named{Name: "impossible", Steps: []pretreat.Step{{Name: pretreat.Derivative, Window: 1e4}}})
	steps, tried, err := Choose(s, candidates, ChooseOptions{Each: atOnce})
	if err != nil {
		t.Fatal(err)
	}
	chosen := 0
	for _, c := range tried {
		t.Logf("%-24s k=%2d band %.3g %v %s", c.Name, c.K, c.Band, c.Chosen, c.Why)
		if c.Chosen {
			chosen++
			if len(c.Steps) != len(steps) {
				t.Errorf("Choose returns %v, the table marks %v", steps, c.Steps)
			}
		}
	}
	if last := tried[len(tried)-1]; last.Why == "" || last.Chosen {
		t.Errorf("Choose has tried %q; want the reason why it cannot", last.Name)
	}
	if chosen != 1 {
		t.Errorf("the table marks %d as chosen, want 1", chosen)
	}
	// the rule, read off the table: from the plainest on, one whose band is below nine tenths of that of the best so far
	want := -1
	for i, c := range tried {
		if c.Why == "" && (want < 0 || c.Band < plainer*tried[want].Band) {
			want = i
		}
	}
	if want < 0 || !tried[want].Chosen {
		t.Errorf("the table marks another than %q, which the rule takes", tried[max(want, 0)].Name)
	}
}

func BenchmarkMeasure(b *testing.B) {
	for _, c := range []struct{ runs, each, p int }{{10, 200, 256}, {10, 2000, 512}} {
		b.Run(fmt.Sprintf("n=%d/p=%d", c.runs*c.each, c.p), func(b *testing.B) {
			s := oats(b, oatline.Settings{Seed: 1, Channels: c.p}, c.runs, c.each)
			p, l := learned(b, s, chains[4].steps, 6)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Measure(s, p, l, Options{Each: atOnce}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkChoose(b *testing.B) {
	s := oats(b, oatline.Settings{Seed: 1, Channels: 512}, 10, 2000)
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := Choose(s, pretreat.Candidates(s.Axis), ChooseOptions{Each: atOnce}); err != nil {
			b.Fatal(err)
		}
	}
}
