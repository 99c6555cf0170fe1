package monitor_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"syscall"
	"testing"
	"time"

	"asusual/monitor/history"
)

// A file whose time of change no history can keep stops nothing: its spectra are judged where they bear their own time, and it is refused
// with the reason where they do not. The next start knows it.
func TestAFileOfAnImpossibleTime(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 12)
	b.putAll(spectra)
	odd := time.Date(2300, 1, 1, 0, 0, 0, 0, time.UTC)
	var bare bytes.Buffer
	for i, v := range produced(t, 13)[12].Values {
		fmt.Fprintf(&bare, "%g,%g\n", spectra[0].Axis.At(i), v)
	}
	b.put("timeless.csv", bare.Bytes(), monday)
	stamp := []syscall.Timespec{{Sec: odd.Unix()}, {Sec: odd.Unix()}} // os.Chtimes cannot, for it counts nanoseconds
	for _, name := range []string{"timeless.csv", fileName(spectra[5])} {
		if err := syscall.UtimesNano(filepath.Join(b.folder, name), stamp); err != nil {
			t.Fatal(err)
		}
	}
	info, err := os.Stat(filepath.Join(b.folder, "timeless.csv"))
	if err != nil || !info.ModTime().Equal(odd) {
		t.Skipf("the disk keeps no time of %v: %v", odd, err)
	}
	began := time.Now()
	b.catchUp()
	b.expect("beside files of the year 2300", spectra)
	us := all(t, b.db.Unreadable(t.Context(), everything))
	if len(us) != 1 || us[0].File != "timeless.csv" || us[0].Time.Before(began.Add(-time.Second)) || us[0].Time.After(time.Now()) ||
		!strings.Contains(us[0].Reason, "2300-01-01T00:00:00Z cannot be kept; a history holds the years 1678 to 2261; it is when the file was changed last") {
		t.Errorf("Unreadable = %+v, want timeless.csv, when it came, with its time and what to do", us)
	}
	seen := func() map[string]history.File {
		t.Helper()
		files, err := b.db.Seen(t.Context(), "Filler 3", []string{"timeless.csv", fileName(spectra[5])})
		if err != nil || len(files) != 2 {
			t.Fatalf("Seen = %+v, %v, want both", files, err)
		}
		return files
	}
	before, counts := seen(), b.counts()
	b.catchUp()
	if after := seen(); !reflect.DeepEqual(after, before) || !reflect.DeepEqual(b.counts(), counts) {
		t.Errorf("after the next start: files = %+v, counts %+v, want %+v, %+v", after, b.counts(), before, counts)
	}
}
