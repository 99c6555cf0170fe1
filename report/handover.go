package report

import (
	"fmt"
	"slices"
	"time"

	"asusual/model/finding"
	"asusual/report/chart"
)

// A Verdict is one of the three things that can be said of a period.
type Verdict string

// The verdicts.
const (
	AsUsual   Verdict = "as usual"
	Changed   Verdict = "the process has changed"
	CannotSay Verdict = "cannot say"
)

// Known reports whether it is one of the three.
func (v Verdict) Known() bool { return v == AsUsual || v == Changed || v == CannotSay }

// A Handover is what the report of a shift says. Times are shown in Zone (nil: UTC). A zero time means that it is not
// known or does not apply.
type Handover struct {
	Line, Shift string
	From, To    time.Time
	Zone        *time.Location
	Late        time.Time // when it was written, if that was long after the end of the shift
	Early       time.Time // when it was written, if that was before the end of the shift

	Verdict   Verdict           // at the end of the shift
	Since     time.Time         // since when it holds; for a change, when that is thought to have begun
	Reasons   []finding.Finding // why it cannot be said, or what the change looks like
	Last      float64           // the median distance of the last hour of production; the limit is 1
	LastFrom  time.Time         // from when on Last is taken, where the change is younger than that hour
	Peak      float64           // the largest distance outside named conditions, strays left out
	PeakAt    time.Time
	Typical   float64 // the median distance of known-good spectra
	Inside    int     // spectra within the limits, of those that should have been usual
	Expected  int     // spectra that should have been usual
	Overtaken int     // of Expected, those that came after newer ones had been judged: they have no part in the verdict

	Reference  Reference
	Instrument Instrument
	Complete   Completeness
	Episodes   []Episode
	Acts       []Act // what became of the alarm, the oldest first
	Conditions []Stay
	Groups     []Group
	Findings   []finding.Finding // what else a person should know

	// The pictures. Sizes and words are set here, and so are the period and the episodes of Distance, its Gaps where there
	// are none, and the PeriodName of Spectrum where it is empty.
	Distance chart.DistancePlot
	Scores   chart.ScorePlot
	Spectrum chart.SpectrumPlot
	Map      *chart.ScorePlot  // all conditions; nil for none
	Means    *chart.GroupsPlot // the mean spectra of the latest uncharted groups against usual; nil for none
	Against  *Compare          // this shift against an earlier period; nil for none

	Language *Language // nil: English
}

// A Reference says by what was judged.
type Reference struct {
	Name, Fingerprint string
	Before            []string // the fingerprints of those that judged before it in the same period
	Learned           time.Time
	Runs              int
	Hours             float64 // of known-good production
	Promise           string
	Approved          []Approval // of the version that is in use
	Unapproved        bool       // nobody has approved it, and that is to be said
	Card              string     // where its card lies, relative to the report; "" for nowhere
	Findings          []finding.Finding
}

// An Episode is a stretch of time over which the process had changed.
type Episode struct {
	From, To     time.Time // To is zero while it lasts
	ChangedSince time.Time // when the change is thought to have begun
	Spectra      int
	Peak         float64
	Group        string // the uncharted group that its spectra form; "" for none
	Seen         []Seen
}

// A Seen is an earlier stretch of time at the same place.
type Seen struct {
	Where    string // the name of a group or condition
	From, To time.Time
}

// A Stay is the time spent in a condition.
type Stay struct {
	Condition string
	Time      time.Duration
	Spectra   int
	Times     int           // how often it was entered
	Over      time.Duration // of Time, in stays that had lasted longer than they may
	Note      string
}

// A Group is a place where uncharted spectra lie together.
type Group struct {
	Name        string
	First, Last time.Time
	Spectra     int
	Seen        []Seen
	Now         string    // the condition that was named from it; "" for none
	Distance    float64   // of its mean spectrum; 0 where that is not known
	Most        []float64 // where its mean spectrum lies furthest outside usual, in the unit of the axis
	Unit        string
}

