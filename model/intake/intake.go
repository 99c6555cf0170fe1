package intake

import (
	"fmt"

	"asusual/model/check"
	"asusual/model/finding"
	"asusual/model/fourier"
	"asusual/model/item"
	"asusual/model/spectrum"
)

// A Trigger says which of a spectrum's particulars is the id of its item.
type Trigger uint8

// The triggers.
const (
	NoTrigger Trigger = iota
	ByLabel           // the label column, or the title
	ByRun             // the run column
	ByName            // the name of the file, by Options.Name
)

// Options say what is done with spectra. The zero value hands everything through.
type Options struct {
	Rules   check.Rules      // none: every spectrum is one of production
	Check   check.Settings   // of the checks; its Light is the store of darks and references of production, too
	Fourier *fourier.Options // how interferograms are transformed; nil: the usual way
	Items   *item.Options    // nil: every spectrum stands for itself
	Trigger Trigger          // where Items go by an id
	Name    NamePattern      // where Trigger is ByName
	// Empty reports whether a spectrum shows the empty belt, where Items leave that to the caller; see item.Options.ByBelt.
	Empty func(spectrum.Spectrum) (bool, error)
}

// An Intake takes spectra in order of time. It is not safe for concurrent use.
type Intake struct {
	opt   Options
	book  *check.Book
	tr    *fourier.Transformer
	items *item.Gatherer
	last  []finding.Finding // of the open item
}

// New returns an intake that goes on from the state of its checks; the zero state is the start. Its items begin anew; see Resume.
func New(opt Options, state check.BookState) (*Intake, error) {
	return Resume(opt, state, Items{})
}

// Items is where the gathering of items stands: what a watch keeps.
type Items struct {
	item.State
	Findings []finding.Finding `json:"findings,omitempty"` // of the open item's spectra
}

// Resume returns an intake that goes on from the state of its checks and of its items.
func Resume(opt Options, state check.BookState, begun Items) (*Intake, error) {
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
		items.ByBelt = items.ByBelt || opt.Empty != nil
		switch {
		case items.ByID && opt.Trigger == NoTrigger:
			return nil, fmt.Errorf("items go by a trigger id, and it is not said where the id stands; in the label, the run or the file's name")
		case items.ByBelt && opt.Empty == nil:
			return nil, fmt.Errorf("nothing tells an item from the empty belt")
		case opt.Trigger == ByName && opt.Name == (NamePattern{}):
			return nil, fmt.Errorf("items go by the id in the file's name, and it is not said where in it")
		}
		if k.items, err = item.Resume(items, begun.State); err != nil {
			return nil, err
		}
		k.last = begun.Findings
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
	Ready    bool              // Sample is to be judged now; an item of too few spectra is not, and Findings say so
	Count    int               // spectra that Sample is the mean of; 1 where it stands for itself
	Of       int64             // while items are gathered: the number of the item that the spectrum is of; 0 for the empty belt
	Ended    *item.Item        // while items are gathered: the item that ended, whose mean is Sample; nil for none
	Late     *item.Closed      // while items are gathered: the item that the spectrum is of and that ended before it came, as Findings say; nil for none
	Findings []finding.Finding // reasons that stand beside its judgement
}

// Take takes the next spectrum, in order of time. Its error is why that spectrum cannot be used; the next may be taken. While items
// are gathered, Sample is the item that ended, which is not the one that the spectrum is of.
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

// gather puts a sample to its item. The findings of an item are those of its spectra, each said once.
func (k *Intake) gather(s spectrum.Spectrum, out Taken) (Taken, error) {
	own := out.Findings
	out.Findings = nil
	var m item.Mark
	var err error
	if m.ID, err = k.id(s); err != nil {
		return out, err
	}
	if k.opt.Empty != nil {
		if m.Empty, err = k.opt.Empty(s); err != nil {
			return out, err
		}
	}
	got, err := k.items.Add(s, m)
	if err != nil {
		return out, err
	}
	out.Of = got.Of
	if got.Late != nil {
		out.Late = got.Late
		out.Findings = append(own, finding.Of(finding.LateOfItem, got.Late.Name))
		return out, nil
	}
	if got.Ended != nil && got.Ended.Number == out.Of { // it is full with this spectrum
		k.note(own)
	}
	k.hand(got.Ended, &out)
	if _, open := k.items.Open(); open && out.Of != 0 {
		k.note(own)
	}
	return out, nil
}

// note keeps the findings of the open item, each once.
func (k *Intake) note(own []finding.Finding) {
	for _, f := range own {
		if !has(k.last, f.Kind) {
			k.last = append(k.last, f)
		}
	}
}

// hand hands out an item that ended, if one did.
func (k *Intake) hand(it *item.Item, out *Taken) {
	if it == nil {
		return
	}
	out.Findings = append(k.last, it.Findings...)
	k.last = nil
	out.Sample, out.Count, out.Ready, out.Ended = it.Spectrum, it.Count, it.Enough && it.Count > 0, it
}

func has(fs []finding.Finding, kind finding.Kind) bool {
	for _, f := range fs {
		if f.Kind == kind {
			return true
		}
	}
	return false
}

// id returns the trigger id of a spectrum, "" for none. A name against the pattern is an error: it is the pattern that is wrong,
// more often than the file.
func (k *Intake) id(s spectrum.Spectrum) (string, error) {
	switch k.opt.Trigger {
	case ByLabel:
		return s.Label, nil
	case ByRun:
		return s.Run, nil
	case ByName:
		if id, ok := k.opt.Name.ID(s.File); ok {
			return id, nil
		}
		return "", fmt.Errorf("its name holds no id of an item: it is not of the form %v", k.opt.Name)
	}
	return "", nil
}

// Close hands out the item that is open, if one is: when nothing came for longer than the gap. Count is 0 where there is none.
func (k *Intake) Close() (out Taken) {
	if k.items != nil {
		k.hand(k.items.Close(), &out)
	}
	return out
}

// Finish is Close at the end of a folder: what comes after it is of no item before.
func (k *Intake) Finish() (out Taken) {
	if k.items != nil {
		k.hand(k.items.Finish(), &out)
	}
	return out
}

// Items returns where the gathering of items stands.
func (k *Intake) Items() Items {
	if k.items == nil {
		return Items{}
	}
	return Items{k.items.State(), k.last}
}

// Open reports whether an item is open.
func (k *Intake) Open() bool {
	if k.items == nil {
		return false
	}
	_, open := k.items.Open()
	return open
}

// Empty returns how many spectra of the empty belt were left out.
func (k *Intake) Empty() int {
	if k.items == nil {
		return 0
	}
	return k.items.Empty()
}
