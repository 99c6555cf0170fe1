package chart

import (
	"cmp"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/plot/vg"
)

// inks returns how many pixels of a picture within a rectangle, in points from the lower left corner, have a colour.
func inks(t *testing.T, p picture, clr color.RGBA, x0, y0, x1, y1 float64) (n int) {
	t.Helper()
	b, err := p.Draw()
	if err != nil {
		t.Fatalf("Draw() = %v, want a picture", err)
	}
	m := decode(t, b)
	h := m.Bounds().Dy()
	for y := h - int(y1*dotsPerPt); y < h-int(y0*dotsPerPt); y++ {
		for x := int(x0 * dotsPerPt); x < int(x1*dotsPerPt); x++ {
			if (image.Point{X: x, Y: y}).In(m.Bounds()) && apart(m.At(x, y), clr) < 8 {
				n++
			}
		}
	}
	return n
}

// twoPeriods is a period within usual and n spectra of another a distance away along x.
func twoPeriods(n int, away float64) ScorePlot {
	c := ScorePlot{Usual: usualCloud(400, 5), Limit: &Ellipse{A: 0.071, B: 0.027}, PeriodName: "today", SecondName: "last week", Size: Half}
	r := rand.New(rand.NewPCG(7, 3))
	for range n {
		c.Period = append(c.Period, Mark{X: 0.01 * r.NormFloat64(), Y: 0.004 * r.NormFloat64()})
		c.Second = append(c.Second, Point{away + 0.01*r.NormFloat64(), 0.004 * r.NormFloat64()})
	}
	return c
}

// TestSecondPeriodFarAway: a second period that lies beyond the axes is pointed to and counted, as the first one is, and few spectra of it
// are no rings on the margin.
func TestSecondPeriodFarAway(t *testing.T) {
	for _, n := range []int{20, 200} {
		near, far := twoPeriods(n, 0.02), twoPeriods(n, 5)
		if got := inks(t, near, ink, 31, 28, 238, 241); got < 200 {
			t.Errorf("%d spectra of a second period near by are %d pixels of ink, want an outline and a name", n, got)
		}
		// On the right, where the wedge and the words stand: "last week: 200 further out".
		if got := inks(t, far, ink, 155, 100, 239, 170); got < 600 {
			t.Errorf("%d spectra of a second period far away are %d pixels of ink at the edge, want a wedge and words", n, got)
		}
		if got := inks(t, far, ink, 240, 0, 252, 262); got > 0 {
			t.Errorf("%d spectra of a second period far away leave %d pixels on the margin, want none", n, got)
		}
	}
	half := twoPeriods(200, 0.02)
	for i := range 60 { // three in ten of them far away: the others keep their outline
		half.Second[i].X = 5
	}
	without := half
	without.Second = nil
	if a, b := inks(t, half, ink, 31, 28, 200, 241), inks(t, without, ink, 31, 28, 200, 241); a < b+200 {
		t.Errorf("a second period of which three in ten lie far away adds %d pixels of ink, want its outline", a-b)
	}
}

// TestOneScore: with one score the limit is a line at either end, and the axis that says nothing bears no figures.
func TestOneScore(t *testing.T) {
	c := ScorePlot{OneScore: true, XLabel: "score t₁ (97 % of usual variation)", Limit: &Ellipse{A: 0.07}, Size: Half, First: at(6, 0), Last: at(14, 0)}
	for _, q := range usualCloud(400, 5) {
		c.Usual = append(c.Usual, Point{X: q.X})
		c.Period = append(c.Period, Mark{X: q.X / 2})
	}
	// The axis reaches over usual, its limit and 6 % more at either end; usual lies within the limit, or else this test is wrong.
	for _, q := range c.Usual {
		if math.Abs(q.X) > 0.07 {
			c.Limit.A = max(c.Limit.A, math.Abs(q.X))
		}
	}
	lo, hi := 30.0, 239.0
	for _, f := range []float64{0.06 / 1.12, 1 - 0.06/1.12} {
		x := lo + f*(hi-lo)
		if got := inks(t, c, ink, x-1, 28, x+1, 240); got < 212*dotsPerPt*2 {
			t.Errorf("near %.1f points there are %d pixels of ink, want a line of the limit", x, got)
		}
	}
	if got := inks(t, c, inkSoft, 0, 35, 29, 241); got > 0 {
		t.Errorf("left of the y axis there are %d pixels of figures, want none: there is no second score", got)
	}
}