// An Instrument says whether the instrument can be believed.
type Instrument struct {
	State    string            // "fit", "ageing", "unfit"; "" if it was not checked
	Since    time.Time         // since when; zero where that is not known
	Findings []finding.Finding // why it is not fit
	Looks    []finding.Finding // which fault of an instrument the change looks like
	Checks   []Check
	Trends   *chart.TrendPlot   `json:",omitempty"` // of the checks; nil where there are too few. Size and words are set here
	Repeats  *chart.RepeatsPlot `json:",omitempty"` // of the standard; nil for none. Size and words are set here
}

// A Check is one figure of the instrument against its limit.
type Check struct {
	Name         string
	Value, Limit float64
	Unit         string
	At           time.Time
	Fit          bool
	Ageing       bool // not fit any more, and still to be believed
}

// A Completeness says what came, what was judged and what was missing.
type Completeness struct {
	Received, Judged, Unfit int
	Unreadable              int
	Files                   []Unreadable // those that could not be read, or the first of them
	Gaps                    []chart.Span // stretches without spectra
	Items                   *Items       // while single items were gathered, which then are what is counted; nil: spectra are
}

// An Unreadable is a file that could not be read, and why.
type Unreadable struct {
	File, Reason string
	Time         time.Time
	Count        int // how many rows of the file it stands for; 0: one
}

// Render writes the page of the handover and its pictures: distance.png, score-plot.png, spectrum.png, map.png and groups.png.
// Beside them are their figures.
func (h Handover) Render() (Page, error) {
	if !h.To.After(h.From) {
		return Page{}, fmt.Errorf("handover of %s: the shift ends at %s, before it begins at %s",
			h.Line, h.To.Format(time.RFC3339), h.From.Format(time.RFC3339))
	}
	if h.Complete.Items != nil {
		h.Language = orEnglish(h.Language).ofItems()
	}
	t := newTeller(h.Language, h.Zone, h.From, h.To)
	a := newAlbum(t.Language)
	v := view{
		frame:    frame{Language: t.Language, Title: t.say("handover.title", "line", h.Line, "shift", h.Shift, "day", t.longDay(h.From))},
		Kicker:   t.say("handover.kicker", "line", h.Line, "shift", h.Shift),
		Lede:     []string{t.period(), h.Reference.line(t)},
		Headline: h.headline(t),
		Answers:  h.answers(t),
		Figures:  h.figures(t, a),
		Sign:     []string{t.say("sign.from"), t.say("sign.to"), t.say("sign.time")},
	}
	if !h.Late.IsZero() {
		v.Lede[0] += " " + t.say("handover.late", "time", t.clock(h.Late))
	}
	if !h.Early.IsZero() {
		v.Lede[0] += " " + t.say("handover.early", "time", t.clock(h.Early))
	}
	v.Sections = h.sections(t, a)
	v.Colophon = h.Reference.colophon(t)
	p, err := v.figures(a, "handover", h)
	if err != nil {
		return p, err
	}
	p.Figures["distance.csv"], p.Figures["score-plot.csv"], p.Figures["spectrum.csv"] = distanceCSV(h.Distance), scoresCSV(h.Scores), spectrumCSV(h.Spectrum)
	if h.Map != nil {
		p.Figures["map.csv"] = scoresCSV(*h.Map)
	}
	if len(h.Acts) > 0 {
		p.Figures["alarm.csv"] = actsCSV(h.Acts)
	}
	if h.Means != nil {
		p.Figures["groups.csv"] = groupsCSV(*h.Means)
	}
	if h.Against != nil {
		for name, b := range h.Against.tables() {
			p.Figures["against-"+name] = b
		}
	}
	return p.lacks("handover"), nil
}

