package monitor

import (
	"errors"
	"testing"

	"asusual/model/spectrum"
	"asusual/monitor/arrive"
)

// A file of the instrument's own spectra whose reading breaks off is tried again, as one that cannot be opened. The memory of this process,
// which has nothing at its beginning, gives such an error (man 5 proc_pid_mem).
func TestElsewhereReadingBreaksOff(t *testing.T) {
	tree, err := arrive.OpenDisk("/proc/self")
	if err != nil {
		t.Skip(err)
	}
	defer tree.Close()
	e := &elsewhere{line: &Line{}, folder: "/proc/self", tree: tree, reader: spectrum.NewReader(spectrum.Options{})}
	var passing unopened
	if err := e.file(t.Context(), arrive.File{Rel: "mem", Size: 1}); !errors.As(err, &passing) {
		t.Errorf("a file that cannot be read = %v, want an error that may pass", err)
	}
}
