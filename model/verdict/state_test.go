package verdict

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"asusual/model/limits"
)

const every = 30 * time.Second

var start = time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)

// learned returns limits from twelve good runs of independent spectra, two scores and log Q, offsets of half the spread.
func learned(tb testing.TB) *limits.Limits {
	tb.Helper()
	rng := rand.New(rand.NewPCG(1, 1))
	var tracks []limits.Track
	for i := range 12 {
		tr := limits.Track{Run: fmt.Sprint(i)}
		a, b := 0.5*rng.NormFloat64(), 0.5*rng.NormFloat64()
		for j := range 240 {
			t := []float64{a + rng.NormFloat64(), b + rng.NormFloat64()}
			tr.Points = append(tr.Points, limits.Point{
				Time: start.Add(time.Duration(i-20)*24*time.Hour + time.Duration(j)*every),
				T:    t, T2: t[0]*t[0] + t[1]*t[1], Q: 100 + 10*rng.NormFloat64(),
			})
		}
		tracks = append(tracks, tr)
	}
	l, err := limits.Learn(tracks, nil, limits.Options{})
	if err != nil {
		tb.Fatal(err)
	}
	return l
}

// A day makes observations one after another.
type day struct {
	rng *rand.Rand
	l   *limits.Limits
	now time.Time
}

func newDay(l *limits.Limits, seed uint64) *day {
	return &day{rand.New(rand.NewPCG(seed, 2)), l, start}
}

// spectrum returns the next one, moved from usual by that many spreads in the first score.
func (d *day) spectrum(move float64) Observation {
	d.now = d.now.Add(every)
	f := make([]float64, d.l.Len())
	d.l.Features(f, []float64{move + d.rng.NormFloat64(), d.rng.NormFloat64()}, 100+10*d.rng.NormFloat64(), nil)
	return Observation{Time: d.now, Features: f, Distance: max(move/3, 0.5)}
}

func (d *day) in(condition string) Observation {
	d.now = d.now.Add(every)
	return Observation{Time: d.now, Condition: condition}
}

func TestStep(t *testing.T) {
	l := learned(t)
	d := newDay(l, 3)
	var s State
	var opened, closed *Episode
	var changed time.Time
	for i := range 900 {
		move := 0.0
		if i >= 300 && i < 500 {
			move = 3
		}
		o := d.spectrum(move)
		if i == 300 {
			changed = o.Time
		}
		step := s.Add(l, o)
		switch {
		case i+1 < l.Warm && step.Verdict != CannotSay:
			t.Errorf("spectrum %d: %v, want cannot say: %d spectra are needed", i+1, step.Verdict, l.Warm)
		case i+1 >= l.Warm && i < 300 && step.Verdict != AsUsual:
			t.Errorf("spectrum %d: %v, want as usual", i+1, step.Verdict)
		case i >= 320 && i < 500 && step.Verdict != Changed:
			t.Errorf("spectrum %d: %v, want the process has changed", i+1, step.Verdict)
		}
		if step.Opened != nil {
			if opened != nil {
				t.Errorf("spectrum %d opened a second episode", i+1)
			}
			opened = step.Opened
			if !step.Since.Equal(opened.From) {
				t.Errorf("changed since %v, want the episode's beginning %v", step.Since, opened.From)
			}
		}
		if step.Closed != nil {
			closed = step.Closed
		}
	}
	if opened == nil || closed == nil {
		t.Fatalf("episode opened %v, closed %v, want both", opened, closed)
	}
	if late := opened.From.Sub(changed); late < 0 || late > 15*every {
		t.Errorf("episode from %v after the change, want within 15 spectra", late)
	}
	if off := opened.ChangedSince.Sub(changed).Abs(); off > 6*every {
		t.Errorf("changed since %v, off by %v, want within 6 spectra of %v", opened.ChangedSince, off, changed)
	}
	if closed.Peak <= 1 || closed.Farthest != 1 || closed.Spectra < 180 {
		t.Errorf("closed episode %+v: want a peak above 1, the farthest distance 1, at least 180 spectra", closed)
	}
	// the slow memory needs its time to forget, but not more than a few spans
	if end := changed.Add(200 * every); closed.To.Before(end.Add(-every)) || closed.To.After(end.Add(250*every)) {
		t.Errorf("episode until %v, want soon after %v", closed.To, end)
	}
	if s.Verdict != AsUsual {
		t.Errorf("after the return: %v, want as usual", s.Verdict)
	}
}

// TestStrays: single and paired spectra far away are no episode, wherever they fall.
func TestStrays(t *testing.T) {
	l := learned(t)
	for _, size := range []float64{5, 20, 1e4} {
		for _, pair := range []int{1, 2} {
			d := newDay(l, 4)
			var s State
			for i := range 600 {
				move := 0.0
				if i > 0 && i%100 < pair {
					move = size
				}
				if step := s.Add(l, d.spectrum(move)); step.Verdict == Changed {
					t.Fatalf("size %g, %d in a row: spectrum %d: the process has changed, want a stray to be no change", size, pair, i+1)
				}
			}
		}
	}
}

