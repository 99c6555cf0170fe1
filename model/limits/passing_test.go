package limits

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"
)

// A Passing decides as Step does and leaves the same behind, whatever comes: usual spectra, strays, steps, drifts, and the way back.
func TestPassingIsStep(t *testing.T) {
	for _, c := range []struct {
		line
		parts int
	}{
		{line{runs: 8, length: 120, k: 1, phi: 0.2, between: 0.5}, 0},
		{line{runs: 8, length: 200, k: 3, phi: 0.9, between: 1}, 5},
		{line{runs: 12, length: 150, k: 6, phi: 0.5, between: 2}, 12},
		{line{runs: 20, length: 60, k: 9, phi: 0, between: 0}, 0},
	} {
		tracks := c.tracks(uint64(c.k))
		rng := rand.New(rand.NewPCG(uint64(c.k), 0x70617373))
		for i := range tracks {
			for j := range tracks[i].Points {
				for range c.parts {
					tracks[i].Points[j].Parts = append(tracks[i].Points[j].Parts, rng.NormFloat64())
				}
			}
		}
		l := learn(t, tracks, Options{})
		p := l.Passing()
		passed, quiet, held := 0, 0, 0
		for range 60 {
			var plain, quick Recall
			f, by := make([]float64, l.Len()), make([]float64, l.Len())
			size, kind, from := 8*rng.Float64()*rng.Float64(), rng.IntN(4), 10+rng.IntN(60)
			for i := range by {
				by[i] = size * rng.NormFloat64()
			}
			for j := range 200 {
				for i := range f {
					f[i] = rng.NormFloat64()
					switch away := j - from; {
					case away < 0 || kind == 3 && away > 40:
					case kind == 0 && rng.IntN(10) > 0: // strays
					case kind == 1: // a drift
						f[i] += by[i] * float64(away) / 50
					default:
						f[i] += by[i]
					}
				}
				want := l.Step(&plain, f) >= 1
				if rng.IntN(25) == 0 { // now and then somebody wants to know the answer
					if got := l.Step(&quick, f); got >= 1 != want {
						t.Fatalf("k = %d, spectrum %d: the answer is %g, as Step has it it passes: %v", c.k, j+1, got, want)
					}
				} else if got := p.Step(&quick, f); got != want {
					t.Fatalf("k = %d, spectrum %d: passes %v, as Step has it %v", c.k, j+1, got, want)
				}
				if want {
					passed++
				} else {
					quiet++
				}
				if plain.Leaps[0].Held != nil {
					held++
				}
			}
			if a, b := remembered(t, plain), remembered(t, quick); a != b {
				t.Fatalf("k = %d: a Passing remembers\n%s\nStep remembers\n%s", c.k, b, a)
			}
		}
		if passed < 100 || quiet < 100 || held < 100 {
			t.Errorf("k = %d: %d passed, %d did not, %d with a leap that was followed; want more of each to compare", c.k, passed, quiet, held)
		}
	}
}

// remembered is what is remembered but for the shares, which a Passing does not keep.
func remembered(t *testing.T, r Recall) string {
	t.Helper()
	r.Share = nil
	b, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// What a Passing takes for the most that a question or a leap can answer is not below what they answer.
func TestPassingBounds(t *testing.T) {
	l := learn(t, line{runs: 9, length: 150, k: 5, phi: 0.6, between: 1}.tracks(4), Options{})
	p := l.Passing()
	rng := rand.New(rand.NewPCG(4, 4))
	for i, q := range l.Questions {
		z := make([]float64, q.To-q.From)
		largest := 0.0
		for range 3000 {
			for c := range z {
				z[c] = rng.NormFloat64()
			}
			largest = max(largest, q.White.squared(z)/squareOf(z))
		}
		if most := q.Threshold * q.Threshold / p.quiet[i]; largest > most || largest < 0.5*most {
			t.Errorf("question %d: zᵀΣ⁻¹z of unit vectors comes to %g, the bound is %g", i+1, largest, most)
		}
		if got, want := p.whole[i]/p.quiet[i], q.mostCounts()/q.Threshold; !(math.Abs(got-want*want) <= 1e-9*want*want) {
			t.Errorf("question %d: features count in full up to %g times the quiet length, want %g", i+1, math.Sqrt(got), want)
		}
	}
	q, by := &l.Leaps[0], p.leaps[0]
	var r Leaping
	for n := range 400 {
		f := make([]float64, l.Len())
		for c := range f {
			f[c] = rng.NormFloat64()
		}
		q.step(&r, f)
		for c, g := range r.gain {
			r.white[c] = g.b * r.Sum[c]
		}
		for i := range r.Marks {
			m, o := &r.Marks[i], i/perOctave
			after := r.Seen - m.At
			age := after
			if o > 0 {
				age = after>>(o-1) - ages
			}
			if m.At == 0 || m.N < leastBefore || age < 0 {
				continue
			}
			root, _ := q.bound(&r, m, after, by.gains[(o*ages+age)*len(r.gain):])
			if is := math.Sqrt(q.answer(&r, m, o)); root < is*(1-1e-9) || root > 3*is+1 {
				t.Fatalf("spectrum %d, a mark of %d before: the root of the answer is %g, its bound %g", n+1, after, is, root)
			}
		}
	}
}

func BenchmarkPassing(b *testing.B) {
	tracks := line{runs: 8, length: 300, k: 6, phi: 0.5, between: 1}.tracks(1)
	l, err := Learn(tracks, nil, Options{})
	if err != nil {
		b.Fatal(err)
	}
	p, f := l.Passing(), make([]float64, l.Len())
	var r Recall
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		at := tracks[0].Points[i%300]
		i++
		l.Features(f, at.T, at.Q, at.Parts)
		p.Step(&r, f)
	}
}
