package report

import (
	"strings"
	"time"
)

// An Approval says who stands for a reference, since when, and on what grounds.
type Approval struct {
	By, Note string
	At       time.Time
}

// A Source says where a reference was learned, and from which files. What is not known is zero.
type Source struct {
	Computer, Program string
	Folders           []string
	Files             int
	Bytes             int64
	Written           time.Time // of the newest file
}

// approved says each approval as a sentence, or that there is none where that is to be said.
func (t *teller) approved(all []Approval, unapproved bool) []string {
	var said []string
	for _, a := range all {
		said = append(said, t.say("approved", "by", a.By, "day", t.longDay(a.At), "time", wall(a.At.In(t.zone)), "note", strings.TrimRight(a.Note, ".")))
	}
	if len(all) == 0 && unapproved {
		said = append(said, t.say("approved.none"))
	}
	return said
}

// sentences says where the reference came from.
func (s Source) sentences(t *teller) []string {
	var said []string
	if s.Computer != "" {
		said = append(said, t.say("source.computer", "computer", s.Computer, "program", t.Said(s.Program)))
	}
	if s.Files > 0 {
		said = append(said, t.count("source.files", s.Files, "mb", t.number(float64(s.Bytes)/1e6, 3), "day", t.longDay(s.Written), "time", wall(s.Written.In(t.zone)),
			"folders", strings.Join(s.Folders, ", ")))
	}
	return said
}
