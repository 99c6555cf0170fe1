package verdict

import (
	"time"

	"asusual/model/limits"
)

// Names that an Observation's Condition may carry besides the user's own.
const (
	Usual     = "usual"
	Uncharted = "uncharted"
	Unfit     = "unfit"
)

// An Observation is one spectrum, placed.
type Observation struct {
	Time      time.Time // zero where it carries none
	Features  []float64 // as limits.Limits.Features gives them; not looked at in a named condition or when unfit
	Distance  float64
	Condition string // Usual, Uncharted, Unfit or a named condition; "" is Usual
}

// A Step is what one observation led to.
type Step struct {
	Verdict Verdict
	Since   time.Time // when this verdict began to stand
	Share   float64   // the largest answer of the memories as a share of its threshold
	Named   bool      // the spectrum was in a named condition
	Opened  *Episode  // the episode that this spectrum opened, if it did
	Closed  *Episode  // the episode that ended before it, if one did
}

// An Episode is a stretch of time with the verdict that the process has changed.
type Episode struct {
	From         time.Time `json:"from"`            // the first spectrum above the threshold
	To           time.Time `json:"to"`              // the last spectrum of it so far
	ChangedSince time.Time `json:"changed_since"`   // when the change itself began, estimated
	Spectra      int       `json:"spectra"`         // spectra from From to To
	Peak         float64   `json:"peak"`            // largest share of a threshold
	Farthest     float64   `json:"farthest"`        // largest distance
	Group        string    `json:"group,omitempty"` // the uncharted group it belongs to, filled by whoever groups
}

// When an episode begins and ends.
const (
	OnDelay     = limits.Sustained // spectra above the threshold in a row before an episode begins
	ReturnDelay = 10               // spectra below ReturnBelow in a row before the first of a run ends
	ReturnBelow = 0.8              // share of the threshold
)

// unfitWeight is the weight of the newest spectrum in the share of unfit ones: about the last twenty count.
const unfitWeight = 0.1

// A State is all that the verdict depends on. Its zero value is the start of a watch.
type State struct {
	Recall  limits.Recall `json:"recall"`
	Trace   Trace         `json:"trace"`
	Last    time.Time     `json:"last"`    // the last spectrum that fed the memories
	Missed  int           `json:"missed"`  // spectra since then that did not
	Run     int           `json:"run"`     // spectra of the run so far
	Verdict Verdict       `json:"verdict"` // as it stands
	Since   time.Time     `json:"since"`
	Above   int           `json:"above"`            // spectra above the threshold in a row
	Below   int           `json:"below"`            // spectra well below it in a row
	Quick   bool          `json:"quick"`            // the fast memory saw the open episode
	Calm    int           `json:"calm"`             // spectra in a row that the fast memory sees well below the threshold
	First   Mark          `json:"first"`            // the first of those above
	Latest  [OnDelay]Mark `json:"latest"`           // the newest spectra, in order of time
	Out     Streak        `json:"out"`              // spectra that lay outside the border of late
	Unfit   float64       `json:"unfit"`            // share of unfit spectra lately
	Times   int           `json:"times"`            // episodes of the run so far
	Broken  int           `json:"broken,omitempty"` // runs of hardly a spectrum, one after another, that a pause ended
	Pause   time.Duration `json:"pause,omitempty"`  // the last such pause
	Open    *Episode      `json:"open,omitempty"`   // its Spectra are those since From; SoFar has those of it
}

// A Mark remembers the spectra above the threshold while it is not yet known whether they are an episode.
type Mark struct {
	Time     time.Time `json:"time"`
	Peak     float64   `json:"peak"`
	Farthest float64   `json:"farthest"`
}

// A Streak sums up how far the spectra of late lay outside the border, whatever the memories' thresholds are.
//
// Note: thresholds that few good runs gave can stand so wide that no spectrum passes them: what one spectrum may count is
// bounded, too. Yet where one after the other lies outside what good spectra do, something has changed.
type Streak struct {
	Sum     float64   `json:"sum"` // of how far outside beyond outFrom, each counting at most 1
	Spectra int       `json:"spectra"`
	From    time.Time `json:"from"` // the first of them
}

// A streak counts how much further than outFrom times the border spectra lie, and is an episode at the sum outMost: five spectra in a row
// two and a half times as far out as the border, ten twice as far, fifty 1.6 times. Chosen so that it takes no part in the false
// episodes of simulated lines (cmd/trust). Counted from the border itself, it told 43 where 13 were promised on a line that was learned from
// six runs: the border stands where one good spectrum in a hundred passes it, and a run that differs much passes it all day.
const (
	outFrom = 1.5
	outMost = 5
)

