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
	"asusual/monitor/keep"
)

// reference reads the reference file that the option names, or else the line of the configuration.
func (a *app) reference(option string, l config.Line) (ref *model.Reference, path string, err error) {
	path = option
	if path == "" {
		path = l.Reference
	}
	if path == "" {
		return nil, "", &config.Missing{What: "no reference was named"}
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