// TestKinds: each kind of change is seen, and its beginning estimated.
func TestKinds(t *testing.T) {
	l := learned(t)
	tests := []struct {
		name    string
		move    func(i int) float64 // i spectra after the change
		quality float64             // Q multiplied
		within  int
		since   int
	}{
		{"a large step", func(int) float64 { return 8 }, 1, 6, 3},
		{"a step", func(int) float64 { return 2 }, 1, 40, 15},
		{"a small step", func(int) float64 { return 1 }, 1, 150, 90},
		{"a drift", func(i int) float64 { return float64(i) * 0.02 }, 1, 160, 90},
		{"more noise", func(int) float64 { return 0 }, 1.3, 12, 6},
	}
	for _, tt := range tests {
		const runs, at = 15, 200
		seen, near := 0, 0
		for seed := range uint64(runs) {
			d := newDay(l, seed+50)
			var s State
			for i := range at + tt.within {
				move, q := 0.0, 1.0
				if i >= at {
					move, q = tt.move(i-at), tt.quality
				}
				o := d.spectrum(move)
				if q != 1 {
					l.Features(o.Features, []float64{d.rng.NormFloat64(), d.rng.NormFloat64()}, q*(100+10*d.rng.NormFloat64()), nil)
				}
				if step := s.Add(l, o); step.Opened != nil {
					if i >= at {
						seen++
					}
					truth := start.Add(every * (at + 1))
					if off := step.Opened.ChangedSince.Sub(truth).Abs(); off <= time.Duration(tt.since)*every {
						near++
					}
					break
				}
			}
		}
		if seen < 13 {
			t.Errorf("%s: seen within %d spectra in %d of %d runs, want at least 13", tt.name, tt.within, seen, runs)
		}
		if near < 10 {
			t.Errorf("%s: beginning within %d spectra of the truth in %d of %d runs, want at least 10", tt.name, tt.since, near, runs)
		}
	}
}

// TestWrongFromStart: a run that is off from its first spectrum is an episode from its first spectra on.
func TestWrongFromStart(t *testing.T) {
	l := learned(t)
	d := newDay(l, 9)
	var s State
	for i := range 60 {
		if step := s.Add(l, d.spectrum(8)); step.Opened != nil {
			if i+1 < l.Warm {
				t.Errorf("episode at spectrum %d, before the %d that are needed", i+1, l.Warm)
			}
			if got, want := step.Opened.ChangedSince, start.Add(every); got.Sub(want) > 3*every {
				t.Errorf("changed since %v, want one of the first spectra, %v", got, want)
			}
			return
		}
	}
	t.Error("a run 8 spreads away gave no episode in 60 spectra")
}

func TestNamedConditionsAreNoChange(t *testing.T) {
	l := learned(t)
	d := newDay(l, 5)
	var s State
	for range 100 {
		s.Add(l, d.spectrum(0))
	}
	before, run := slices.Clone(s.Recall.Share), s.Run
	for i := range int(l.Gap/every) - 1 {
		step := s.Add(l, d.in("rinse"))
		if step.Verdict != AsUsual || !step.Named {
			t.Fatalf("rinse spectrum %d: %+v, want as usual and named", i+1, step)
		}
	}
	if !slices.Equal(s.Recall.Share, before) || s.Run != run {
		t.Errorf("a short rinse changed the memories from %v to %v", before, s.Recall.Share)
	}
	s.Add(l, d.spectrum(0))
	if s.Run != run+1 {
		t.Errorf("run of %d spectra after a short rinse, want it to go on to %d", s.Run, run+1)
	}
	for range int(l.Gap/every) + 2 {
		s.Add(l, d.in("rinse"))
	}
	if s.Verdict != CannotSay || s.Run != 0 {
		t.Errorf("after a rinse longer than the gap: %v, run of %d, want cannot say and a new run", s.Verdict, s.Run)
	}
}

func TestUnfitCannotSay(t *testing.T) {
	l := learned(t)
	d := newDay(l, 6)
	var s State
	for range 50 {
		s.Add(l, d.spectrum(0))
	}
	if step := s.Add(l, d.in(Unfit)); step.Verdict != AsUsual {
		t.Errorf("one unfit spectrum: %v, want as usual", step.Verdict)
	}
	for range 9 {
		s.Add(l, d.in(Unfit))
	}
	if s.Verdict != CannotSay {
		t.Errorf("ten unfit spectra in a row: %v, want cannot say", s.Verdict)
	}
	for range 20 {
		s.Add(l, d.spectrum(0))
	}
	if s.Verdict != AsUsual {
		t.Errorf("20 good spectra later: %v, want as usual", s.Verdict)
	}
}