func (s *Streak) add(o Observation) {
	if o.Distance <= outFrom {
		if s.Sum--; s.Sum <= 0 {
			*s = Streak{}
		}
		return
	}
	if s.Spectra == 0 {
		s.From = o.Time
	}
	s.Spectra++
	s.Sum = min(s.Sum+min(o.Distance-outFrom, 1), outMost+1)
}

// Add takes the next spectrum. Spectra come in order of time; it does not allocate but for episodes that begin or end.
func (s *State) Add(l *limits.Limits, o Observation) Step {
	var step Step
	switch o.Condition {
	case Usual, Uncharted, "":
		step = s.feed(l, o)
	case Unfit:
		s.Unfit += unfitWeight * (1 - s.Unfit)
		step = s.miss(l, o)
	default:
		step = s.miss(l, o)
		step.Named = true
	}
	v := s.stands(l)
	if v != s.Verdict || s.Since.IsZero() {
		s.Verdict, s.Since = v, o.Time
		if v == Changed {
			s.Since = s.Open.From
		}
	}
	step.Verdict, step.Since = s.Verdict, s.Since
	return step
}

// miss takes a spectrum that does not feed the memories. Too long without one that does ends the run.
func (s *State) miss(l *limits.Limits, o Observation) Step {
	s.Missed++
	if s.over(l, o.Time) {
		return Step{Closed: s.endRun()}
	}
	return Step{}
}

// over reports whether the run has ended before now: by the pause, or by count where spectra carry no times.
func (s *State) over(l *limits.Limits, now time.Time) bool {
	if s.Run == 0 {
		return false
	}
	if l.Gap > 0 && !now.IsZero() && !s.Last.IsZero() {
		return now.Sub(s.Last).Abs() > l.Gap
	}
	return s.Missed > missedMost
}

// missedMost spectra in a row that did not feed the memories end a run where no times tell. Chosen as the count that
// the gap of spectra at an even pace comes to.
const missedMost = 20

// SoFar returns the open episode up to its last spectrum, without those since then that seem to be back to usual; nil where none is open.
func (s *State) SoFar() *Episode {
	if s.Open == nil {
		return nil
	}
	e := *s.Open
	e.Spectra -= s.back()
	return &e
}

func (s *State) endRun() *Episode {
	closed := s.SoFar()
	s.Recall.Reset()
	s.Trace.Reset()
	s.Run, s.Above, s.Below, s.Open = 0, 0, 0, nil
	s.Quick, s.Calm, s.Times, s.Out = false, 0, 0, Streak{}
	return closed
}

func (s *State) feed(l *limits.Limits, o Observation) Step {
	var step Step
	if s.over(l, o.Time) {
		s.broke(l, o.Time)
		step.Closed = s.endRun()
	}
	s.Unfit -= unfitWeight * s.Unfit
	s.Last, s.Missed = o.Time, 0
	if s.Run++; s.Run > slowMost || s.Run >= l.Warm {
		s.Broken, s.Pause = 0, 0
	}
	step.Share = l.Step(&s.Recall, o.Features)
	s.Trace.Add(o.Features, o.Time)
	s.count(step.Share, l.Fast(&s.Recall), o)
	if s.Open == nil {
		if s.Run >= l.Warm && (s.Above >= OnDelay || s.Out.Sum >= outMost) {
			s.open(l, o)
			opened := *s.Open
			step.Opened = &opened
		}
		return step
	}
	s.Open.Peak = max(s.Open.Peak, step.Share)
	s.Open.Farthest = max(s.Open.Farthest, o.Distance)
	s.Open.Spectra++
	if s.back() == 0 {
		s.Open.To = o.Time
	}
	if s.back() >= s.returnDelay() {
		step.Closed = s.close()
	}
	return step
}

// broke counts a run of hardly a spectrum that ended before it could tell, by a pause between two spectra of production and nothing else.
func (s *State) broke(l *limits.Limits, now time.Time) {
	if s.Run <= slowMost && s.Run < l.Warm && s.Missed == 0 && l.Gap > 0 {
		s.Broken++
		s.Pause = now.Sub(s.Last).Abs()
	}
}

// slowFrom runs of at most slowMost spectra that a pause ended, one after another, are the pace of the line, and no stops: at a pace beyond
// the gap each spectrum is a run, and two may be where it wavers. More in a row come at the pace that was learned, and the line stopped.
const (
	slowFrom = 3
	slowMost = 2
)

