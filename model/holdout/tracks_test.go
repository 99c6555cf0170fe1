package holdout

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"asusual/model/finding"
	"asusual/model/oatline"
	"asusual/model/position"
	"asusual/model/pretreat"
	"asusual/model/spectrum"

	"gonum.org/v1/gonum/mat"
)

var start = time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC)

// oats returns a set of the invented line: runs of each spectra.
func oats(tb testing.TB, set oatline.Settings, runs, each int) Set {
	tb.Helper()
	l, err := oatline.New(set)
	if err != nil {
		tb.Fatal(err)
	}
	s := Set{Axis: l.Axis(), X: mat.NewDense(runs*each, l.Axis().Len(), nil)}
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
		s.Runs = append(s.Runs, Range{Name: name, From: r * each, To: (r + 1) * each})
	}
	return s
}

// noise returns a set of independent normal spectra with the given standard deviations of their channels.
func noise(runs, each int, sd []float64, seed uint64) Set {
	p := len(sd)
	at := make([]float64, p)
	for i := range at {
		at[i] = float64(i + 1)
	}
	axis, err := spectrum.NewAxis(spectrum.Channel, at)
	if err != nil {
		panic(err)
	}
	rng := rand.New(rand.NewPCG(seed, 1))
	s := Set{Axis: axis, X: mat.NewDense(runs*each, p, nil)}
	for i := range runs * each {
		for j := range p {
			s.X.Set(i, j, sd[j]*rng.NormFloat64())
		}
		s.Times = append(s.Times, start.Add(time.Duration(i)*time.Minute))
	}
	for r := range runs {
		s.Runs = append(s.Runs, Range{Name: fmt.Sprint("run ", r+1), From: r * each, To: (r + 1) * each})
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

var snvDerivative = []pretreat.Step{{Name: pretreat.SNV}, {Name: pretreat.Derivative}}

// Models from moments taken away are those learned anew from what is left.
func TestSubtractedIsRefitted(t *testing.T) {
	for _, c := range []struct {
		name       string
		runs, each int
		steps      []pretreat.Step
	}{
		{"raw, few runs in blocks", 3, 60, nil},
		{"raw", 7, 40, nil},
		{"pretreated", 7, 40, snvDerivative},
		{"groups of runs", 21, 15, snvDerivative},
	} {
		t.Run(c.name, func(t *testing.T) {
			const k = 3
			s := oats(t, oatline.Settings{Seed: 5, Channels: 64}, c.runs, c.each)
			opt := Options{Steps: c.steps, K: k}
			folds, _, err := s.plan()
			if err != nil {
				t.Fatal(err)
			}
			n, p := s.X.Dims()
			rows := opt.rows(n, p)
			chain, err := pretreat.Fit(s.Axis, c.steps, nil)
			if err != nil {
				t.Fatal(err)
			}
			x, err := chain.ApplyAll(chosen(s.X, rows))
			if err != nil {
				t.Fatal(err)
			}
			fast, plain := Placed{Folds: make([]Fold, len(folds))}, Placed{Folds: make([]Fold, len(folds))}
			if err := fast.subtracted(folds, rows, x, opt); err != nil {
				t.Fatal(err)
			}
			if err := plain.refitted(folds, rows, x, opt); err != nil {
				t.Fatal(err)
			}
			for i := range folds {
				for _, r := range folds[i].held {
					fast.Folds[i].Chain, plain.Folds[i].Chain = chain, chain
					a, errA := s.place(&fast.Folds[i], r, fast.Whole.Eigenvalues)
					b, errB := s.place(&plain.Folds[i], r, plain.Whole.Eigenvalues)
					if errA != nil || errB != nil {
						t.Fatal(errA, errB)
					}
					for j := range a.Points {
						near(t, fmt.Sprintf("%s: T² of spectrum %d", r.Name, j+1), a.Points[j].T2, b.Points[j].T2, 1e-9)
						near(t, fmt.Sprintf("%s: Q of spectrum %d", r.Name, j+1), a.Points[j].Q, b.Points[j].Q, 1e-9)
						for q := range k {
							// scores near zero are compared with their spread
							d := math.Abs(a.Points[j].T[q]-b.Points[j].T[q]) / math.Sqrt(fast.Whole.Eigenvalues[q])
							if !(d <= 1e-8) {
								t.Fatalf("%s: score %d of spectrum %d differs by %g of its spread", r.Name, q+1, j+1, d)
							}
						}
					}
				}
			}
		})
	}
}

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Fatalf("%s = %.12g, want %.12g within %g", what, got, want, rel)
	}
}

