package monitor

import (
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"os"
	"reflect"
	"slices"
	"strings"
	"sync"
	"time"

	"asusual/model"
	"asusual/model/finding"
	"asusual/model/verdict"
	"asusual/monitor/history"
	"asusual/monitor/keep"
)

// A Status says how a line stands.
type Status struct {
	Line          string            `json:"line"`
	Verdict       string            `json:"verdict"`
	Since         time.Time         `json:"since,omitzero"`           // from when on the verdict stands
	ChangedSince  time.Time         `json:"changed_since,omitzero"`   // when the change is estimated to have begun
	Distance      float64           `json:"distance"`                 // of the last spectrum that was judged
	Condition     string            `json:"condition,omitempty"`      // of it
	Group         string            `json:"group,omitempty"`          // the uncharted group of the open episode
	Instrument    string            `json:"instrument"`               // fit, ageing, unfit, or unknown
	Why           []finding.Finding `json:"why,omitempty"`            // why the verdict cannot be said, or what the change looks like; none where LastVerdict is there
	InstrumentWhy []finding.Finding `json:"instrument_why,omitempty"` // why the instrument is not fit

	InstrumentSince time.Time `json:"instrument_since,omitzero"` // since when the instrument is so; zero: fit from the start
	Alarm           Alarm     `json:"alarm"`
	Reference       string    `json:"reference,omitempty"`    // its fingerprint
	LastSpectrum    time.Time `json:"last_spectrum,omitzero"` // its time
	Spectra         int       `json:"spectra"`                // judged since the start of the watch
	Unreadable      int       `json:"unreadable"`             // since the start
	Own             int       `json:"own"`                    // darks, references and standards, since the start
	Copies          int       `json:"copies"`                 // left out as judged before, since the start
	Behind          int       `json:"behind"`                 // files that are known and not judged yet
	Settling        int       `json:"settling,omitempty"`     // of those: files that may still be written to, and wait until they stand still
	BehindBy        float64   `json:"behind_by"`              // how long ago the file judged last was written, s; 0 where none waits
	Rate            float64   `json:"rate"`                   // spectra a second, lately
	Trouble         string    `json:"trouble,omitempty"`      // what keeps the line from being watched
	TroubleSince    time.Time `json:"trouble_since,omitzero"` // zero: nobody knows
	LastJudged      time.Time `json:"last_judged,omitzero"`   // when a spectrum that was not late was judged last, by this computer's clock
	// LastVerdict is what was said last, where that does not hold any more since nothing is judged: Verdict is that it cannot be said.
	LastVerdict string        `json:"last_verdict,omitempty"`
	Fresh       time.Duration `json:"-"` // for how long a verdict holds while nothing is judged; 0: as long as it likes
}

// troubled is how long something may keep a line from being watched before its verdict holds no more: chosen so that a share that soon
// comes back by itself rings nobody.
const troubled = time.Minute

// At returns how the line stands at a moment. What was said last holds while the line is watched and spectra are judged, and of the change
// that it was nothing is said then. Of a time that lies ahead, since the clock was put back, nobody knows how long ago it was.
func (s Status) At(now time.Time) Status {
	var since time.Time
	switch {
	case s.Verdict == verdict.CannotSay.String():
		return s
	case s.Trouble != "" && now.Sub(s.TroubleSince).Abs() >= troubled:
		since = s.TroubleSince
	case s.Fresh > 0 && !s.LastJudged.IsZero() && now.Sub(s.LastJudged).Abs() > s.Fresh:
		since = s.LastJudged
	default:
		return s
	}
	if since.After(now) {
		since = time.Time{}
	}
	s.LastVerdict, s.Verdict, s.Since = s.Verdict, verdict.CannotSay.String(), since
	s.Why, s.ChangedSince, s.Group = nil, time.Time{}, ""
	return s
}

// A Bulletin is what a state file says: how each line stands, and that the watch is alive.
type Bulletin struct {
	PID       int       `json:"pid"`
	Started   time.Time `json:"started"`
	Heartbeat time.Time `json:"heartbeat"`        // when this was written; at least once a minute
	Stopped   bool      `json:"stopped,omitzero"` // the watch ended in good order
	Lines     []Status  `json:"lines"`            // sorted by name
	Page      string    `json:"page,omitempty"`   // where the live page is open, as address of [live] has it; "" where none is
	// Server is how the way to the server of the history stands; nil where the history is a file.
	Server *ServerStatus `json:"server,omitempty"`
}

