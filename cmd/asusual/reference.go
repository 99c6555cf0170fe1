package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/model"
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
