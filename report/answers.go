package report

import (
	"math"
	"slices"
	"strings"
	"time"

	"asusual/report/chart"
)

// headline is the verdict as one sentence.
func (h Handover) headline(t *teller) string {
	switch h.Verdict {
	case Changed:
		switch {
		case h.Since.IsZero():
			return t.say("verdict.changed")
		case h.Since.Before(h.From):
			return t.say("verdict.changed.before", "when", t.clock(h.Since))
		}
		return t.say("verdict.changed.since", "when", t.clock(h.Since))
	case AsUsual:
		if len(h.Episodes) > 0 && !h.Since.IsZero() && h.Since.After(h.From) {
			return t.say("verdict.usual.again", "when", t.clock(h.Since))
		}
		return t.say("verdict.usual")
	}
	return t.say("verdict.cannot")
}

// answers are the questions of a handover in the order in which they are asked.
func (h Handover) answers(t *teller) []answer {
	all := []answer{
		{t.say("q.since"), h.sinceWhen(t)},
		{t.say("q.far"), h.howFar(t)},
		{t.say("q.seen"), h.seenBefore(t)},
		{t.say("q.instrument"), h.isInstrument(t)},
		{t.say("q.missing"), h.missing(t)},
		{t.say("q.now"), h.whatNow(t)},
	}
	if h.Verdict == CannotSay {
		why := t.findings(h.Reasons)
		if len(why) == 0 {
			why = []string{t.say("why." + h.whyNot())}
		}
		all = append([]answer{{t.say("q.why"), why}}, all...)
	}
	return all
}

// whyNot is why nothing can be said where no finding tells it.
func (h Handover) whyNot() string {
	switch c := h.Complete; {
	case c.Received == 0:
		return "nothing"
	case c.Judged == 0:
		return "unfit"
	case h.Instrument.State == "unfit":
		return "instrument"
	case h.Expected == 0:
		return "named"
	case 2*h.Overtaken > h.Expected:
		return "overtaken"
	}
	return "short"
}

// current returns the episode that lasts at the end of the shift.
func (h Handover) current() (Episode, bool) {
	for _, e := range slices.Backward(h.Episodes) {
		if e.To.IsZero() || !e.To.Before(h.To) {
			return e, true
		}
	}
	return Episode{}, false
}

func (h Handover) sinceWhen(t *teller) (text []string) {
	switch h.Verdict {
	case Changed:
		if n := len(h.Episodes); n > 0 {
			e, ok := h.current()
			if !ok {
				e = h.Episodes[n-1]
			}
			text = append(text, t.say("since.changed", "seen", t.clock(e.From), "began", t.clock(e.ChangedSince)))
			if !ok {
				text[0] += " " + t.say("since.ended", "when", t.clock(e.To))
			}
		}
		if earlier := len(h.Episodes) - 1; earlier > 0 {
			text = append(text, t.count("since.earlier", earlier))
		}
	case AsUsual:
		var were []chart.Span
		for _, e := range h.Episodes {
			were = append(were, chart.Span{From: e.From, To: e.To})
		}
		if len(were) > 0 {
			text = append(text, t.say("since.was", "span", t.list(t.spans(were, mostSaid))))
		}
		if len(h.Episodes) == 0 {
			text = append(text, t.say("since.all", "time", t.duration(h.timeIn("usual"))))
		}
	default:
		if !h.Since.IsZero() {
			text = append(text, t.say("since.cannot", "when", t.clock(h.Since)))
		}
	}
	if line := h.alarmLine(t); line != "" {
		text = append(text, line)
	}
	if len(text) == 0 {
		text = append(text, none)
	}
	return text
}

// mostSaid is how many episodes the first page speaks of one by one.
const mostSaid = 4

func (h Handover) timeIn(condition string) (d time.Duration) {
	for _, s := range h.Conditions {
		if s.Condition == condition {
			d += s.Time
		}
	}
	return d
}

func (h Handover) howFar(t *teller) []string {
	if h.Expected == 0 {
		return []string{t.say("far.nothing")}
	}
	key := "far.inside"
	switch {
	case h.Verdict == CannotSay: // no claim, only what was measured
		key = "far.cannot"
	case h.Last > 1:
		key = "far.outside"
	case h.Verdict == Changed: // a small change that lasts: only together the spectra show it
		key = "far.together"
	case h.Last > 0.85:
		key = "far.near"
	}
	over := t.say("far.hour")
	if !h.LastFrom.IsZero() {
		over = t.say("far.since", "when", t.clock(h.LastFrom))
	}
	text := []string{t.say(key, "last", t.number(h.Last, 2), "over", over)}
	if h.Typical > 0 && !math.IsInf(h.Typical, 0) {
		text = append(text, t.say("far.typical", "typical", t.number(h.Typical, 2)))
	}
	if !h.PeakAt.IsZero() {
		text = append(text, t.say("far.peak", "peak", t.number(h.Peak, 2), "when", t.clock(h.PeakAt)))
	}
	return append(text, t.say("far.share", "share", t.percent(float64(h.Inside)/float64(h.Expected)), "n", t.whole(h.Expected)))
}