// Every spectrum is placed once, in order, and T² is the same in the fold's own components as in those of the whole.
func TestTracksPlaceEverySpectrum(t *testing.T) {
	for _, runs := range []int{2, 4, 5, 12, 40} {
		s := oats(t, oatline.Settings{Seed: 2, Channels: 64}, runs, 240/runs)
		p, err := Tracks(s, Options{Steps: snvDerivative, K: 3})
		if err != nil {
			t.Fatalf("%d runs: %v", runs, err)
		}
		seen := make([]int, 240)
		for i, tr := range p.Tracks {
			r, f := p.Rows[i], p.Folds[p.Of[i]]
			if len(tr.Points) != r.Len() || tr.Run != r.Name {
				t.Fatalf("%d runs: track %s has %d points of %d", runs, tr.Run, len(tr.Points), r.Len())
			}
			if want := time.Duration(r.Len()) * 20 * time.Second; tr.Span != want {
				t.Errorf("%d runs: %s spans %v, want %v", runs, tr.Run, tr.Span, want)
			}
			x := make([]float64, f.PCA.P)
			own, turned := make([]float64, 3), make([]float64, 3)
			work := make([]float64, f.Chain.Work())
			for j, pt := range tr.Points {
				seen[r.From+j]++
				if !pt.Time.Equal(s.Times[r.From+j]) {
					t.Fatalf("%s: spectrum %d has the time %v, want %v", tr.Run, j+1, pt.Time, s.Times[r.From+j])
				}
				if err := f.Chain.Apply(x, s.X.RawRowView(r.From+j), work); err != nil {
					t.Fatal(err)
				}
				f.Scores(turned, own, x)
				near(t, "T² in the components of the whole", pt.T2, position.T2(own, f.PCA.Eigenvalues), 1e-9)
			}
		}
		for i, n := range seen {
			if n != 1 {
				t.Fatalf("%d runs: spectrum %d was placed %d times, want once", runs, i+1, n)
			}
		}
	}
}

// The answer does not depend on the runner.
func TestTracksAtOnce(t *testing.T) {
	s := oats(t, oatline.Settings{Seed: 3, Channels: 64}, 8, 30)
	one, err := Tracks(s, Options{Steps: snvDerivative, K: 4})
	if err != nil {
		t.Fatal(err)
	}
	many, err := Tracks(s, Options{Steps: snvDerivative, K: 4, Each: atOnce})
	if err != nil {
		t.Fatal(err)
	}
	for i := range one.Tracks {
		for j := range one.Tracks[i].Points {
			if a, b := one.Tracks[i].Points[j], many.Tracks[i].Points[j]; a.T2 != b.T2 || a.Q != b.Q {
				t.Fatalf("spectrum %d of %s: T² %g and Q %g one after another, %g and %g at once", j+1, one.Tracks[i].Run, a.T2, a.Q, b.T2, b.Q)
			}
		}
	}
}

// A model must not have seen what it places: spoiling a run leaves its own fold's model as it was. With MSC that
// holds for the reference spectrum too.
func TestFoldsDoNotSeeWhatTheyPlace(t *testing.T) {
	for _, c := range []struct {
		runs  int
		steps []pretreat.Step
	}{{6, nil}, {6, []pretreat.Step{{Name: pretreat.MSC}}}, {2, nil}, {30, snvDerivative}} {
		s := oats(t, oatline.Settings{Seed: 4, Channels: 64}, c.runs, 180/c.runs)
		before, err := Tracks(s, Options{Steps: c.steps, K: 2})
		if err != nil {
			t.Fatal(err)
		}
		whole := before.Whole
		r := before.Rows[1]
		for i := r.From; i < r.To; i++ {
			row := s.X.RawRowView(i)
			for j := range row {
				row[j] += 0.1 * math.Sin(float64(i*j))
			}
		}
		after, err := Tracks(s, Options{Steps: c.steps, K: 2, Whole: whole})
		if err != nil {
			t.Fatal(err)
		}
		a, b := before.Folds[before.Of[1]].PCA, after.Folds[after.Of[1]].PCA
		for i := range a.Eigenvalues {
			near(t, fmt.Sprintf("%d runs, %v: eigenvalue %d without the spoilt run", c.runs, c.steps, i+1), b.Eigenvalues[i], a.Eigenvalues[i], 1e-8)
		}
		o := before.Folds[(before.Of[1]+2)%len(before.Folds)].PCA.Eigenvalues[0]
		if v := after.Folds[(before.Of[1]+2)%len(before.Folds)].PCA.Eigenvalues[0]; math.Abs(v-o) < 1e-6*o {
			t.Errorf("%d runs: a model that saw the spoilt run has not changed", c.runs)
		}
	}
}

