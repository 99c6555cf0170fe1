package report

import (
	_ "embed"
	"strconv"
	"unicode/utf8"

	"asusual/report/tag"
)

//go:embed style.css
var style string

// Style returns the style of the pages, for a page that is made elsewhere and shall look the same.
func Style() string { return style }

// A frame is what stands around the main part of every page.
type frame struct {
	Language *Language
	Title    string
	Foot     []section
	Colophon []string
}

// Say says a sentence.
func (f frame) Say(key string) string { return f.Language.say(key) }

// document is a whole page, with its style inside. Nothing is loaded by it and nothing runs in it: the policy says so to the browser too.
func (f frame) document(main tag.Part) []byte {
	return tag.HTML(
		tag.Literal("<!DOCTYPE html>\n"), tag.Block("html", tag.Attr("lang", f.Language.Tag),
			tag.Block("head", nil,
				tag.Literal(`<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src data:; style-src 'unsafe-inline'">`),
				tag.El("title", tag.Text(f.Title)),
				tag.Literal(`<link rel="icon" href="data:,">`),
				tag.Style(style)),
			tag.Block("body", nil,
				main,
				tag.Block("footer", nil,
					tag.Lines(tag.Each(f.Foot, caution)),
					tag.Parts{tag.If(len(f.Colophon) > 0, tag.El("div", tag.Class("colophon"), tag.Each(f.Colophon, paragraph)))}))),
		tag.Literal("\n"))
}

func caution(s section) tag.Part {
	return tag.El("section", tag.Attr("id", s.ID), tag.El("h2", tag.Text(s.Title)), tag.Each(s.Text, paragraph))
}

func paragraph(text string) tag.Part { return tag.El("p", tag.Text(text)) }

// classed is a paragraph of a class.
func classed(class, text string) tag.Part { return tag.El("p", tag.Class(class), tag.Text(text)) }

// main is what stands on a report. Tag.Parts where there may be nothing are a line all the same.
func (v view) main() tag.Part {
	return tag.Block("main", nil,
		tag.Block("header", nil,
			classed("kicker", v.Kicker),
			tag.El("h1", tag.Text(v.Headline)),
			tag.Lines(tag.Each(v.Lede, func(text string) tag.Part { return classed("lede", text) })),
			tag.Parts{}),
		tag.Parts{tag.If(len(v.Answers) > 0, tag.Block("dl", tag.Class("answers"), tag.Each(v.Answers, answer.part)...))},
		tag.Parts{figuresPart(v.Figures)},
		tag.Parts{tag.If(len(v.Sign) > 0, tag.Lines{
			tag.El("div", tag.Class("sign"), hidden(), tag.Each(v.Sign, func(text string) tag.Part { return tag.El("span", tag.Text(text)) }))},
			classed("short-caution", v.Say("caution.short")))},
		tag.Each(v.Sections, section.part))
}

// hidden is for marks that are said in words beside them.
func hidden() tag.Part { return tag.Attr("aria-hidden", "true") }

func (a answer) part() tag.Part {
	return tag.El("div", tag.El("dt", tag.Text(a.Question)), tag.El("dd", tag.Each(a.Text, func(text string) tag.Part {
		return tag.Parts{paragraph(text), tag.Literal(" ")}
	})))
}

func figuresPart(figures []figure) tag.Part {
	return tag.If(len(figures) > 0, tag.El("div", tag.Class("figures"), tag.Each(figures, figure.part)))
}

func (f figure) part() tag.Part {
	return tag.Parts{tag.Literal("\n"), tag.Block("figure", tag.If(f.Wide, tag.Class("wide")),
		f.picture(),
		tag.El("figcaption", tag.Text(f.Caption)))}
}

func (f figure) picture() tag.Part {
	if f.Trouble != "" {
		return classed("trouble", f.Trouble)
	}
	full := tag.El("img", tag.Src(f.Src), tag.Attr("width", strconv.Itoa(f.Width)), tag.Attr("height", strconv.Itoa(f.Height)), tag.Attr("alt", f.Alt))
	if f.Narrow == (tag.URL{}) {
		return full
	}
	return tag.El("picture", tag.El("source", tag.Attr("media", "screen and (max-width: 640px)"), tag.SrcSet(f.Narrow)), full)
}

func (s section) part() tag.Part {
	return tag.Parts{tag.Literal("\n"), tag.Block("section",
		tag.Parts{tag.If(s.ID != "", tag.Attr("id", s.ID)), tag.If(s.Beside(), tag.Class("beside"))},
		tag.El("h2", tag.Text(s.Title)),
		tag.Lines(tag.Each(s.Text, paragraph)),
		tag.If(len(s.List) > 0, tag.El("ul", tag.Each(s.List, func(text string) tag.Part { return tag.El("li", tag.Text(text)) }))),
		figuresPart(s.Figures),
		tag.Parts{tag.If(len(s.Tables) > 0, tag.El("div", tag.Class("tables"), tag.Each(s.Tables, table.part)))})}
}

func (t table) part() tag.Part {
	if len(t.Rows) == 0 {
		return tag.If(t.Empty != "", tag.Literal("\n"), classed("empty", t.Empty))
	}
	return tag.Parts{
		tag.If(!t.Quiet, tag.Literal("\n"), tag.El("h3", tag.Class("caption"), tag.Text(t.Caption))), tag.Literal("\n"),
		tag.Block("div", scrolled(t.Caption),
			tag.Block("table", tag.Label(t.Caption),
				tag.El("thead", tag.El("tr", tag.Each(t.Heads, head.part))),
				tag.Block("tbody", nil, tag.Each(t.Rows, func(r row) tag.Part { return r.part(t.Heads) })...)))}
}

// scrolled are the attributes of what is moved sideways where it is too wide, also by the keyboard.
func scrolled(label string) tag.Part {
	return tag.Parts{tag.Class("scroll"), tag.Attr("role", "region"), tag.Label(label), tag.Attr("tabindex", "0")}
}

// ofColumn and ofRow say of which cells a cell is the head.
func ofColumn() tag.Part { return tag.Attr("scope", "col") }
func ofRow() tag.Part    { return tag.Attr("scope", "row") }

func (h head) part() tag.Part {
	return tag.El("th", ofColumn(), tag.If(h.Number, tag.Class("n")), tag.Text(h.Text))
}

func (r row) part(heads []head) tag.Part {
	cells := make(tag.Parts, len(r.Cells))
	for i, c := range r.Cells {
		switch {
		case i == 0:
			cells[i] = tag.El("th", ofRow(), tag.If(long(c), tag.Class("long")), tag.Text(c))
		case i < len(heads) && heads[i].Number:
			cells[i] = tag.El("td", tag.Class("n"), tag.Text(c))
		default:
			cells[i] = tag.El("td", tag.If(long(c), tag.Class("long")), tag.Text(c))
		}
	}
	return tag.El("tr", tag.If(r.Strong, tag.Class("strong")), cells)
}

// longest is how many letters a cell may have and stay on one line: "group 2026-11-25 A" and "24 November, 10:55" do, a sentence does not.
const longest = 24

// long reports whether a cell has to be broken into lines. What is short is not, so that a date stays whole on a telephone.
func long(cell string) bool { return utf8.RuneCountInString(cell) > longest }
