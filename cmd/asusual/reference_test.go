package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/monitor/keep"
	"asusual/report"
)

// What somebody else wrote while a new version of a reference was made is not lost: the new version is refused, and says why.
func TestAReferenceWrittenMeanwhile(t *testing.T) {
	f, err := os.Open(filepath.Join("..", "..", "model", "testdata", "version-4.reference"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	ref, err := model.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	approved, err := ref.Approve("Ada", "seen", time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	abroad, err := ref.Approve("Ada", "seen", time.Date(2026, 11, 25, 14, 30, 0, 0, time.FixedZone("", 5*3600+1800)))
	if err != nil {
		t.Fatal(err)
	}
	var text bytes.Buffer
	if err := abroad.Encode(&text); err != nil {
		t.Fatal(err)
	}
	abroadRead, err := model.Decode(bytes.NewReader(text.Bytes())) // as a command has it, that reads the file at its start
	if err != nil {
		t.Fatal(err)
	}
	other, next := *ref, *ref
	other.Name, next.Name = "other", "next"
	for _, c := range []struct {
		name        string
		there, from *model.Reference
		says        string // "": it is written
	}{
		{"the first one", nil, nil, ""},
		{"nobody wrote", approved, approved, ""},
		{"nobody wrote, and it was approved where clocks are half an hour off", abroad, abroadRead, ""},
		{"a person approved it", approved, ref, ref.Fingerprint() + " with other approvals, 1 in all"},
		{"a condition was named", &other, ref, "another version, " + other.Fingerprint() + " in place of " + ref.Fingerprint()},
		{"another one learned the first", ref, nil, "a reference, " + ref.Fingerprint() + ", where there was none"},
		{"it was taken away", nil, ref, ""},
	} {
		l := config.Line{Name: "Filler 3", Reference: filepath.Join(t.TempDir(), "line.reference")}
		var before bytes.Buffer
		if c.there != nil {
			if err := errors.Join(c.there.Encode(&before), os.WriteFile(l.Reference, before.Bytes(), 0o644)); err != nil {
				t.Fatal(err)
			}
		}
		err := (&learned{line: l, zone: time.UTC, language: report.English(), from: c.from, reference: &next}).write()
		var e *words.Meanwhile
		switch after, failed := os.ReadFile(l.Reference); {
		case failed != nil:
			t.Errorf("%s: %v", c.name, failed)
		case c.says == "" && (err != nil || bytes.Equal(after, before.Bytes())):
			t.Errorf("%s: write = %v, want it written", c.name, err)
		case c.says != "" && (!errors.As(err, &e) || !strings.Contains(err.Error(), c.says) || !bytes.Equal(after, before.Bytes())):
			t.Errorf("%s: write = %v, want it refused, for %s, and the file as it was", c.name, err, c.says)
		}
		if left, _ := filepath.Glob(filepath.Join(filepath.Dir(l.Reference), ".asusual*")); len(left) > 0 {
			t.Errorf("%s: left behind: %v", c.name, left)
		}
		if e == nil || c.from == nil {
			continue
		}
		if german := report.German().Said(e.Error()); !strings.Contains(german, "inzwischen hat jemand") {
			t.Errorf("in German it is said as %q", german)
		}
	}
}

// A reference whose card has a table in use is written, and so is the card; that is said, also in German.
func TestACardWithATableInUse(t *testing.T) {
	f, err := os.Open(filepath.Join("..", "..", "model", "testdata", "version-4.reference"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	ref, err := model.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	l := config.Line{Name: "Filler 3", Reference: filepath.Join(t.TempDir(), "line.reference")}
	table := strings.TrimSuffix(cardOf(l.Reference), ".html") + "-figures.json"
	if err := os.MkdirAll(filepath.Join(table, "in use"), 0o755); err != nil {
		t.Fatal(err)
	}
	err = (&learned{line: l, zone: time.UTC, language: report.English(), reference: ref}).write()
	if !isWritten(err) || err == nil || !exists(l.Reference) || !exists(cardOf(l.Reference)) {
		t.Fatalf("write = %v, want the reference, its card, and what could not be written", err)
	}
	if !strings.Contains(err.Error(), table) || !strings.Contains(words.Hint(err), "close what has that file open") {
		t.Errorf("it is said as %q, try %q, want which table, and what to do", err, words.Hint(err))
	}
	if german := report.German().Said(err.Error()); !strings.Contains(german, "ist geschrieben, aber nicht alles") {
		t.Errorf("in German it is said as %q", german)
	}
}

// While somebody else writes the reference nothing is written, and it is said why.
func TestAReferenceThatIsBeingWritten(t *testing.T) {
	ref := &model.Reference{}
	l := config.Line{Name: "Filler 3", Reference: filepath.Join(t.TempDir(), "line.reference")}
	h, err := keep.Take(filepath.Join(filepath.Dir(l.Reference), ".line.reference.lock"), keep.Holder{Name: "test"})
	if err != nil {
		t.Fatal(err)
	}
	defer h.Release()
	err = (&learned{line: l, zone: time.UTC, language: report.English(), reference: ref}).replace()
	var e *words.BeingWritten
	if _, none := os.Stat(l.Reference); !errors.As(err, &e) || words.Hint(err) != "the same once more" || none == nil {
		t.Errorf("replace = %v, to try: %s; want it said that somebody writes it, and nothing written", err, words.Hint(err))
	}
	if german := report.German().Said(err.Error()); !strings.Contains(german, "jemand schreibt sie gerade") {
		t.Errorf("in German it is said as %q", german)
	}
}
