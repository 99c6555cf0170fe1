package limits

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/stat/distuv"

	"asusual/model/finding"
)

func learn(t *testing.T, tracks []Track, opt Options) *Limits {
	t.Helper()
	l, err := Learn(tracks, nil, opt)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func same(t *testing.T, what string, a, b *Limits, tol float64) {
	t.Helper()
	near := func(name string, x, y float64) {
		t.Helper()
		if !scalar.EqualWithinRel(x, y, tol) {
			t.Errorf("%s: %s = %v, want %v", what, name, y, x)
		}
	}
	near("T² limit", a.T2, b.T2)
	near("Q limit", a.Q, b.Q)
	for i := range a.Questions {
		near("threshold", a.Questions[i].Threshold, b.Questions[i].Threshold)
	}
	if len(a.Leaps) != len(b.Leaps) || len(a.Leaps) == 0 {
		t.Errorf("%s: %d leaps, want %d, and some", what, len(b.Leaps), len(a.Leaps))
		return
	}
	for i := range a.Leaps {
		near("threshold of a leap", a.Leaps[i].Threshold, b.Leaps[i].Threshold)
		near("border of a stray", a.Leaps[i].Stray, b.Leaps[i].Stray)
	}
}

var small = line{runs: 9, length: 120, k: 3, phi: 0.6, between: 1}

func TestLearnLaws(t *testing.T) {
	t.Parallel()
	tracks := small.tracks(5)
	l := learn(t, tracks, Options{})

	shuffled := slices.Clone(tracks)
	rand.New(rand.NewPCG(1, 1)).Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
	same(t, "runs in another order", l, learn(t, shuffled, Options{}), 0)

	turned := small.tracks(5)
	for _, tr := range turned {
		for i := range tr.Points {
			p := &tr.Points[i]
			p.T[0], p.T[1] = -p.T[0], 1000*p.T[1]
			p.T2, p.Q = 4*p.T2, 1e-6*p.Q
		}
	}
	m := learn(t, turned, Options{})
	m.T2, m.Q = m.T2/4, m.Q/1e-6
	same(t, "a score flipped, another scaled, Q and T² in other units", l, m, 1e-9)
}

func TestThresholdIsMonotoneInPromise(t *testing.T) {
	t.Parallel()
	tracks := small.tracks(6)
	var last *Limits
	for _, p := range []string{"20 per day", "1 per day", "1 per week", "1 per 30 days", "1 per year", "1 per 20 years"} {
		promise, err := ParsePromise(p)
		if err != nil {
			t.Fatal(err)
		}
		l := learn(t, tracks, Options{Promise: promise})
		if last != nil {
			for i, q := range l.Questions {
				if was := last.Questions[i].Threshold; q.Threshold < was {
					t.Errorf("question %d: threshold %v under %s, %v under %s, want it no lower", i, q.Threshold, p, was, last.Promise)
				}
			}
		}
		last = l
	}
	strict := learn(t, tracks, Options{Alpha: 0.001})
	if last.T2 >= strict.T2 || last.Q >= strict.Q {
		t.Errorf("limits T² %v, Q %v at 0.1 %%, %v and %v at 1 %%: want them wider", strict.T2, strict.Q, last.T2, last.Q)
	}
}

// TestFewerRunsAreWider: on average over lines, for what runs are witnesses of.
func TestFewerRunsAreWider(t *testing.T) {
	t.Parallel()
	mean := func(runs int) (border, threshold float64) {
		for seed := range uint64(4) {
			l := learn(t, line{runs: runs, length: 60, k: 3, phi: 0.3, between: 2}.tracks(seed), Options{})
			border += math.Sqrt(l.T2)
			threshold += l.Questions[memories-1].Threshold
		}
		return border / 4, threshold / 4
	}
	fewB, fewT := mean(5)
	manyB, manyT := mean(25)
	if fewB < 1.05*manyB || fewT < 1.2*manyT {
		t.Errorf("5 runs: √T² limit %.2f, threshold %.2f; 25 runs: %.2f, %.2f; want the former clearly wider", fewB, fewT, manyB, manyT)
	}
}

// TestBordersKnown: independent spectra of one population, where the limits have closed forms: T² is χ² with k degrees of
// freedom, Q close to normal, and half of 1 % outside each is what their union needs.
func TestBordersKnown(t *testing.T) {
	l := learn(t, line{runs: 40, length: 250, k: 4}.tracks(3), Options{})
	if want := (distuv.ChiSquared{K: 4}).Quantile(1 - 0.00501); !scalar.EqualWithinRel(l.T2, want, 0.06) {
		t.Errorf("T² limit of independent spectra = %.2f, want that of χ², %.2f", l.T2, want)
	}
	if want := (distuv.Normal{Mu: 200, Sigma: 20}).Quantile(1 - 0.00501); !scalar.EqualWithinRel(l.Q, want, 0.02) {
		t.Errorf("Q limit of independent spectra = %.2f, want that of the normal distribution, %.2f", l.Q, want)
	}
}

// TestBordersHold: over many lines with few runs that differ much, about 1 % of new good spectra lie outside.
func TestBordersHold(t *testing.T) {
	t.Parallel()
	for _, ln := range []line{
		{runs: 8, length: 60, k: 3, phi: 0, between: 0},
		{runs: 8, length: 60, k: 3, phi: 0.9, between: 2},
		{runs: 20, length: 60, k: 3, phi: 0.5, between: 1},
	} {
		share := 0.0
		const lines, fresh = 15, 25
		for seed := range uint64(lines) {
			tracks := ln.tracks(seed)
			t2, q := borders(tracks, len(tracks), 0.01, float64(ln.length)*(1-ln.phi)/(1+ln.phi))
			rng := rand.New(rand.NewPCG(seed, 99))
			for i := range fresh {
				for _, p := range ln.track(rng, i).Points {
					if p.T2 > t2 || p.Q > q {
						share += 1 / float64(lines*fresh*ln.length)
					}
				}
			}
		}
		if share > 0.016 || share < 0.002 {
			t.Errorf("%+v: %.2f %% of new good spectra outside, want about 1 %%", ln, 100*share)
		}
	}
}

// TestPromiseHolds is the small sister of the trust command: crossings on new runs that last, over lines.
func TestPromiseHolds(t *testing.T) {
	t.Parallel()
	promise := Promise{1, 12 * time.Hour} // a loose one, so that few runs tell
	for _, ln := range []line{
		{runs: 8, length: 120, k: 3, phi: 0, between: 0},
		{runs: 8, length: 120, k: 3, phi: 0.8, between: 1.5},
		{runs: 16, length: 120, k: 3, phi: 0.5, between: 0.5},
	} {
		hits, hours := 0, 0.0
		for seed := range uint64(6) {
			l := learn(t, ln.tracks(seed+100), Options{Promise: promise})
			rng := rand.New(rand.NewPCG(seed, 98))
			f := make([]float64, l.Len())
			m := l.Memories()
			for i := range 30 {
				m.Reset()
				above := 0
				for _, p := range ln.track(rng, i).Points {
					l.Features(f, p.T, p.Q, p.Parts)
					if above++; m.Add(f) <= 1 {
						above = 0
					}
					if above == Sustained {
						hits++
						break
					}
				}
				hours += float64(ln.length) * every.Hours()
			}
		}
		if promised := promise.within(hours); float64(hits) > 1.3*promised || float64(hits) < 0.02*promised {
			t.Errorf("%+v: %d false episodes in %.0f hours, %.1f promised", ln, hits, hours, promised)
		}
	}
}

func TestStrayMovesLittle(t *testing.T) {
	for _, ln := range []line{{runs: 12, length: 200, k: 3}, {runs: 12, length: 200, k: 3, phi: 0.9, between: 3}} {
		l := learn(t, ln.tracks(2), Options{})
		for _, size := range []float64{5, 50, 1e6} {
			m, f := l.Memories(), make([]float64, l.Len())
			for range 100 {
				m.Add(f)
			}
			for c := range f {
				f[c] = size
			}
			if got := m.Add(f); got > 0.75 {
				t.Errorf("%+v: a stray of %g moves a memory to %.2f of its threshold, want at most 0.75", ln, size, got)
			}
			n := 1
			for m.Add(f) <= 1 && n < 50 {
				n++
			}
			if n > 5 {
				t.Errorf("%+v: spectra that stay %g away pass after %d, want at most 5", ln, size, n)
			}
		}
	}
}

func TestRecall(t *testing.T) {
	l := learn(t, small.tracks(8), Options{})
	rng := rand.New(rand.NewPCG(8, 8))
	f := make([]float64, l.Len())
	next := func() []float64 {
		for c := range f {
			f[c] = 0.5 + rng.NormFloat64()
		}
		return f
	}
	var a, b, c Recall
	for i := range 300 {
		want := l.Step(&a, next())
		switch {
		case i == 100:
			data, err := json.Marshal(&a)
			if err != nil {
				t.Fatal(err)
			}
			if err := json.Unmarshal(data, &b); err != nil {
				t.Fatal(err)
			}
			c.CopyFrom(&a)
		case i > 100:
			if got := l.Step(&b, f); got != want {
				t.Fatalf("spectrum %d: a recall read back answers %v, want %v", i, got, want)
			}
			if got := l.Step(&c, f); got != want {
				t.Fatalf("spectrum %d: a copied recall answers %v, want %v", i, got, want)
			}
		}
	}
	a.Reset()
	var fresh Recall
	if got, want := l.Step(&a, f), l.Step(&fresh, f); got != want {
		t.Errorf("first answer after Reset = %v, want that of a fresh recall, %v", got, want)
	}
	m := l.Memories()
	m.Add(next())
	if n := testing.AllocsPerRun(100, func() { m.Add(f) }); n != 0 {
		t.Errorf("Memories.Add allocates %v times, want 0", n)
	}
}

func TestLimitsThroughJSON(t *testing.T) {
	l := learn(t, small.tracks(4), Options{})
	data, err := json.Marshal(l)
	if err != nil {
		t.Fatal(err)
	}
	var back Limits
	if err := json.Unmarshal(data, &back); err != nil {
		t.Fatal(err)
	}
	same(t, "read back", l, &back, 0)
	again, err := json.Marshal(&back)
	if err != nil || string(again) != string(data) {
		t.Errorf("limits read back are written differently (%v)", err)
	}
}

func TestFindings(t *testing.T) {
	t.Parallel()
	noTimes := small.tracks(1)
	for _, tr := range noTimes {
		for i := range tr.Points {
			tr.Points[i].Time = time.Time{}
		}
	}
	joined := small.tracks(1)
	for i, tr := range joined {
		for j := range tr.Points {
			tr.Points[j].Time = start.Add(time.Duration(i*small.length+j) * every)
		}
	}
	loose := Options{Promise: Promise{1, time.Hour}}
	tests := []struct {
		name   string
		tracks []Track
		opt    Options
		want   []finding.Kind
	}{
		{"nine runs of an hour, a month promised", small.tracks(1), Options{}, []finding.Kind{finding.Extrapolated}},
		{"nine runs, an hour promised", small.tracks(1), loose, nil},
		{"five runs", small.tracks(1)[:5], loose, []finding.Kind{finding.WidenedFew}},
		{"no times", noTimes, loose, []finding.Kind{finding.NoTimes}},
		{"runs without a pause", joined, loose, []finding.Kind{finding.RunsNotTold}},
		{"nine parts of three runs", joined, Options{Promise: loose.Promise, Runs: 3}, []finding.Kind{finding.WidenedFew, finding.FewNotTold}},
	}
	for _, tt := range tests {
		l := learn(t, tt.tracks, tt.opt)
		var got []finding.Kind
		for _, f := range l.Findings {
			got = append(got, f.Kind)
			if s := f.String(); strings.Contains(s, "{") || !strings.Contains(s, " ") {
				t.Errorf("%s: finding %s has no words: %q", tt.name, f.Kind, s)
			}
		}
		if !slices.Equal(got, tt.want) {
			t.Errorf("%s: findings %v, want %v", tt.name, got, tt.want)
		}
	}
	l := learn(t, small.tracks(1), Options{})
	if want := 9.0; !scalar.EqualWithinRel(l.Hours, want, 1e-9) || !l.Extrapolated || l.Runs != 9 || l.Spectra != 9*120 {
		t.Errorf("Learn says %v hours, extrapolated %v, %d runs, %d spectra, want 9, true, 9, 1080", l.Hours, l.Extrapolated, l.Runs, l.Spectra)
	}
}

func TestGap(t *testing.T) {
	l := learn(t, small.tracks(1), Options{})
	if l.Every != every || l.Gap < 2*every || l.Gap > 6*time.Hour {
		t.Errorf("spectra every %v and an hour a day: every %v, gap %v, want the gap between the two", every, l.Every, l.Gap)
	}
}

func TestLearnRefuses(t *testing.T) {
	broken := func(f func(*Point)) []Track {
		tr := small.tracks(1)
		f(&tr[2].Points[7])
		return tr
	}
	tests := []struct {
		name   string
		tracks []Track
		eigen  []float64
		opt    Options
		want   string
	}{
		{"nothing", nil, nil, Options{}, "at least 3"},
		{"two runs", small.tracks(1)[:2], nil, Options{}, "2 runs"},
		{"a NaN", broken(func(p *Point) { p.T[1] = math.NaN() }), nil, Options{}, "run 02: spectrum 8: a score is NaN"},
		{"an infinite Q", broken(func(p *Point) { p.Q = math.Inf(1) }), nil, Options{}, "Q residual +Inf"},
		{"a negative T²", broken(func(p *Point) { p.T2 = -1 }), nil, Options{}, "T² is -1"},
		{"a score too few", broken(func(p *Point) { p.T = p.T[:2] }), nil, Options{}, "2 scores"},
		{"eigenvalues too many", small.tracks(1), make([]float64, 4), Options{}, "4 eigenvalues"},
		{"a share of 1", small.tracks(1), nil, Options{Alpha: 1}, "share outside"},
		{"a promise below zero", small.tracks(1), nil, Options{Promise: Promise{-1, time.Hour}}, "promise"},
	}
	for _, tt := range tests {
		if _, err := Learn(tt.tracks, tt.eigen, tt.opt); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: Learn says %v, want an error with %q", tt.name, err, tt.want)
		}
	}
}

