package report

import "asusual/report/tag"

// main is what stands on the page of a site.
func (v siteView) main() tag.Part {
	table := tag.Lines{
		tag.Block("div", scrolled(v.Caption),
			tag.Block("table", tag.Parts{tag.Class("stands"), tag.Attr("role", "table")},
				tag.El("caption", tag.Class("unseen"), tag.Text(v.Caption)),
				tag.El("thead", tag.El("tr", tag.Each(v.Heads, heading))),
				tag.Block("tbody", tag.Attr("role", "rowgroup"), tag.Each(v.Lines, func(r siteRow) tag.Part { return r.part(v.Heads) })...))),
		classed("key", v.Key)}
	if len(v.Lines) == 0 {
		table = tag.Lines{classed("empty", v.Empty)}
	}
	return tag.Block("main", tag.Class("site"),
		tag.Block("header", nil,
			tag.Parts{tag.If(v.Kicker != "", classed("kicker", v.Kicker))},
			tag.El("h1", tag.Text(v.Headline)),
			classed("lede", v.Lede)),
		tag.Lines(tag.Each(v.Troubles, func(text string) tag.Part { return classed("trouble", text) })),
		table)
}

func (r siteRow) part(heads []string) tag.Part {
	var name tag.Part = tag.Text(r.Name)
	if r.Href != "" {
		name = tag.El("a", tag.Href(tag.To(r.Href)), name)
	}
	// A cell says what its head is, for screens on which each stands on a line of its own.
	cell := func(column int, strong bool, parts ...tag.Part) tag.Part {
		return tag.El("td", tag.Attr("role", "cell"), tag.Attr("data-head", heads[column]), tag.If(strong, tag.Class("strong")), tag.Parts(parts))
	}
	return tag.El("tr", tag.Class(r.Class), tag.Attr("role", "row"),
		tag.El("th", ofRow(), tag.Attr("role", "rowheader"), name),
		tag.El("td", tag.Attr("role", "cell"), mark(r.Mark), tag.Text(" "+r.Verdict), aside(r.Why)),
		cell(2, false, tag.Text(r.Since)),
		cell(3, r.Stale, tag.Text(r.Newest), aside(r.Ago)),
		cell(4, r.Unfit, tag.Text(r.Instrument)),
		cell(5, r.Alone, tag.Text(r.Watch)))
}

// aside says more behind what stands in a cell.
func aside(text string) tag.Part {
	return tag.If(text != "", tag.Literal(" "), tag.El("span", tag.Text(text)))
}
