package main

import (
	"errors"
	"fmt"
	"strings"

	"asusual/cmd/asusual/config"
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

// exitHelp is the part of every help that tells the exit statuses.
func exitHelp(gives bool) string {
	var b strings.Builder
	b.WriteString("EXIT STATUS\n")
	for _, s := range statuses {
		if s.status >= statusChanged && !gives {
			continue
		}
		words := s.words
		if s.status == statusDone && !gives {
			words = "done"
		}
		fmt.Fprintf(&b, "  %-3d %s\n", s.status, words)
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
