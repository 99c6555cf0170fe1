package report

import (
	"bytes"
	"errors"
	"image/png"
	"sync"

	"asusual/report/chart"
	"asusual/report/tag"
)

// A Page is a report: its HTML, complete in itself, and copies of its pictures and figures by the names that their files shall
// have. figures.json holds every figure of the page; what a picture draws is in a table of its name, such as distance.csv.
type Page struct {
	HTML     []byte
	Pictures map[string][]byte
	Figures  map[string][]byte
	Absent   []string // what other pages of its kind have beside them, and this one has not
}

// A view is what a report shows, all words and numbers said already.
type view struct {
	frame
	Kicker   string // what and when, above the headline
	Headline string
	Lede     []string // what stands below the headline
	Answers  []answer
	Figures  []figure
	Sign     []string
	Sections []section
}

// An answer is a question and what is to be said to it.
type answer struct {
	Question string
	Text     []string
}

// A section has a title, text, pictures and tables.
type section struct {
	ID, Title string
	Text      []string
	List      []string
	Figures   []figure
	Tables    []table
}

// Beside reports whether the tables stand beside the only picture.
func (s section) Beside() bool {
	return len(s.Figures) == 1 && !s.Figures[0].Wide && len(s.Tables) > 0
}

// A table has a caption, column heads and rows. The first cell of a row is its head.
type table struct {
	Caption string
	Heads   []head
	Rows    []row
	Empty   string // what stands instead of a table without rows
	Quiet   bool   // the caption repeats a title and is for those who do not see it
}

type head struct {
	Text   string
	Number bool // the column holds numbers: set to the right
}

type row struct {
	Cells  []string
	Strong bool
}

// A figure is a picture on a page.
type figure struct {
	Src           tag.URL
	Narrow        tag.URL // shown on a telephone; zero for the same
	Width, Height int     // as it is shown, in CSS pixels
	Alt, Caption  string
	Wide          bool
	Trouble       string // why there is no picture
}

// A drawing is a picture that can draw itself.
type drawing interface{ Draw() ([]byte, error) }

// An album draws the pictures of a page.
type album struct {
	*Language
	pictures map[string][]byte
}

func newAlbum(l *Language) *album { return &album{l, map[string][]byte{}} }

// add draws a picture and returns its figure. A picture that cannot be drawn is replaced by the reason, so that the rest
// of the page is still there for the one who needs it.
func (a *album) add(name string, d drawing, alt, caption string) figure {
	f := figure{Alt: alt, Caption: caption}
	b, err := d.Draw()
	switch {
	case errors.Is(err, chart.ErrNothing):
		f.Trouble = a.say("picture.nothing")
	case err != nil:
		f.Trouble = a.say("picture.trouble", "reason", err.Error())
	default:
		a.pictures[name+".png"] = b
		f.Src, f.Width, f.Height = tag.PNG(b), 0, 0
		if c, err := png.DecodeConfig(bytes.NewReader(b)); err == nil {
			f.Width, f.Height = c.Width/3, c.Height/3 // 288 dots an inch on 96 CSS pixels an inch
		}
	}
	return f
}

// wide draws a picture in both sizes, at once: the full width for paper and screens, the half for a telephone.
func (a *album) wide(name string, full, half drawing, alt, caption string) figure {
	var narrow []byte
	var err error
	var drawn sync.WaitGroup
	drawn.Go(func() { narrow, err = half.Draw() })
	f := a.add(name, full, alt, caption)
	drawn.Wait()
	f.Wide = true
	if f.Trouble == "" && err == nil {
		f.Narrow = tag.PNG(narrow)
	}
	return f
}

// page renders a view with its pictures.
func (v view) page(a *album) Page {
	for _, s := range v.Sections {
		for i := range s.Tables {
			s.Tables[i].Quiet = s.Tables[i].Caption == s.Title
		}
	}
	v.Foot = append(v.Foot, cautions(v.Language)...)
	return Page{HTML: v.document(v.main()), Pictures: a.pictures, Figures: map[string][]byte{}}
}

// figures is the page with the figures of the report beside it.
func (v view) figures(a *album, kind string, report any) (Page, error) {
	v.Colophon = append(v.Colophon, v.Language.say("figures.beside"))
	p := v.page(a)
	var err error
	p.Figures["figures.json"], err = figures(kind, report, v.Language)
	return p, err
}

// ofKind are the names of all that pages of a kind may have beside them.
func ofKind(kind string) []string {
	compared := []string{"distances.csv", "distances.png", "score-plot.csv", "score-plot.png", "spectrum.csv", "spectrum.png"}
	switch kind {
	case "card":
		return []string{"choice.png", "map.csv", "map.png", "reach.png"}
	case "compare":
		return compared
	}
	all := []string{"alarm.csv", "distance.csv", "distance.png", "groups.csv", "groups.png", "instrument-repeats.png", "instrument-trends.png", "map.csv", "map.png",
		"score-plot.csv", "score-plot.png", "spectrum.csv", "spectrum.png"}
	for _, name := range compared {
		all = append(all, "against-"+name)
	}
	return all
}

// lacks notes what the page has not, once all is beside it.
func (p Page) lacks(kind string) Page {
	for _, name := range ofKind(kind) {
		if p.Pictures[name] == nil && p.Figures[name] == nil {
			p.Absent = append(p.Absent, name)
		}
	}
	return p
}

// cautions are what every report says at its foot: what the tool does not say, and the caution.
func cautions(l *Language) []section {
	return []section{
		{ID: "not-said", Title: l.say("notsaid.title"), Text: []string{l.say("notsaid.1"), l.say("notsaid.2")}},
		{ID: "caution", Title: l.say("caution.title"), Text: []string{l.say("caution.1"), l.say("caution.2"), l.say("caution.3")}},
	}
}
