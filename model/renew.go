package model

import (
	"bytes"
	"encoding/json"
	"errors"
	"slices"
	"time"

	"asusual/model/condition"
	"asusual/model/pretreat"
)

// A Renewal says how a reference that was learned anew takes the place of the one before it.
type Renewal struct {
	At   time.Time
	What string // in words, for the list of versions
	// NamedOnly keeps of the conditions before only those that were named from a group: the others came from folders, and what the
	// folders hold now was learned from.
	NamedOnly bool
	// Again gives the spectra of a condition once more, where its model cannot be taken over, and why it cannot. nil: it never can.
	Again func(c *condition.Class) (*Training, error)
}

// A Lost is a condition that a new version cannot keep, and why.
type Lost struct {
	Class *condition.Class
	Why   error
}

// ErrOtherSpace says why the model of a condition cannot be taken over: spectra are pretreated into other numbers now.
var ErrOtherSpace = errors.New("spectra are pretreated in another way now, or lie on another axis")

// Renewing returns the reference as a new version of old. It keeps old's history, and those of old's conditions that it does not
// know itself: as they are, where spectra are pretreated in the same way, else learned again from their spectra. Those
// that can be kept in neither way come back, too.
func (r *Reference) Renewing(old *Reference, how Renewal) (next *Reference, lost []Lost) {
	copied := *r
	next = &copied
	next.First = old.FirstLearned()
	next.Conditions = slices.Clone(r.Conditions)
	next.Findings = slices.Clone(r.Findings)
	next.Approvals = slices.Clone(old.Approvals)
	next.Revisions = append(slices.Clone(old.Revisions), Revision{At: how.At, What: how.What, Of: old.Fingerprint(), Anew: true})
	same := sameChain(r.Chain, old.Chain)
	for _, c := range old.Conditions {
		if r.condition(c.Name) >= 0 || how.NamedOnly && !old.named(c) {
			continue
		}
		if !same {
			again, s, err := r.again(c, how.Again)
			if err != nil {
				lost = append(lost, Lost{c, err})
				continue
			}
			next.overlaps(s, again)
			c = again
		}
		next.Conditions = append(next.Conditions, c)
	}
	if len(next.Conditions) > len(r.Conditions) {
		next.Map = condition.NewMap(Usual, r.PCA, next.Conditions)
	}
	return next, lost
}

// again learns a condition of an earlier version from its spectra.
func (r *Reference) again(c *condition.Class, spectra func(*condition.Class) (*Training, error)) (*condition.Class, condition.Sample, error) {
	if spectra == nil {
		return nil, condition.Sample{}, ErrOtherSpace
	}
	t, err := spectra(c)
	if err != nil {
		return nil, condition.Sample{}, err
	}
	next, s, err := r.class(c.Name, t)
	if err != nil {
		return nil, s, err
	}
	next.Group = c.Group
	return next, s, nil
}

// named reports whether somebody named the condition, rather than a folder of its spectra.
func (r *Reference) named(c *condition.Class) bool {
	return c.Group != "" || slices.ContainsFunc(r.Revisions, func(v Revision) bool { return v.Adds == c.Name })
}

// sameChain reports whether both pretreat a spectrum into the same numbers.
func sameChain(a, b *pretreat.Chain) bool {
	one, err := json.Marshal(a)
	if err != nil {
		return false
	}
	other, err := json.Marshal(b)
	return err == nil && bytes.Equal(one, other)
}