// A Board shows how lines stand, in a file that is replaced whole on every change of a verdict, every ten seconds while figures
// change, and every minute.
type Board struct {
	path string
	log  *slog.Logger
	wake chan struct{}

	mu        sync.Mutex
	bulletin  Bulletin  // its lines as they were set
	looked    time.Time // when it was last looked whether what they say holds
	figures   bool      // others than the file has
	followers map[chan struct{}]bool
}

// NewBoard returns a board that writes the file of that path once Run runs. With the path "" it writes none. log is told
// where it cannot be written; nil: nobody is.
func NewBoard(path string, log *slog.Logger) *Board {
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	now := time.Now()
	return &Board{path: path, log: log, wake: make(chan struct{}, 1), followers: map[chan struct{}]bool{}, looked: now,
		bulletin: Bulletin{PID: os.Getpid(), Started: now.Round(0)}}
}

// Set shows how a line stands. On a nil board it does nothing.
func (b *Board) Set(s Status) {
	if b == nil {
		return
	}
	b.mu.Lock()
	now := time.Now()
	i, found := slices.BinarySearchFunc(b.bulletin.Lines, s, func(a, b Status) int { return strings.Compare(a.Line, b.Line) })
	news, same := !found, false
	if found {
		old := b.bulletin.Lines[i]
		same = reflect.DeepEqual(old, s)
		news = old.At(now).Verdict != s.At(now).Verdict || old.Instrument != s.Instrument || old.Trouble != s.Trouble || old.Reference != s.Reference ||
			old.Alarm.State != s.Alarm.State || old.Group != s.Group
		b.bulletin.Lines[i] = s
	} else {
		b.bulletin.Lines = slices.Insert(b.bulletin.Lines, i, s)
	}
	if !same {
		b.figures = true
		for f := range b.followers {
			ring(f)
		}
	}
	b.mu.Unlock()
	if news {
		ring(b.wake)
	}
}

// setServer shows how the way to the server of the history stands. On a nil board it does nothing.
func (b *Board) setServer(s ServerStatus) {
	if b == nil {
		return
	}
	b.mu.Lock()
	news := b.bulletin.Server == nil || b.bulletin.Server.Away != s.Away || b.bulletin.Server.Trouble != s.Trouble
	b.figures = b.figures || news || b.bulletin.Server.Waiting != s.Waiting
	b.bulletin.Server = &s
	b.mu.Unlock()
	if news {
		ring(b.wake)
	}
}

// SetPage shows at which address the live page is open; "" for none. On a nil board it does nothing.
func (b *Board) SetPage(address string) {
	if b == nil {
		return
	}
	b.mu.Lock()
	b.bulletin.Page = address
	b.mu.Unlock()
	ring(b.wake)
}

func ring(c chan struct{}) {
	select {
	case c <- struct{}{}:
	default: // it has not been heard yet
	}
}

// Follow returns a channel on which something comes after the board was set: once, however often that was since the last
// was taken. stop ends that.
func (b *Board) Follow() (set <-chan struct{}, stop func()) {
	c := make(chan struct{}, 1)
	b.mu.Lock()
	defer b.mu.Unlock()
	b.followers[c] = true
	ring(c) // what stands there now is to be looked at, too
	return c, func() {
		b.mu.Lock()
		defer b.mu.Unlock()
		delete(b.followers, c)
	}
}

// Bulletin returns what the board shows: of each line how it stands now, also where whoever sets it has not come to that for long.
func (b *Board) Bulletin() Bulletin {
	b.mu.Lock()
	defer b.mu.Unlock()
	now, shown := time.Now(), b.bulletin
	shown.Lines = slices.Clone(shown.Lines)
	for i, s := range shown.Lines {
		shown.Lines[i] = s.At(now)
	}
	return shown
}

const (
	heartbeat    = time.Minute      // how often the file is written though nothing changed
	figuresEvery = 10 * time.Second // how often for figures alone
)

// Run writes the file until the context ends, and then once more.
func (b *Board) Run(ctx context.Context) {
	tick := time.NewTicker(figuresEvery)
	defer tick.Stop()
	failed := false
	var last time.Time
	for stopped := false; !stopped; {
		select {
		case <-ctx.Done():
			stopped = true
		case <-tick.C:
			b.look()
			if time.Since(last) < heartbeat-figuresEvery && !b.changed() {
				continue
			}
		case <-b.wake:
		}
		last = time.Now()
		err := b.write(stopped)
		if err != nil && !failed {
			b.log.Error("the state file cannot be written", "file", b.path, "reason", err)
		}
		failed = err != nil
	}
}

