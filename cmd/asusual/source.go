package main

import (
	"os"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/gather"
	"asusual/model"
)

// sourceOf says on which computer, by which build and from which files a reference is learned.
func sourceOf(l config.Line, files []gather.File) model.Source {
	s := model.Source{Program: thisBuild().String(), Files: len(files)}
	if name, err := os.Hostname(); err == nil {
		s.Computer = name
	}
	for _, g := range l.Good {
		s.Folders = append(s.Folders, whole(g))
	}
	for _, f := range files {
		info, err := os.Stat(f.Path)
		if err != nil {
			continue // it was there when it was read
		}
		s.Bytes += info.Size()
		if info.ModTime().After(s.Written) {
			s.Written = info.ModTime().UTC()
		}
	}
	return s
}