// TooSlow reports whether spectra come with pauses that end a run before it can tell, again and again, and how long the last was: at that
// pace nothing will ever be told.
func (s *State) TooSlow() (pause time.Duration, ok bool) { return s.Pause, s.Broken >= slowFrom }

// returnDelay returns how many spectra the return has to be sustained. It doubles with every episode of the run, up to
// 32-fold: a run that stays near the threshold is one trouble, not a dozen.
func (s *State) returnDelay() int { return ReturnDelay << min(max(s.Times-1, 0), 5) }

// back returns for how many spectra in a row the open episode seems to be over: since all memories are well below their
// thresholds or, where the change was large enough for the fast memory to see, since that one is.
func (s *State) back() int {
	if s.Quick {
		return max(s.Below, s.Calm)
	}
	return s.Below
}

// close ends the open episode. What the slow memories hold of it is forgotten with it: they would go on telling of a
// change that is over. The run goes on.
func (s *State) close() *Episode {
	run, times := s.Run, s.Times
	closed := s.endRun()
	s.Run, s.Times = run, times
	return closed
}

// count takes a spectrum into what the verdict goes by. The order matters: what lies outside has the last word on whether anything is
// back, and the first of those above is known once the newest are counted.
func (s *State) count(share, fast float64, o Observation) {
	s.countAbove(share, o)
	s.countBack(share, fast)
	s.countOutside(o)
	s.keepFirst(share, o)
}

// countAbove counts how many spectra in a row lie above the threshold, and keeps the newest.
func (s *State) countAbove(share float64, o Observation) {
	s.Above++
	if share <= 1 {
		s.Above = 0
		s.First = Mark{}
	}
	copy(s.Latest[:], s.Latest[1:])
	s.Latest[OnDelay-1] = Mark{Time: o.Time, Peak: share, Farthest: o.Distance}
	if s.Above > 0 && s.Above < OnDelay && s.Recall.Leapt() {
		s.believe()
	}
}

// countBack counts how many in a row lie so far below it that things may be as usual again, by all memories and by the fast ones.
func (s *State) countBack(share, fast float64) {
	if s.Below++; share >= ReturnBelow {
		s.Below = 0
	}
	s.Quick = s.Quick || fast > 1
	if s.Calm++; fast >= ReturnBelow {
		s.Calm = 0
	}
	if s.Above == 0 && s.Open == nil {
		s.Quick = false
	}
}

// countOutside counts the streak of spectra outside the border: while it lasts, nothing is back.
func (s *State) countOutside(o Observation) {
	if s.Out.add(o); s.Out.Sum >= 1 {
		s.Below, s.Calm = 0, 0
	}
}

// keepFirst keeps since when spectra have lain above the threshold, and how far.
func (s *State) keepFirst(share float64, o Observation) {
	if s.Above == 1 {
		s.First.Time = o.Time
	}
	if s.Above > 0 {
		s.First.Peak = max(s.First.Peak, share)
		s.First.Farthest = max(s.First.Farthest, o.Distance)
	}
}

// believe counts the newest spectra as above the threshold, since they stood where the newest does. A state of a version that did
// not keep them knows only the newest.
func (s *State) believe() {
	if s.Latest[0] == (Mark{}) {
		return
	}
	s.Above, s.First = OnDelay, s.Latest[0]
	for _, m := range s.Latest {
		s.First.Peak, s.First.Farthest = max(s.First.Peak, m.Peak), max(s.First.Farthest, m.Farthest)
	}
}

func (s *State) open(l *limits.Limits, o Observation) {
	s.Times++
	s.Open = &Episode{
		From: s.First.Time, To: o.Time, Spectra: s.Above, Peak: s.First.Peak, Farthest: max(s.First.Farthest, o.Distance),
		ChangedSince: s.Trace.ChangedSince(l, &s.Recall),
	}
	if s.Above < OnDelay { // the streak opened it
		s.Open.From, s.Open.Spectra = s.Out.From, s.Out.Spectra
	}
	if s.Open.ChangedSince.After(s.Open.From) {
		s.Open.ChangedSince = s.Open.From
	}
}

// stands returns the verdict after this spectrum.
func (s *State) stands(l *limits.Limits) Verdict {
	switch {
	case s.Unfit > 0.5:
		return CannotSay
	case s.Open != nil:
		return Changed
	case s.Run < l.Warm:
		return CannotSay
	}
	return AsUsual
}