// TestOddTracks: what real folders hold besides well-behaved runs.
func TestOddTracks(t *testing.T) {
	t.Parallel()
	still := small.tracks(1)
	for _, tr := range still {
		for i := range tr.Points {
			tr.Points[i].T[2], tr.Points[i].Q = 0, 0
		}
	}
	short := small.tracks(1)
	for i := range short {
		short[i].Points = short[i].Points[:3]
	}
	one := small.tracks(1)
	for i := range one {
		one[i].Points = one[i].Points[:1]
	}
	uneven := small.tracks(1)
	uneven[0].Points = uneven[0].Points[:1]
	uneven[1].Points = nil
	for name, tracks := range map[string][]Track{"a still score and no residual": still, "runs of 3": short, "runs of 1": one, "uneven runs": uneven} {
		l := learn(t, tracks, Options{})
		for i, q := range l.Questions {
			if !(q.Threshold > 0) || math.IsInf(q.Threshold, 0) {
				t.Errorf("%s: threshold %d = %v", name, i, q.Threshold)
			}
		}
		if !(l.T2 > 0) || math.IsNaN(l.Q) || l.Q < 0 {
			t.Errorf("%s: limits T² %v, Q %v", name, l.T2, l.Q)
		}
		f, m := make([]float64, l.Len()), l.Memories()
		for range 5 {
			p := tracks[2].Points[0]
			l.Features(f, p.T, p.Q, p.Parts)
			if got := m.Add(f); math.IsNaN(got) || math.IsInf(got, 0) {
				t.Errorf("%s: the memories answer %v", name, got)
			}
		}
	}
}

