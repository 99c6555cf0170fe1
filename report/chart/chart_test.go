package chart

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// A picture is anything that draws itself.
type picture interface{ Draw() ([]byte, error) }

func pictures() map[string]picture {
	whole := sampleScore(30 * time.Second)
	whole.Whole = true
	wide := sampleDistance(time.Second)
	wide.Size = Full
	sparse := sampleDistance(time.Minute)
	sparse.Size = Full
	wideSpectrum := sampleSpectrum()
	wideSpectrum.Size = Full
	return map[string]picture{
		"score-plot": sampleScore(time.Second), "score-plot-few": sampleScore(30 * time.Second), "map": whole,
		"score-plot-two-periods": sampleTwoPeriods(),
		"distance":               wide, "distance-half": sampleDistance(time.Second), "distance-few": sparse, "distance-too-long": sampleTooLong(),
		"distance-week": sampleWeek(),
		"spectrum":      wideSpectrum, "spectrum-half": sampleSpectrum(),
		"reach": sampleReach(), "choice": sampleChoice(), "spread": sampleSpread(),
		"trends": sampleTrends(), "repeats": sampleRepeats(),
		"groups": sampleGroups(),
	}
}

// drawn holds every picture's bytes, drawn once for all tests.
var drawn = sync.OnceValues(func() (map[string][]byte, error) {
	all := map[string][]byte{}
	for name, p := range pictures() {
		b, err := p.Draw()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		all[name] = b
	}
	return all, nil
})

func allDrawn(t *testing.T) map[string][]byte {
	t.Helper()
	all, err := drawn()
	if err != nil {
		t.Fatalf("Draw() = %v, want a picture", err)
	}
	return all
}

var regen = flag.Bool("regen", false, "write the golden pictures anew")

// Pictures may differ a little between machines, which round differently: a pixel by up to nearly, of 255 in a channel,
// and one in few by more, but no more than together of them in any square of patch pixels: a figure is about 28 high, and another one
// in its place differs in more.
const (
	nearly   = 32
	few      = 2000
	patch    = 64
	together = 40
)

// TestPictures compares each picture with its golden in testdata. The flag -regen writes the
// goldens anew.
func TestPictures(t *testing.T) {
	for name, got := range allDrawn(t) {
		t.Run(name, func(t *testing.T) {
			golden := filepath.Join("testdata", name+".png")
			if *regen {
				if err := os.WriteFile(golden, got, 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatalf("no golden: %v; go test -regen writes it", err)
			}
			diff, n := difference(decode(t, got), decode(t, want))
			if !alike(diff, n) {
				t.Errorf("Draw() differs from %s in %d pixels; what it drew and the difference are in %s", golden, n, keepDifference(t, name, got, diff))
			}
		})
	}
}

// alike reports whether a picture differs from its golden by no more than machines do, in n pixels in all.
func alike(diff *image.Gray, n int) bool {
	r := diff.Bounds()
	if n > r.Dx()*r.Dy()/few {
		return false
	}
	const half = patch / 2 // squares overlap by half, so that one holds the whole of a figure
	dark := map[image.Point]int{}
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if diff.GrayAt(x, y).Y == 0 {
				dark[image.Pt(x/half, y/half)]++
			}
		}
	}
	for at := range dark {
		for _, from := range []image.Point{at, at.Sub(image.Pt(1, 0)), at.Sub(image.Pt(0, 1)), at.Sub(image.Pt(1, 1))} {
			if dark[from]+dark[from.Add(image.Pt(1, 0))]+dark[from.Add(image.Pt(0, 1))]+dark[from.Add(image.Pt(1, 1))] > together {
				return false
			}
		}
	}
	return true
}

// TestGoldensAreStrict: one other figure on an axis, or a name that is not there, is seen against the golden.
func TestGoldensAreStrict(t *testing.T) {
	read := func(name string) image.Image {
		b, err := os.ReadFile(filepath.Join("testdata", name+".png"))
		if err != nil {
			t.Fatal(err)
		}
		return decode(t, b)
	}
	later := sampleDistance(time.Second)
	later.Words = &Words{}
	*later.Words = English
	later.Words.Decimal = "7" // 0.5 on the axis becomes 075
	nameless := sampleDistance(time.Second)
	nameless.Words = &Words{}
	*nameless.Words = English
	nameless.Words.Limit = ""
	newest := sampleScore(30 * time.Second)
	newest.Last = newest.Last.Add(time.Minute) // 14:01
	for what, c := range map[string]struct {
		p      picture
		golden string
	}{"a figure of the axis": {later, "distance-half"}, "the name of the limit": {nameless, "distance-half"}, "a minute": {newest, "score-plot-few"}} {
		b, err := c.p.Draw()
		if err != nil {
			t.Fatal(err)
		}
		if diff, n := difference(decode(t, b), read(c.golden)); alike(diff, n) {
			t.Errorf("with another %s the picture differs from %s in %d pixels and passes", what, c.golden, n)
		}
	}
}

