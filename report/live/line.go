package live

import (
	"math"
	"reflect"
	"slices"
	"time"

	"asusual/model/finding"
	"asusual/report"
	"asusual/report/chart"
)

// A Usual is what a reference knows, as the page draws it.
type Usual struct {
	Reference  report.Reference
	Same       []string      // fingerprints of versions before it with the same usual: what they judged goes on being shown
	Scores     []chart.Point // of good spectra, in the plane of the first two scores
	Limit      *chart.Ellipse
	OneScore   bool // there is no second score, and of the limit the reach along the first counts
	Conditions []chart.Cluster
	Carried    [2]float64 // the share of usual variation that each of the two scores carries
	Axis       chart.Axis // p channels
	Mean, SD   []float64  // p, of the absorbance
	Typical    float64    // the median distance of good spectra; 0 for not known
}

// A Reading is one spectrum that was judged.
type Reading struct {
	Time       time.Time
	Distance   float64
	Inside     bool
	Condition  string    // usual, a name, uncharted or unfit
	Over       bool      // the condition has lasted too long
	Received   time.Time // when it was judged; zero: now
	Late       bool      // it came after a newer one. One that did not and yet lies before it shows that the clock was put back.
	Score      chart.Point
	Absorbance []float64 // p, of the newest spectrum; nil where it is not at hand. It is copied.
}

// A Standing is how a line stands.
type Standing struct {
	Verdict      report.Verdict
	LastVerdict  report.Verdict // what was said last, where that holds no more since nothing is judged; else ""
	Since        time.Time      // from when on the verdict stands
	ChangedSince time.Time      // when the change is estimated to have begun
	Reasons      []finding.Finding
	Instrument   report.Instrument
	Group        string         // of the open episode
	Groups       []report.Group // uncharted, the newest last
	Alarm        report.Alarm
	Unreadable   int // since the watch began
	Behind       int // files that wait to be judged
	Trouble      string
}

// The hour that the page shows, and the slots that it is kept in: spectra that come faster share one, so that a line of many
// spectra a second needs no more room than one of few.
const (
	window    = time.Hour
	slot      = 2 * time.Second
	maxKept   = 4000 // readings, however often the condition changes
	maxGroups = 50   // on the page, the newest
	fewPauses = 5    // that tell how often spectra come where the hour holds fewer: a night among them does not count
)

// A kept is the readings of one slot.
type kept struct {
	seq       uint64
	first     time.Time // of the one that began it: its name for the script
	time      time.Time // of the newest
	distance  float64   // the mean
	low, high float64
	n         int
	kind      string
	condition string
	over      bool
	at        chart.Point // of the newest
}

// The kinds of a reading, as the script knows them.
const (
	inside    = "inside"
	outside   = "outside"
	elsewhere = "elsewhere" // in a named condition
	unfit     = "unfit"     // could not be judged
)

// A Line is the live page of one line. The watch tells it what happens; it is safe for concurrent use.
type Line struct {
	site     *Site
	name, id string

	usual      *Usual
	usualSeq   uint64
	picture    *usualPicture
	readings   []kept          // in order of time
	pauses     []time.Duration // the newest between readings, also where the hour holds fewer
	heard      time.Time       // when the last spectrum was judged, whatever its time
	spectrum   []float64
	spectrumAt time.Time
	specSeq    uint64
	standing   Standing
	fitSince   time.Time // since when the instrument is in its state
	standSeq   uint64
	seq        uint64 // of the latest change of any of these
}

// Know takes the reference by which the spectra to come are judged. Where its usual is another one than before, scores and spectra
// of before lie in another plane and are forgotten.
func (l *Line) Know(u Usual) {
	p := drawUsual(u, l.site.lang)
	l.site.mu.Lock()
	defer l.site.mu.Unlock()
	if before := l.usual; before != nil && before.Reference.Fingerprint != u.Reference.Fingerprint && !slices.Contains(u.Same, before.Reference.Fingerprint) {
		l.readings, l.spectrum = nil, nil
	}
	l.usual, l.picture = &u, p
	l.usualSeq = l.change()
}

func (l *Line) change() uint64 {
	l.seq = l.site.changed()
	return l.seq
}

// kindOf says where a reading lies.
func kindOf(r Reading) string {
	switch {
	case r.Condition == "unfit" || math.IsNaN(r.Distance) || math.IsInf(r.Distance, 0):
		return unfit
	case r.Inside:
		return inside
	case r.Condition != "usual" && r.Condition != "uncharted" && !r.Over:
		return elsewhere
	}
	return outside
}

