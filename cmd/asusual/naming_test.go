package main

import (
	"bytes"
	"errors"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/report"
)

// A groupFound is a line, that accepts approved references only, with a group of uncharted spectra in its history.
type groupFound struct {
	*shifts
	line  config.Line
	group history.Group
	out   *bytes.Buffer
}

// foundGroup has a morning with a weak oil pump judged by a reference that nobody approved yet.
func foundGroup(t *testing.T) *groupFound {
	t.Helper()
	dir := t.TempDir()
	file, good, later, spectra := filepath.Join(dir, "asusual.toml"), filepath.Join(dir, "good"), filepath.Join(dir, "later"), filepath.Join(dir, "spectra")
	if err := errors.Join(
		writeOats(good, "good", writeTable), writeOats(later, "oil pump", writeFiles), os.Mkdir(spectra, 0o755),
		os.WriteFile(file, []byte("[site]\ntime-zone = \"UTC\"\n[[line]]\nname = \"Filler 3\"\nwatch = \"spectra\"\ngood = \"good\"\nreference = \"line.reference\"\napproved-only = true\n"), 0o644),
		copyFiles(filepath.Join(later, "2026-11-20-a"), spectra, 90),
	); err != nil {
		t.Fatal(err)
	}
	if status, _, said := call(t, "learn", "--pretreat", "snv", "--config", file); status != statusDone {
		t.Fatalf("learn = %d: %s", status, said)
	}
	g := &groupFound{out: &bytes.Buffer{}}
	a := &app{out: g.out, errOut: io.Discard, configFile: file, now: time.Now}
	c, err := a.config()
	if err != nil {
		t.Fatal(err)
	}
	g.shifts, g.line = &shifts{app: a, config: c, lines: c.Lines, log: slog.New(slog.DiscardHandler)}, c.Lines[0]
	any := g.line
	any.ApprovedOnly = false
	w, err := a.watched(t.Context(), c, any, g.log)
	if err != nil {
		t.Fatal(err)
	}
	g.keeping(t, func(db *history.DB) error {
		w.History = db
		if err := monitor.CatchUp(t.Context(), w); err != nil {
			return err
		}
		all, err := groupsOf(t.Context(), db, g.line.Name)
		if err == nil && len(all) > 0 {
			g.group = all[0]
		}
		return err
	})
	if g.group.Name == "" {
		t.Fatal("history has no group")
	}
	return g
}

// keeping does something with the history, open to be written.
func (g *groupFound) keeping(t *testing.T, act func(*history.DB) error) {
	t.Helper()
	db, err := history.Open(t.Context(), g.config.History, "test")
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(act(db), db.Close()); err != nil {
		t.Fatal(err)
	}
}

func (g *groupFound) reference(t *testing.T) *model.Reference {
	t.Helper()
	ref, _, err := g.app.reference("", g.line)
	if err != nil {
		t.Fatal(err)
	}
	return ref
}

// On a line that accepts approved references only a group can be named while a version waits, and it is said that the watch does not take it
// up yet.
func TestNamingWhereAVersionWaits(t *testing.T) {
	g := foundGroup(t)
	said, err := g.nameLive(t.Context(), "Filler 3", g.group.Name, "weak oil")
	if err != nil || said != "the reference with the new condition is written; a watch takes it up once it is approved" {
		t.Errorf("nameLive by a reference that nobody approved = %q, %v, want it named and said that it waits", said, err)
	}
	if german := report.German().Said(said); !strings.Contains(german, "sobald sie freigegeben ist") {
		t.Errorf("in German it is said as %q", german)
	}
	next, err := g.reference(t).Approve("Ada", "seen", time.Now())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := g.writeRevision(g.config, g.line, g.reference(t), next); err != nil {
		t.Fatal(err)
	}
	if err := g.forgetCondition(conditionsOptions{}, "weak oil"); err != nil || !strings.Contains(g.out.String(), "; a watch takes it up once it is approved; until then the one before is in force.") {
		t.Errorf("forget says %s, %v, want that the version before is in force until somebody approves", g.out, err)
	}
	// The same once more writes the card of the version in force, too, where that is not whole.
	card := cardInForce(g.line.Reference)
	if err := os.Remove(card); err != nil {
		t.Fatal(err)
	}
	if err := g.forgetCondition(conditionsOptions{}, "weak oil"); err != nil {
		t.Errorf("forget once more = %v, want the card of the version in force written", err)
	}
	if b, err := os.ReadFile(card); err != nil || !strings.Contains(string(b), next.Fingerprint()) {
		t.Errorf("the card of the version in force holds %.80q, %v, want that of %s", b, err, next.Fingerprint())
	}
	if err := g.forgetCondition(conditionsOptions{}, "weak oil"); err == nil || isWritten(err) {
		t.Errorf("forget a third time = %v, want that it is so already", err)
	}
}