// look tells who follows the board of a line whose verdict holds no more, though nobody has set it.
func (b *Board) look() {
	b.mu.Lock()
	defer b.mu.Unlock()
	now := time.Now()
	if slices.ContainsFunc(b.bulletin.Lines, func(s Status) bool { return s.At(b.looked).Verdict != s.At(now).Verdict }) {
		b.figures = true
		for f := range b.followers {
			ring(f)
		}
	}
	b.looked = now
}

func (b *Board) changed() bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.figures
}

func (b *Board) write(stopped bool) error {
	b.mu.Lock()
	b.figures = false
	b.bulletin.Heartbeat, b.bulletin.Stopped = time.Now().Round(0), stopped
	if stopped {
		b.bulletin.Page = "" // which closes meanwhile
	}
	b.mu.Unlock()
	if b.path == "" {
		return nil
	}
	text, err := json.MarshalIndent(b.Bulletin(), "", "  ")
	if err != nil {
		return err
	}
	err = keep.WriteFile(b.path, append(text, '\n'))
	if err != nil { // it is not a minute until it is tried again
		b.mu.Lock()
		b.figures = true
		b.mu.Unlock()
	}
	return err
}

// ReadBulletin reads a state file.
func ReadBulletin(path string) (Bulletin, error) {
	text, err := keep.ReadFile(path)
	if err != nil {
		return Bulletin{}, err
	}
	var b Bulletin
	if err := json.Unmarshal(text, &b); err != nil {
		return Bulletin{}, fmt.Errorf("%s: not a state file: %w", path, err)
	}
	return b, nil
}

// statusEvery is how often the figures of a line are renewed while nothing is kept.
const statusEvery = time.Second

// rateOver is the time over which the spectra a second are counted.
const rateOver = 5 * time.Second

// A status gathers the figures of a Status.
type status struct {
	last       history.Record
	spectra    int
	unreadable int
	copies     int
	own        int
	trouble    string
	troubled   time.Time // since when
	judgedAt   time.Time // when a spectrum that was not late was judged last
	written    time.Time // when the file judged last was written
	since      time.Time // of the window in which the rate is counted
	counted    int
	rate       float64
}

func (s *status) judged(r history.Record, written time.Time) {
	s.written = written
	if !r.Late { // which says nothing of how the line stands now
		s.last, s.judgedAt = r, time.Now().Round(0)
		s.last.Scores, s.last.Reasons = nil, nil
	}
	s.spectra++
	s.counted++
}

func (s *status) now(c *committer) Status {
	if d := time.Since(s.since); d >= rateOver {
		s.rate, s.counted, s.since = float64(s.counted)/d.Seconds(), 0, time.Now()
	}
	now := &c.course.State
	out := Status{
		Line: c.line.Name, Verdict: now.Stands.String(), Since: now.Since, Distance: s.last.Distance, Condition: s.last.Condition,
		Group: now.Group, Instrument: string(c.course.instrument), Why: now.Reasons, InstrumentWhy: now.FitWhy, InstrumentSince: now.FitSince,
		Alarm: c.alarm, LastSpectrum: s.last.Time, Spectra: s.spectra, Unreadable: s.unreadable, Copies: s.copies, Own: s.own,
		Rate: s.rate, Trouble: s.trouble, TroubleSince: s.troubled, LastJudged: s.judgedAt, Fresh: c.fresh(), Behind: c.waiting(),
	}
	if since, why := c.scanner.Trouble(); out.Trouble == "" && why != nil {
		out.Trouble, out.TroubleSince = why.Error(), since.Round(0)
	}
	out.Settling = min(c.scanner.Settling(), out.Behind)
	if c.ref != nil {
		out.Reference = c.ref.Fingerprint
	}
	if out.Behind > 0 && !s.written.IsZero() {
		out.BehindBy = time.Since(s.written).Seconds()
	}
	if out.Instrument == "" {
		out.Instrument = "unknown" // nothing was judged yet
	}
	if now.Verdict.Open != nil {
		out.ChangedSince = now.Verdict.Open.ChangedSince
	}
	return out
}

// fresh is FreshFor of the line and its reference.
func (c *committer) fresh() time.Duration {
	if c.ref == nil {
		return c.line.Fresh
	}
	return FreshFor(c.line.Fresh, c.ref.Model)
}

// FreshFor is for how long a verdict holds while nothing is judged, where so much is stated: of a line whose spectra come slowly at least
// four pauses, or the verdict would come and go with each. The pause that ends a run is no pace: it is as long as the line stopped once. ref
// may be nil.
func FreshFor(stated time.Duration, ref *model.Reference) time.Duration {
	if stated <= 0 || ref == nil {
		return stated
	}
	return max(stated, 4*max(ref.Limits.Every, ref.Limits.Often))
}
