package chart

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/plot/vg"
)

// A Reading is the distance of one spectrum at its time. The limit of usual is 1.
type Reading struct {
	Time     time.Time
	Distance float64
	Kind     Kind // Elsewhere is drawn in grey: the distance from usual is no fault there. Unplaced has no distance
}

// A Span is a stretch of time with a name.
type Span struct {
	From, To time.Time
	Name     string
	Over     bool // of a condition: it has lasted too long
}

// A DistancePlot shows the distance from usual over a period. Episodes are shaded, the times in named conditions and
// without a fit instrument stand in a band below, and where no spectra came the picture stays empty and says so.
// Many readings are drawn as their least, greatest and median in each column of pixels.
type DistancePlot struct {
	From, To   time.Time // in the site's time zone
	Readings   []Reading // in order of time
	Episodes   []Span
	Conditions []Span
	Gaps       []Span // no spectra; the name is written in the gap where there is room ("" for the usual word)
	Size       Size
	Words      *Words // nil: English
}

// Draw returns the picture as PNG.
func (c DistancePlot) Draw() ([]byte, error) {
	if err := c.validate(); err != nil {
		return nil, err
	}
	c.Readings = slices.DeleteFunc(slices.Clone(c.Readings), func(r Reading) bool { return r.Kind == Unplaced })
	w := c.Size.width()
	s := newSheet(w, map[Size]vg.Length{Half: 190, Full: 176}[c.Size])
	bottom := vg.Length(16)
	if len(c.Conditions) > 0 {
		bottom += 15
	}
	p := newPanel(s, 30, bottom, w-13, s.h-20)
	p.x.lo, p.x.hi = seconds(c.From), seconds(c.To)
	top := 2.0
	for _, r := range c.Readings {
		if r.Kind != Elsewhere {
			top = math.Max(top, r.Distance)
		}
	}
	p.y.lo, p.y.hi, p.y.warp = 0, distanceTop(top), distanceWarp
	words := wordsOr(c.Words)
	yt := distanceTicks(p.y.hi)
	for i := range yt {
		yt[i].label = words.decimal(yt[i].label)
	}
	c.shade(p)
	p.rules(yt[1:])
	c.drawReadings(p)
	p.s.line(pen{width: thin, ink: ink}, pt(p.r.Min.X, p.y.at(1)), pt(p.r.Max.X, p.y.at(1)))
	c.nameSpans(p, words)
	c.drawConditions(p, words)
	c.axes(p, yt, words)
	return s.png()
}

func (c DistancePlot) axes(p *panel, yt []tick, w *Words) {
	most := 6
	if c.Size == Full {
		most = 12
	}
	xt := timeTicks(c.From, c.To, most, w)
	ends := []tick{{p.x.lo, c.From.Format("15:04")}, {p.x.hi, c.To.Format("15:04")}}
	if c.To.Sub(c.From) > 36*time.Hour {
		ends = nil
	}
	apart := float64(26 / (p.r.Max.X - p.r.Min.X))
	for _, t := range xt {
		f := (t.at - p.x.lo) / (p.x.hi - p.x.lo)
		if len(ends) == 0 || f > apart && f < 1-apart {
			ends = append(ends, t)
		}
	}
	slices.SortFunc(ends, func(a, b tick) int { return cmp.Compare(a.at, b.at) })
	if len(c.Conditions) > 0 {
		p.lowerAxis(ends, p.r.Min.Y-15)
	} else {
		p.xAxis(ends, "")
	}
	p.yAxis(yt, w.Distance)
	if p.y.hi > 2 {
		p.s.text(tickText, pt(p.r.Max.X, p.r.Max.Y+6), align{-1, 1}, w.DistanceNote)
	}
}

// lowerAxis draws the x axis at another height, under the band of conditions.
func (p *panel) lowerAxis(ticks []tick, y vg.Length) {
	low := *p
	low.r.Min.Y = y
	low.xAxis(ticks, "")
}

func (c DistancePlot) validate() error {
	if !c.To.After(c.From) {
		return fmt.Errorf("distance over time: the period ends at %s, before it begins", c.To.Format(time.RFC3339))
	}
	for i, r := range c.Readings {
		if !finite(r.Distance) || r.Distance < 0 {
			return fmt.Errorf("distance over time: reading %d is %s", i+1, told(r.Distance))
		}
		if i > 0 && r.Time.Before(c.Readings[i-1].Time) {
			return fmt.Errorf("distance over time: reading %d is older than reading %d", i+1, i)
		}
	}
	return nil
}

// span returns the edges of a stretch of time within the panel; ok is false outside it.
func (p *panel) span(sp Span) (x0, x1 vg.Length, ok bool) {
	lo, hi := math.Max(seconds(sp.From), p.x.lo), math.Min(seconds(sp.To), p.x.hi)
	if sp.To.IsZero() { // it lasts
		hi = p.x.hi
	}
	if hi < lo {
		return 0, 0, false
	}
	return p.x.at(lo), max(p.x.at(hi), p.x.at(lo)+0.5), true
}

