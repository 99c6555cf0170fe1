package report

import "time"

// A Now is how a line stands at a moment: what the live page says. Times that are not known are zero.
type Now struct {
	Handover           // what a handover that ended at this moment, To, would hold
	Newest   time.Time // the newest spectrum; zero: none came yet

	Condition    string // of the newest spectrum
	Over         bool   // the newest spectrum is in a condition that has lasted too long
	Alarm        Alarm
	Instrumental time.Time // since when the state of the instrument is what it is
	Behind       int       // files that wait to be judged
	Trouble      string    // what keeps the line from being watched
	LastVerdict  Verdict   // what was said last, where that holds no more since nothing is judged; else ""
}

// An Alarm is how the alarm of a line stands: its cause is that the process has changed.
type Alarm struct {
	State    string    // normal, unacknowledged, acknowledged, returned to normal, shelved; "" for normal
	Since    time.Time // when it came into the state
	Until    time.Time // of a shelf
	Who, Why string    // of whom acknowledged or shelved it
}

// A Told is what a page says of a Now, in words of one language.
type Told struct {
	Headline   string   `json:"headline"`
	Since      string   `json:"since"`
	Instrument []string `json:"instrument"` // the first says the state, the others why
	Alarm      string   `json:"alarm"`      // "" where there is none
	Answers    []Answer `json:"answers"`
	Conditions Sheet    `json:"conditions"`
	Groups     Sheet    `json:"groups"`
	Distance   string   `json:"distance"` // what the picture of the distances shows
	Scores     string   `json:"scores"`   // what the score plot shows
	Spectrum   string   `json:"spectrum"` // what the picture of the newest spectrum shows
	Reference  []string `json:"reference"`
}

// An Answer is a question and what is to be said to it.
type Answer struct {
	Question string   `json:"question"`
	Text     []string `json:"text"`
}

// A Sheet is a table in words. The first cell of a row is its head.
type Sheet struct {
	Caption string     `json:"caption"`
	Heads   []string   `json:"heads"`
	Numbers []bool     `json:"numbers"` // which columns hold numbers
	Rows    [][]string `json:"rows"`
	Empty   string     `json:"empty"` // what stands where there are no rows
}

// Tell says how the line stands.
func (n Now) Tell() Told {
	t := newTeller(n.Language, n.Zone, n.To.Add(-12*time.Hour), n.To)
	told := Told{
		Headline: n.headline(t), Since: n.sinceNow(t), Instrument: n.instrumentNow(t),
		Conditions: n.conditionsNow(t), Groups: n.groupTable(t).sheet(), Reference: n.Reference.colophon(t), Alarm: n.Alarm.say(t),
		Distance: t.say("live.alt.distance"), Scores: t.say("live.alt.scores"), Spectrum: t.say("live.alt.spectrum"),
	}
	if n.Expected > 0 {
		told.Distance += " " + t.say("live.alt.last", "last", t.number(n.Last, 2))
	}
	ask := func(key string, text []string) {
		told.Answers = append(told.Answers, Answer{t.say(key), text})
	}
	if n.Verdict != AsUsual && n.Verdict != Changed {
		ask("q.why", n.whyNow(t))
	}
	ask("q.far", n.farNow(t))
	if n.Verdict == Changed && len(n.Reasons) > 0 {
		ask("live.q.like", t.findings(n.Reasons))
	}
	episode := n.Handover
	episode.Groups = nil // those of the open episode alone are asked for
	ask("q.seen", episode.seenBefore(t))
	if n.Condition != "" {
		ask("live.q.where", []string{n.whereNow(t)})
	}
	ask("q.missing", n.missingNow(t))
	ask("q.now", n.nextNow(t))
	return told
}

func (n Now) headline(t *teller) string {
	switch {
	case n.Newest.IsZero() || n.Verdict == "": // nobody has said anything yet
		return t.say("live.nothing")
	case n.Verdict == AsUsual:
		return t.say("verdict.usual")
	case n.Verdict == Changed && !n.Since.IsZero():
		return t.say("verdict.changed.since", "when", t.clock(n.Since))
	}
	return n.Handover.headline(t)
}

func (n Now) sinceNow(t *teller) string {
	if e, ok := n.current(); ok && n.Verdict == Changed {
		return t.say("since.changed", "seen", t.clock(e.From), "began", t.clock(e.ChangedSince))
	}
	if n.Since.IsZero() {
		return ""
	}
	return t.say("since.cannot", "when", t.clock(n.Since))
}

