package history

import (
	"time"

	"asusual/model/finding"
	"asusual/model/spectrum"
)

// What is declared here goes into the parcels of an outbox as well, which may wait for a server over a change of the program: fields are
// added, never renamed.

// A Record is one spectrum that was judged.
type Record struct {
	Line       string
	File       string    // its name relative to the watched folder, with slashes
	Row        int       // its place in a file of many, from 1; 0 in a file of one
	Time       time.Time // when it was measured, UTC
	Received   time.Time // when it was judged
	Run        string
	Condition  string // usual, a name, uncharted or unfit
	T2         float64
	Q          float64
	Distance   float64
	Inside     bool
	Late       bool   // came after a newer one and was judged by itself: it did not take part in the verdict
	Verdict    string // the verdict over time as it stood after this spectrum
	Scores     []float64
	Map        [2]float32 // its place on the map of conditions; zero where unfit
	Rough      [2]float32 // how rough it is in the middle and at the edges of the axis, absorbance; zero where unfit
	Group      string     // the uncharted group that it was found to be of, or ""
	Instrument string     // fit, ageing or unfit, as it stood after this spectrum
	Reasons    []finding.Finding
	Reference  string // the fingerprint of the reference that judged it
	Mark       int64  // stands for its values, so that a row of a growing table is known again
}

// An Own is a dark, reference or standard spectrum of the instrument's own: it is checked, and it is not production.
type Own struct {
	Line     string
	File     string
	Row      int
	Time     time.Time // when it was measured, UTC
	Received time.Time
	Role     string // dark, reference or standard
	Late     bool   // came after a newer one: it is used for absorbances, and was not checked
	Mark     int64  // stands for its values
}

// A Check is what one spectrum of the instrument's own told of it.
type Check struct {
	Line          string
	Time          time.Time // of the spectrum
	Measure       string    // what was measured
	About         string    // the region, band or integration time, or ""
	Value         float64   // NaN where it could not be told
	Unit          string
	Ageing, Unfit float64           // the limits: above one the instrument is ageing, above the other unfit
	State         string            // fit, ageing or unfit; "" where it cannot be told, as while the first are gathered
	Reasons       []finding.Finding // why it is not fit, or cannot be told
}

// A File is one version of a file of spectra: what is known of it, and how far it was judged.
type File struct {
	ID       int64     // 0 for one that is not kept yet
	Name     string    // relative to the watched folder, with slashes
	Version  int       // from 1; a name whose content changed has more than one
	Size     int64     // bytes when it was last looked at
	Modified time.Time // when it was last looked at
	Digest   Digest    // of its first Bytes bytes
	Bytes    int64     // how much of it was judged
	Rows     int       // spectra of it that were judged, were copies or could not be read
	Lines    int       // lines of text in its first Bytes bytes
	Partial  bool      // judged up to Rows only; the rest of Bytes is still to be read
	Received time.Time
}

// A Digest is the first half of the SHA-256 of a content: two contents that differ share one with odds of 1 to 2¹²⁸.
type Digest [16]byte

// An Unreadable is a file, or a row of one, that could not be read.
type Unreadable struct {
	Line     string
	File     string
	Row      int       // from 1; 0 for the file itself
	TextLine int       // the line of the text, from 1; 0 where none can be named
	Time     time.Time // when the file was written; of a spectrum that came late for its item, when it was measured
	Received time.Time
	Reason   string
	Count    int  // how many rows it stands for; 0 in a batch: one
	Mended   bool // a later version of the file could be read
}

// A Copy is what was not judged, because it had been judged before under another name or in an earlier version.
type Copy struct {
	Line     string
	File     string
	Of       string // the file that was judged
	Rows     int    // spectra left out
	Time     time.Time
	Received time.Time
}

// An Episode is a stretch of time with the verdict that the process has changed.
type Episode struct {
	Line         string
	From         time.Time
	To           time.Time // zero while it lasts
	ChangedSince time.Time // when the departure is estimated to have begun
	Spectra      int
	Peak         float64
	Group        string
	Instrument   string            // as it stood when the episode was last looked at
	Reasons      []finding.Finding // what the change looks like, or why it could not be said
	Reference    string
}

// A Group is uncharted spectra that lie together.
type Group struct {
	Line    string
	Name    string // such as "group 2026-11-25 A"
	From    time.Time
	To      time.Time
	Spectra int
	Seen    string    // the earlier group at the same place, or ""
	Episode time.Time // where the latest episode that it was met in begins; zero for none
	Mean    *Mean     // of its spectra, without the stretch and condition; nil where it is not known. In a batch, nil leaves it as it is
}

// An Act is what became of a line's alarm, or what was asked of it and refused.
type Act struct {
	Line    string
	Time    time.Time
	Act     string // raised, returned to normal, acknowledged, shelved, unshelved, shelf is over, or approved
	Who     string // "" where nobody did it
	Why     string
	Until   time.Time // of a shelf
	State   string    // of the alarm after it
	Episode time.Time // where the episode begins that it is about; zero for none
	Refused string    // why it was not done, or ""
	Request string    // the name of the request, or ""
}

// A Mean is the mean absorbance of the spectra of a stretch of time in one condition.
type Mean struct {
	Line      string
	From      time.Time     // where the stretch begins
	Length    time.Duration // of the stretch; 0 in a batch: UsualLength
	Condition string
	Axis      *spectrum.Axis
	Count     int
	Values    []float64 // p; kept as float32
}

// A Reference is a reference that came into use.
type Reference struct {
	Line        string
	Since       time.Time
	Fingerprint string
	Name        string
}

// A State is where the verdict over time of a line stands.
type State struct {
	Course    []byte    // as its owner wrote it; nil where nothing was judged yet
	Groups    []byte    // of it, the uncharted groups that go on; in a batch, nil leaves them as they are
	Past      []byte    // of it, the groups that ended; in a batch, nil leaves them as they are
	Reference string    // the fingerprint of the reference in force
	Basis     string    // of what the course depends on in it
	Newest    time.Time // of the newest spectrum that took part
}

// A Batch is what one Append writes, whole or not at all.
type Batch struct {
	Line      string
	Files     []Judged
	Episodes  []Episode // new ones and changed ones: an episode is known by its From
	Groups    []Group   // new ones and changed ones, known by their Name; an Episode of zero leaves it as it is
	Means     []Mean    // what the batch adds to a stretch: Values is the mean of Count spectra
	Reference *Reference
	State     State // left as it was where Course is nil
	Checks    []Check
	Book      []byte // of the checks, as its owner wrote it; left as it was where nil
	Alarm     []byte // as its owner wrote it; left as it was where nil
	Acts      []Act
}

// A Judged is what became of one file.
type Judged struct {
	File       File // ID 0 adds a version; another ID brings that version forward
	Records    []Record
	Own        []Own
	Unreadable []Unreadable
	Copies     []Copy
}
