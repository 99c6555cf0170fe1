package monitor

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"log/slog"
	"runtime"
	"time"

	"asusual/model"
	"asusual/model/spectrum"
	"asusual/monitor/arrive"
	"asusual/monitor/history"
)

// A Line is one place where a spectrometer looks at production, and how it is watched. Name, Folder, References and History
// are needed; the rest has useful zero values.
type Line struct {
	Name       string
	Folder     string // that the spectrometer writes to
	References References
	History    *history.DB // open to be written; lines may share it
	Read       spectrum.Options
	// Prepare makes of a spectrum as it was read the one to be judged: an absorbance of an intensity, say. Its error is why the
	// spectrum cannot be used. nil: nothing is done. It is called from several goroutines.
	Prepare func(spectrum.Spectrum) (spectrum.Spectrum, error)
	// Instrument says which spectra are the instrument's own, and makes of the others those to be judged, in the order of their
	// coming; Prepare is then for Reread alone. nil: all are of production.
	Instrument *Instrument
	RunOf      func(spectrum.Spectrum) string // names the run of a spectrum whose file does not; nil: none

	Patterns arrive.Patterns
	Order    arrive.Order
	Settle   time.Duration // see arrive.Options
	Poll     time.Duration
	Rescan   time.Duration
	NoEvents bool                     // never ask for notifications
	Copies   bool                     // judge a content that was judged before under another name, too
	Quiet    time.Duration            // after which the last row of a table counts though no line end follows it; 0: 1 min
	Group    time.Duration            // spectra that come within it share a transaction, unless the verdict changes; 0: 500 ms
	Stretch  time.Duration            // of a mean spectrum; 0: history.UsualLength
	Fresh    time.Duration            // for how long the board holds on to a verdict while nothing is judged; 0: as long as it likes
	Longest  map[string]time.Duration // how long a stay in a named condition may last; see model.Course
	KeepActs time.Duration            // how long history keeps who approved a reference, at least: what is older is not noted; 0: for ever
	Grace    time.Duration            // how long the line may be on its way out of one; see model.Course
	Expected map[string]func(time.Time) bool

	Now   func() time.Time // by which alarms are dated; nil: the computer's clock
	Board *Board           // where the state of the line is shown; nil: nowhere
	Log   *slog.Logger     // nil: nowhere
	// Judged is called after each spectrum was judged, before it is kept: after a crash, once more. nil: nobody is told.
	Judged func(history.Record)
	// Kept is called after each batch was written. nil: nobody is told.
	Kept func(Status)
}

// A Judge places one spectrum after another. It is used by one goroutine.
type Judge interface {
	Judge(d *model.Judgement, s spectrum.Spectrum)
	Absorbance() []float64 // of the last spectrum judged, on the reference's axis, valid until the next
}

var _ Judge = (*model.Judger)(nil)

// A Reference is what spectra are judged by.
type Reference struct {
	Fingerprint string
	Basis       string // the fingerprint of what a course depends on: of two versions with one basis, the course goes on
	Model       *model.Reference
	NewJudge    func() Judge
}

// Of returns the reference for a learned one.
func Of(r *model.Reference) *Reference {
	return &Reference{Fingerprint: r.Fingerprint(), Basis: basis(r), Model: r, NewJudge: func() Judge { return model.NewJudger(r) }}
}

// basis stands for what the state of a course means: how usual is described, not its name and not the other conditions.
func basis(r *model.Reference) string {
	text, err := json.Marshal([]any{r.Chain, r.PCA, r.Limits, r.Signature, r.Instrument})
	if err != nil {
		return "" // as for the fingerprint: it is one that cannot be written, so there is no other version of it
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:8])
}

// References gives the reference in force. Current returns the same pointer until another comes into force, and an error only
// where there has been none yet.
type References interface {
	Current() (*Reference, error)
}

// Always is one reference that is never replaced.
type Always struct{ Reference *Reference }

// Current returns the reference.
func (a Always) Current() (*Reference, error) { return a.Reference, nil }

func (l Line) withDefaults() (Line, error) {
	if l.Name == "" || l.Folder == "" || l.References == nil || l.History == nil {
		return l, errors.New("a line needs a name, a folder, a reference and a history")
	}
	set := func(d *time.Duration, to time.Duration) {
		if *d <= 0 {
			*d = to
		}
	}
	set(&l.Quiet, time.Minute)
	set(&l.Group, 500*time.Millisecond)
	set(&l.Stretch, history.UsualLength)
	if l.Log == nil {
		l.Log = slog.New(slog.DiscardHandler)
	}
	l.Log = l.Log.With("line", l.Name)
	if l.Now == nil {
		l.Now = time.Now
	}
	if l.Judged == nil {
		l.Judged = func(history.Record) {}
	}
	if l.Kept == nil {
		l.Kept = func(Status) {}
	}
	return l, nil
}

// workers is how many files are read at a time.
func workers() int { return max(2, runtime.GOMAXPROCS(0)) }

// Watch watches the line until the context ends, and then returns nil: all that was judged by then is kept. An error is one
// that does not pass: the reference cannot be read at the start, or the history cannot be written.
func Watch(ctx context.Context, line Line) error {
	err := run(ctx, line, false)
	if ctx.Err() != nil && errors.Is(err, context.Canceled) {
		return nil // stopped before it had begun
	}
	return err
}

// CatchUp judges what the folder holds now, taking every file as complete, and returns.
func CatchUp(ctx context.Context, line Line) error {
	return run(ctx, line, true)
}
