package words

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"

	"asusual/cmd/asusual/config"
)

// Stopped is said when somebody stopped a command before it was done.
const Stopped = "stopped before the end; nothing was written half"

// WriteError says an error and, where there is one, what to try.
func WriteError(w io.Writer, err error) {
	fmt.Fprintf(w, "asusual: %v\n", err)
	if hint := Hint(err); hint != "" {
		fmt.Fprintf(w, "try: %s\n", hint)
	}
}

// Hint returns what a person may try after the error, and "" where nothing is known.
func Hint(err error) string {
	var file *config.Error
	var missing *config.Missing
	switch {
	case errors.As(err, &file):
		return fmt.Sprintf("mend that line of %s; `asusual init --print` shows every setting there is", file.File)
	case errors.As(err, &missing):
		return "name it with an option, or write it in " + config.Name
	case errors.Is(err, fs.ErrExist):
		return "asusual init OTHERFOLDER, or edit the file that is there"
	case errors.Is(err, fs.ErrNotExist):
		return "look at the spelling, and at the folder that the command runs in"
	case errors.Is(err, fs.ErrPermission):
		return "ask for the right to read and write there, or run as the user who has it"
	}
	text := err.Error()
	for _, h := range byText {
		if strings.Contains(text, h.part) {
			return h.hint
		}
	}
	return ""
}

// byText holds the hints after errors of libraries, which have no type of their own.
var byText = []struct{ part, hint string }{
	{"unknown command", "asusual --help"},
	{"unknown flag", "asusual --help, or --help after the command"},
	{"unknown shorthand flag", "asusual --help, or --help after the command; options have two dashes"},
	{"flag needs an argument", "--help after the command"},
	{"invalid argument", "--help after the command"},
	{"arg(s)", "--help after the command"},
}
