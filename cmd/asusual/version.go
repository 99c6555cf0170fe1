package main

import "runtime/debug"

// version says which build this is: the commit it was made from, and whether the tree had changes.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "of an unknown build"
	}
	commit, changed := "", ""
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			commit = s.Value[:min(12, len(s.Value))]
		case "vcs.modified":
			if s.Value == "true" {
				changed = ", with changes"
			}
		}
	}
	if commit == "" {
		commit = info.Main.Version
	}
	return commit + changed + " (" + info.GoVersion + ")"
}