// Add takes a spectrum that was judged. One that comes late finds its place by its time; one of more than an hour before the
// newest is not of this page. Where the clock was put back, what lies after it goes.
func (l *Line) Add(r Reading) {
	l.site.mu.Lock()
	defer l.site.mu.Unlock()
	l.hear(r.Received)
	switch newest := l.newest(); {
	case !r.Time.Before(newest):
	case !r.Late:
		l.keepUntil(r.Time)
	case r.Time.Before(newest.Add(-window)):
		return
	}
	newest := l.newest()
	k := kept{first: r.Time, time: r.Time, distance: r.Distance, low: r.Distance, high: r.Distance, n: 1, kind: kindOf(r), condition: r.Condition, over: r.Over, at: r.Score}
	if k.kind == unfit {
		k.distance, k.low, k.high, k.at = 0, 0, 0, chart.Point{}
	}
	k.seq = l.change()
	l.standSeq = k.seq
	l.put(k)
	l.drop()
	if len(r.Absorbance) > 0 && !r.Time.Before(newest) {
		l.spectrum, l.spectrumAt, l.specSeq = slices.Clone(r.Absorbance), r.Time, k.seq
	}
}

// Forget forgets the readings, so that they can be told anew, as by a watch that begins again.
func (l *Line) Forget() {
	l.site.mu.Lock()
	defer l.site.mu.Unlock()
	l.keepUntil(time.Time{})
}

// keepUntil forgets the readings after a time, and has the readers begin anew.
func (l *Line) keepUntil(t time.Time) {
	l.readings = slices.DeleteFunc(l.readings, func(k kept) bool { return k.time.After(t) })
	if l.spectrumAt.After(t) {
		l.spectrum = nil
	}
	l.usualSeq = l.change()
}

func (l *Line) newest() time.Time {
	if n := len(l.readings); n > 0 {
		return l.readings[n-1].time
	}
	return time.Time{}
}

// hear notes when a spectrum was judged, also one that is not of this page.
func (l *Line) hear(at time.Time) {
	if at.IsZero() {
		at = l.site.opt.Now()
	}
	if at.After(l.heard) {
		l.heard = at
		l.standSeq = l.change()
	}
}

// still returns since when no spectrum has come: one that bears a time to come does not hide that.
func (l *Line) still() time.Time {
	if at := l.newest(); at.Before(l.heard) {
		return at
	}
	return l.heard
}

// put keeps a reading: with the newest where both lie in one slot and are of one kind, else by itself.
func (l *Line) put(k kept) {
	if n := len(l.readings); n > 0 {
		o := &l.readings[n-1]
		if o.time.Truncate(slot).Equal(k.time.Truncate(slot)) && o.kind == k.kind && o.condition == k.condition {
			o.distance = (o.distance*float64(o.n) + k.distance) / float64(o.n+1)
			o.low, o.high, o.n, o.seq = min(o.low, k.low), max(o.high, k.high), o.n+1, k.seq
			if !k.time.Before(o.time) {
				o.time, o.at = k.time, k.at
			}
			return
		}
	}
	i := len(l.readings)
	for i > 0 && l.readings[i-1].time.After(k.time) {
		i--
	}
	if n := len(l.readings); n > 0 && i == n {
		l.pauses = append(l.pauses, k.time.Sub(l.readings[n-1].time))
		l.pauses = l.pauses[max(0, len(l.pauses)-fewPauses):]
	}
	l.readings = slices.Insert(l.readings, i, k)
}

// drop forgets what is older than the hour before the newest reading.
func (l *Line) drop() {
	from := l.newest().Add(-window)
	i := max(0, len(l.readings)-maxKept)
	for i < len(l.readings) && l.readings[i].time.Before(from) {
		i++
	}
	if i > 0 {
		l.readings = slices.Delete(l.readings, 0, i)
	}
}

// Set takes how the line stands.
func (l *Line) Set(s Standing) {
	l.site.mu.Lock()
	defer l.site.mu.Unlock()
	switch old := l.standing.Instrument.State; {
	case !s.Instrument.Since.IsZero():
		l.fitSince = s.Instrument.Since
	case old != "" && old != "unknown" && old != s.Instrument.State:
		l.fitSince = l.site.opt.Now()
		if at := l.newest(); !at.IsZero() && l.fitSince.Sub(at) > window {
			l.fitSince = at // of spectra from long before, which the watch goes through only now
		}
	}
	if reflect.DeepEqual(l.standing, s) {
		return
	}
	l.standing = s
	l.standSeq = l.change()
}