// T² of a new observation of a normal population with all k=p components is k(n²−1)/(n(n−k)) F(k, n−k) (Tracy, Young,
// Mason 1992), whose mean is k(n²−1)/(n(n−k−2)).
func TestHeldOutT2HasItsMean(t *testing.T) {
	const runs, each, k = 10, 40, 4
	n := float64((runs - 1) * each)
	want := k * (n*n - 1) / (n * (n - k - 2))
	var sum, ss, count float64
	for seed := range uint64(20) {
		s := noise(runs, each, []float64{4, 3, 2, 1}, seed)
		p, err := Tracks(s, Options{K: k})
		if err != nil {
			t.Fatal(err)
		}
		for _, tr := range p.Tracks {
			for _, pt := range tr.Points {
				sum, ss, count = sum+pt.T2, ss+pt.T2*pt.T2, count+1
			}
		}
	}
	mean := sum / count
	se := math.Sqrt((ss/count - mean*mean) / count)
	if !(math.Abs(mean-want) <= 4*se) {
		t.Errorf("mean held-out T² = %.4f, want %.4f within %.4f", mean, want, 4*se)
	}
}

func TestFewRunsAreHeldOutInBlocks(t *testing.T) {
	s := oats(t, oatline.Settings{Seed: 1, Channels: 64}, 3, 100)
	folds, notes, err := s.plan()
	if err != nil {
		t.Fatal(err)
	}
	if len(notes) != 1 || notes[0].Kind != finding.FewRuns {
		t.Errorf("plan of 3 runs says %v, want that they are few", notes)
	}
	for _, f := range folds {
		h, k := f.held[0], f.skip[0]
		run := s.Runs[h.From/100]
		if k.From > h.From || k.To < h.To || k.From < run.From || k.To > run.To {
			t.Errorf("%s: rows %d–%d are held out, %d–%d are not learned from, in a run of %d–%d", h.Name, h.From, h.To, k.From, k.To, run.From, run.To)
		}
		if h.From > run.From && k.From > h.From-h.Len()/2 {
			t.Errorf("%s: no gap before it", h.Name)
		}
		if h.To < run.To && k.To < h.To+h.Len()/2 {
			t.Errorf("%s: no gap after it", h.Name)
		}
	}
}

func TestTracksRefuse(t *testing.T) {
	s := oats(t, oatline.Settings{Seed: 1, Channels: 64}, 6, 10)
	for _, c := range []struct {
		name string
		do   func() error
	}{
		{"no components", func() error { _, err := Tracks(s, Options{}); return err }},
		{"no runs", func() error { b := s; b.Runs = nil; _, err := Tracks(b, Options{K: 1}); return err }},
		{"a hole between runs", func() error {
			b := s
			b.Runs = []Range{{"a", 0, 20}, {"b", 21, 60}}
			_, err := Tracks(b, Options{K: 1})
			return err
		}},
		{"too many components", func() error { _, err := Tracks(s, Options{K: 60}); return err }},
		{"too few spectra", func() error { _, err := Tracks(noise(1, 9, []float64{1, 2}, 1), Options{K: 1}); return err }},
		{"times of other spectra", func() error { b := s; b.Times = b.Times[1:]; _, err := Tracks(b, Options{K: 1}); return err }},
		{"a flat spectrum", func() error {
			b := oats(t, oatline.Settings{Seed: 1, Channels: 64}, 6, 10)
			clear(b.X.RawRowView(33))
			_, err := Tracks(b, Options{K: 1, Steps: snvDerivative})
			return err
		}},
	} {
		if err := c.do(); err == nil {
			t.Errorf("%s: no error", c.name)
		}
	}
}

