package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"
)

// A build says which build of the program this is.
type build struct {
	Kind    string `json:"kind"`              // version
	Commit  string `json:"commit"`            // the commit it was made from, or the module's version; "" where the build does not say
	Changed bool   `json:"changed,omitempty"` // the tree had changes that were not committed
	Go      string `json:"go"`
	System  string `json:"system"`
}

func thisBuild() build {
	b := build{Kind: "version", Go: runtime.Version(), System: runtime.GOOS + "/" + runtime.GOARCH}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return b
	}
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			b.Commit = s.Value[:min(12, len(s.Value))]
		case "vcs.modified":
			b.Changed = s.Value == "true"
		}
	}
	if v := info.Main.Version; b.Commit == "" && v != "(devel)" {
		b.Commit = v
	}
	return b
}

func (b build) String() string {
	s := b.Commit
	if s == "" {
		s = "of an unknown commit"
	}
	if b.Changed {
		s += ", with changes"
	}
	return s + " (" + b.Go + ", " + b.System + ")"
}

func (a *app) versionCommand() *cobra.Command {
	return &cobra.Command{
		Use:  "version",
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error { return a.version() },
	}
}

// version says which build this is.
func (a *app) version() error {
	if a.json {
		return writeJSON(a.out, thisBuild())
	}
	_, err := fmt.Fprintf(a.out, "asusual %v\n", thisBuild())
	return err
}