// threeSteps names a difference by the words of three steps, which is longer than half a page is wide.
const threeSteps = "difference, keep 1100–1350 nm, then SNV, then 1st derivative (16 nm, degree 2)"

func TestFitted(t *testing.T) {
	short := labelText.fitted("absorbance", []string{"", "×10⁻³"}, 100)
	if short != "absorbance, ×10⁻³" {
		t.Errorf("a label that fits = %q, want all of it", short)
	}
	whole := float64(labelText.width(threeSteps + ", nm, ×10⁻³"))
	for room := 50.0; room < 1.2*whole; room += 7 {
		got := labelText.fitted(threeSteps, []string{"nm", "×10⁻³"}, vg.Length(room))
		if w := float64(labelText.width(got)); w > room || !strings.HasSuffix(got, ", nm, ×10⁻³") || strings.Contains(got, "…") != (room < whole) || w < min(room, whole)-12 {
			t.Errorf("in %g points = %q, %g wide; want it to fit and little room left, with its unit and power, and whole from %g on", room, got, w, whole)
		}
	}
}

// trendDays are measures of days that end at a midnight, of which the figure stands at the very edge.
func trendDays(days int, w *Words) TrendPlot {
	c := TrendPlot{From: time.Date(2026, 11, 24, 0, 0, 0, 0, time.UTC), Words: w}
	c.To = c.From.AddDate(0, 0, days)
	one := Trend{Name: "light level", Unit: "%", Ageing: 20, Unfit: 50}
	for at := c.From; at.Before(c.To); at = at.Add(6 * time.Hour) {
		one.Times, one.Values = append(one.Times, at), append(one.Values, 5)
	}
	c.Trends = []Trend{one}
	return c
}

// TestPlaces: on an axis in micrometres as on one in nanometres neighbouring places are said apart.
func TestPlaces(t *testing.T) {
	for _, tt := range []struct {
		apart float64
		want  int
	}{{1.566, 0}, {0.5, 0}, {0.25, 1}, {0.001566, 3}, {0.0035, 2}, {8, 0}, {0, 0}} {
		var a Axis
		for i := range 10 {
			a.At = append(a.At, 1+tt.apart*float64(i))
		}
		if got := a.decimals(); got != tt.want {
			t.Errorf("places on an axis with a channel every %g are said with %d decimals, want %d", tt.apart, got, tt.want)
		}
	}
	// The names of the movements of one spectrum, in µm and the same in nm a thousandth each.
	nm, um := sampleSpectrum(), micrometres()
	a, b := nm.Moved(), um.Moved()
	for i := range a {
		if d := a[i]/1000 - b[i]; math.Abs(d) > 1e-9 {
			t.Errorf("movement %d lies at %g nm and at %g µm", i, a[i], b[i])
		}
	}
}

// micrometres is a spectrum on an axis in micrometres, in German, on half a page, after three steps, with a very small difference.
func micrometres() SpectrumPlot {
	c := sampleSpectrum()
	c.Axis.Unit, c.Words, c.DiffQuantity = "µm", &German, threeSteps
	for i := range c.Axis.At {
		c.Axis.At[i] /= 1000
		c.Difference[i] /= 10
		c.Band[i] /= 10
	}
	c.Regions = nil
	return c
}

func labelsOf(ticks []tick) (all []string) {
	for _, t := range ticks {
		all = append(all, t.label)
	}
	return all
}

func TestDistanceScale(t *testing.T) {
	for _, tt := range []struct{ d, top float64 }{{0, 2}, {2, 2}, {2.01, 5}, {5, 5}, {7, 10}, {60, 100}, {101, 200}, {500, 500}, {501, 1000}, {1e4, 1e4}, {1.5e6, 1e7}} {
		if got := distanceTop(tt.d); got != tt.top {
			t.Errorf("distanceTop(%g) = %g, want %g", tt.d, got, tt.top)
		}
	}
	for _, tt := range []struct {
		top  float64
		want string
	}{
		{2, "0 0.5 1 2"}, {5, "0 0.5 1 2 5"}, {20, "0 0.5 1 2 5 10 20"}, {100, "0 0.5 1 2 5 10 20 50 100"}, {200, "0 0.5 1 2 5 10 100"}, {1000, "0 0.5 1 2 5 10 100 1000"},
		{1e7, "0 0.5 1 2 5 10 100 1000 10000 100000 10⁶ 10⁷"},
	} {
		got := distanceTicks(tt.top)
		if s := strings.Join(labelsOf(got), " "); s != tt.want {
			t.Errorf("distanceTicks(%g) = %s, want %s", tt.top, s, tt.want)
		}
		if !slices.IsSortedFunc(got, func(a, b tick) int { return cmp.Compare(a.at, b.at) }) {
			t.Errorf("distanceTicks(%g) = %v, want them to rise", tt.top, got)
		}
	}
}

