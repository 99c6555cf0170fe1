package limits

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gonum.org/v1/gonum/floats/scalar"
)

// TestCorrelation: neighbours of correlation φ are worth (1−φ)/(1+φ) independent ones each, in long blocks (Priestley,
// Spectral Analysis and Time Series, Academic Press 1981, section 5.3: variance of the mean of a stationary series).
func TestCorrelation(t *testing.T) {
	for _, phi := range []float64{0, 0.5, 0.8} {
		tracks := line{runs: 12, length: 800, k: 4, phi: phi, between: 3}.tracks(7)
		l := &Limits{Gap: time.Hour}
		l.scale(tracks)
		got := l.stream(tracks, nil).correlation()
		// four scores with φ, and log Q, which is white and weighs by its variance within runs
		scores := 4 / (1 + 9.0) // their share of the spread lies within runs
		want := (scores*(1+phi)/(1-phi) + 1) / (scores + 1)
		if !scalar.EqualWithinRel(got, want, 0.2) {
			t.Errorf("φ %v: neighbours worth one: %.2f, want about %.2f", phi, got, want)
		}
	}
}

// TestWitnesses: squares of m independent normal values a run are worth m witnesses; a run's offset is worth one.
func TestWitnesses(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 3))
	for _, m := range []int{1, 5, 40} {
		mean := 0.0
		const repeats = 60
		for range repeats {
			sc := scatter{d: 3}
			for range 12 {
				moment := make([]float64, 9)
				for range m {
					addOuter(moment, 1/float64(m), []float64{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()})
				}
				sc.runs = append(sc.runs, moment)
			}
			sc.sum()
			mean += sc.witnesses() / repeats
		}
		if lo, hi := 12*float64(m)*0.9, 12*float64(m)*1.6; mean < lo || mean > hi {
			t.Errorf("12 runs of %d independent spectra are worth %.1f, want between %.1f and %.1f", m, mean, lo, hi)
		}
	}
	still := scatter{d: 1, runs: [][]float64{{0}, {0}, {0}}}
	still.sum()
	if got := still.witnesses(); math.IsNaN(got) || got < 3 {
		t.Errorf("runs without any spread are worth %v, want a number of at least 3", got)
	}
}

// TestMix compares the variance of the difference between a memory and the run's own mean with its weights written out.
func TestMix(t *testing.T) {
	const r, base = 0.1, 1.0 / 50
	var x mix
	memory, mean := []float64{}, []float64{}
	for age := 1; age <= 200; age++ {
		a, b := max(r, 1/float64(age)), max(base, 1/float64(age))
		for i := range memory {
			memory[i] *= 1 - a
			mean[i] *= 1 - b
		}
		memory, mean = append(memory, a), append(mean, b)
		x.add(a, b)
		want := 0.0
		for i := range memory {
			want += (memory[i] - mean[i]) * (memory[i] - mean[i])
		}
		if got := x.Memory + x.Base - 2*x.Both; !scalar.EqualWithinAbs(got, want, 1e-12) {
			t.Fatalf("after %d spectra the difference has variance %v, want %v", age, got, want)
		}
		if age <= 10 && want > 1e-15 {
			t.Errorf("after %d spectra, memory and mean differ by %v, want not at all", age, want)
		}
	}
	if got, floor := x.scale(r), 1/math.Sqrt(youngMix*r/(2-r)); got >= floor {
		t.Errorf("an old run's difference is scaled by %v, want less than a young one's, %v", got, floor)
	}
}

// TestPathIsStep: what thresholds are learned from is exactly what a watch will see: on spectra that nobody draws in,
// the answers along the learning path are those of Step.
func TestPathIsStep(t *testing.T) {
	tracks := small.tracks(3)
	l := learn(t, tracks, Options{})
	for i := range l.Questions {
		l.Questions[i].Threshold *= 1e3 // far enough for nothing to be drawn in, nor any mean to be held
	}
	sorted, err := ordered(tracks)
	if err != nil {
		t.Fatal(err)
	}
	s := l.stream(sorted, nil)
	for i := range l.Leaps {
		l.Leaps[i].Threshold *= 1e3
	}
	want := make([][]float64, len(l.Questions)+len(l.Leaps))
	for i := range l.Questions {
		q := &l.Questions[i]
		d := q.To - q.From
		z := q.path(s)
		for j := range s.of {
			want[i] = append(want[i], q.White.length(z[j*d:(j+1)*d])/q.Threshold)
		}
	}
	for i := range l.Leaps {
		q := &l.Leaps[i]
		var r Leaping
		for j := range s.of {
			if s.starts[j] {
				r.reset()
			}
			q.step(&r, s.row(j))
			v, _ := q.largest(&r, nil)
			want[len(l.Questions)+i] = append(want[len(l.Questions)+i], math.Sqrt(v)/q.Threshold)
		}
	}
	m := l.Memories()
	for j := range s.of {
		if s.starts[j] {
			m.Reset()
		}
		m.Add(s.row(j))
		for i, got := range m.Shares() {
			if !scalar.EqualWithinAbsOrRel(got, want[i][j], 1e-12, 1e-9) {
				t.Fatalf("spectrum %d, question %d: Step answers %v, the path %v", j, i, got, want[i][j])
			}
		}
	}
}

