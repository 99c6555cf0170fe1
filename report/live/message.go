package live

import (
	"encoding/json"
	"math"
	"slices"
	"time"

	"asusual/report"
)

// version is that of the JSON of this page.
const version = 1

// A message is what a page is told of a line: everything that changed since a number, or all.
type message struct {
	Version  int           `json:"version"`
	Assets   string        `json:"assets"` // a page of another version loads itself anew
	Whole    bool          `json:"whole"`  // it replaces all that was told before
	Now      time.Time     `json:"now"`
	Offsets  []offset      `json:"offsets"`
	Site     string        `json:"site"`
	Line     string        `json:"line"`
	Standing *standing     `json:"standing,omitempty"`
	Usual    *usualPicture `json:"usual,omitempty"`
	Readings []reading     `json:"readings,omitempty"`
	Spectrum *spectrum     `json:"spectrum,omitempty"`
	// Figures are what the words say, of which a stream needs none.
	Figures json.RawMessage `json:"figures,omitempty"`
}

// A standing is how the line stands, in figures and in words.
type standing struct {
	Verdict      report.Verdict `json:"verdict"`
	LastVerdict  report.Verdict `json:"last_verdict,omitempty"` // what was said last, where that holds no more
	Since        time.Time      `json:"since,omitzero"`
	ChangedSince time.Time      `json:"changed_since,omitzero"`
	LastSpectrum time.Time      `json:"last_spectrum,omitzero"`
	Still        time.Time      `json:"still_since,omitzero"` // since when none has come: the newest's time, or when the last was judged, where that lies before
	Quiet        float64        `json:"quiet_after_s"`        // a longer pause than this is said
	Distance     *float64       `json:"distance"`             // the median of the newest readings; null where there was nothing to measure
	Limit        float64        `json:"limit"`
	Inside       int            `json:"inside"`   // slots of two seconds within the limits, of those that should have been usual
	Expected     int            `json:"expected"` // slots that should have been usual
	Condition    string         `json:"condition,omitempty"`
	Instrument   string         `json:"instrument"`
	FitSince     time.Time      `json:"instrument_since,omitzero"`
	Group        string         `json:"group,omitempty"`
	Groups       []string       `json:"groups,omitempty"`      // that can be named
	GroupNames   []string       `json:"group_names,omitempty"` // as they are said
	Alarm        string         `json:"alarm,omitempty"`       // its state
	AlarmSince   time.Time      `json:"alarm_since,omitzero"`
	AlarmUntil   time.Time      `json:"alarm_until,omitzero"` // of a shelf
	AlarmWho     string         `json:"alarm_who,omitempty"`
	AlarmWhy     string         `json:"alarm_why,omitempty"`
	Unreadable   int            `json:"unreadable"`
	Behind       int            `json:"behind"`
	Trouble      string         `json:"trouble,omitempty"`
	Fingerprint  string         `json:"reference,omitempty"`
	MayTake      bool           `json:"may_acknowledge"`
	MayName      bool           `json:"may_name"`
	Words        report.Told    `json:"words"`
}

// A reading is what one slot of two seconds holds.
type reading struct {
	First     time.Time   `json:"first"`
	Time      time.Time   `json:"time"`
	Distance  *float64    `json:"distance"` // the mean; null where it could not be judged
	Low       *float64    `json:"low"`
	High      *float64    `json:"high"`
	Spectra   int         `json:"spectra"`
	Kind      string      `json:"kind"`
	Condition string      `json:"condition"`
	Name      string      `json:"name,omitempty"` // of the condition, as it is said, where it stands below the picture
	Score     *[2]float64 `json:"score"`
}

// A spectrum is the newest one, thinned to what a screen can show.
type spectrum struct {
	Time       time.Time `json:"time"`
	Absorbance []float64 `json:"absorbance"` // at the places that usual is given at
}

// An offset says from when on the clocks of the site are how far ahead of UTC.
type offset struct {
	From    time.Time `json:"from,omitzero"`
	Seconds int       `json:"seconds"`
}

// offsets returns the offsets between two times.
func offsets(zone *time.Location, from, to time.Time) []offset {
	_, first := from.In(zone).Zone()
	all := []offset{{Seconds: first}}
	if _, next := from.In(zone).ZoneBounds(); !next.IsZero() && next.Before(to) {
		_, s := next.In(zone).Zone()
		all = append(all, offset{next, s})
	}
	return all
}

