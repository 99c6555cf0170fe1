package report

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"time"
)

// What the JSON beside an index holds.
type (
	indexFigures struct {
		Site  string
		Lines []lineFigures
	}
	lineFigures struct {
		Name   string
		Months []monthFigures
		Shifts []IndexShift // the newest first
		Unread []string
	}
	monthFigures struct {
		Month                      string // 2026-11
		Shifts, Changed, CannotSay int
	}
)

// figures are all that the index says, in the order of the page.
func (x Index) figures() indexFigures {
	zone := cmp.Or(x.Zone, time.UTC)
	f := indexFigures{Site: x.Site, Lines: []lineFigures{}}
	for _, ln := range x.Lines {
		line := lineFigures{Name: ln.Name, Shifts: slices.Clone(ln.Shifts), Unread: ln.Unread}
		slices.SortStableFunc(line.Shifts, func(a, b IndexShift) int { return b.From.Compare(a.From) })
		for i, s := range line.Shifts {
			line.Shifts[i].From, line.Shifts[i].To = s.From.In(zone), s.To.In(zone)
			if !s.Since.IsZero() {
				line.Shifts[i].Since = s.Since.In(zone)
			}
			if month := s.From.In(zone).Format("2006-01"); len(line.Months) == 0 || line.Months[len(line.Months)-1].Month != month {
				line.Months = append(line.Months, monthFigures{Month: month})
			}
			m := &line.Months[len(line.Months)-1]
			m.Shifts++
			switch s.Verdict {
			case Changed:
				m.Changed++
			case CannotSay:
				m.CannotSay++
			}
		}
		f.Lines = append(f.Lines, line)
	}
	return f
}

// shiftsCSV is a row a shift, and what its small picture draws: the distance in equal parts of the shift.
func (x Index) shiftsCSV() []byte {
	heads, most := []string{"line", "shift", "from", "to", "verdict", "since", "episodes", "report"}, 0
	for _, ln := range x.Lines {
		for _, s := range ln.Shifts {
			most = max(most, len(s.Strip))
		}
	}
	for i := range most {
		heads = append(heads, "part_"+strconv.Itoa(i+1))
	}
	sheet := newSheetOf(heads...)
	for _, ln := range x.figures().Lines {
		for _, s := range ln.Shifts {
			since := any("")
			if !s.Since.IsZero() {
				since = s.Since
			}
			row := []any{ln.Name, s.Name, s.From, s.To, string(s.Verdict), since, float64(s.Episodes), s.Href}
			for i := range most {
				v := math.NaN()
				if i < len(s.Strip) {
					v = s.Strip[i]
				}
				row = append(row, v)
			}
			sheet.row(row...)
		}
	}
	return sheet.bytes()
}
