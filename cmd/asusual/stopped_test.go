package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"asusual/cmd/asusual/words"
	"asusual/model/verdict"
	"asusual/monitor/history"
)

// Who stops a command is told what became of it: that nothing is half written, or what is.
func TestStoppedCommands(t *testing.T) {
	t.Chdir(t.TempDir())
	stopped, stop := context.WithCancel(t.Context())
	stop() // a command goes on to where it looks
	for _, c := range []struct {
		args   []string
		want   string
		leaves string // a pattern
	}{
		{[]string{"demo", "--days", "2"}, "asusual: asusual-demo: stopped before the end; it is left half made\ntry: asusual demo --dir OTHERFOLDER; the half one is best thrown away\n",
			"asusual-demo/conditions/*/*/*.csv"},
		{[]string{"learn", "--good", "asusual-demo/conditions", "--reference", "line.reference"}, words.Stopped + "\n", ""},
	} {
		var out, said bytes.Buffer
		if status := run(stopped, c.args, strings.NewReader(""), &out, &said); status != statusFailed || out.Len() > 0 || said.String() != c.want {
			t.Errorf("asusual %v, stopped = %d, %q, %q, want %d and %q", c.args, status, &out, &said, statusFailed, c.want)
		}
		if found, err := filepath.Glob(c.leaves); err != nil || c.leaves != "" && len(found) != 1 {
			t.Errorf("asusual %v, stopped, leaves %q, %v, want one of %s", c.args, found, err, c.leaves)
		}
	}
	if _, err := os.Stat("line.reference"); err == nil {
		t.Error("a learn that was stopped left a reference")
	}
}

// A stopping writer has the command stopped once something of it is out.
type stopping struct {
	bytes.Buffer
	stop func()
}

func (s *stopping) Write(b []byte) (int, error) {
	s.stop()
	return s.Buffer.Write(b)
}

// A table whose last rows are missing, since somebody stopped the export, is not said to be whole.
func TestAnExportThatIsStopped(t *testing.T) {
	t.Chdir(t.TempDir())
	const rows = 3000
	db, err := history.Open(t.Context(), "asusual.history", "test")
	if err != nil {
		t.Fatal(err)
	}
	b := history.Batch{Line: "Filler 3"}
	for i := range rows {
		now := at("2026-11-25T12:00:00Z").Add(time.Duration(i) * time.Second)
		b.Files = append(b.Files, history.Judged{File: history.File{Name: fmt.Sprint(i, ".csv"), Version: 1, Modified: now, Received: now},
			Records: []history.Record{{Time: now, Received: now, Condition: "usual", Verdict: verdict.AsUsual.String(), Instrument: "fit", Reference: "r"}}})
	}
	if err := db.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("asusual.toml", []byte("[[line]]\nname = \"Filler 3\"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, format := range []string{"csv", "json"} {
		ctx, stop := context.WithCancel(t.Context())
		out, said := &stopping{stop: stop}, &bytes.Buffer{}
		status := run(ctx, []string{"export", "--format", format}, strings.NewReader(""), out, said)
		if n := strings.Count(out.String(), "Filler 3"); n == 0 || n == rows {
			t.Errorf("export --format %s, stopped, wrote %d rows, want some of %d", format, n, rows)
		}
		want := "asusual: stopped before the end; the table lacks its last rows\ntry: the same once more; the part that was written is best thrown away\n"
		if status != statusFailed || said.String() != want {
			t.Errorf("export --format %s, stopped = %d, %q, want %d and %q", format, status, said, statusFailed, want)
		}
		stop()
	}
}
