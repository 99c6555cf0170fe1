package live

import (
	"asusual/report"
	"asusual/report/tag"
)

// document is a whole page. Nothing but the site's own style and scripts is loaded. Head and body are lines.
func (v view) document(head, body tag.Part) []byte {
	return tag.HTML(
		tag.Literal("<!DOCTYPE html>\n"),
		tag.Block("html", tag.Attr("lang", v.Tag),
			tag.Block("head", nil,
				tag.Literal(`<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">`),
				tag.El("title", tag.Text(v.Title)),
				tag.Literal(`<link rel="icon" href="data:,">
<link rel="stylesheet" href="/static/live.css">`),
				head),
			body),
		tag.Literal("\n"))
}

// A livePage is a page that its scripts keep as the lines stand.
type livePage struct {
	scripts      []string
	line         tag.Part // the attribute that names the line, or nil
	header, main tag.Part
	notes        tag.Part // behind the caution
	colophon     tag.Part
}

// live writes a page whose scripts find their words in the body's attributes.
func (v view) live(p livePage) []byte {
	return v.document(
		tag.Lines(tag.Each(p.scripts, func(name string) tag.Part { return tag.Script(tag.To("/static/" + name)) })),
		tag.Block("body", tag.Parts{tag.Class("live"), p.line, tag.Attr("data-assets", v.Assets), tag.Attr("data-words", v.Words),
			tag.Attr("data-now", v.Now), tag.Attr("data-offsets", v.Offsets)},
			tag.Block("main", nil, p.header, p.main),
			tag.Block("footer", nil,
				tag.El("section", id("caution"), tag.El("h2", v.text("caution")),
					tag.El("p", v.text("caution1")), tag.El("p", v.text("caution2")), tag.El("p", v.text("caution3")), p.notes),
				tag.El("div", tag.Class("colophon"), p.colophon))))
}

// text is a sentence that stands on the page as it is.
func (v view) text(key string) tag.Part { return tag.Text(v.Text[key]) }

func paragraph(text string) tag.Part { return tag.El("p", tag.Text(text)) }

// id names an element for the scripts.
func id(name string) tag.Part { return tag.Attr("id", name) }

// notice is where the script says why what stands on the page is old. Until a script has run it says that none does, whether the
// browser has none, could not get it or could not read it.
func (v view) notice(role tag.Part) tag.Part {
	return tag.El("p", id("notice"), tag.Class("unheard"), role, v.text("script"))
}

// link leads to an address of the site.
func link(to string, text tag.Part) tag.Part { return tag.El("a", tag.Href(tag.To(to)), text) }

// lines is the list of all lines.
func (v view) lines() []byte {
	return v.live(livePage{
		scripts: []string{"stream.js", "lines.js"},
		header: tag.Block("header", nil,
			tag.El("h1", tag.Class("site"), tag.Text(v.Title)),
			v.notice(tag.Attr("role", "status"))),
		main:     tag.Block("ul", tag.Class("lines"), tag.Each(v.Lines, v.summary)...),
		colophon: tag.El("p", v.text("figures"), tag.Literal(" "), link("/lines.json", tag.Literal("JSON"))),
	})
}

func (v view) summary(s summary) tag.Part {
	return tag.El("li", id("line-"+s.ID),
		link("/line/"+s.ID, tag.Text(s.Line)), tag.Literal(" "),
		tag.El("span", tag.Class("what"), tag.Attr("aria-live", "polite"), tag.Text(s.Headline)), tag.Literal(" "),
		tag.El("span", tag.Class("when"), tag.Text(v.last(s.LastSpectrum))), tag.Literal(" "),
		tag.El("span", tag.Class("fit"), tag.Text(s.Instrument)))
}

// line is the page of one line.
func (v view) line() []byte {
	at := "/line/" + v.ID
	return v.live(livePage{
		scripts: []string{"stream.js", "draw.js", "live.js"},
		line:    tag.Attr("data-line", v.ID),
		header:  v.header(),
		main: tag.Lines{
			tag.Block("div", tag.Class("figures"),
				tag.El("figure", tag.Class("wide"), tag.El("figcaption", id("cap-distance"), v.text("distance")), plot("distance", v.Told.Distance)),
				tag.El("figure", tag.El("figcaption", v.text("scores")), plot("scores", v.Told.Scores)),
				tag.El("figure", tag.El("figcaption", v.text("spectrum")), plot("spectrum", v.Told.Spectrum))),
			tag.Block("dl", tag.Parts{tag.Class("answers"), id("answers")}, tag.Each(v.Told.Answers, answer)...),
			tag.Block("div", tag.Class("beside2"),
				tag.El("section", tag.El("h2", v.text("conditions")), sheet("conditions", v.Told.Conditions)),
				tag.El("section", tag.El("h2", v.text("groups")), sheet("groups", v.Told.Groups), tag.Literal("\n"), v.nameForm()))},
		notes: tag.El("p", v.text("notsaid")),
		colophon: tag.Parts{
			tag.El("div", id("reference"), tag.Each(v.Told.Reference, paragraph)), tag.Literal("\n"),
			tag.El("p", v.text("figures"), tag.Literal(" "),
				link(at+"/data.json", tag.Literal("JSON")), tag.Literal(", "), link(at+"/readings.csv", tag.Literal("CSV")))},
	})
}

