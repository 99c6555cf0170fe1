package main

import (
	"fmt"
	"io"

	"asusual/cmd/asusual/gather"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/model/check"
	"asusual/model/spectrum"
)

const (
	fewAlike   = 3    // how many may share a reason and still be named one by one
	mostCauses = 1000 // how many reasons are kept apart: nobody reads more
)

// A reasons gathers what could not be used by why that is so. Their zero value is empty.
type reasons struct {
	n    int // files and rows, in all
	at   map[string]int
	list []reason
}

type reason struct {
	first []*spectrum.Unreadable // as many as are named one by one
	n     int
}

func (r *reasons) add(all ...*spectrum.Unreadable) {
	if r.at == nil {
		r.at = map[string]int{}
	}
	for _, u := range all {
		r.n += 1 + u.More
		i, ok := r.at[u.Reason]
		if !ok {
			if len(r.list) == mostCauses {
				continue
			}
			i = len(r.list)
			r.at[u.Reason] = i
			r.list = append(r.list, reason{})
		}
		one := &r.list[i]
		one.n += 1 + u.More
		if len(one.first) < fewAlike {
			one.first = append(one.first, u)
		}
	}
}

// whys returns each reason once.
func (r *reasons) whys() []string {
	all := []string{}
	for _, one := range r.list {
		all = append(all, one.first[0].Reason)
	}
	return all
}

// write names them below a heading, at most maxRows lines; n is how many there are with those that were not added.
func (r *reasons) write(w io.Writer, heading string, n int) {
	if n == 0 {
		return
	}
	fmt.Fprintf(w, "\n%s:\n", heading)
	lines := 0
	for _, one := range r.list {
		if lines >= maxRows {
			break
		}
		n -= one.n
		if one.n > fewAlike && one.first[0].More == 0 {
			fmt.Fprintf(w, "  %s, and %s: %s\n", one.first[0].Place(), words.Count(one.n-1, "other", "others"), one.first[0].Reason)
			lines++
			continue
		}
		for _, u := range one.first {
			fmt.Fprintf(w, "  %s\n", u)
			lines++
		}
	}
	if n > 0 {
		fmt.Fprintf(w, "  … and %s more; --json names %d of each file\n", words.Number(n), spectrum.Told)
	}
}

// writeUnreadable names what could not be read, or not be used, and why: the first of n. A reason that many share is said once.
func writeUnreadable(w io.Writer, first []*spectrum.Unreadable, n int) {
	var r reasons
	r.add(first...)
	r.write(w, words.Count(n, "file or row", "files or rows")+" could not be used", n)
}

// An unusedLine counts what the reference could not be learned from, for one reason.
type unusedLine struct {
	First     string `json:"first"`
	Count     int    `json:"count"`
	Condition string `json:"condition"`
	Reason    string `json:"reason"`
}

func unusedJSON(all []model.Unused) []unusedLine {
	out := []unusedLine{}
	for _, u := range all {
		out = append(out, unusedLine{u.First, u.Count, u.Condition, u.Reason.String()})
	}
	return out
}

// A usability says of the spectra of a folder which are the instrument's own, and which of the others can be neither learned from
// nor judged as the configuration has them read.
type usability struct {
	lights *lights // nil: the line's instrument asks for nothing
	own    map[check.Role]int
	of     int    // spectra of production
	become string // the axis of the first that can be used, where it was transformed
	not    reasons
}

// begin makes a folder ready to be looked at.
func (k *usability) begin(src *input) (err error) {
	k.own = map[check.Role]int{}
	k.lights, err = newLights(src.line, src.opt.Read, nil)
	if k.lights != nil {
		src.opt.Dark, src.opt.Bright = nil, nil // as they were read: what they become is decided here
	}
	return err
}

// take looks at the spectra of a batch.
func (k *usability) take(b gather.Batch) {
	for _, s := range b.Spectra {
		reason := ""
		if k.lights != nil {
			out, role, _, err := k.lights.ready(s)
			if role != check.Sample { // what is of no use among them was told when all of them were taken, before any other
				k.own[role]++
				continue
			}
			if err != nil {
				reason = err.(*spectrum.Unreadable).Reason
			} else if k.become == "" && s.Quantity == spectrum.Interferogram {
				k.become = out.Axis.String()
			}
			s = out
		}
		k.of++
		if reason == "" {
			if _, why := model.Usable(s); why != nil {
				reason = why.String()
			}
		}
		if reason != "" {
			k.not.add(&spectrum.Unreadable{File: s.File, Row: s.Row, Reason: reason})
		}
	}
}

// write says it to a person.
func (k *usability) write(w io.Writer) {
	if k.lights != nil && len(k.lights.rules) > 0 {
		fmt.Fprintf(w, "\nby [[line.instrument.check]]: %s, %s and %s\n", words.Count(k.own[check.Dark], "dark spectrum", "dark spectra"),
			words.Count(k.own[check.Reference], "reference", "references"), words.Count(k.own[check.Standard], "standard", "standards"))
	}
	if k.become != "" {
		fmt.Fprintf(w, "transformed: %s\n", k.become)
	}
	if k.lights != nil {
		for _, text := range k.lights.doubtful() {
			fmt.Fprintln(w, text)
		}
	}
	k.not.write(w, fmt.Sprintf("%s of %s can be neither learned from nor judged", words.Number(k.not.n), words.Spectra(k.of)), k.not.n)
}