func TestLogTicks(t *testing.T) {
	for _, tt := range []struct {
		lo, hi float64
		want   string
	}{
		{1, 100, "1 2 5 10 20 50 100"}, {0.3, 6, "0.5 1 2 5"}, {0.004, 0.03, "0.005 0.01 0.02"}, {0.1, 100, "0.1 1 10 100"}, {0.05, 90, "0.1 1 10"},
	} {
		if got := strings.Join(labelsOf(logTicks(tt.lo, tt.hi)), " "); got != tt.want {
			t.Errorf("logTicks(%g, %g) = %s, want %s", tt.lo, tt.hi, got, tt.want)
		}
	}
}

// TestWarpedTicks: on a scale that is nearly linear to 1 and logarithmic beyond it, figures stand clear of each other.
func TestWarpedTicks(t *testing.T) {
	for _, tt := range []struct {
		lo, hi float64
		want   string
	}{
		{-100, 100, "−100 −10 −2 0 2 10 100"}, {-1, 1000, "0 2 10 100 1000"}, {0.5, 30, "1 2 5 10 20"}, {-0.02, 0.5, "0 0.1 0.2 0.5"},
	} {
		c := scale{lo: tt.lo, hi: tt.hi, from: 0, to: 200, warp: math.Asinh}
		got, power := ticksOf(c, 6, 25)
		if s := strings.Join(labelsOf(got), " "); s != tt.want || power != "" {
			t.Errorf("ticksOf(%g to %g) = %s, %q, want %s", tt.lo, tt.hi, s, power, tt.want)
		}
		for i := 1; i < len(got); i++ {
			if d := c.at(got[i].at) - c.at(got[i-1].at); d < 25 {
				t.Errorf("ticksOf(%g to %g): %s stands %.1f points from %s, want 25", tt.lo, tt.hi, got[i].label, float64(d), got[i-1].label)
			}
		}
	}
}

// TestTicksWithoutEnd asks for ticks where no number lies between two neighbours.
func TestTicksWithoutEnd(t *testing.T) {
	for _, v := range []float64{1e17, 1e300, -3e20} {
		if got, power := ticks(v, math.Nextafter(v, math.Inf(1)), 6); len(got) > 7 {
			t.Errorf("ticks from %g to its neighbour are %d, %q, want at most 7", v, len(got), power)
		}
	}
}

// TestDecimalsOfPlaces: the figures of an axis in micrometres bear the decimal mark of the language in every picture over the axis.
func TestDecimalsOfPlaces(t *testing.T) {
	inPoints := German
	inPoints.Decimal = "."
	um := func(a Axis) Axis {
		out := Axis{Unit: "µm"}
		for _, x := range a.At {
			out.At = append(out.At, x/1000)
		}
		return out
	}
	for name, draw := range map[string]func(w *Words) picture{
		"reach": func(w *Words) picture {
			c := sampleReach()
			c.Axis, c.Places, c.Words = um(c.Axis), um(c.Places), w
			return c
		},
		"repeats": func(w *Words) picture {
			c := sampleRepeats()
			c.Axis, c.Words = um(c.Axis), w
			return c
		},
		"spectrum": func(w *Words) picture {
			c := micrometres()
			c.Words = w
			return c
		},
		"groups": func(w *Words) picture {
			c := sampleGroups()
			c.Axis, c.Words = um(c.Axis), w
			return c
		},
	} {
		comma, point := draw(&German), draw(&inPoints)
		a, err := comma.Draw()
		if err != nil {
			t.Fatal(err)
		}
		b, err := point.Draw()
		if err != nil {
			t.Fatal(err)
		}
		diff, _ := difference(decode(t, a), decode(t, b))
		n := 0
		for y := diff.Rect.Max.Y - 26*dotsPerPt; y < diff.Rect.Max.Y-14*dotsPerPt; y++ { // where the figures of the axis stand
			for x := 30 * dotsPerPt; x < diff.Rect.Max.X; x++ {
				if diff.GrayAt(x, y).Y == 0 {
					n++
				}
			}
		}
		if n < 20 {
			t.Errorf("%s: the figures of the axis in German differ in %d pixels from those with a point, want commas", name, n)
		}
	}
}