func BenchmarkTracks(b *testing.B) {
	for _, c := range []struct{ runs, each, p int }{{10, 200, 256}, {10, 2000, 512}, {40, 500, 512}} {
		b.Run(fmt.Sprintf("n=%d/p=%d/runs=%d", c.runs*c.each, c.p, c.runs), func(b *testing.B) {
			s := oats(b, oatline.Settings{Seed: 1, Channels: c.p}, c.runs, c.each)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Tracks(s, Options{Steps: snvDerivative, K: 6, Each: atOnce}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// Two runs of more spectra than one run needs are told what there is too little of.
func TestTooFewToHoldOut(t *testing.T) {
	for _, c := range []struct {
		runs []int
		want string
	}{
		{[]int{12}, "12 known-good spectra of one run are too few to hold any out; 13 are needed, or three runs"},
		{[]int{7, 7}, "14 known-good spectra of 2 runs are too few to hold any out; 15 are needed, or three runs"},
	} {
		n := 0
		var s Set
		for _, r := range c.runs {
			s.Runs = append(s.Runs, Range{From: n, To: n + r})
			n += r
		}
		s.X = mat.NewDense(n, 2, nil)
		if _, _, err := s.plan(); err == nil || err.Error() != c.want {
			t.Errorf("runs of %v: %v, want %s", c.runs, err, c.want)
		}
	}
}

// A run stands for the time it was produced in: without nights, long stops, and years of a wrong clock.
func TestSpan(t *testing.T) {
	const every = 10 * time.Second
	steady := func(n int) (all []time.Duration) { return slices.Repeat([]time.Duration{every}, n-1) }
	shift := steady(2880) // 8 h but for the last step
	wrong := start.Sub(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC))
	coarse := slices.Repeat(append(make([]time.Duration, 5), time.Minute), 60)
	hourly := slices.Repeat([]time.Duration{5 * time.Second, 5 * time.Second, time.Hour}, 8)
	for _, c := range []struct {
		name   string
		pauses []time.Duration
		want   time.Duration
	}{
		{"8 hours", shift, 8 * time.Hour},
		{"a stop of 25 minutes is production", slices.Concat(steady(100), []time.Duration{25 * time.Minute}, steady(100)), (198*every + 25*time.Minute) * 200 / 199},
		{"two shifts and the night between", slices.Concat(shift, []time.Duration{16 * time.Hour}, shift), 16 * time.Hour},
		{"one spectrum of a wrong clock", slices.Concat([]time.Duration{wrong}, steady(240)), 241 * every},
		{"the same in a run of three", []time.Duration{wrong, every}, 3 * every},
		{"the same in a run of two", []time.Duration{wrong}, 0},
		{"one a night", slices.Repeat([]time.Duration{24 * time.Hour}, 4), 5 * 24 * time.Hour},
		{"three at once, each hour", hourly, 8 * (time.Hour + every) * 25 / 24},
		{"three at once, each hour, of a wrong clock", slices.Concat([]time.Duration{wrong}, hourly), (8*(time.Hour+every) + 5*time.Second) * 26 / 25},
		{"three at once, each hour, with a night", slices.Concat(hourly, []time.Duration{16 * time.Hour}, hourly), (16*(time.Hour+every) + 5*time.Second) * 50 / 49},
		{"one an hour", slices.Repeat([]time.Duration{time.Hour}, 2), 3 * time.Hour},
		{"six a minute, by whole minutes, with a night", slices.Concat(coarse, []time.Duration{16 * time.Hour}, coarse), 121 * time.Minute * 722 / 721},
	} {
		s := Set{Times: []time.Time{start}}
		for _, p := range c.pauses {
			s.Times = append(s.Times, s.Times[len(s.Times)-1].Add(p))
		}
		if got := s.span(Range{To: len(s.Times)}); (got - c.want).Abs() > time.Second {
			t.Errorf("%s: span = %v, want %v", c.name, got, c.want)
		}
	}
}
