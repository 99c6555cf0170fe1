package intake

import (
	"fmt"

	"asusual/model/check"
	"asusual/model/finding"
	"asusual/model/fourier"
	"asusual/model/item"
	"asusual/model/spectrum"
)

// A Trigger says which of a spectrum's particulars is the id of its piece.
type Trigger uint8

// The triggers.
const (
	NoTrigger Trigger = iota
	ByLabel           // the label column, or the title
	ByRun             // the run column
)

// Options say what is done with spectra. The zero value hands everything through.
type Options struct {
	Rules   check.Rules      // none: every spectrum is one of production
	Check   check.Settings   // of the checks; its Light is the store of darks and references of production, too
	Fourier *fourier.Options // how interferograms are transformed; nil: the usual way
	Items   *item.Options    // nil: every spectrum stands for itself
	Trigger Trigger          // where Items go by an id
}

// An Intake takes spectra in order of time. It is not safe for concurrent use.
type Intake struct {
	opt   Options
	book  *check.Book
	tr    *fourier.Transformer
	items *item.Gatherer
	last  []finding.Finding // of the open piece
}

// New returns an intake that goes on from the state of its checks; the zero state is the start. A piece that was open at a break
// is not in the state: its rest is a piece of its own.
func New(opt Options, state check.BookState) (*Intake, error) {
	if err := opt.Rules.Validate(); err != nil {
		return nil, err
	}
	k := &Intake{opt: opt}
	var err error
	if k.book, err = check.NewBook(opt.Check, state); err != nil {
		return nil, err
	}
	if opt.Fourier == nil {
		opt.Fourier = &fourier.Options{}
	}
	if k.tr, err = fourier.NewTransformer(*opt.Fourier); err != nil {
		return nil, err
	}
	if opt.Items != nil {
		items := *opt.Items
		items.ByID = items.ByID || opt.Trigger != NoTrigger
		if items.ByID && opt.Trigger == NoTrigger {
			return nil, fmt.Errorf("pieces go by a trigger id, and it is not said where the id stands; in the label or the run")
		}
		if k.items, err = item.NewGatherer(items); err != nil {
			return nil, err
		}
	}
	return k, nil
}

// Checks returns the book of the instrument's checks.
func (k *Intake) Checks() *check.Book { return k.book }

// A Taken is what became of one spectrum.
type Taken struct {
	Role     check.Role
	Results  []check.Result    // of a dark, a reference or a standard
	Sample   spectrum.Spectrum // to be judged, where there is one
	Ready    bool              // Sample is to be judged now; a piece of too few spectra is not, and Findings say so
	Count    int               // spectra that Sample is the mean of; 1 where it stands for itself
	Findings []finding.Finding // reasons that stand beside its judgement
}

// Take takes the next spectrum, in order of time. Its error is why that spectrum cannot be used; the next may be taken. While pieces
// are gathered, Sample is the piece that ended, which is not the one that the spectrum is of.
func (k *Intake) Take(s spectrum.Spectrum) (Taken, error) {
	out := Taken{Role: k.opt.Rules.Of(s)}
	var err error
	if s.Quantity == spectrum.Interferogram {
		if s, out.Findings, err = k.tr.Transform(s); err != nil {
			return out, fmt.Errorf("transforming the interferogram: %w", err)
		}
	}
	if out.Role != check.Sample {
		out.Results = k.book.Add(out.Role, s)
		return out, nil
	}
	if s, err = k.absorb(s, &out); err != nil {
		return out, err
	}
	if k.items == nil {
		out.Sample, out.Ready, out.Count = s, true, 1
		return out, nil
	}
	return k.gather(s, out)
}

// Keep keeps a dark or reference that is used for all, without a check: one in a file of its own, say.
func (k *Intake) Keep(role check.Role, s spectrum.Spectrum) (err error) {
	if s.Quantity == spectrum.Interferogram {
		if s, _, err = k.tr.Transform(s); err != nil {
			return fmt.Errorf("transforming the interferogram: %w", err)
		}
	}
	switch role {
	case check.Dark:
		return k.book.Store().AddDark(s)
	case check.Reference:
		return k.book.Store().AddReference(s)
	}
	return fmt.Errorf("a %s is not kept for all", role)
}

// absorb makes an absorbance of raw intensities where darks and references are there or may come. Elsewhere whoever judges says what
// is missing.
func (k *Intake) absorb(s spectrum.Spectrum, out *Taken) (spectrum.Spectrum, error) {
	if _, references := k.book.Store().Counts(); s.Quantity != spectrum.Intensity || len(k.opt.Rules) == 0 && references == 0 {
		return s, nil
	}
	made, err := k.book.Store().Absorbance(s)
	if err != nil {
		return s, err
	}
	out.Findings = append(out.Findings, made.Findings...)
	return made.Spectrum, nil
}

// gather puts a sample to its piece. The findings of a piece are those of its spectra, each said once.
func (k *Intake) gather(s spectrum.Spectrum, out Taken) (Taken, error) {
	own := out.Findings
	out.Findings = nil
	it, err := k.items.Add(s, item.Mark{ID: k.id(s)})
	if err != nil {
		return out, err
	}
	if it != nil {
		k.closed(it, &out)
	}
	if _, open := k.items.Open(); open {
		for _, f := range own {
			if !has(k.last, f.Kind) {
				k.last = append(k.last, f)
			}
		}
	}
	return out, nil
}

// closed hands out a piece that ended.
func (k *Intake) closed(it *item.Item, out *Taken) {
	out.Findings = append(k.last, it.Findings...)
	k.last = nil
	out.Sample, out.Count, out.Ready = it.Spectrum, it.Count, it.Enough && it.Count > 0
}

func has(fs []finding.Finding, kind finding.Kind) bool {
	for _, f := range fs {
		if f.Kind == kind {
			return true
		}
	}
	return false
}

func (k *Intake) id(s spectrum.Spectrum) string {
	switch k.opt.Trigger {
	case ByLabel:
		return s.Label
	case ByRun:
		return s.Run
	}
	return ""
}

// Close hands out the piece that is open, if one is: at the end of a folder, or when nothing came for longer than the gap.
// Count is 0 where there is none.
func (k *Intake) Close() Taken {
	var out Taken
	if k.items == nil {
		return out
	}
	if it := k.items.Close(); it != nil {
		k.closed(it, &out)
	}
	return out
}

// Empty returns how many spectra of the empty belt were left out.
func (k *Intake) Empty() int {
	if k.items == nil {
		return 0
	}
	return k.items.Empty()
}