// offsets are those of the times that a page shows.
func (s *Site) offsets(now time.Time) []offset {
	return offsets(s.opt.Zone, now.Add(-2*window), now.Add(window))
}

// tell returns what changed on the line since a number, or all of it, and the number of the latest change.
func (l *Line) tell(since uint64, whole bool) (message, uint64) {
	s := l.site
	s.mu.Lock()
	defer s.mu.Unlock()
	if whole {
		since = 0
	}
	now := s.opt.Now()
	m := message{Version: version, Assets: assets(), Whole: whole, Now: now, Offsets: s.offsets(now),
		Site: s.opt.Site, Line: l.name}
	if whole || l.standSeq > since || l.usualSeq > since {
		m.Standing = l.stands(now)
	}
	if l.usualSeq > since {
		m.Usual = l.picture
		m.Whole = true // what was drawn before lies in another plane
		since = 0
	}
	for _, k := range l.readings {
		if k.seq > since {
			m.Readings = append(m.Readings, k.told(s.lang))
		}
	}
	if l.specSeq > since && l.spectrum != nil && l.picture != nil {
		m.Spectrum = &spectrum{Time: l.spectrumAt.In(s.opt.Zone), Absorbance: l.picture.thin(l.spectrum)}
	}
	return m, l.seq
}

func (k kept) told(l *report.Language) reading {
	r := reading{First: k.first, Time: k.time, Spectra: k.n, Kind: k.kind, Condition: k.condition}
	if k.kind != unfit {
		d, lo, hi := figures(k.distance, 4), figures(k.low, 4), figures(k.high, 4)
		r.Distance, r.Low, r.High, r.Score = &d, &lo, &hi, &[2]float64{figures(k.at.X, 5), figures(k.at.Y, 5)}
	}
	if k.kind == elsewhere || k.kind == unfit {
		r.Name = l.ConditionName(k.condition)
	}
	return r
}

// figures rounds to significant figures, so that a stream does not carry digits that nobody sees. What is no number is 0.
func figures(v float64, n int) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	p := math.Pow(10, float64(n)-math.Ceil(math.Log10(math.Abs(v))))
	return math.Round(v*p) / p
}

// quiet is after how long a pause is said: five times the usual time between spectra, and half a minute at least.
func (l *Line) quiet() time.Duration {
	var gaps []time.Duration
	for i := max(1, len(l.readings)-60); i < len(l.readings); i++ {
		gaps = append(gaps, l.readings[i].time.Sub(l.readings[i-1].time))
	}
	if len(gaps) < len(l.pauses) { // a line of few spectra an hour
		gaps = slices.Clone(l.pauses)
	}
	if len(gaps) == 0 {
		return 2 * time.Minute
	}
	slices.Sort(gaps)
	return max(30*time.Second, 5*gaps[len(gaps)/2])
}

// stands says how the line stands. The site is locked.
func (l *Line) stands(now time.Time) *standing {
	n := l.now(now)
	d := l.standing
	st := &standing{
		Verdict: n.Verdict, LastVerdict: n.LastVerdict, Since: d.Since, ChangedSince: d.ChangedSince, LastSpectrum: n.Newest, Still: l.still(), Quiet: l.quiet().Seconds(), Limit: 1,
		Inside: n.Inside, Expected: n.Expected, Condition: n.Condition, Instrument: d.Instrument.State, FitSince: l.fitSince,
		Group: d.Group, Alarm: d.Alarm.State, AlarmSince: d.Alarm.Since, AlarmUntil: d.Alarm.Until, AlarmWho: d.Alarm.Who, AlarmWhy: d.Alarm.Why,
		Unreadable: d.Unreadable, Behind: d.Behind, Trouble: d.Trouble,
		Fingerprint: n.Reference.Fingerprint, Words: n.Tell(),
		MayTake: l.site.opt.Acknowledge != nil && (d.Alarm.State == "unacknowledged" || d.Alarm.State == "returned to normal"),
		MayName: l.site.opt.Name != nil && len(n.Groups) > 0,
	}
	if st.Verdict == "" {
		st.Verdict = report.CannotSay
	}
	if n.Expected > 0 {
		last := figures(n.Last, 4)
		st.Distance = &last
	}
	for _, g := range n.Groups {
		st.Groups, st.GroupNames = append(st.Groups, g.Name), append(st.GroupNames, l.site.lang.GroupName(g.Name))
	}
	return st
}

// figures are the figures of all that the page says in words.
func (l *Line) figures(at time.Time) (json.RawMessage, error) {
	l.site.mu.Lock()
	defer l.site.mu.Unlock()
	return l.now(at).Figures()
}