// shade draws what lies behind the readings: the episodes, and a hatching where no spectra came.
func (c DistancePlot) shade(p *panel) {
	for _, e := range c.Episodes {
		if x0, x1, ok := p.span(e); ok {
			p.s.box(wash, x0, p.r.Min.Y, x1, p.r.Max.Y)
			p.s.line(pen{width: hair, ink: inkSoft}, pt(x0, p.r.Min.Y), pt(x0, p.r.Max.Y))
			if !e.To.IsZero() && e.To.Before(c.To) {
				p.s.line(pen{width: hair, ink: inkSoft}, pt(x1, p.r.Min.Y), pt(x1, p.r.Max.Y))
			}
		}
	}
	for _, g := range c.Gaps {
		if x0, x1, ok := p.span(g); ok {
			p.hatch(x0, x1)
		}
	}
}

// hatch draws slanting hair lines between two x, the height of the panel.
func (p *panel) hatch(x0, x1 vg.Length) {
	h := p.r.Max.Y - p.r.Min.Y
	for x := x0 - h; x < x1; x += 5 {
		a, b := max(x, x0), min(x+h, x1)
		if b > a {
			p.s.line(pen{width: 0.35, ink: rule}, pt(a, p.r.Min.Y+a-x), pt(b, p.r.Min.Y+b-x))
		}
	}
}

// nameSpans writes the names of the episodes at their upper left, of the gaps in their middle, and of the limit.
func (c DistancePlot) nameSpans(p *panel, w *Words) {
	for _, e := range c.Episodes {
		x0, x1, ok := p.span(e)
		if !ok {
			continue
		}
		y := p.r.Max.Y - 12 // below the wedges that tell what lies off the scale
		p.s.name(nameText, p.r, e.Name, []spot{
			{pt(x0+4, y), align{1, -1}}, {pt(x1-4, y), align{-1, -1}}, {pt(x0-4, y), align{-1, -1}},
			{pt(x1+4, y), align{1, -1}}, {pt(x0+4, y-11), align{1, -1}}, {pt(x0+4, y-22), align{1, -1}},
		})
	}
	for _, g := range c.Gaps {
		name := g.Name
		if name == "" {
			name = w.NoSpectra
		}
		if x0, x1, ok := p.span(g); ok && tickText.width(name)+4 < x1-x0 {
			p.s.name(tickText, p.r, name, []spot{{pt((x0+x1)/2, p.r.Min.Y+10), align{0, 0}}})
		}
	}
	p.s.name(greyText, p.r, w.Limit, []spot{
		{pt(p.r.Min.X+3, p.y.at(1)+2.5), align{1, 1}}, {pt(p.r.Max.X-3, p.y.at(1)+2.5), align{-1, 1}},
		{pt((p.r.Min.X+p.r.Max.X)/2, p.y.at(1)+2.5), align{0, 1}},
	})
}

// drawConditions draws the band of conditions below the panel: a bar for each stretch, its name in it where it fits.
// The names of stretches too narrow for theirs follow behind, where no other stretch begins, or as many of them as fit there.
func (c DistancePlot) drawConditions(p *panel, words *Words) {
	style := tickText
	style.ink = ink
	y1 := p.r.Min.Y - 4
	y0 := y1 - 8
	var waiting []string
	for i, sp := range c.Conditions {
		x0, x1, ok := p.span(sp)
		if !ok {
			continue
		}
		fill, plain := band, sp.Name
		if sp.Over {
			fill, sp.Name = hueSoft, strings.Replace(words.TooLong, "{name}", sp.Name, 1)
		}
		p.s.box(fill, x0, y0, max(x1, x0+0.75), y1)
		p.s.box(inkSoft, x0, y0, x0+0.5, y1)
		if style.width(sp.Name)+4 <= x1-x0 {
			p.s.text(style, pt((x0+x1)/2, (y0+y1)/2), align{0, 0}, sp.Name)
			waiting = nil
			continue
		}
		if !slices.Contains(waiting, sp.Name) {
			waiting = append(waiting, sp.Name)
		}
		free := p.r.Max.X
		if i+1 < len(c.Conditions) {
			free, _, _ = p.span(c.Conditions[i+1])
		}
		text := fitting(waiting, style, free-x1-5)
		if text == "" && sp.Over { // its colour says the rest
			text = fitting([]string{plain}, style, free-x1-5)
		}
		if text != "" {
			p.s.text(style, pt(x1+2.5, (y0+y1)/2), align{1, 0}, text)
			waiting = nil
		} else if free-x1 > nameApart {
			waiting = nil
		}
	}
}

// nameApart is how far a stretch lies from the next for their names not to stand together: a name far behind its stretch would be taken for
// another's.
const nameApart = 20

// fitting is the names in a row, or the last of them, which stand nearest, with an ellipsis for the others; "" where none fits.
func fitting(names []string, style textStyle, room vg.Length) string {
	for i := range names {
		text := strings.Join(names[i:], ", ")
		if i > 0 {
			text = "… " + text
		}
		if style.width(text) < room {
			return text
		}
	}
	return ""
}