// Where a table of the card is in use a group is named all the same: that is said, and what could not be written.
func TestNamingWhereTheCardIsInUse(t *testing.T) {
	g := foundGroup(t)
	table := strings.TrimSuffix(cardOf(g.line.Reference), ".html") + "-figures.json"
	if err := errors.Join(os.RemoveAll(table), os.MkdirAll(filepath.Join(table, "in use"), 0o755)); err != nil {
		t.Fatal(err)
	}
	said, err := g.nameLive(t.Context(), "Filler 3", g.group.Name, "weak oil")
	if err != nil || !strings.Contains(said, table) || !strings.Contains(said, "close what has that file open") || !strings.HasSuffix(said, "; a watch takes it up once it is approved") {
		t.Errorf("nameLive = %q, %v, want it named, and said which table is in use, what to do, and that it waits for its approval", said, err)
	}
	for _, want := range []string{"nicht alles, was dazu gehört", table, "; schließen, was die Datei geöffnet hat", "; eine Überwachung übernimmt sie, sobald sie freigegeben ist"} {
		if german := report.German().Said(said); !strings.Contains(german, want) {
			t.Errorf("in German it is said as %q, want %q", german, want)
		}
	}
	// What is advised helps: the same once more writes the card, where it is not whole; a third time there is nothing left to do.
	once := func(what string, again func() error) {
		t.Helper()
		before := g.reference(t).Fingerprint()
		if err := os.RemoveAll(table); err != nil {
			t.Fatal(err)
		}
		g.out.Reset()
		if err := again(); err != nil || !strings.Contains(g.out.String(), "its card is written anew") {
			t.Errorf("%s once more = %v and says %q, want the card written", what, err, g.out)
		}
		if b, err := os.ReadFile(table); err != nil || !strings.Contains(string(b), before) || g.reference(t).Fingerprint() != before {
			t.Errorf("%s once more leaves %.80q beside the card, %v, and the reference %s, want figures of %s", what, b, err, g.reference(t).Fingerprint(), before)
		}
		if err := again(); err == nil || isWritten(err) {
			t.Errorf("%s a third time = %v, want that it is so already", what, err)
		}
		if err := errors.Join(os.RemoveAll(table), os.MkdirAll(filepath.Join(table, "in use"), 0o755)); err != nil {
			t.Fatal(err)
		}
	}
	forget := func() error { return g.forgetCondition(conditionsOptions{}, "weak oil") }
	if err := forget(); !isWritten(err) || err == nil || !strings.Contains(g.out.String(), "weak oil is no condition any more") {
		t.Errorf("forget = %v and says %s, want it done, and the table", err, g.out)
	}
	once("forget", forget)
	name := func() error { return g.nameGroup(t.Context(), conditionsOptions{}, g.group.Name, "oil") }
	if err := name(); !isWritten(err) || err == nil || !strings.Contains(g.out.String(), "is now the condition oil") {
		t.Errorf("name = %v and says %s, want it done, and the table", err, g.out)
	}
	once("name", name)
}

// The page names a group of what is watched, whatever the configuration says by now.
func TestThePageNamesWhatIsWatched(t *testing.T) {
	g := foundGroup(t)
	if err := os.WriteFile(g.configFile, []byte("[[line]]\nname = \"Filler 4\"\nwatch = \"elsewhere\"\n[history]\nfile = \"other.history\"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := g.nameLive(t.Context(), "Filler 3", g.group.Name, "weak oil"); err != nil {
		t.Fatalf("nameLive after the configuration was edited: %v", err)
	}
	if names := (&learned{reference: g.reference(t)}).conditionNames(); len(names) != 1 || names[0] != "weak oil" {
		t.Errorf("the reference that is watched knows %v, want the name that was given", names)
	}
}

// Of a group whose spectra were taken out of history it is said that they were: of some that they were not used, and where none is left that
// there is nothing to learn from. The group itself is kept for longer.
func TestNamingAfterPruning(t *testing.T) {
	g := foundGroup(t)
	prune := func(to time.Time) {
		g.keeping(t, func(db *history.DB) error {
			_, err := db.Prune(t.Context(), g.line.Name, history.Keep{Spectra: time.Hour}, to.Add(time.Hour), false)
			return err
		})
	}
	prune(g.group.From.Add(g.group.To.Sub(g.group.From) / 3))
	if err := g.nameGroup(t.Context(), conditionsOptions{}, g.group.Name, "weak oil"); err != nil || !strings.Contains(g.out.String(), ", which were taken out of history, or came before") {
		t.Errorf("naming a group of which a third was taken out = %v, %s, want it said of those that are not used", err, g.out)
	}
	if err := g.forgetCondition(conditionsOptions{}, "weak oil"); err != nil {
		t.Fatal(err)
	}
	prune(g.group.To.Add(time.Second))
	before := g.reference(t).Fingerprint()
	err := g.nameGroup(t.Context(), conditionsOptions{}, g.group.Name, "weak oil")
	var gone *words.GroupGone
	if !errors.As(err, &gone) || !strings.Contains(words.Hint(err), "keep-spectra") || g.reference(t).Fingerprint() != before {
		t.Errorf("naming a group that has no spectra any more = %v, to try: %s; want %v, and the reference as it was", err, words.Hint(err), &words.GroupGone{Name: g.group.Name})
	}
	if german := report.German().Said(err.Error()); !strings.Contains(german, "nicht mehr in der Historie") {
		t.Errorf("in German it is said as %q", german)
	}
}