// TestQuestions: every group has fast, middle and slow memories, in that order, and a leap.
func TestQuestions(t *testing.T) {
	for _, ln := range []line{small, {runs: 8, length: 3, k: 2}, {runs: 5, length: 600, k: 2, phi: 0.9}} {
		l := learn(t, ln.tracks(1), Options{})
		for i, q := range l.Questions {
			if q.Moved || (q.From == 0) != (i < memories) {
				t.Errorf("%+v: question %d is %+v, out of its place", ln, i, q)
			}
			if i%memories > 0 && q.R > l.Questions[i-1].R {
				t.Errorf("%+v: question %d forgets faster (r %v) than the one before (%v)", ln, i, q.R, l.Questions[i-1].R)
			}
			if d := q.To - q.From; len(q.White) != d*(d+1)/2 {
				t.Errorf("%+v: question %d about %d features holds %d numbers", ln, i, d, len(q.White))
			}
		}
		if len(l.Leaps) != 2 || l.Leaps[0].To != ln.k || l.Leaps[1].From != ln.k {
			t.Errorf("%+v: leaps %+v, want one of the scores and one of log Q", ln, l.Leaps)
		}
		if l.Base > l.Questions[memories-1].R {
			t.Errorf("%+v: the run's own mean forgets faster (%v) than the slow memory (%v)", ln, l.Base, l.Questions[memories-1].R)
		}
		if l.Warm < 1 || l.Warm > 10 {
			t.Errorf("%+v: %d spectra before a run is judged", ln, l.Warm)
		}
	}
}

// TestDirection: along a feature that moved alone.
func TestDirection(t *testing.T) {
	l := learn(t, small.tracks(2), Options{})
	for c := range l.Len() {
		var r Recall
		f := make([]float64, l.Len())
		for range 60 {
			l.Step(&r, f)
		}
		f[c] = 5
		for range 30 {
			l.Step(&r, f)
		}
		dir, spread := l.Direction(&r)
		norm := 0.0
		for i, v := range dir {
			norm += v * v
			if math.Abs(v) > math.Abs(dir[c])+1e-12 {
				t.Errorf("feature %d moved; the direction is %v, more along %d", c, dir, i)
			}
		}
		if !scalar.EqualWithinRel(norm, 1, 1e-9) || dir[c] <= 0 || !(spread > 0) {
			t.Errorf("feature %d moved up; direction %v of squared length %v, spread %v", c, dir, norm, spread)
		}
	}
	var fresh Recall
	if dir, spread := l.Direction(&fresh); len(dir) != l.Len() || spread != 1 {
		t.Errorf("direction of a recall that saw nothing = %v, %v", dir, spread)
	}
}

// TestSeesSmallChanges: a shift of one spread within a run, which no single spectrum shows, is seen in most runs although
// runs differ by twice as much.
func TestSeesSmallChanges(t *testing.T) {
	ln := line{runs: 12, length: 400, k: 3, between: 2}
	l := learn(t, ln.tracks(5), Options{})
	rng := rand.New(rand.NewPCG(5, 5))
	seen := 0
	for i := range 20 {
		tr := ln.track(rng, i)
		m, f := l.Memories(), make([]float64, l.Len())
		for j, p := range tr.Points {
			if j >= 150 {
				p.T[1]++
			}
			l.Features(f, p.T, p.Q, p.Parts)
			if m.Add(f) > 1 && j >= 150 && j < 270 {
				seen++
				break
			}
		}
	}
	if seen < 17 {
		t.Errorf("a shift of one spread was seen within 120 spectra in %d of 20 runs, want at least 17", seen)
	}
}

func TestFeatures(t *testing.T) {
	l := &Limits{Center: []float64{0, 2, math.Log(10)}, Scale: []float64{2, 1, 0.5}, Clip: 8, FloorQ: 1e-6}
	f := make([]float64, 3)
	l.Features(f, []float64{3, 1}, 10*math.E, nil)
	for i, want := range []float64{1.5, -1, 2} {
		if !scalar.EqualWithinAbs(f[i], want, 1e-12) {
			t.Errorf("feature %d = %v, want %v", i, f[i], want)
		}
	}
	l.Features(f, []float64{1e9, -1e9}, 0, nil)
	for i, want := range []float64{8, -8, -8} {
		if f[i] != want {
			t.Errorf("feature %d far away = %v, want it clipped to %v", i, f[i], want)
		}
	}
	if n := testing.AllocsPerRun(100, func() { l.Features(f, f[:2], 3, nil) }); n != 0 {
		t.Errorf("Features allocates %v times, want 0", n)
	}
}
