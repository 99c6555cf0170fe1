package words

import (
	"io/fs"
	"strconv"
	"strings"
)

// Errors of the commands themselves, for which Hint knows what to try.
type (
	// Exists says that a file is there already, which is left as it is.
	Exists struct{ Path string }
	// DemoExists says that the demo's folder is taken.
	DemoExists struct{ Dir string }
	// DemoHalf says that the demo was stopped, and what it made until then is there.
	DemoHalf struct{ Dir string }
	// TableHalf says that export was stopped in the midst of its rows.
	TableHalf struct{}
	// NoReference says that nothing was learned yet.
	NoReference struct{ Path string }
	// NoHistory says that nothing was watched yet.
	NoHistory struct{ Path string }
	// NoWatchFolder says that the folder to watch is not there.
	NoWatchFolder struct{ Path string }
	// NoSpectraInPeriod says that history has nothing of a period.
	NoSpectraInPeriod struct{ Line, Period string }
	// NoGroup says that history has no uncharted group of that name.
	NoGroup struct{ Name string }
	// GroupGone says that history has the group still, and its spectra not any more.
	GroupGone struct{ Name string }
	// NotGood says what of further good runs the reference does not take for good.
	NotGood struct {
		Reference string
		What      []string
	}
	// NotKept says what of the version before a new one cannot keep.
	NotKept struct {
		Reference string
		Names     []string
		What      []string
	}
	// NoneReadable says that no file of those that were tried holds spectra.
	NoneReadable struct {
		Path      string
		Tried, Of int
		First     string // such as which, and why
	}
	// Meanwhile says that a reference is not any more what its next version was made from.
	Meanwhile struct {
		Reference string
		From, Now string // fingerprints; From is "" where there was none
		Approvals int    // that it has now
	}
	// BeingWritten says that somebody else writes a reference at the same moment.
	BeingWritten struct{ Reference string }
	// NotOurs says that a file to be written is there already and is something else.
	NotOurs struct{ Path string }
	// Named says that a group was named before.
	Named struct{ Group, Name string }
	// NoToken says that a file that shall hold a token, of so many characters at least, holds none.
	NoToken struct {
		Path string
		Want int
	}
	// NotUTF8 says that a file of text is in two bytes a letter, or no text at all.
	NotUTF8 struct{ Path string }
	// NotBeside says that something is written, but not all that lies beside it.
	NotBeside struct {
		What string // such as a page
		Why  error
	}
	// NoWatch says that no watch has told how the lines stand.
	NoWatch struct{ Path string }
)

func (e *Exists) Error() string        { return e.Path + ": there is one already; nothing was changed" }
func (e *DemoExists) Error() string    { return e.Dir + ": there is something in it already" }
func (e *DemoHalf) Error() string      { return e.Dir + ": stopped before the end; it is left half made" }
func (e *TableHalf) Error() string     { return "stopped before the end; the table lacks its last rows" }
func (e *NoReference) Error() string   { return e.Path + ": there is no reference yet" }
func (e *NoHistory) Error() string     { return e.Path + ": there is no history yet" }
func (e *NoWatchFolder) Error() string { return e.Path + ": the folder to watch does not exist" }
func (e *NoWatch) Error() string       { return e.Path + ": there is no state file yet: nobody has watched" }
func (e *NoSpectraInPeriod) Error() string {
	return "history has no spectra of " + e.Line + " in " + e.Period
}

func (e *NoGroup) Error() string { return "group " + strconv.Quote(e.Name) + " is not in history" }

func (e *GroupGone) Error() string {
	return "the spectra of group " + strconv.Quote(e.Name) + " are not in history any more"
}

func (e *NotGood) Error() string {
	return "what was to be added is changed, by " + e.Reference + " as it is; nothing was written:\n  " + strings.Join(e.What, "\n  ")
}

func (e *NotKept) Error() string {
	return "the new version cannot keep all that was named in " + e.Reference + "; nothing was written:\n  " + strings.Join(e.What, "\n  ")
}

func (e *NoneReadable) Error() string {
	what := "none of " + Count(e.Tried, "file", "files")
	if e.Tried < e.Of {
		what = "none of the first " + strconv.Itoa(e.Tried) + " of " + Count(e.Of, "file", "files")
	}
	return e.Path + ": " + what + " can be read as spectra, such as " + e.First
}

func (e *NotUTF8) Error() string {
	return e.Path + ": is UTF-16 or no text; write it as UTF-8"
}

func (e *NoToken) Error() string {
	return e.Path + ": holds no token; want a line of at least " + strconv.Itoa(e.Want) + " characters"
}

func (e *Meanwhile) Error() string {
	what := "another version, " + e.Now + " in place of " + e.From
	switch e.From {
	case "":
		what = "a reference, " + e.Now + ", where there was none"
	case e.Now:
		what = e.Now + " with other approvals, " + strconv.Itoa(e.Approvals) + " in all"
	}
	return e.Reference + ": meanwhile somebody wrote " + what + "; nothing was written"
}

func (e *NotBeside) Error() string {
	return e.What + " is written, but not all that belongs to it: " + e.Why.Error()
}

func (e *BeingWritten) Error() string {
	return e.Reference + ": somebody writes it at this moment; nothing was written"
}

func (e *NotOurs) Error() string { return e.Path + ": the file is no reference; nothing was changed" }
func (e *Named) Error() string   { return e.Group + " is the condition " + e.Name + " already" }

func (e *NotBeside) Unwrap() error     { return e.Why }
func (e *Exists) Unwrap() error        { return fs.ErrExist }
func (e *NoReference) Unwrap() error   { return fs.ErrNotExist }
func (e *NoHistory) Unwrap() error     { return fs.ErrNotExist }
func (e *NoWatch) Unwrap() error       { return fs.ErrNotExist }
func (e *NoWatchFolder) Unwrap() error { return fs.ErrNotExist }
