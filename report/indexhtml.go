package report

import (
	"strconv"

	"asusual/report/tag"
)

// main is what stands on the index.
func (v indexView) main() tag.Part {
	return tag.Block("main", tag.Class("index"),
		tag.Block("header", nil,
			tag.Parts{tag.If(v.Kicker != "", classed("kicker", v.Kicker))},
			tag.El("h1", tag.Text(v.Headline)),
			tag.Lines(tag.Each(v.Lines, lineView.lede)),
			classed("key", v.Say("index.key"))),
		tag.Lines(tag.Each(v.Lines, func(ln lineView) tag.Part { return ln.part(v.Say("col.day")) })),
		tag.Parts{})
}

func (ln lineView) lede() tag.Part {
	return tag.El("p", tag.Class("lede"), tag.El("a", tag.Href(tag.Within(ln.ID)), tag.Text(ln.Name)), tag.Text(": "+ln.State))
}

func (ln lineView) part(day string) tag.Part {
	return tag.Block("section", tag.Attr("id", ln.ID),
		tag.El("h2", tag.Text(ln.Name)),
		tag.Lines(tag.Each(ln.Unread, paragraph)),
		tag.Lines(tag.Each(ln.Months, func(m monthView) tag.Part { return m.part(ln.Name, day) })))
}

func (m monthView) part(line, day string) tag.Part {
	caption := tag.El("caption", tag.Class("unseen"), tag.Text(m.Name))
	return tag.Block("details", tag.If(m.Open, tag.Flag("open")),
		tag.El("summary", tag.El("h3", tag.Text(m.Name)), tag.Literal(" "), tag.El("span", tag.Text(m.Count))),
		tag.Block("div", tag.Class("month"),
			tag.Block("table", tag.Class("calendar"),
				caption,
				tag.El("thead", tag.El("tr", tag.Each(m.Weekdays, weekday))),
				tag.Block("tbody", nil, tag.Each(m.Weeks, func(w [7]dayCell) tag.Part { return tag.El("tr", tag.Each(w[:], dayCell.part)) })...)),
			tag.Block("div", scrolled(line+", "+m.Name),
				tag.Block("table", tag.Class("days"),
					caption,
					tag.El("thead", tag.El("tr", heading(day), tag.Each(m.Shifts, heading))),
					tag.Block("tbody", nil, tag.Each(m.Days, dayView.part)...)))))
}

// heading is the head of a column.
func heading(text string) tag.Part { return tag.El("th", ofColumn(), tag.Text(text)) }

// weekday is the head of a column of a calendar: two letters of the day's name.
func weekday(name string) tag.Part {
	return tag.El("th", ofColumn(), tag.Attr("abbr", name), tag.Text([]rune(name)[:2]))
}

func (c dayCell) part() tag.Part {
	if c.ID == "" {
		return tag.El("td", tag.Text(c.Day))
	}
	return tag.El("td", tag.El("a", tag.Class(c.Class), tag.Href(tag.Within(c.ID)), tag.Label(c.Label), tag.Text(c.Day), mark(c.Mark)))
}

// mark is the shape of a verdict, beside its words.
func mark(shape string) tag.Part { return tag.El("i", hidden(), tag.Text(shape)) }

func (d dayView) part() tag.Part {
	return tag.El("tr", tag.Attr("id", d.ID), tag.El("th", ofRow(), tag.Text(d.Name)), tag.Each(d.Cells, shiftView.part))
}

func (s shiftView) part() tag.Part {
	return tag.El("td", tag.If(s.Href != "",
		tag.El("a", tag.Class(s.Class), tag.Href(tag.To(s.Href)), tag.Label(s.Label), mark(s.Mark), tag.Literal("&nbsp;"), tag.Text(s.Words), s.Strip.part())))
}

func (s *strip) part() tag.Part {
	if s == nil {
		return nil
	}
	view := "0 0 " + strconv.Itoa(s.Wide) + " " + strconv.Itoa(stripHigh)
	return tag.El("svg", tag.Attr("viewBox", view), hidden(), tag.Attr("preserveAspectRatio", "none"),
		tag.El("path", tag.Class("l"), tag.Attr("d", s.Limit)),
		tag.El("path", tag.Attr("d", s.Usual)),
		tag.El("path", tag.Class("o"), tag.Attr("d", s.Changed)))
}
