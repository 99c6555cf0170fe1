package limits

import (
	"math/rand/v2"
	"testing"
)

// lineAhead is a line whose spectra have stretches too, what was learned from it, and a moment of a further run of it.
type lineAhead struct {
	l      *Limits
	rng    *rand.Rand
	before Recall
	points []Point
}

// aheadCases are lines of which some resemble their neighbours much, and some have stretches.
var aheadCases = []struct {
	line
	parts int
}{
	{line{runs: 8, length: 120, k: 1, phi: 0.2, between: 0.5}, 0},
	{line{runs: 8, length: 400, k: 3, phi: 0.9, between: 1}, 5},
	{line{runs: 12, length: 150, k: 6, phi: 0.5, between: 2}, 12},
	{line{runs: 9, length: 900, k: 2, phi: 0.3, between: 1}, 12},
}

func learnAhead(t testing.TB, c line, parts int) *lineAhead {
	tracks := c.tracks(uint64(c.k))
	rng := rand.New(rand.NewPCG(uint64(c.k), 0x6168656164))
	for i := range tracks {
		offset := make([]float64, parts) // of the run
		for j := range offset {
			offset[j] = 0.7 * rng.NormFloat64()
		}
		for j := range tracks[i].Points {
			for _, v := range offset {
				tracks[i].Points[j].Parts = append(tracks[i].Points[j].Parts, v+rng.NormFloat64())
			}
		}
	}
	l, err := Learn(tracks, nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return &lineAhead{l: l, rng: rng}
}

// begin lets a further run come as far as a moment, and makes what comes after it.
func (a *lineAhead) begin(c line, parts, before, after int) {
	a.before.Reset()
	f := make([]float64, a.l.Len())
	c.length = before + after
	run := c.track(a.rng, 0).Points
	for i := range run {
		loud := 1.0
		if a.rng.IntN(60) == 0 {
			loud = 2 // a stray now and then, which is drawn in
		}
		for range parts {
			run[i].Parts = append(run[i].Parts, loud*a.rng.NormFloat64())
		}
	}
	for _, p := range run[:before] {
		a.l.Features(f, p.T, p.Q, p.Parts)
		a.l.Step(&a.before, f)
	}
	a.points = run[before:]
}

// after returns after how many spectra a change by size times m is seen, as Step has it; q returns their Q residual.
func (a *lineAhead) after(m Point, size float64, q func(j int) float64) int {
	var r Recall
	r.CopyFrom(&a.before)
	f, scores, parts := make([]float64, a.l.Len()), make([]float64, len(m.T)), make([]float64, len(m.Parts))
	above := 0
	for j, at := range a.points {
		for x, v := range at.T {
			scores[x] = v + size*m.T[x]
		}
		for x, v := range at.Parts {
			parts[x] = v + size*m.Parts[x]
		}
		a.l.Features(f, scores, q(j), parts)
		if above++; a.l.Step(&r, f) < 1 {
			above = 0
		}
		if above == Sustained {
			return j + 1
		}
	}
	return 0
}

// An Ahead decides as a Passing does that is given one spectrum after another, and is mostly sure.
func TestAheadIsStep(t *testing.T) {
	for _, c := range aheadCases {
		a := learnAhead(t, c.line, c.parts)
		p := a.l.Passing()
		var room Room
		seen, not, unsure, none := 0, 0, 0, 0
		for i := range 40 {
			a.begin(c.line, c.parts, 3+a.rng.IntN(c.length), 20+a.rng.IntN(180))
			ahead := p.Ahead(&a.before, a.points)
			if ahead == nil {
				none++
				continue
			}
			m := Point{T: make([]float64, c.k), Parts: make([]float64, c.parts)}
			for _, to := range [][]float64{m.T, m.Parts} {
				for j := range to {
					if i%2 == 0 && a.rng.IntN(2) == 0 || a.rng.IntN(6) == 0 {
						to[j] = a.rng.NormFloat64()
					}
				}
			}
			by, log := p.Pull(m.T, m.Parts), []float64{0, 0.1, 1, 10}[i%4]*a.rng.Float64()
			for size := 0.05; size < 1.5; size *= 1.15 {
				q := func(j int) float64 { return a.points[j].Q * (1 + log*size*size) }
				want := a.after(m, size, q)
				got, sure := ahead.Seen(by, size, q, 0, &room)
				if sure && got != want {
					t.Fatalf("%+v: moment %d, size %g: seen after %d spectra, as Step has it after %d", c, i+1, size, got, want)
				}
				from := a.rng.IntN(len(a.points))
				if got, sure := ahead.Seen(by, size, q, from, &room); sure && (got == 0) != (want == 0) || got > 0 && got < want {
					t.Fatalf("%+v: moment %d, size %g: looked at from spectrum %d on seen after %d, as Step has it after %d", c, i+1, size, from+1, got, want)
				}
				switch {
				case !sure:
					unsure++
				case want > 0:
					seen++
				default:
					not++
				}
			}
		}
		t.Logf("%+v: %d seen, %d not, %d not sure; %d moments without", c, seen, not, unsure, none)
		if seen < 100 || not < 200 || none > 5 || unsure > (seen+not)/4 {
			t.Errorf("%+v: %d seen, %d not, %d not sure; %d moments without: too few of some to compare", c, seen, not, unsure, none)
		}
	}
}

func BenchmarkAhead(b *testing.B) {
	c := aheadCases[3]
	a := learnAhead(b, c.line, c.parts)
	a.begin(c.line, c.parts, 500, 200)
	p := a.l.Passing()
	ahead := p.Ahead(&a.before, a.points)
	m := Point{T: []float64{0.1, 0.2}, Parts: make([]float64, c.parts)}
	m.Parts[3] = 0.5
	by := p.Pull(m.T, m.Parts)
	q := func(j int) float64 { return a.points[j].Q }
	var room Room
	b.ReportAllocs()
	for b.Loop() {
		if after, sure := ahead.Seen(by, 0.1, q, 0, &room); !sure || after > 0 {
			b.Fatalf("seen after %d spectra (sure: %v), want a change that is not seen", after, sure)
		}
	}
}