// TestPauseEndsEpisode: what comes after a pause is a new run, and has to be seen anew.
func TestPauseEndsEpisode(t *testing.T) {
	l := learned(t)
	d := newDay(l, 7)
	var s State
	for range 100 {
		s.Add(l, d.spectrum(6))
	}
	if s.Verdict != Changed {
		t.Fatalf("100 spectra 6 away: %v", s.Verdict)
	}
	last := d.now
	for range ReturnDelay - 1 {
		s.Add(l, d.spectrum(0))
	}
	if e := s.SoFar(); s.back() == 0 || e == nil || e.Spectra != int(e.To.Sub(e.From)/every)+1 {
		t.Errorf("%d spectra before the return counts, the open episode is %+v, want as many spectra as there are from its first to its last", s.back(), e)
	}
	back := s.back()
	d.now = d.now.Add(l.Gap)
	step := s.Add(l, d.spectrum(0))
	if e := step.Closed; e == nil || !e.To.Equal(last.Add(time.Duration(ReturnDelay-1-back)*every)) || e.Spectra != int(e.To.Sub(e.From)/every)+1 {
		t.Errorf("first spectrum after the pause closed %+v, want the episode until %d spectra before the pause", e, back)
	}
	if step.Verdict != CannotSay || s.Run != 1 {
		t.Errorf("first spectrum after the pause: %v, run of %d, want cannot say, 1", step.Verdict, s.Run)
	}
}

// TestNoTimes: spectra without times are judged by count.
func TestNoTimes(t *testing.T) {
	l := learned(t)
	l.Gap, l.Every = 0, 0
	d := newDay(l, 8)
	var s State
	timeless := func(o Observation) Observation { o.Time = time.Time{}; return o }
	for range 100 {
		s.Add(l, timeless(d.spectrum(0)))
	}
	if s.Verdict != AsUsual {
		t.Errorf("100 good spectra without times: %v, want as usual", s.Verdict)
	}
	for range 40 {
		s.Add(l, timeless(d.spectrum(4)))
	}
	if s.Verdict != Changed {
		t.Errorf("40 spectra 4 away without times: %v, want the process has changed", s.Verdict)
	}
	for range missedMost + 1 {
		s.Add(l, timeless(d.in("rinse")))
	}
	if s.Run != 0 || s.Open != nil {
		t.Errorf("a long rinse without times left a run of %d, episode %v; want both gone", s.Run, s.Open)
	}
}

// mixture returns a long sequence with all that can happen.
func mixture(l *limits.Limits, seed uint64) []Observation {
	d := newDay(l, seed)
	var out []Observation
	for len(out) < 700 {
		move := []float64{0, 0, 0, 1, 6}[d.rng.IntN(5)]
		for range 10 + d.rng.IntN(60) {
			out = append(out, d.spectrum(move))
		}
		switch d.rng.IntN(6) {
		case 0:
			d.now = d.now.Add(2 * l.Gap)
		case 1:
			for range d.rng.IntN(20) {
				out = append(out, d.in("rinse"))
			}
		case 2:
			for range d.rng.IntN(15) {
				out = append(out, d.in(Unfit))
			}
		}
	}
	return out
}

// TestRestart: a state written and read back at any place goes on with exactly the same steps.
func TestRestart(t *testing.T) {
	l := learned(t)
	for seed := range uint64(3) {
		all := mixture(l, seed)
		var want []Step
		var s State
		for _, o := range all {
			want = append(want, s.Add(l, o))
		}
		for _, every := range []int{1, 7, 100} {
			if every == 1 && seed > 0 {
				continue
			}
			var s State
			for i, o := range all {
				if i%every == 0 {
					data, err := json.Marshal(&s)
					if err != nil {
						t.Fatal(err)
					}
					s = State{}
					if err := json.Unmarshal(data, &s); err != nil {
						t.Fatal(err)
					}
				}
				if got := s.Add(l, o); !reflect.DeepEqual(got, want[i]) {
					t.Fatalf("seed %d, restart every %d: step %d = %+v, want %+v", seed, every, i, got, want[i])
				}
			}
		}
	}
}