// difference returns a picture that is black where a and b differ by more than nearly, and the number of such pixels.
func difference(a, b image.Image) (*image.Gray, int) {
	r := a.Bounds().Union(b.Bounds())
	diff, n := image.NewGray(r), 0
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			diff.Pix[diff.PixOffset(x, y)] = 255
			if p, q := a.At(x, y), b.At(x, y); p != q && apart(p, q) > nearly {
				diff.SetGray(x, y, color.Gray{})
				n++
			}
		}
	}
	return diff, n
}

// apart returns the largest difference of a channel, of 255.
func apart(a, b color.Color) int {
	ar, ag, ab, aa := a.RGBA()
	br, bg, bb, ba := b.RGBA()
	d := func(x, y uint32) int { return max(int(x>>8)-int(y>>8), int(y>>8)-int(x>>8)) }
	return max(d(ar, br), d(ag, bg), d(ab, bb), d(aa, ba))
}

// keepDifference writes what was drawn and the difference to a folder that outlives the test, and returns the folder.
func keepDifference(t *testing.T, name string, got []byte, diff image.Image) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "chart-"+name+"-")
	if err != nil {
		t.Fatal(err)
	}
	var buf bytes.Buffer
	if err := png.Encode(&buf, diff); err != nil {
		t.Fatal(err)
	}
	for what, b := range map[string][]byte{"got": got, "difference": buf.Bytes()} {
		if err := os.WriteFile(filepath.Join(dir, what+".png"), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func decode(t *testing.T, b []byte) image.Image {
	t.Helper()
	m, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatalf("png.Decode = %v, want a picture", err)
	}
	return m
}

func TestSameBytes(t *testing.T) {
	first := allDrawn(t)
	for _, name := range []string{"score-plot-few", "distance-half", "spectrum-half", "map"} {
		if b, err := pictures()[name].Draw(); err != nil || !bytes.Equal(b, first[name]) {
			t.Errorf("%s drawn twice: %v, bytes differ; want the same bytes", name, err)
		}
	}
}

// TestNothingClipped checks a law over all pictures: nothing but paper touches the edges of the sheet.
func TestNothingClipped(t *testing.T) {
	for name, b := range allDrawn(t) {
		notClipped(t, name, decode(t, b))
	}
}

// notClipped checks that nothing but paper touches the edges of a picture.
func notClipped(t *testing.T, name string, m image.Image) {
	t.Helper()
	r := m.Bounds()
	inner := r.Inset(4)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if (image.Point{X: x, Y: y}).In(inner) {
				x = inner.Max.X
			}
			if apart(m.At(x, y), color.White) > 0 {
				t.Errorf("%s has ink at pixel (%d, %d), on the edge of %v; want a margin of paper", name, x, y, r)
				return
			}
		}
	}
}

func TestNotFinite(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	score := func(change func(*ScorePlot)) ScorePlot {
		c := sampleScore(10 * time.Minute)
		change(&c)
		return c
	}
	spectrum := func(change func(*SpectrumPlot)) SpectrumPlot {
		c := sampleSpectrum()
		change(&c)
		return c
	}
	for _, tt := range []struct {
		p    picture
		want string
	}{
		{score(func(c *ScorePlot) { c.Period[3].X = nan }), "spectrum 4 of the period"},
		{score(func(c *ScorePlot) { c.Usual[0].Y = inf }), "usual spectrum 1"},
		{score(func(c *ScorePlot) { c.Second = []Point{{nan, 0}} }), "spectrum 1 of the second period"},
		{score(func(c *ScorePlot) { c.Limit.A = nan }), "the limit"},
		{score(func(c *ScorePlot) { c.Clusters[1].B = nan }), `the ellipse of "rinse"`},
		{DistancePlot{From: at(6, 0), To: at(7, 0), Readings: []Reading{{at(6, 1), nan, Inside}}}, "reading 1 is not a number"},
		{DistancePlot{From: at(6, 0), To: at(6, 0)}, "before it begins"},
		{DistancePlot{From: at(6, 0), To: at(7, 0), Readings: []Reading{{at(6, 2), 1, Inside}, {at(6, 1), 1, Inside}}}, "older"},
		{spectrum(func(c *SpectrumPlot) { c.Period[9] = nan }), "mean of the period is not a number at channel 10"},
		{spectrum(func(c *SpectrumPlot) { c.Band = c.Band[:5] }), "has 5 values, the axis 512"},
		{ReachPlot{Axis: Axis{At: []float64{1, 2}}, Places: Axis{At: []float64{1, 2}}, Smallest: []float64{1, 2}, Usual: []float64{nan, 1}}, "mean of usual"},
		{ChoicePlot{Carried: []float64{nan}}, "share of variation is not a number"},
		{SpreadPlot{This: []float64{inf}}, "distance 1 is infinite"},
	} {
		b, err := tt.p.Draw()
		if err == nil || !strings.Contains(err.Error(), tt.want) || b != nil {
			t.Errorf("%T.Draw() = %d bytes, %v, want no picture and an error with %q", tt.p, len(b), err, tt.want)
		}
	}
}