// say says how the alarm stands.
func (a Alarm) say(t *teller) string {
	put := []string{"since", t.clock(a.Since), "until", t.clock(a.Until), "who", a.Who, "why", a.Why}
	switch a.State {
	case "unacknowledged":
		return t.say("live.alarm.open")
	case "returned to normal":
		return t.say("live.alarm.returned", put...)
	case "acknowledged":
		return t.say("live.alarm.acknowledged", put...)
	case "shelved":
		return t.say("live.alarm.shelved", put...)
	}
	return ""
}

// instrumentNow says the state of the instrument in one line, and then why.
func (n Now) instrumentNow(t *teller) []string {
	line := t.say("instrument.unchecked")
	if s := n.Instrument.State; s == "fit" || s == "ageing" || s == "unfit" {
		line = t.say("instrument.state." + s)
		if !n.Instrumental.IsZero() {
			line = t.say("live.instrument."+s, "when", t.clock(n.Instrumental))
		}
	}
	return append([]string{line}, t.findings(n.Instrument.Findings)...)
}

func (n Now) whyNow(t *teller) []string {
	switch {
	case n.Newest.IsZero():
		return []string{t.say("live.why.nothing")}
	case len(n.Reasons) > 0:
		return t.findings(n.Reasons)
	case n.LastVerdict != "":
		return []string{t.say("live.why.silent", "verdict", t.say("index."+marks[n.LastVerdict][1]))}
	case n.named():
		return []string{t.say("live.why.named", "name", t.condition(n.Condition))}
	}
	return []string{t.say("live.why.unknown")}
}

// named reports whether the line is in a condition that a person named.
func (n Now) named() bool {
	return n.Condition != "" && n.Condition != "usual" && n.Condition != "uncharted" && n.Condition != "unfit"
}

// farNow says how far the newest spectra lie, and then what the last hour was like.
func (n Now) farNow(t *teller) []string {
	if n.Expected == 0 {
		return []string{t.say("far.nothing")}
	}
	text := []string{t.say("live.far."+n.nearness(), "last", t.number(n.Last, 2))}
	if n.Typical > 0 {
		text = append(text, t.say("far.typical", "typical", t.number(n.Typical, 2)))
	}
	if !n.PeakAt.IsZero() {
		text = append(text, t.say("live.far.peak", "peak", t.number(n.Peak, 2), "when", t.clock(n.PeakAt)))
	}
	return append(text, t.say("live.far.share", "share", t.percent(float64(n.Inside)/float64(n.Expected))))
}

// nearness is where the newest spectra lie against the limit.
func (n Now) nearness() string {
	switch {
	case n.Verdict == CannotSay:
		return "cannot"
	case n.Last > 1:
		return "outside"
	case n.Verdict == Changed:
		return "together"
	case n.Last > 0.85:
		return "near"
	}
	return "inside"
}

func (n Now) whereNow(t *teller) string {
	switch n.Condition {
	case "usual":
		return t.say("live.where.usual")
	case "uncharted":
		return t.say("live.where.uncharted")
	case "unfit":
		return t.say("live.where.unfit")
	}
	if n.Over {
		return t.say("live.where.over", "name", t.condition(n.Condition))
	}
	return t.say("live.where.named", "name", t.condition(n.Condition))
}

func (n Now) missingNow(t *teller) (text []string) {
	if n.Trouble != "" {
		text = append(text, t.say("live.trouble", "reason", t.Said(n.Trouble)))
	}
	if n.Complete.Unreadable > 0 {
		text = append(text, t.count("live.unreadable", n.Complete.Unreadable))
	}
	if n.Behind > 0 {
		text = append(text, t.count("live.behind", n.Behind))
	}
	for _, c := range n.Conditions {
		if c.Condition == "unfit" && c.Spectra > 0 {
			text = append(text, t.count("missing.unfit", c.Spectra))
		}
	}
	if len(text) == 0 && n.Newest.IsZero() {
		text = append(text, t.say("missing.all"))
	}
	if len(text) == 0 {
		text = append(text, t.say("live.complete"))
	}
	return text
}

// nextNow says what to do. It never says that a product may go or must stay.
func (n Now) nextNow(t *teller) []string {
	switch {
	case n.Newest.IsZero():
		return []string{t.say("now.nospectra")}
	case n.Verdict == CannotSay && n.named() && len(n.Reasons) == 0:
		return []string{t.say("now.usual")}
	case n.Verdict == CannotSay:
		return []string{t.say("now.cannot")}
	}
	if n.Verdict == Changed && len(n.Instrument.Looks) == 0 && n.Instrument.State != "unfit" {
		return []string{t.say("live.now.changed", "when", t.clock(n.Since)), t.say("now.line")}
	}
	return n.whatNow(t)
}

