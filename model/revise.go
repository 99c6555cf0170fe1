package model

import (
	"fmt"
	"slices"
	"time"

	"asusual/model/condition"
	"asusual/model/finding"
)

// A Revision says how a reference came from the one before it.
type Revision struct {
	At   time.Time `json:"at"`
	What string    `json:"what"`           // in words, such as "condition leak added from 48 spectra"
	Of   string    `json:"of"`             // fingerprint of the reference before
	Adds string    `json:"adds,omitempty"` // the condition that it added, if it did
	Anew bool      `json:"anew,omitempty"` // usual was learned anew, so that places by the one before are others
}

// FirstLearned returns when the first version of the reference was learned.
func (r *Reference) FirstLearned() time.Time {
	if !r.First.IsZero() {
		return r.First
	}
	return r.Learned
}

// SameUsual returns the fingerprints of this version and of those before it that describe usual in the same way.
func (r *Reference) SameUsual() []string {
	same := []string{r.Fingerprint()}
	for _, v := range slices.Backward(r.Revisions) {
		if v.Anew {
			break
		}
		same = append(same, v.Of)
	}
	return same
}

// revise returns a copy of the reference that may be changed in its lists, with the revision noted. r stays as it is.
func (r *Reference) revise(at time.Time, what string) *Reference {
	next := *r
	next.Conditions = slices.Clone(r.Conditions)
	next.Findings = slices.Clone(r.Findings)
	next.Revisions = append(slices.Clone(r.Revisions), Revision{At: at, What: what, Of: r.Fingerprint()})
	return &next
}

// A Naming says what a condition is to be called, from which uncharted group it comes ("": from none), and when that was said.
type Naming struct {
	Name, Group string
	At          time.Time
}

// WithCondition returns the reference with one condition more, learned from the spectra that the training holds under
// the name. What is usual stays as it was. It needs as many spectra as a condition does when a reference is learned,
// and refuses a name that is taken, and spectra most of which lie within usual: they would never get there.
func (r *Reference) WithCondition(n Naming, t *Training) (*Reference, error) {
	if err := r.mayCall(n.Name); err != nil {
		return nil, err
	}
	c, s, err := r.class(n.Name, t)
	if err != nil {
		return nil, err
	}
	c.Group = n.Group
	next := r.revise(n.At, fmt.Sprintf("condition %s added from %d spectra", n.Name, c.Spectra))
	next.Revisions[len(next.Revisions)-1].Adds = n.Name
	next.overlaps(s, c)
	next.Conditions = append(next.Conditions, c)
	next.Map = condition.NewMap(Usual, r.PCA, next.Conditions)
	return next, nil
}

// class learns the class of a condition in the space of the reference.
func (r *Reference) class(name string, t *Training) (*condition.Class, condition.Sample, error) {
	b := t.gather(name, r.Axis(), 0)
	if len(b.rows) == 0 {
		return nil, condition.Sample{}, t.errNoSpectra(name)
	}
	s, err := sample(name, b, r.Chain)
	if err != nil {
		return nil, s, err
	}
	f, err := condition.Fit(s, nil)
	if err != nil {
		return nil, s, err
	}
	if n := r.within(s); 2*n > len(b.rows) {
		return nil, s, fmt.Errorf("condition %s: %d of its %d spectra lie within usual, so they would go on being called usual", name, n, len(b.rows))
	}
	return f.Class, s, nil
}

// mayCall reports whether a condition may get the name.
func (r *Reference) mayCall(name string) error {
	switch name {
	case "":
		return fmt.Errorf("a condition needs a name")
	case Usual, Uncharted, Unfit, InTransition:
		return fmt.Errorf("condition %s: the name has a meaning of its own", name)
	}
	if r.condition(name) >= 0 {
		return fmt.Errorf("condition %s: there is one of that name already; forget it first, or take another name", name)
	}
	return nil
}

// condition returns the place of the named condition in the list, or −1.
func (r *Reference) condition(name string) int {
	return slices.IndexFunc(r.Conditions, func(c *condition.Class) bool { return c.Name == name })
}

// WithoutCondition returns the reference without the named condition: its spectra are uncharted again.
func (r *Reference) WithoutCondition(name string, at time.Time) (*Reference, error) {
	i := r.condition(name)
	if i < 0 {
		return nil, fmt.Errorf("condition %s: the reference knows none of that name", name)
	}
	next := r.revise(at, forgotten(name))
	next.Conditions = slices.Delete(next.Conditions, i, i+1)
	next.Map = condition.NewMap(Usual, r.PCA, next.Conditions)
	return next, nil
}

func forgotten(name string) string { return fmt.Sprintf("condition %s forgotten", name) }

// Forgot reports whether r is the version that WithoutCondition made of that name.
func (r *Reference) Forgot(name string) bool {
	n := len(r.Revisions)
	return n > 0 && r.Revisions[n-1].What == forgotten(name)
}

// within counts the spectra of the sample that lie within usual.
func (r *Reference) within(s condition.Sample) int {
	t := make([]float64, largest(r))
	n, rows := 0, s.Set.Runs[len(s.Set.Runs)-1].To
	for i := range rows {
		if distance(r, s.Set.X.RawRowView(i), t) <= 1 {
			n++
		}
	}
	return n
}

// overlaps notes which of the known conditions the new class lies over.
func (r *Reference) overlaps(s condition.Sample, c *condition.Class) {
	rows := s.Set.Runs[len(s.Set.Runs)-1].To
	t := make([]float64, max(largest(r), c.PCA.K))
	for _, old := range r.Conditions {
		n := 0
		for i := range rows {
			if old.Match(s.Set.X.RawRowView(i), s.Looks[i], t).Distance <= 1 {
				n++
			}
		}
		if share := float64(n) / float64(rows); share > condition.Overlap {
			r.Findings = append(r.Findings, finding.Of(finding.Overlap, c.Name+" and "+old.Name, 100*share))
		}
	}
}
