package main

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/gather"
	"asusual/cmd/asusual/shift"
	"asusual/cmd/asusual/words"
)

// pointedAt says what init was pointed at: a folder for the settings, or spectra, for which the settings are to be written to the
// current folder. Nothing is written among spectra, nor among files that may be somebody's spectra and cannot be read.
func pointedAt(ctx context.Context, path string, o initOptions) (dir string, _ initOptions, err error) {
	info, err := os.Stat(path)
	if err != nil || len(o.good) > 0 || o.print { // what is not there is made
		return path, o, nil
	}
	here := whole(path) == whole(".")
	if info.IsDir() {
		if exists(filepath.Join(path, config.Name)) || exists(filepath.Join(path, "good")) {
			return path, o, nil
		}
		found, none := holdsSpectra(ctx, path)
		if !found && none != nil && !here {
			return path, o, none
		}
		if !found {
			return path, o, nil
		}
	}
	if here {
		return path, o, &words.AmongSpectra{Path: whole(path)}
	}
	o.good = []string{path}
	return ".", o, nil
}

// fewFiles is how many files are tried to tell whether a folder holds spectra.
const fewFiles = 3

// holdsSpectra reports whether one of the first files of a folder is of spectra. Where there are files and none is, none says so.
func holdsSpectra(ctx context.Context, dir string) (found bool, none error) {
	l, err := gather.List([]string{dir}, nil)
	if err != nil {
		return false, nil
	}
	var v gather.Survey
	if err := gather.Read(ctx, l.Files[:min(fewFiles, len(l.Files))], gather.Options{}, func(b gather.Batch) error { v.Add(b); return nil }); err != nil {
		return false, nil
	}
	v.Finish()
	return v.Spectra > 0, noneReadable(dir, &v, len(l.Files))
}

// noneReadable returns an error where files were read and none is of spectra; of is how many there are.
func noneReadable(path string, v *gather.Survey, of int) error {
	if v.Spectra > 0 || len(v.Kinds) > 0 || len(v.Unreadable) == 0 {
		return nil
	}
	return &words.NoneReadable{Path: path, Tried: v.Files, Of: of, First: v.Unreadable[0].Error()}
}

// A timing is what the times of known-good spectra tell of runs and shifts.
type timing struct {
	named bool // a column or a header names runs
	times []time.Time
}

func (t *timing) add(b gather.Batch) {
	for _, s := range b.Spectra {
		t.named = t.named || s.Run != ""
		if !s.Time.IsZero() {
			t.times = append(t.times, s.Time)
		}
	}
}

// starts returns when runs begin that pauses of the usual length divide.
func (t *timing) starts() []time.Time {
	slices.SortFunc(t.times, time.Time.Compare)
	var all []time.Time
	for i, at := range t.times {
		if i == 0 || at.Sub(t.times[i-1]) > usualGap {
			all = append(all, at)
		}
	}
	return all
}

// runs proposes what a run is, in the words of the setting, "" where files say it themselves; n is how many runs there are.
func (t *timing) runs(v *gather.Survey) (setting string, n int) {
	switch {
	case t.named:
		return "", len(v.Runs)
	case len(v.Runs) > 1:
		return "folder", len(v.Runs)
	case len(t.times) == 0:
		return "", len(v.Runs)
	}
	return "gap=30m", len(t.starts())
}

// shiftsOf proposes shifts where runs begin at the same two to four times of day, on two days at least; nil otherwise.
func shiftsOf(starts []time.Time, zone *time.Location) []shift.Shift {
	days := map[shift.Clock]int{}
	for _, at := range starts {
		at = at.In(zone)
		days[shift.Clock(at.Hour()*60+at.Minute()/30*30)]++
	}
	var at []shift.Clock
	for c, n := range days {
		if n < 2 || 2*n < len(starts)/max(1, len(days)) {
			return nil
		}
		at = append(at, c)
	}
	slices.Sort(at)
	names, ok := map[int][]string{2: {"day", "night"}, 3: {"early", "late", "night"}, 4: {"first", "second", "third", "fourth"}}[len(at)]
	if !ok {
		return nil
	}
	for range at { // what begins after midnight is the last of the day before; where all do, they stay in order
		if at[0] >= 4*60 {
			break
		}
		at = append(at[1:], at[0])
	}
	var all []shift.Shift
	for i, c := range at {
		all = append(all, shift.Shift{Name: names[i], From: c, To: at[(i+1)%len(at)]})
	}
	return all
}
