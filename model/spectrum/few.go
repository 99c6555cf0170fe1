package spectrum

import "fmt"

// Told is how many of the bad rows or blocks of one file are told one by one. Chosen so that a file with some bad rows has
// all of them named, while one that is bad throughout, of millions of rows, fills neither memory nor history.
const Told = 100

// A Few tells the first of what could not be read of one file, and counts the rest. Its zero value has seen none.
type Few struct {
	n    int // told one by one
	rest *Unreadable
	last *Unreadable // of the rest
}

// Take returns u where it is to be told by itself, and nil where it was counted.
func (f *Few) Take(u *Unreadable) *Unreadable {
	if f.n < Told {
		f.n++
		return u
	}
	if f.rest == nil {
		f.rest = u
	} else {
		f.rest.More++
	}
	f.last = u
	return nil
}

// Rest returns one that stands for those that were counted since it was called last, or nil where there are none. It bears the
// place of the first of them.
func (f *Few) Rest() *Unreadable {
	u, last := f.rest, f.last
	f.rest, f.last = nil, nil
	if u == nil || u.More == 0 {
		return u
	}
	where := ""
	switch {
	case last.Line > 0:
		where = fmt.Sprintf(" from here to line %d", last.Line)
	case last.Row > 0:
		where = fmt.Sprintf(" from here to row %d", last.Row)
	}
	all := *u // the one that was handed in is its giver's
	all.Reason = fmt.Sprintf("%d rows or blocks%s cannot be read and are not named one by one; the first: %s", 1+u.More, where, u.Reason)
	return &all
}