// header says how the line stands, and lets somebody take notice of the alarm.
func (v view) header() tag.Part {
	state, why := v.Told.Instrument[0], v.Told.Instrument[1:]
	return tag.Block("header", nil,
		tag.El("p", tag.Class("kicker"),
			tag.El("span", tag.Text(v.Kicker), tag.If(len(v.Lines) > 0, tag.Literal(" · "), link("/", v.text("all")))), tag.Literal(" "),
			tag.El("span", id("clock"), tag.Text(v.Last))),
		tag.Block("div", tag.Parts{id("verdict"), tag.Attr("aria-live", "polite"), tag.Attr("aria-atomic", "true")},
			tag.El("h1", id("headline"), tag.Text(v.Told.Headline)),
			v.notice(nil)),
		tag.El("p", tag.Class("since"),
			tag.El("span", id("since"), tag.Text(v.Told.Since)), tag.Literal(" "), tag.El("span", id("alarm"), tag.Text(v.Told.Alarm))),
		tag.El("p", tag.Class("since"), id("instrument"), tag.Text(state)),
		tag.El("p", tag.Class("why"), id("instrument-why"), tag.Each(why, func(text string) tag.Part { return tag.Text(text + " ") })),
		tag.If(v.Take, v.takeForm()))
}

// plot is where the script draws; told says what it shows.
func plot(name, told string) tag.Part {
	return tag.El("div", tag.Class("plot"), id(name), tag.Attr("role", "img"), tag.Label(told))
}

func answer(a report.Answer) tag.Part {
	return tag.El("div", tag.El("dt", tag.Text(a.Question)), tag.El("dd", tag.Each(a.Text, func(text string) tag.Part {
		return tag.Parts{paragraph(text), tag.Literal(" ")}
	})))
}

// A blank is what a form asks for: a label and the place for it, which is to be filled in.
type blank struct{ id, label, most, complete string }

func (v view) blank(b blank) tag.Part {
	return tag.Parts{v.label(b.id, b.label), tag.Literal(" "),
		tag.El("input", id(b.id), tag.Attr("maxlength", b.most), tag.Flag("required"), tag.Attr("autocomplete", b.complete))}
}

func (v view) label(of, text string) tag.Part {
	return tag.El("label", tag.Attr("for", of), v.text(text))
}

func (v view) button(text string) tag.Part {
	return tag.Parts{tag.Literal(" "), tag.El("button", v.text(text))}
}

// takeForm is for who takes notice of the alarm.
func (v view) takeForm() tag.Part {
	return tag.Block("form", tag.Parts{id("take"), tag.Flag("hidden")},
		v.blank(blank{"who", "who", "80", "name"}),
		tag.Parts{v.blank(blank{"why", "why", "400", "off"}), v.button("acknowledge")},
		tag.El("output", id("take-said")))
}

// nameForm is for who makes a condition of a group.
func (v view) nameForm() tag.Part {
	return tag.If(v.Name, tag.Block("form", tag.Parts{id("name"), tag.Flag("hidden")},
		tag.Parts{v.label("group", "group"), tag.Literal(" "), tag.El("select", id("group"))},
		tag.Parts{v.blank(blank{"called", "name", "80", "off"}), v.button("named")},
		tag.El("output", id("name-said"))))
}

// sheet is where the script writes a table anew, with the table as it is now.
func sheet(name string, s report.Sheet) tag.Part {
	return tag.El("div", id(name), tag.Attr("role", "region"), tag.Attr("tabindex", "0"), tag.Label(s.Caption), rows(s))
}

func rows(s report.Sheet) tag.Part {
	if len(s.Rows) == 0 {
		return tag.El("p", tag.Class("empty"), tag.Text(s.Empty))
	}
	heads := make(tag.Parts, len(s.Heads))
	for i, text := range s.Heads {
		heads[i] = tag.El("th", tag.Attr("scope", "col"), tag.If(s.Numbers[i], tag.Class("n")), tag.Text(text))
	}
	return tag.El("table", tag.Attr("role", "table"), tag.Label(s.Caption),
		tag.Literal("\n"), tag.El("thead", tag.El("tr", heads)), tag.Literal("\n"),
		tag.El("tbody", tag.Attr("role", "rowgroup"), tag.Each(s.Rows, func(cells []string) tag.Part { return cellsOf(s, cells) })))
}

// longest is how many bytes a cell may have and stay on one line.
const longest = 24

// cellsOf is a row of a table. A cell says what its head is, for screens on which each stands on a line of its own.
func cellsOf(s report.Sheet, cells []string) tag.Part {
	row := make(tag.Parts, len(cells))
	for i, text := range cells {
		long := tag.If(len(text) > longest, tag.Class("long"))
		if i == 0 {
			row[i] = tag.El("th", tag.Attr("scope", "row"), tag.Attr("role", "rowheader"), long, tag.Text(text))
			continue
		}
		if s.Numbers[i] {
			long = tag.Class("n")
		}
		row[i] = tag.El("td", tag.Attr("role", "cell"), tag.Attr("data-head", s.Heads[i]), long, tag.Text(text))
	}
	return tag.El("tr", tag.Attr("role", "row"), row)
}

// welcome lets a browser in that has shown the token, and leads on.
func (v view) welcome() []byte {
	return v.entrance(tag.El("meta", tag.Refresh(tag.To(v.ID))), link(v.ID, v.text("welcome")))
}

// token asks for the token.
func (v view) token() []byte { return v.entrance(nil, v.text("token")) }

// unknown stands where no line has the address, as on the bookmark of one that got another name.
func (v view) unknown() []byte { return v.entrance(nil, link("/", v.text("unknown"))) }

// entrance is a page that stands before the others.
func (v view) entrance(head, said tag.Part) []byte {
	return v.document(head, tag.El("body", tag.Class("live"), tag.El("main", tag.El("header",
		tag.El("h1", tag.Class("site"), tag.Literal("asusual")), tag.El("p", tag.Class("since"), said)))))
}
