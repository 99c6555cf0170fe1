package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/monitor"
	"asusual/monitor/keep"
)

const tryReference = "reference = \"FILE\" of the line in " + config.Name + "; or --reference FILE, where the command has that option"

// reference reads the reference file that the option names, or else the line of the configuration.
func (a *app) reference(option string, l config.Line) (ref *model.Reference, path string, err error) {
	path = option
	if path == "" {
		path = l.Reference
	}
	if path == "" {
		return nil, "", &config.Missing{What: "no reference was named", Try: tryReference}
	}
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, path, &words.NoReference{Path: path}
	}
	if err != nil {
		return nil, path, fmt.Errorf("reading the reference: %w", err)
	}
	defer f.Close()
	ref, err = model.Decode(f)
	if err != nil {
		return nil, path, fmt.Errorf("%s: %w", path, err)
	}
	return ref, path, nil
}

// inForce reads the reference that judges the line: that of its file or, while that one waits for an approval without which it is not
// accepted, the one before. card is where the card of that version lies, if there is one.
func (a *app) inForce(l config.Line) (ref *model.Reference, card string, err error) {
	ref, path, err := a.reference("", l)
	if err != nil || !l.ApprovedOnly || len(ref.Approved()) > 0 {
		return ref, cardOf(path), err
	}
	before, _, err := a.reference(monitor.InForce(path), l)
	var none *words.NoReference
	if errors.As(err, &none) || err == nil && len(before.Approved()) == 0 {
		return ref, cardOf(path), nil
	}
	return before, cardInForce(path), err
}

// replace writes the reference in the place of the version before, unless somebody wrote another meanwhile. Where only approved ones are
// accepted, the one before stays beside it until the new one is approved.
func (d *learned) replace() error {
	var b bytes.Buffer
	if err := d.reference.Encode(&b); err != nil {
		return err
	}
	path := d.line.Reference
	err := keep.ReplaceAlone(path, b.Bytes(), func() error {
		if err := unchanged(path, d.from); err != nil {
			return err
		}
		if !d.keepsBefore() {
			return nil
		}
		var before bytes.Buffer
		if err := d.from.Encode(&before); err != nil {
			return err
		}
		d.files = append(d.files, monitor.InForce(path))
		return keep.WriteFile(monitor.InForce(path), before.Bytes())
	})
	var held *keep.Held
	if errors.As(err, &held) {
		err = &words.BeingWritten{Reference: path}
	}
	if err != nil {
		return fmt.Errorf("writing the reference: %w", err)
	}
	d.files = append(d.files, path)
	if len(d.reference.Approved()) > 0 { // what cannot be removed is not read any more, and the next one to be kept takes its place
		os.Remove(monitor.InForce(path))
	}
	return nil
}

// waits reports whether the reference has to be approved before a watch takes it up.
func (d *learned) waits() bool { return d.line.ApprovedOnly && len(d.reference.Approved()) == 0 }

// keepsBefore reports whether the version before is kept, since it is in force until this one is approved.
func (d *learned) keepsBefore() bool {
	return d.waits() && d.from != nil && len(d.from.Approved()) > 0
}

// takenUp says when a watch takes the reference up.
func (d *learned) takenUp() string {
	switch {
	case !d.waits():
		return "a running watch takes it up"
	case exists(monitor.InForce(d.line.Reference)):
		return "a watch takes it up once it is approved; until then the one before is in force"
	}
	return "a watch takes it up once it is approved"
}

// unchanged returns an error where the reference of that path is not any more what a new version was made from, nil for none that could be
// read: somebody approved it meanwhile, or named a condition, which the new version does not know of.
func unchanged(path string, from *model.Reference) error {
	b, err := keep.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	now, err := model.Decode(bytes.NewReader(b))
	if err != nil { // of one that is damaged nothing can be lost
		return nil
	}
	e := &words.Meanwhile{Reference: path, Now: now.Fingerprint(), Approvals: len(now.Approvals)}
	if from == nil {
		return e
	}
	if e.From = from.Fingerprint(); e.From == e.Now && slices.EqualFunc(from.Approvals, now.Approvals, model.Approval.Equal) {
		return nil
	}
	return e
}