// now gathers what the words of the page need.
func (l *Line) now(at time.Time) report.Now {
	d := l.standing
	if ahead := l.newest(); ahead.After(at) { // the clock of the spectrometer, by which it is told
		at = ahead
	}
	n := report.Now{Newest: l.newest(), Alarm: d.Alarm, Instrumental: l.fitSince, Behind: d.Behind, Trouble: d.Trouble, LastVerdict: d.LastVerdict}
	n.Line, n.Zone, n.Language, n.From, n.To = l.name, l.site.opt.Zone, l.site.lang, at.Add(-window), at
	n.Verdict, n.Since, n.Reasons, n.Instrument = d.Verdict, d.Since, d.Reasons, d.Instrument
	n.Complete.Unreadable = d.Unreadable
	n.Groups = d.Groups[max(0, len(d.Groups)-maxGroups):]
	if l.usual != nil {
		n.Reference, n.Typical = l.usual.Reference, l.usual.Typical
	}
	if d.Verdict == report.Changed {
		e := report.Episode{From: d.Since, ChangedSince: d.ChangedSince, Group: d.Group}
		if i := slices.IndexFunc(n.Groups, func(g report.Group) bool { return g.Name == d.Group }); i >= 0 {
			e.Seen = n.Groups[i].Seen
		}
		if e.ChangedSince.IsZero() {
			e.ChangedSince = e.From
		}
		n.Episodes, n.Since = []report.Episode{e}, e.ChangedSince
	}
	l.measure(&n)
	return n
}

// newest is over how many readings how far the line lies now is taken.
const newest = 12

// measure fills in how far the readings of the hour lay, and the time in each condition.
func (l *Line) measure(n *report.Now) {
	var far []float64
	quiet := l.quiet()
	for i, k := range l.readings {
		if k.kind == inside || k.kind == outside {
			far = append(far, k.distance)
			n.Expected++
			if k.kind == inside {
				n.Inside++
			}
			if k.distance > n.Peak {
				n.Peak, n.PeakAt = k.distance, k.time
			}
		}
		at := slices.IndexFunc(n.Conditions, func(s report.Stay) bool { return s.Condition == k.condition })
		if at < 0 {
			at = len(n.Conditions)
			n.Conditions = append(n.Conditions, report.Stay{Condition: k.condition})
		}
		n.Conditions[at].Spectra += k.n
		if i+1 < len(l.readings) {
			if gap := l.readings[i+1].time.Sub(k.time); gap <= quiet {
				n.Conditions[at].Time += gap
				if k.over {
					n.Conditions[at].Over += gap
				}
			}
		}
		n.Condition, n.Over = k.condition, k.over
	}
	if lately := far[max(0, len(far)-newest):]; len(lately) > 0 {
		slices.Sort(lately)
		n.Last = lately[len(lately)/2]
	}
}

// A summary is how one of several lines stands.
type summary struct {
	ID           string         `json:"id"`
	Line         string         `json:"line"`
	Verdict      report.Verdict `json:"verdict"`
	LastVerdict  report.Verdict `json:"last_verdict,omitempty"` // what was said last, where that holds no more
	Headline     string         `json:"headline"`
	Instrument   string         `json:"instrument_words"`
	LastSpectrum time.Time      `json:"last_spectrum,omitzero"`
	Still        time.Time      `json:"still_since,omitzero"`
	Quiet        float64        `json:"quiet_after_s"`
}

// A survey is how all lines stand.
type survey struct {
	Version int       `json:"version"`
	Assets  string    `json:"assets"`
	Now     time.Time `json:"now"`
	Offsets []offset  `json:"offsets"`
	Site    string    `json:"site"`
	Lines   []summary `json:"lines"`
}

// survey returns how all lines stand, and the number of the latest change.
func (s *Site) survey() (survey, uint64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.opt.Now()
	all := survey{Version: version, Assets: assets(), Now: now, Offsets: s.offsets(now), Site: s.opt.Site}
	for _, l := range s.lines {
		st := l.stands(now)
		all.Lines = append(all.Lines, summary{ID: l.id, Line: l.name, Verdict: st.Verdict, LastVerdict: st.LastVerdict, Headline: st.Words.Headline,
			Instrument: st.Words.Instrument[0], LastSpectrum: st.LastSpectrum, Still: st.Still, Quiet: st.Quiet})
	}
	return all, s.seq
}
