package spectrum

import (
	"fmt"
	"time"
)

// A Spectrum is one measurement.
type Spectrum struct {
	Axis     *Axis
	Values   []float64 // one value a channel, in the order of Axis
	Quantity Quantity
	Share    bool          // a reflectance or transmittance that is known to be a share of all the light: it stood in percent and was divided
	Time     time.Time     // when it was measured; zero if nothing says so
	Exposure time.Duration // integration time; zero if nothing says so

	File  string // the file it was read from
	Row   int    // its place in a file of many spectra, from 1; 0 in a file of one
	Run   string // the run it belongs to, where the file or its folder says so
	Label string // a label column's value or a title
}

// Name says which spectrum this is: its file, and its row in a file of many.
func (s Spectrum) Name() string {
	if s.Row == 0 {
		return s.File
	}
	return fmt.Sprintf("%s: row %d", s.File, s.Row)
}

// An Unreadable says which file, or which part of it, could not be read, and why. It is a record of
// the day, not the end of it: the other rows and files go on.
type Unreadable struct {
	File   string
	Line   int    // the line of the text, from 1; 0 where no line can be named
	Row    int    // the spectrum's place in a file of many, from 1; 0 for the file itself
	Reason string // what was found and what was expected
	Err    error  // what a reader or a decoder beneath said, if one did
	More   int    // how many others of the file it stands for, besides itself; see Few
}

// Unwrap returns what a reader or a decoder beneath said, if one did.
func (u *Unreadable) Unwrap() error { return u.Err }

// Place says which file, line or row it is.
func (u *Unreadable) Place() string {
	switch {
	case u.Line > 0:
		return fmt.Sprintf("%s: line %d", u.File, u.Line)
	case u.Row > 0:
		return fmt.Sprintf("%s: row %d", u.File, u.Row)
	}
	return u.File
}

func (u *Unreadable) Error() string { return u.Place() + ": " + u.Reason }