func (n Now) conditionsNow(t *teller) Sheet {
	tb := table{Caption: t.say("live.conditions"), Empty: t.say("conditions.none"), Heads: []head{
		{t.say("col.condition"), false}, {t.say("col.time"), true}, {t.say("col.spectra"), true}, {t.say("col.note"), false},
	}}
	for _, c := range n.Conditions {
		tb.Rows = append(tb.Rows, row{Cells: []string{t.condition(c.Condition), t.duration(c.Time), t.whole(c.Spectra), c.note(t)}})
	}
	return dropEmpty(tb).sheet()
}

// sheet is the table in plain words.
func (tb table) sheet() Sheet {
	s := Sheet{Caption: tb.Caption, Empty: tb.Empty}
	for _, h := range tb.Heads {
		s.Heads, s.Numbers = append(s.Heads, h.Text), append(s.Numbers, h.Number)
	}
	for _, r := range tb.Rows {
		s.Rows = append(s.Rows, r.Cells)
	}
	return s
}

// LiveTitle is what the live page of a line is called, or with the line "" the page of all lines of a site.
func (l *Language) LiveTitle(line, site string) string {
	if line == "" {
		return l.say("live.title.all", "site", site)
	}
	return l.say("live.title", "line", line)
}

// LastSpectrum says when the newest spectrum came, with its day: a page whose script does not run may stand for days.
func (l *Language) LastSpectrum(at time.Time, zone *time.Location) string {
	if at.IsZero() {
		return l.say("live.why.nothing")
	}
	t := newTeller(l, zone, at, at)
	return l.say("live.last", "time", t.say("date.time", "date", t.shortDay(at), "time", at.In(t.zone).Format("15:04:05")))
}

// LiveWords are the words that the live page puts together itself while time goes on, by short names.
func (l *Language) LiveWords() map[string]string {
	p := l.Pictures
	return map[string]string{
		"lost": l.say("live.lost"), "quiet": l.say("live.quiet"), "then": l.say("live.then"), "stopped": l.say("live.stopped"),
		"last": l.say("live.last"), "never": l.say("live.why.nothing"), "ago": l.say("live.ago"), "s": l.say("lasts.s"), "min": l.say("lasts.min"), "h": l.say("lasts.h"), "hmin": l.say("lasts.hmin"),
		"d": l.say("lasts.d"), "decimal": l.say("decimal"), "usual": p.Usual, "limit": p.Limit, "newest": p.Newest, "beyond": p.Beyond,
		"note": p.DistanceNote, "gap": p.NoSpectra, "band": p.UsualBand, "difference": p.Difference,
		"datetime": l.say("date.time"), "day": l.say("date.day"), "months": l.say("months"),
		"changed": l.say("live.changed"), "failed": l.say("live.failed"),
		"names": l.say("live.names"), "quantity": l.say("quantity.absorbance"), "token": l.say("live.token"),
	}
}

// LiveTexts are the words that stand on the live page as they are, by short names.
func (l *Language) LiveTexts() map[string]string {
	return map[string]string{
		"script": l.say("live.script"), "distance": l.say("live.distance"), "scores": l.say("live.scores"), "spectrum": l.say("live.spectrum"),
		"acknowledge": l.say("live.acknowledge"), "group": l.say("col.group"), "name": l.say("live.name"), "named": l.say("live.named"), "who": l.say("live.who"), "why": l.say("live.why"), "conditions": l.say("live.conditions"), "groups": l.say("live.groups"),
		"figures": l.say("live.figures"), "all": l.say("live.all"), "caution": l.say("caution.title"), "caution1": l.say("caution.1"),
		"caution2": l.say("caution.2"), "caution3": l.say("caution.3"), "notsaid": l.say("notsaid.2"),
		"token": l.say("live.token"), "welcome": l.say("live.welcome"), "unknown": l.say("live.unknown"), "host": l.say("live.host"),
	}
}

// ScoreLabel says what stands on the axis of a score (from 1) that carries a share of usual variation.
func (l *Language) ScoreLabel(i int, share float64) string {
	return orEnglish(l).Pictures.ScoreLabel(i, share)
}

// MapLabel says what stands on an axis (from 1) of the map of conditions.
func (l *Language) MapLabel(i int) string { return orEnglish(l).Pictures.MapLabel(i) }

// Figure says a number to at most the given significant digits.
func (l *Language) Figure(v float64, digits int) string { return orEnglish(l).short(v, digits) }