// TestEpisodesAreWhole: episodes open before they close, do not overlap, and their times are in order.
func TestEpisodesAreWhole(t *testing.T) {
	l := learned(t)
	for seed := range uint64(6) {
		var s State
		var open *Episode
		var last time.Time
		n := 0
		for i, o := range mixture(l, seed+20) {
			step := s.Add(l, o)
			if e := step.Closed; e != nil {
				if open == nil || !e.From.Equal(open.From) || e.To.Before(e.From) || e.Spectra < 1 {
					t.Fatalf("seed %d, step %d closed %+v after %+v", seed, i, e, open)
				}
				open, last = nil, e.To
				n++
			}
			if e := step.Opened; e != nil {
				if open != nil || e.From.Before(last) || e.ChangedSince.After(e.From) || e.From.After(o.Time) {
					t.Fatalf("seed %d, step %d opened %+v, last one until %v", seed, i, e, last)
				}
				open = e
			}
			if (step.Verdict == Changed) && s.Open == nil {
				t.Fatalf("seed %d, step %d: changed without an episode", seed, i)
			}
		}
		if n == 0 {
			t.Errorf("seed %d: no episode closed; the sequence tests nothing", seed)
		}
	}
}

func TestAddDoesNotAllocate(t *testing.T) {
	l := learned(t)
	d := newDay(l, 1)
	var s State
	o := d.spectrum(0)
	for range 5000 {
		s.Add(l, o)
	}
	if n := testing.AllocsPerRun(1000, func() { s.Add(l, o) }); n > 0.01 {
		t.Errorf("Add allocates %v times, want 0", n)
	}
}

func BenchmarkAdd(b *testing.B) {
	l := learned(b)
	d := newDay(l, 1)
	var s State
	o := make([]Observation, 256)
	for i := range o {
		o[i] = d.spectrum(0)
	}
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		s.Add(l, o[i%256])
		i++
	}
}

// TestLargeChangeIsToldWithTheThird: a change that no stray explains is told as soon as it stood for OnDelay spectra, and the
// episode begins with the first of them.
func TestLargeChangeIsToldWithTheThird(t *testing.T) {
	l := learned(t)
	for _, size := range []float64{15, 1e3, 1e6} {
		for seed := range uint64(8) {
			d := newDay(l, 400+seed)
			var s State
			var first time.Time
			const from = 200
			for i := range from + OnDelay {
				move := 0.0
				if i >= from {
					move = size
				}
				o := d.spectrum(move)
				if i == from {
					first = o.Time
				}
				step := s.Add(l, o)
				if told := i == from+OnDelay-1; told != (step.Opened != nil) {
					t.Fatalf("size %g, seed %d: spectrum %d after the change: told %v, want %v", size, seed, i-from+1, step.Opened != nil, told)
				}
				if step.Opened != nil && (!step.Opened.From.Equal(first) || step.Opened.Spectra != OnDelay) {
					t.Errorf("size %g, seed %d: the episode began at %v with %d spectra, want %v and %d", size, seed, step.Opened.From, step.Opened.Spectra, first, OnDelay)
				}
			}
		}
	}
}

// Spectra so slow that pauses end every run before it can tell are told as such from the third time on, and no more once a run can tell;
// runs that something else ended, and stops of a line, are not.
func TestTooSlow(t *testing.T) {
	l := learned(t)
	d, s := newDay(l, 1), State{}
	feed := func(n int, pause time.Duration, condition string) {
		for range n {
			d.now = d.now.Add(pause - every)
			o := d.spectrum(0)
			o.Condition = condition
			s.Add(l, o)
		}
	}
	slow := func() bool { _, ok := s.TooSlow(); return ok }
	feed(l.Warm, every, "")
	for range 5 {
		feed(1, 2*l.Gap, "rinse")
		feed(1, every, "")
	}
	if slow() {
		t.Error("runs that a rinse ended are told as too slow")
	}
	feed(2, 2*l.Gap, "")
	if slow() {
		t.Error("two pauses are told as too slow")
	}
	feed(1, 3*l.Gap, "")
	if pause, ok := s.TooSlow(); !ok || pause != 3*l.Gap || s.Verdict != CannotSay {
		t.Errorf("after three pauses TooSlow = %v, %v, the verdict is %v; want %v, true, cannot say", pause, ok, s.Verdict, 3*l.Gap)
	}
	feed(l.Warm, every, "")
	if slow() {
		t.Error("a run that can tell is told as too slow")
	}
}

// TestTooSlowIsAPace: a pace beyond the gap leaves runs of one spectrum, or of two where it wavers. A line that stops again and again
// before a run can tell does not come slowly, however few spectra lie between its stops.
func TestTooSlowIsAPace(t *testing.T) {
	l := learned(t)
	for n, want := range map[int]bool{1: true, 2: true, 3: false, 7: false} {
		d, s := newDay(l, 1), State{}
		for range 5 {
			for range n {
				s.Add(l, d.spectrum(0))
			}
			d.now = d.now.Add(2 * l.Gap)
		}
		if _, ok := s.TooSlow(); ok != want {
			t.Errorf("runs of %d spectra with pauses of %v between them: told as too slow %v, want %v", n, 2*l.Gap, ok, want)
		}
	}
}
