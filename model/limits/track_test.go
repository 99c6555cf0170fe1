package limits

import (
	"slices"
	"testing"
	"time"
)

// at returns a track whose spectra lie at those seconds after the start.
func at(run string, seconds ...int) Track {
	t := Track{Run: run}
	for _, s := range seconds {
		t.Points = append(t.Points, Point{Time: start.Add(time.Duration(s) * time.Second), T: []float64{0}})
	}
	return t
}

// coarse returns n equal times for each multiple of a step, as a clock writes them that is read more often than it moves.
func coarse(from, to, step, n int) (seconds []int) {
	for s := from; s < to; s += step {
		seconds = append(seconds, slices.Repeat([]int{s}, n)...)
	}
	return seconds
}

// sets returns three times 5 s apart at each hour.
func sets(from, to int) (seconds []int) {
	for h := from; h < to; h++ {
		seconds = append(seconds, h*3600, h*3600+5, h*3600+10)
	}
	return seconds
}

func TestMeasurePace(t *testing.T) {
	tests := []struct {
		name   string
		tracks []Track
		every  time.Duration
		lo, hi time.Duration // the gap lies between
		told   bool
	}{
		{"every 10 s, an hour between runs", []Track{at("a", 0, 10, 20, 30), at("b", 3630, 3640, 3650)},
			10 * time.Second, 30 * time.Second, time.Hour, true},
		{"a pause of two minutes within, an hour between", []Track{at("a", 0, 10, 130, 140), at("b", 3740, 3750, 3760)},
			10 * time.Second, 2 * time.Minute, time.Hour, true},
		{"runs follow each other at once", []Track{at("a", 0, 10, 20), at("b", 30, 40, 50)},
			10 * time.Second, 199 * time.Second, 201 * time.Second, false},
		{"a pause within as long as that between", []Track{at("a", 0, 10, 20, 4000), at("b", 7000, 7010, 7020)},
			10 * time.Second, 199 * time.Second, 201 * time.Second, false},
		{"days between runs do not stretch the gap to days", []Track{at("a", 0, 10, 20), at("b", 864000, 864010)},
			10 * time.Second, 30 * time.Second, 10 * time.Minute, true},
		{"six a minute, on whole minutes", []Track{at("a", coarse(0, 600, 60, 6)...), at("b", coarse(86400, 87000, 60, 6)...)},
			10 * time.Second, time.Minute, time.Hour, true},
		{"four a second, on whole seconds, with a night in one run", []Track{
			at("a", slices.Concat(coarse(0, 100, 1, 4), coarse(43200, 43300, 1, 4))...), at("b", coarse(50000, 50100, 1, 4)...)},
			time.Second / 4, 4 * time.Second, 6 * time.Second, false},
		{"thirty a minute, on whole minutes, not told", []Track{at("a", coarse(0, 600, 60, 30)...), at("b", coarse(600, 1200, 60, 30)...)},
			2 * time.Second, 90 * time.Second, 3 * time.Minute, false},
		{"parts of runs of one in 2 s, and of a run of one a minute that is a fifth of them", []Track{
			at("a, part 1", coarse(0, 960, 2, 1)...), at("a, part 2", coarse(960, 1440, 2, 1)...), at("b", coarse(1440, 12000, 60, 1)...)},
			2 * time.Second, 150 * time.Second, 200 * time.Second, false},
		{"parts of a day of three an hour, 5 s apart", []Track{at("a, part 1", sets(0, 12)...), at("a, part 2", sets(12, 24)...)},
			5 * time.Second, 2 * time.Hour, 4 * time.Hour, false},
	}
	for _, tt := range tests {
		p := measurePace(tt.tracks)
		if (p.every-tt.every).Abs() > tt.every/10 || p.gap < tt.lo || p.gap > tt.hi || p.told != tt.told {
			t.Errorf("%s: every %v, gap %v, told %v; want %v, between %v and %v, %v", tt.name, p.every, p.gap, p.told, tt.every, tt.lo, tt.hi, tt.told)
		}
	}
	quick := func(from time.Duration) Track {
		tr := at("", make([]int, 100)...)
		for i := range tr.Points {
			tr.Points[i].Time = start.Add(from + time.Duration(i+i/50*2)*10*time.Millisecond)
		}
		return tr
	}
	close := func(from time.Duration) Track {
		var t Track
		for i := range 100 {
			t.Points = append(t.Points, Point{Time: start.Add(from + time.Duration(i)*600*time.Millisecond)})
		}
		return t
	}
	if p := measurePace([]Track{close(0), close(99*600*time.Millisecond + 1900*time.Millisecond)}); !p.told || p.gap < 1800*time.Millisecond || p.gap >= 1900*time.Millisecond {
		t.Errorf("0.6 s within runs and 1.9 s between: told %v, gap %v; want one from 1.8 s to below 1.9", p.told, p.gap)
	}
	if p := measurePace([]Track{quick(0), quick(time.Hour)}); !p.told || p.gap < 30*time.Millisecond || p.gap > 3*time.Second {
		t.Errorf("a hundred a second, one pause of 30 ms within, an hour between: gap %v, told %v; want between 30 ms and 3 s, true", p.gap, p.told)
	}
	timeless := Track{Points: make([]Point, 90)}
	stopped := at("a", coarse(0, 1, 1, 20)...)
	if p := measurePace([]Track{stopped}); p.every != 0 || p.gap != 0 {
		t.Errorf("20 spectra of one time: %+v, want no pace and no gap", p)
	}
	if p := measurePace([]Track{timeless}); p.every != 0 || p.gap != 0 || p.hours != 0.25 {
		t.Errorf("90 spectra without times: %+v, want no pace, no gap and a quarter of an hour", p)
	}
	spanned := at("a", 0, 10, 20)
	spanned.Span = 8 * time.Hour
	if p := measurePace([]Track{spanned, at("b", 40000, 40010)}); p.hours < 8 || p.hours > 8.01 {
		t.Errorf("a run said to span 8 hours and 20 s of another: %v hours", p.hours)
	}
}

func TestOrdered(t *testing.T) {
	got, err := ordered([]Track{at("late", 500, 510), {Run: "empty"}, at("b", 0, 10), at("a", 0, 20)})
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, tr := range got {
		names = append(names, tr.Run)
	}
	if want := []string{"a", "b", "late"}; !slices.Equal(names, want) {
		t.Errorf("ordered = %v, want %v: by first time, then by name, without empty ones", names, want)
	}
}

// TestRunsWithoutPauseGoOn: while learning, as while watching, only a pause starts a run.
func TestRunsWithoutPauseGoOn(t *testing.T) {
	joined, apart := small.tracks(1), small.tracks(1)
	for i, tr := range joined {
		for j := range tr.Points {
			tr.Points[j].Time = start.Add(time.Duration(i*small.length+j) * every)
		}
	}
	count := func(tracks []Track) (n int) {
		pace := measurePace(tracks)
		l := &Limits{Gap: pace.gap}
		l.scale(tracks)
		for _, s := range l.stream(tracks, nil).starts {
			if s {
				n++
			}
		}
		return n
	}
	if got := count(joined); got != 1 {
		t.Errorf("nine runs without a pause start %d times, want once", got)
	}
	if got := count(apart); got != 9 {
		t.Errorf("nine runs a day apart start %d times, want 9", got)
	}
}
