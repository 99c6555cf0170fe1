package main

import (
	"errors"
	"fmt"
	"strings"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
)

// The exit statuses, the same for every command.
const (
	statusDone      = 0
	statusFailed    = 1
	statusUsage     = 2
	statusChanged   = 10
	statusCannotSay = 11
)

// statuses says each of them in the help.
var statuses = []struct {
	status int
	words  string
}{
	{statusDone, "done; the verdict, where there is one, is as usual"},
	{statusFailed, "the work could not be done"},
	{statusUsage, "the command line or the configuration is wrong"},
	{statusChanged, "the process has changed"},
	{statusCannotSay, "cannot say"},
}

// exitHelp is the part of the help of the command of that path that tells its exit statuses; of the program itself, all.
func exitHelp(path string) string {
	var b strings.Builder
	b.WriteString("EXIT STATUS\n")
	h := words.Help(path)
	h.Verdict = h.Verdict || path == ""
	for _, s := range statuses {
		said := s.words
		switch {
		case s.status >= statusChanged && !h.Verdict && (s.status != statusCannotSay || !h.CannotSay):
			continue
		case s.status == statusDone && !h.Verdict:
			said = "done"
		}
		fmt.Fprintf(&b, "  %-3d %s\n", s.status, said)
	}
	return strings.TrimRight(b.String(), "\n")
}

// ofVerdict returns the exit status that says the verdict.
func ofVerdict(v string) int {
	switch v {
	case "as usual":
		return statusDone
	case "the process has changed":
		return statusChanged
	}
	return statusCannotSay
}

// A usageError is a command line that cannot be followed.
type usageError struct{ err error }

func (u usageError) Error() string { return u.err.Error() }
func (u usageError) Unwrap() error { return u.err }

// wrongUse returns an error about the command line.
func wrongUse(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// ofError returns the exit status of an error.
func ofError(err error) int {
	var use usageError
	var file *config.Error
	var missing *config.Missing
	if errors.As(err, &use) || errors.As(err, &file) || errors.As(err, &missing) {
		return statusUsage
	}
	return statusFailed
}
