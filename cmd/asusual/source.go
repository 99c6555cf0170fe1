package main

import (
	"os"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/gather"
	"asusual/model"
)

// sourceOf says on which computer, by which build and from which files a reference is learned.
func sourceOf(l config.Line, read gather.Extent) model.Source {
	s := model.Source{Program: thisBuild().String(), Files: read.Files, Bytes: read.Bytes, Written: read.Written.UTC()}
	if name, err := os.Hostname(); err == nil {
		s.Computer = name
	}
	for _, g := range l.Good {
		s.Folders = append(s.Folders, whole(g))
	}
	return s
}