// TestPartsOfRunsStandWider: parts of a few runs are no witnesses of how runs differ. Said to be of fewer runs, the same tracks give
// limits that stand no closer, and the card says how few they are.
func TestPartsOfRunsStandWider(t *testing.T) {
	for seed := range uint64(6) {
		tracks := line{runs: 10, length: 100, k: 3, phi: 0.5, between: 0.5}.tracks(seed)
		last := learn(t, tracks, Options{})
		for _, runs := range []int{5, 4, 2, 1} {
			l := learn(t, tracks, Options{Runs: runs})
			if l.Runs != runs || !slices.ContainsFunc(l.Findings, func(f finding.Finding) bool { return f.Kind == finding.WidenedFew && f.Values[0] == float64(runs) }) {
				t.Errorf("of %d runs: Runs is %d and the findings %v", runs, l.Runs, l.Findings)
			}
			wider := l.T2 >= last.T2 && l.Q >= last.Q
			for i := range l.Questions {
				wider = wider && l.Questions[i].Threshold >= last.Questions[i].Threshold
			}
			if !wider {
				t.Errorf("seed %d: of %d runs limits stand at %.3g, %.3g, closer than of more runs, at %.3g, %.3g", seed, runs, l.T2, l.Q, last.T2, last.Q)
			}
			last = l
		}
		if whole := learn(t, tracks, Options{}); !(last.T2 > 1.01*whole.T2) || !(last.Questions[0].Threshold > 1.05*whole.Questions[0].Threshold) {
			t.Errorf("seed %d: of one run limits stand at %.3g and %.3g, of ten at %.3g and %.3g; want them clearly wider", seed,
				last.T2, last.Questions[0].Threshold, whole.T2, whole.Questions[0].Threshold)
		}
	}
}