func TestNothingToDraw(t *testing.T) {
	for _, p := range []picture{ScorePlot{}, SpectrumPlot{}, ReachPlot{}, ChoicePlot{}, SpreadPlot{}, GroupsPlot{}} {
		if b, err := p.Draw(); !errors.Is(err, ErrNothing) || b != nil {
			t.Errorf("%T{}.Draw() = %d bytes, %v, want %v", p, len(b), err, ErrNothing)
		}
	}
}

// TestOddInput draws what a line can well produce: nothing, one spectrum, all the same, an axis that falls, names without end, other words
// and units. What is drawn is more than axes, and stays on the sheet.
func TestOddInput(t *testing.T) {
	falling := sampleSpectrum()
	for i, j := 0, len(falling.Axis.At)-1; i < j; i, j = i+1, j-1 {
		falling.Axis.At[i], falling.Axis.At[j] = falling.Axis.At[j], falling.Axis.At[i]
	}
	flat := SpectrumPlot{Axis: Axis{At: []float64{1, 2, 3}}, Usual: []float64{0, 0, 0}, Sigma: []float64{0, 0, 0}, Period: []float64{0, 0, 0}}
	for name, p := range map[string]picture{
		"one spectrum":  ScorePlot{Period: []Mark{{1, 1, Outside}}, Last: at(6, 0)},
		"one place":     ScorePlot{Usual: make([]Point, 100), Period: make([]Mark, 100), Limit: &Ellipse{}},
		"no spectra":    DistancePlot{From: at(6, 0), To: at(14, 0), Gaps: []Span{{From: at(6, 0), To: at(14, 0)}}},
		"one minute":    DistancePlot{From: at(6, 0), To: at(6, 1), Readings: []Reading{{at(6, 0), 1e6, Outside}}},
		"long names":    ScorePlot{Usual: usualCloud(50, 1), Clusters: []Cluster{{strings.Repeat("<b>long</b> ", 20), Ellipse{0, 0, 1, 1, 0}}}},
		"falling axis":  falling,
		"flat":          flat,
		"nothing seen":  ReachPlot{Axis: Axis{At: []float64{1, 2}}, Usual: []float64{1, 2}, Places: Axis{At: []float64{1, 2}}, Smallest: []float64{math.Inf(1), math.Inf(1)}},
		"one component": ChoicePlot{Carried: []float64{100}, LeftOver: []float64{0}, K: 1},
		"all the same":  SpreadPlot{This: []float64{0, 0, 0}},
		"five days":     trendDays(5, nil), "eight days in German": trendDays(8, &German), "two months": trendDays(56, &German),
		"micrometres": micrometres(), "few far away": twoPeriods(20, 5), "far away": twoPeriods(200, 5), "partly far away": twoPeriods(200, 0.6),
	} {
		b, err := p.Draw()
		if err != nil {
			t.Errorf("%s: Draw() = %v, want a picture", name, err)
			continue
		}
		m := decode(t, b)
		if dir := os.Getenv("ASUSUAL_KEEP_PAGES"); dir != "" {
			if err := os.WriteFile(filepath.Join(dir, "odd-"+name+".png"), b, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		notClipped(t, name, m)
		n := 0
		for y := m.Bounds().Min.Y; y < m.Bounds().Max.Y; y++ {
			for x := m.Bounds().Min.X; x < m.Bounds().Max.X; x++ {
				if apart(m.At(x, y), color.White) > 64 {
					n++
				}
			}
		}
		if least := 3 * (m.Bounds().Dx() + m.Bounds().Dy()); n < least {
			t.Errorf("%s: %d pixels of the picture are dark, want more than lines of axes, %d", name, n, least)
		}
	}
}

// TestUnplacedIsNotDrawn: spectra that lie nowhere leave the picture as it is without them, whether few are drawn or many.
func TestUnplacedIsNotDrawn(t *testing.T) {
	for _, n := range []int{5, 5000} {
		var some, all []Reading
		for i := range n {
			r := Reading{at(6, 0).Add(time.Duration(i) * 5 * time.Second), 0.5, Inside}
			some, all = append(some, r), append(all, r, Reading{Time: r.Time, Kind: Unplaced})
		}
		want, err := DistancePlot{From: at(6, 0), To: at(14, 0), Readings: some}.Draw()
		if err != nil {
			t.Fatal(err)
		}
		if got, err := (DistancePlot{From: at(6, 0), To: at(14, 0), Readings: all}).Draw(); err != nil || !bytes.Equal(got, want) {
			t.Errorf("%d readings with as many that lie nowhere: %v, another picture; want that of the readings alone", n, err)
		}
	}
}

func BenchmarkDraw(b *testing.B) {
	for _, name := range []string{"score-plot", "distance", "distance-half", "spectrum-half", "map"} {
		p := pictures()[name]
		b.Run(name+"/n=28800", func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := p.Draw(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