// figures draws the pictures of the first page.
func (h Handover) figures(t *teller, a *album) []figure {
	h.Distance.Words, h.Scores.Words, h.Spectrum.Words = &t.Pictures, &t.Pictures, &t.Pictures
	if h.Spectrum.PeriodName == "" {
		h.Spectrum.PeriodName = t.say("this.shift")
	}
	h.Distance.From, h.Distance.To = t.from, t.to
	if h.Distance.Gaps == nil {
		h.Distance.Gaps = h.Complete.Gaps
	}
	h.Distance.Episodes = h.spans(t)
	h.Distance.Conditions = slices.Clone(h.Distance.Conditions)
	for i, c := range h.Distance.Conditions {
		h.Distance.Conditions[i].Name = t.condition(c.Name)
	}
	h.Spectrum.Quantity = t.quantity(h.Spectrum.Quantity)
	full, half := h.Distance, h.Distance
	full.Size, half.Size = chart.Full, chart.Half
	if len(h.Episodes) > 3 { // so many long names would hide what they stand at
		full.Episodes = h.shortSpans(t)
	}
	if len(h.Episodes) > 1 { // a telephone has no room for as many words
		half.Episodes = h.shortSpans(t)
	}
	h.Scores.Size, h.Spectrum.Size = chart.Half, chart.Half
	return []figure{
		a.wide("distance", full, half, h.altDistance(t), t.say("distance.caption")),
		a.add("score-plot", h.Scores, h.altScores(t), t.say("scores.caption")),
		a.add("spectrum", h.Spectrum, h.altSpectrum(t), spectrumCaption(t, h.Spectrum)),
	}
}

// spans are the episodes as they stand in the picture of the distances.
func (h Handover) spans(t *teller) (all []chart.Span) {
	for _, e := range h.Episodes {
		name := t.say("episode.name")
		if !e.ChangedSince.IsZero() {
			name = t.say("episode.since", "when", t.clock(e.ChangedSince))
		}
		all = append(all, chart.Span{From: e.From, To: e.To, Name: name})
	}
	return all
}

// shortSpans are the same in few words.
func (h Handover) shortSpans(t *teller) []chart.Span {
	all := h.spans(t)
	for i, e := range h.Episodes {
		if !e.ChangedSince.IsZero() {
			all[i].Name = t.say("episode.short", "when", t.clock(e.ChangedSince))
		}
	}
	return all
}

func spectrumCaption(t *teller, s chart.SpectrumPlot) string {
	if len(s.Regions) == 0 {
		return t.say("spectrum.caption")
	}
	return t.say("spectrum.caption") + " " + t.say("bonds.caption")
}

// sections are the details after the first page.
func (h Handover) sections(t *teller, a *album) []section {
	all := []section{h.episodeSection(t), h.conditionSection(t, a), h.instrumentSection(t, a), h.completeSection(t)}
	if h.Against != nil {
		all = append(all, h.Against.sections(t, a)...)
	}
	if len(h.Findings) > 0 {
		all = append(all, section{ID: "findings", Title: t.say("findings.title"), List: t.findings(h.Findings)})
	}
	return all
}

func (t *teller) findings(all []finding.Finding) []string {
	said := make([]string, len(all))
	for i, f := range all {
		said[i] = t.finding(f)
	}
	return said
}

// colophon says by what the period was judged.
func (r Reference) colophon(t *teller) []string {
	all := []string{r.line(t)}
	if r.Runs > 0 {
		all = append(all, t.say("reference.learned", "day", t.shortDay(r.Learned), "runs", t.count("runs", r.Runs),
			"hours", t.number(r.Hours, 3), "promise", t.promise(r.Promise)))
	}
	all = append(all, t.approved(r.Approved, r.Unapproved)...)
	return append(all, t.findings(r.Findings)...)
}

// line names the reference.
func (r Reference) line(t *teller) string {
	if r.Name == "" {
		return t.say("reference.none")
	}
	if len(r.Before) > 0 {
		return t.say("reference.after", "name", r.Name, "fingerprint", r.Fingerprint, "before", t.list(r.Before))
	}
	return t.say("reference.line", "name", r.Name, "fingerprint", r.Fingerprint)
}
