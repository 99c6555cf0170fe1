package spectrum

import (
	"fmt"
	"strings"
	"time"
)

// Options say how files are read. The zero value finds everything out; what is set here wins over
// what a file says.
type Options struct {
	Unit     Unit     // of the axis; 0: what the file says, else guessed from the positions
	Quantity Quantity // of the values; 0: what the file says, else guessed from the values
	Percent  bool     // reflectance and transmittance stand in percent, and are divided by 100 as they are read

	Time       TimeFrom                      // where the time of a spectrum comes from
	NameLayout string                        // the form of the time in a file's name, as the time package writes it; "" tries the usual ones
	Undated    func(file, label string) bool // spectra that may do without NameLayout where Time is TimeAuto, as those of "dark.csv"; nil: none
	Zone       *time.Location                // of times without an offset; nil: UTC

	// The names of a table's columns, whatever their case. "" takes the usual ones: timestamp,
	// datetime, time, date; run, batch, lot; label, condition, class.
	TimeColumn, RunColumn, LabelColumn string

	MaxBytes int64 // a larger file is refused; 0: 1 GiB
}

// Limits that keep the memory of one file bounded. Both are far above what a spectrometer writes:
// chosen so that a 1 MB spectrum passes with room to spare and a file that is no spectrum is
// refused early.
const (
	maxBytes    = 1 << 30 // of a file, where Options do not say
	maxLine     = 1 << 24 // bytes in a line
	maxChannels = 1 << 20 // channels of a spectrum
)

func (o Options) zone() *time.Location {
	if o.Zone == nil {
		return time.UTC
	}
	return o.Zone
}

func (o Options) maxBytes() int64 {
	if o.MaxBytes <= 0 {
		return maxBytes
	}
	return o.MaxBytes
}

// A Source is what is known of a file before it is opened.
type Source struct {
	Name     string    // its path: used in messages, and for the time that it may hold
	Modified time.Time // when it was last written; zero if not known
}

// TimeFrom says where the time of a spectrum comes from.
type TimeFrom uint8

// Where a time may come from.
const (
	TimeAuto     TimeFrom = iota // the first that has one: header or column, the file's name, its modification time
	TimeHeader                   // a header line, or the time column of a table
	TimeName                     // the file's name
	TimeModified                 // when the file was last written
	TimeNone                     // nowhere: spectra have no time
)

var timeFromWords = [...]string{
	TimeAuto: "auto", TimeHeader: "header", TimeName: "name", TimeModified: "modified", TimeNone: "none",
}

// ParseTimeFrom returns the source of that name; "" is TimeAuto.
func ParseTimeFrom(s string) (TimeFrom, error) {
	s = strings.ToLower(strings.TrimSpace(s))
	for t, word := range timeFromWords {
		if word == s || s == "" {
			return TimeFrom(t), nil
		}
	}
	return TimeAuto, fmt.Errorf("time %q is not one of auto, header, name, modified, none", s)
}

// String returns the name that ParseTimeFrom takes.
func (t TimeFrom) String() string { return timeFromWords[t] }

// MarshalText and UnmarshalText let the source stand in a configuration as its name.
func (t TimeFrom) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// UnmarshalText reads the name of a source.
func (t *TimeFrom) UnmarshalText(b []byte) (err error) {
	*t, err = ParseTimeFrom(string(b))
	return err
}
