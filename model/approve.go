package model

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"
)

// An Approval says that a person stands for a reference as it is.
type Approval struct {
	By   string    `json:"by"`
	Note string    `json:"note"` // on what grounds
	At   time.Time `json:"at"`
	Of   string    `json:"of"` // fingerprint of what was approved
}

// Equal reports whether two approvals are the same, in whatever time zone their moment is written.
func (a Approval) Equal(b Approval) bool {
	return a.By == b.By && a.Note == b.Note && a.Of == b.Of && a.At.Equal(b.At)
}

// A Source says where a reference was learned and from which files, for whoever meets it on another computer. It does not
// count in what is usual.
type Source struct {
	Computer string    `json:"computer,omitempty"`
	Program  string    `json:"program,omitempty"` // which build learned it
	Folders  []string  `json:"folders,omitempty"` // of the known-good spectra, whole paths on that computer
	Files    int       `json:"files,omitempty"`
	Bytes    int64     `json:"bytes,omitempty"`
	Written  time.Time `json:"written,omitzero"` // when the newest of the files was written
}

// IsZero reports whether nothing is known.
func (s Source) IsZero() bool {
	return s.Computer == "" && s.Program == "" && len(s.Folders) == 0 && s.Files == 0
}

// Limits of what a person writes, in bytes: a sentence or two, and no file by mistake.
const (
	mostBy   = 200
	mostNote = 2000
)

// Approved returns the approvals of the reference as it is; none where nobody approved it. Those of an earlier version, which
// has another fingerprint, are not among them: a new version has to be approved anew.
func (r *Reference) Approved() []Approval {
	if len(r.Approvals) == 0 {
		return nil
	}
	var mine []Approval
	own := r.Fingerprint()
	for _, a := range r.Approvals {
		if a.Of == own {
			mine = append(mine, a)
		}
	}
	return mine
}

// ErrApproved says that the same person approved the same version with the same note before.
var ErrApproved = errors.New("approved this reference already")

// Approve returns the reference with one approval more. r stays as it is, and what is approved keeps its fingerprint.
func (r *Reference) Approve(by, note string, at time.Time) (*Reference, error) {
	by, note = strings.TrimSpace(by), strings.TrimSpace(note)
	switch {
	case by == "":
		return nil, fmt.Errorf("an approval needs the name of who approves")
	case note == "":
		return nil, fmt.Errorf("an approval needs a note: on what grounds?")
	case len(by) > mostBy || len(note) > mostNote:
		return nil, fmt.Errorf("a name of %d and a note of %d bytes; at most %d and %d are kept", len(by), len(note), mostBy, mostNote)
	case !utf8.ValidString(by) || !utf8.ValidString(note):
		return nil, fmt.Errorf("the name or the note is not UTF-8")
	}
	for _, a := range r.Approved() {
		if a.By == by && a.Note == note {
			return nil, fmt.Errorf("%s %w, at %s, with the same note", by, ErrApproved, a.At.Format(time.RFC3339))
		}
	}
	next := *r
	next.Approvals = append(slices.Clone(r.Approvals), Approval{By: by, Note: note, At: at, Of: r.Fingerprint()})
	return &next, nil
}
