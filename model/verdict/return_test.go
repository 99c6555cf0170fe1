package verdict

import "testing"

// TestReturnIsSoon: a large change that is over is told to be over within a few times the return delay, although the slow
// memories still hold it; and the next one is an episode of its own.
func TestReturnIsSoon(t *testing.T) {
	l := learned(t)
	d := newDay(l, 11)
	var s State
	feed := func(n int, move float64) (opened, closed []int) {
		for i := range n {
			step := s.Add(l, d.spectrum(move))
			if step.Opened != nil {
				opened = append(opened, i)
			}
			if step.Closed != nil {
				closed = append(closed, i)
			}
		}
		return opened, closed
	}
	feed(200, 0)
	opened, _ := feed(200, 12)
	again, closed := feed(200, 0)
	if len(opened) != 1 || len(closed) != 1 || len(again) != 0 {
		t.Fatalf("a change of 200 spectra: opened at %v, closed at %v, opened again at %v; want one episode", opened, closed, again)
	}
	if closed[0] > 4*ReturnDelay {
		t.Errorf("told %d spectra after the change that it is over, want at most %d", closed[0], 4*ReturnDelay)
	}
	if opened, _ := feed(100, 12); len(opened) != 1 {
		t.Errorf("the next change opened %d episodes, want 1", len(opened))
	}
}

// TestReturnOfARunThatBeganChanged: the way back to usual is not a change of its own.
func TestReturnOfARunThatBeganChanged(t *testing.T) {
	l := learned(t)
	d := newDay(l, 12)
	var s State
	for range 200 {
		s.Add(l, d.spectrum(12))
	}
	closed := -1
	for i := range 200 {
		if step := s.Add(l, d.spectrum(0)); step.Closed != nil {
			closed = i
		}
	}
	if closed < 0 || closed > 4*ReturnDelay || s.Open != nil {
		t.Errorf("a run that began changed and came back: over after %d spectra, still open %v; want within %d", closed, s.Open != nil, 4*ReturnDelay)
	}
}

// TestNoChatter: a run that hovers around the threshold gives few episodes, not one every few minutes.
func TestNoChatter(t *testing.T) {
	l := learned(t)
	for seed := range uint64(8) {
		d := newDay(l, 300+seed)
		var s State
		n := 0
		for i := range 2000 {
			// away and back every 30 spectra, as a process does that hunts around its limit
			move := 0.0
			if i/30%2 == 1 {
				move = 3
			}
			if s.Add(l, d.spectrum(move)).Opened != nil {
				n++
			}
		}
		if n < 1 || n > 6 {
			t.Errorf("seed %d: 33 departures of 30 spectra opened %d episodes, want 1 to 6", seed, n)
		}
	}
}

// TestStreak: where the thresholds stand so wide that nothing passes them, spectra that lie outside the border one after the
// other are a change all the same, single ones are none, and it is over once they lie inside again.
func TestStreak(t *testing.T) {
	l := learned(t)
	for i := range l.Questions {
		l.Questions[i].Threshold = 1e6
	}
	var s State
	d := newDay(l, 13)
	feed := func(n int, distance float64) (opened, closed int) {
		opened, closed = -1, -1
		for i := range n {
			o := d.spectrum(0)
			o.Distance = distance
			step := s.Add(l, o)
			if step.Opened != nil {
				opened = i
				if got := step.Opened.Spectra; got < OnDelay || step.Opened.From.IsZero() {
					t.Errorf("an episode opened with %d spectra, from %v", got, step.Opened.From)
				}
			}
			if step.Closed != nil {
				closed = i
			}
		}
		return opened, closed
	}
	feed(100, 0.6)
	for range 20 {
		if opened, _ := feed(1, 3); opened >= 0 {
			t.Fatal("a stray opened an episode")
		}
		feed(5, 0.6)
	}
	if opened, _ := feed(30, 2.5); opened != 4 {
		t.Errorf("spectra well outside opened an episode at the %dth, want the 5th", opened+1)
	}
	if _, closed := feed(60, 0.6); closed < ReturnDelay || closed > 4*ReturnDelay {
		t.Errorf("over %d spectra after the last one outside, want %d to %d", closed, ReturnDelay, 4*ReturnDelay)
	}
}