func (h Handover) seenBefore(t *teller) (text []string) {
	told := map[string]bool{}
	tell := func(seen []Seen, name string, of time.Time) {
		many := ""
		if !of.IsZero() {
			many = ".of"
		}
		for _, s := range seen {
			line := t.say("seen.at"+many, "of", t.clock(of), "where", t.group(s.Where), "when", t.span(s.From, s.To))
			if s.From.IsZero() {
				line = t.say("seen.like"+many, "of", t.clock(of), "where", t.group(s.Where))
			}
			if !told[line] {
				told[line] = true
				text = append(text, line)
			}
		}
		if len(seen) == 0 && name != "" && !told[name] {
			text = append(text, t.say("seen.never"+many, "of", t.clock(of), "name", t.group(name)))
		}
		told[name] = true
	}
	for _, e := range h.Episodes {
		of := e.From // with several, each says which it speaks of
		if len(h.Episodes) == 1 {
			of = time.Time{}
		}
		tell(e.Seen, e.Group, of)
	}
	for _, g := range h.Groups {
		if !told[g.Name] {
			tell(g.Seen, g.Name, time.Time{})
		}
	}
	if more := len(text) - mostSaid; more > 1 { // the first page stays one page; the tables have all
		text = append(text[:mostSaid], t.count("more", more)+".")
	}
	switch {
	case len(text) > 0:
		return text
	case len(h.Episodes) > 0:
		return []string{t.say("seen.unplaced")}
	}
	return []string{t.say("seen.nothing")}
}

func (h Handover) isInstrument(t *teller) (text []string) {
	for _, f := range h.Instrument.Looks {
		text = append(text, t.finding(f))
	}
	if len(text) > 0 {
		text = append([]string{t.say("instrument.perhaps")}, text...)
	}
	switch h.Instrument.State {
	case "unfit":
		text = append(text, t.say("instrument.unfit"))
		text = append(text, h.Instrument.since(t)...)
	case "ageing":
		text = append(text, t.say("instrument.ageing"))
		text = append(text, h.Instrument.since(t)...)
	case "fit":
		if len(text) == 0 {
			text = append(text, t.say("instrument.fit"))
		}
	default:
		text = append(text, t.say("instrument.unchecked"))
	}
	if h.Verdict == CannotSay && len(h.Reasons) > 0 {
		return text // they stand under "why"
	}
	return append(text, t.findings(h.Instrument.Findings)...)
}

// since says since when the instrument is what it is, where that is known.
func (in Instrument) since(t *teller) []string {
	if in.Since.IsZero() {
		return nil
	}
	return []string{in.stands(t)}
}

func (h Handover) missing(t *teller) (text []string) {
	c := h.Complete
	if n := len(c.Gaps); n > 0 {
		var sum time.Duration
		for _, g := range c.Gaps {
			sum += g.To.Sub(g.From)
		}
		text = append(text, t.say("missing.gaps", "time", t.duration(sum), "spans", t.list(t.spans(c.Gaps, 3))))
	}
	if c.Unreadable > 0 {
		text = append(text, t.count("missing.unreadable", c.Unreadable, "received", t.whole(c.Received)))
	}
	if c.Unfit > 0 {
		text = append(text, t.count("missing.unfit", c.Unfit))
	}
	if h.Overtaken > 0 {
		text = append(text, t.count("missing.late", h.Overtaken))
	}
	if len(text) == 0 {
		if c.Received == 0 {
			return []string{t.say("missing.all")}
		}
		return []string{t.say("missing.nothing", "n", t.whole(c.Judged))}
	}
	return text
}

// spans says the first stretches, and how many more there are.
func (t *teller) spans(all []chart.Span, most int) (said []string) {
	for i, s := range all {
		if i == most {
			return append(said, t.count("more", len(all)-most))
		}
		said = append(said, t.span(s.From, s.To))
	}
	return said
}

// whatNow says what to do next. It never says that a product may go or must stay.
func (h Handover) whatNow(t *teller) []string {
	suspect := len(h.Instrument.Looks) > 0 || h.Instrument.State == "unfit"
	switch {
	case h.Verdict == Changed && suspect:
		return []string{t.say("now.instrument"), t.say("now.line")}
	case h.Verdict == Changed:
		return []string{t.say("now.changed", "when", t.clock(h.Since)), t.say("now.line")}
	case h.Verdict == CannotSay && h.Complete.Received == 0:
		return []string{t.say("now.nospectra")}
	case h.Verdict == CannotSay:
		return []string{t.say("now.cannot")}
	case h.Instrument.State == "unfit": // what it says is usual hangs on it as much
		return []string{t.say("now.unfit")}
	case len(h.Episodes) > 0:
		return []string{t.say("now.again")}
	case h.Instrument.State == "ageing":
		return []string{t.say("now.ageing")}
	}
	return []string{t.say("now.usual")}
}

// altDistance says what the picture of the distances says.
func (h Handover) altDistance(t *teller) string {
	parts := []string{t.say("alt.distance", "from", t.clock(h.From), "to", t.clock(h.To))}
	parts = append(parts, h.howFar(t)...)
	for _, e := range h.Episodes {
		parts = append(parts, t.say("alt.episode", "span", t.span(e.From, e.To)))
	}
	return strings.Join(parts, " ")
}

func (h Handover) altScores(t *teller) string {
	inside, outside := 0, 0
	for _, m := range h.Scores.Period {
		switch m.Kind {
		case chart.Inside:
			inside++
		case chart.Outside:
			outside++
		}
	}
	var names []string
	for _, c := range h.Scores.Clusters {
		names = append(names, c.Name)
	}
	alt := t.say("alt.scores", "inside", t.whole(inside), "outside", t.whole(outside))
	if len(names) > 0 {
		alt += " " + t.say("alt.clusters", "names", t.list(names))
	}
	return alt
}

func (h Handover) altSpectrum(t *teller) string {
	moved := h.Spectrum.Moved()
	switch {
	case len(h.Spectrum.Difference) == 0:
		return t.say("alt.spectrum.none")
	case len(moved) == 0:
		return t.say("alt.spectrum.same")
	}
	var at []string
	for _, m := range moved {
		at = append(at, t.number(m, 4)+" "+h.Spectrum.Axis.Unit)
	}
	return t.say("alt.spectrum.moved", "at", t.list(at))
}
