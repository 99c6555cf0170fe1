package main

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/cmd/asusual/words"
	"asusual/monitor/archive"
	"asusual/monitor/history"
)

// An import that ends amid leaves no new history, and says of one that was there that it has a part.
func TestImportThatEndsAmid(t *testing.T) {
	dir := t.TempDir()
	t.Chdir(dir)
	keptHistory(t, "h", 20, time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC))
	db, err := history.Read(t.Context(), "h")
	if err != nil {
		t.Fatal(err)
	}
	folder, about, err := archive.Write(t.Context(), db, archive.Month{Name: "2026-11", Zone: time.UTC, Lines: []string{"Filler 3"}}, dir)
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	card, last := filepath.Join(folder, "archive.json"), filepath.Join(folder, "checks.csv") // spectra are read before
	text, err1 := os.ReadFile(card)
	table, err2 := os.ReadFile(last)
	table = append(table, "half a row\n"...)
	i := slices.IndexFunc(about.Tables, func(t archive.Table) bool { return t.File == "checks.csv" })
	text = []byte(strings.Replace(string(text), about.Tables[i].SHA256, fmt.Sprintf("%x", sha256.Sum256(table)), 1))
	if err := errors.Join(err1, err2, os.WriteFile(card, text, 0o644), os.WriteFile(last, table, 0o644)); err != nil {
		t.Fatal(err)
	}
	before, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	a := &app{out: &out, errOut: &out, now: time.Now}
	var half *words.HalfRead
	if err := a.importMonths(t.Context(), []string{folder}, "new.history"); !errors.Is(err, archive.ErrPart) || errors.As(err, &half) {
		t.Errorf("import into a new history = %v, want what is wrong and nothing of a part that is left", err)
	}
	if after, err := os.ReadDir(dir); err != nil || len(after) != len(before) {
		t.Errorf("import into a new history left %v, %v, want what was there, %v", after, err, before)
	}
	keptHistory(t, "old.history", 3, time.Date(2026, 5, 25, 12, 0, 0, 0, time.UTC))
	if err := a.importMonths(t.Context(), []string{folder}, "old.history"); !errors.As(err, &half) || !strings.Contains(words.Hint(err), "thrown away") {
		t.Errorf("import into a history that is there = %v, want that it has a part, and what to do", err)
	}
}
