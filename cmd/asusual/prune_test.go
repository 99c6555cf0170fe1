package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/monitor/history"
)

// keptHistory is a history with a spectrum a day, of the days before a time.
func keptHistory(t *testing.T, path string, days int, now time.Time) {
	t.Helper()
	db, err := history.Open(t.Context(), path, "test")
	if err != nil {
		t.Fatal(err)
	}
	b := history.Batch{Line: "Filler 3"}
	for i := range days {
		r := history.Record{Time: now.AddDate(0, 0, -i).Add(-time.Minute), Received: now, Condition: "usual", Verdict: "as usual", Reference: "abc", Mark: int64(i)}
		b.Files = append(b.Files, history.Judged{File: history.File{Name: r.Time.Format(time.DateOnly), Version: 1, Modified: r.Time, Rows: 1}, Records: []history.Record{r}})
	}
	if err := db.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

// The dry run counts what the other takes out, and takes nothing out.
func TestPruneTakesOutWhatItCounted(t *testing.T) {
	dir := t.TempDir()
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	keptHistory(t, filepath.Join(dir, "h"), 40, now)
	c := &config.Config{History: filepath.Join(dir, "h"), Lines: []config.Line{{Name: "Filler 3"}}, Keep: config.Keeping{Spectra: 30 * 24 * time.Hour}}
	for _, step := range []struct {
		dry  bool
		want string
	}{{true, "Filler 3: to be taken out, were this no dry run\n  spectra      10  "}, {true, "  spectra      10  older than 30 days, before 2026-10-26\n"},
		{false, "Filler 3: taken out\n  spectra      10  "}, {false, "  spectra      0  "}} {
		var out bytes.Buffer
		a := &app{out: &out, errOut: &out, now: func() time.Time { return now }}
		db, err := a.openToPrune(t.Context(), c.History, step.dry)
		if err != nil {
			t.Fatal(err)
		}
		p, err := db.Prune(t.Context(), "Filler 3", history.Keep(c.Keep), now, step.dry)
		if err != nil {
			t.Fatal(err)
		}
		if err := a.tellPruned(pruned{line: "Filler 3", Pruned: p, at: now, dry: step.dry}, c.Keep); err != nil {
			t.Fatal(err)
		}
		if got := out.String(); !strings.Contains(got, step.want) || strings.Contains(got, "means") {
			t.Errorf("prune, dry run %v = %s, want %q and nothing of means, which are kept", step.dry, got, step.want)
		}
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

// A clock that was set two years ahead takes out some days, and not everything: neither by the command nor by a watch.
func TestPruneByAClockThatIsAhead(t *testing.T) {
	dir := t.TempDir()
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	ahead := &app{now: func() time.Time { return now.AddDate(2, 0, 0) }, errOut: io.Discard, json: true}
	for _, c := range []struct{ keep, want int }{{30, 17}, {60, 40}, {8, 5}} {
		path := filepath.Join(dir, fmt.Sprint(c.keep, ".history"))
		keptHistory(t, path, 40, now)
		conf := &config.Config{History: path, Lines: []config.Line{{Name: "Filler 3"}}, Keep: config.Keeping{Spectra: time.Duration(c.keep) * 24 * time.Hour}}
		var out, log bytes.Buffer
		ahead.out = &out
		if err := ahead.pruneIn(t.Context(), conf, path, []string{"Filler 3"}, true); err != nil || !strings.Contains(out.String(), fmt.Sprintf(`"spectra":%d,`, 40-c.want)) {
			t.Errorf("prune of what is older than %d days, two years ahead = %s, %v, want %d spectra", c.keep, out.String(), err, 40-c.want)
		}
		db, err := history.Open(t.Context(), path, "test")
		if err != nil {
			t.Fatal(err)
		}
		r := &shifts{app: ahead, db: db, config: conf, lines: conf.Lines, log: slog.New(slog.NewTextHandler(&log, nil))}
		r.pruneOnce(t.Context())
		left := 0
		for _, err := range db.Spectra(t.Context(), history.Query{Line: "Filler 3"}) {
			if left++; err != nil {
				t.Fatal(err)
			}
		}
		if err := db.Close(); err != nil || left != c.want {
			t.Errorf("a watch that keeps %d days, two years ahead, leaves %d spectra, %v, want %d:\n%s", c.keep, left, err, c.want, log.String())
		}
	}
}

// What is known of files goes once they are gone from the folder, a week after their spectra; where that cannot be told, it stays.
func TestPruneForgetsFilesThatAreGone(t *testing.T) {
	dir := t.TempDir()
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	keptHistory(t, filepath.Join(dir, "asusual.history"), 40, now)
	settings := filepath.Join(dir, "asusual.toml")
	if err := os.WriteFile(settings, []byte("[[line]]\nname = \"Filler 3\"\nwatch = \"spectra\"\n[history]\nkeep-spectra = \"30 days\"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	prune := func(dry bool) string {
		t.Helper()
		var out bytes.Buffer
		a := &app{out: &out, errOut: &out, configFile: settings, now: func() time.Time { return now }}
		if err := a.prune(t.Context(), pruneOptions{dry: dry}); err != nil {
			t.Fatal(err)
		}
		return out.String()
	}
	if got := prune(false); !strings.Contains(got, "  spectra      10  ") || !strings.Contains(got, "  files        0   gone from the folder") {
		t.Errorf("prune = %s, want 10 spectra and no file", got)
	}
	now = now.AddDate(0, 0, 8)
	if got := prune(true); !strings.Contains(got, "which files are gone cannot be told now") || !strings.Contains(got, words.FilesStay) {
		t.Errorf("prune where the folder is not there = %s, want that said", got)
	}
	left := now.AddDate(0, 0, -8-35).Format(time.DateOnly)
	for _, err := range []error{os.Mkdir(filepath.Join(dir, "spectra"), 0o755), os.WriteFile(filepath.Join(dir, "spectra", left), nil, 0o644)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, step := range []struct {
		dry  bool
		want string
	}{{true, "  files        8 "}, {false, "  files        8 "}, {false, "  files        0 "}} { // of 10, one is there and one is the newest that came
		if got := prune(step.dry); !strings.Contains(got, step.want) {
			t.Errorf("prune, dry run %v = %s, want %q", step.dry, got, step.want)
		}
	}
}

// A watch takes out what is too old ten minutes after its start and then once a day; one that keeps all never does.
func TestAWatchPrunesDaily(t *testing.T) {
	path := filepath.Join(t.TempDir(), "h")
	// A bubble's clock begins at midnight of 2000-01-01, UTC (testing/synctest).
	keptHistory(t, path, 40, time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC))
	synctest.Test(t, func(t *testing.T) {
		var log bytes.Buffer
		db, err := history.Open(t.Context(), path, "test")
		if err != nil {
			t.Fatal(err)
		}
		r := &shifts{app: &app{now: time.Now}, db: db, lines: []config.Line{{Name: "Filler 3"}}, log: slog.New(slog.NewTextHandler(&log, nil)),
			config: &config.Config{Keep: config.Keeping{Spectra: 30 * 24 * time.Hour}}}
		left := func() (n int) {
			for _, err := range db.Spectra(t.Context(), history.Query{Line: "Filler 3"}) {
				if err != nil {
					t.Fatal(err)
				}
				n++
			}
			return n
		}
		done := make(chan struct{})
		go func() { defer close(done); r.pruneDaily(t.Context()) }()
		for _, step := range []struct {
			wait time.Duration
			want int
		}{{9 * time.Minute, 40}, {2 * time.Minute, 30}, {23 * time.Hour, 30}, {time.Hour, 29}, {72 * time.Hour, 26}} {
			<-time.After(step.wait)
			synctest.Wait()
			if got := left(); got != step.want {
				t.Errorf("%v after the start %d spectra are left, want %d", time.Since(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)), got, step.want)
			}
		}
		if n := strings.Count(log.String(), "what is too old was taken out of history"); n != 5 {
			t.Errorf("the log says so %d times, want 5:\n%s", n, log.String())
		}
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
		never := &shifts{config: &config.Config{}}
		never.pruneDaily(t.Context()) // returns at once
	})
}

// Where the history is on a server, what is too old is taken out there and in the line's own file, which are to agree.
func TestPruneOnAServer(t *testing.T) {
	server := startServer(t)
	dir, address := t.TempDir(), server.Address("site")
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	file := filepath.Join(dir, "asusual.history")
	write := func(name, settings string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(settings), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	keeping := "[history]\nserver = \"" + address + "\"\nkeep-spectra = \"30 days\"\n"
	line := write("asusual.toml", "[[line]]\nname = \"Filler 3\"\n"+keeping)
	office := write("office.toml", keeping)
	prune := func(config string, o pruneOptions) (string, error) {
		var out bytes.Buffer
		a := &app{out: &out, errOut: &out, json: true, configFile: config, now: func() time.Time { return now }}
		err := a.prune(t.Context(), o)
		return out.String(), err
	}
	var none *words.NoHistory
	if said, err := prune(line, pruneOptions{}); !errors.As(err, &none) {
		t.Errorf("prune of a server without a history = %s, %v, want it said that there is none", said, err)
	}
	keptHistory(t, address, 40, now)
	keptHistory(t, file, 40, now)
	at := func(dry, spectra, history string) string {
		return `{"kind":"pruned","line":"Filler 3","dry_run":` + dry + `,"spectra":` + spectra + `,"own":0,"unreadable":0,"copies":0,"means":0,` +
			`"episodes":0,"groups":0,"acts":0,"checks":0,"history":"` + strings.ReplaceAll(history, "&", `\u0026`) + `","files":0}` + "\n"
	}
	there := history.ServerName(address)
	for _, c := range []struct {
		config string
		opt    pruneOptions
		want   string
	}{
		{line, pruneOptions{dry: true}, at("true", "10", there) + at("true", "10", file)},
		{line, pruneOptions{}, at("false", "10", there) + at("false", "10", file)},
		{line, pruneOptions{line: "Filler 3"}, at("false", "0", there) + at("false", "0", file)},
		{office, pruneOptions{}, at("false", "0", there)},
		{office, pruneOptions{line: "Filler 3", dry: true}, at("true", "0", there)},
	} {
		if got, err := prune(c.config, c.opt); err != nil || got != c.want {
			t.Errorf("prune with %+v of %s = %s, %v, want %s", c.opt, filepath.Base(c.config), got, err, c.want)
		}
	}
	if _, err := prune(office, pruneOptions{line: "Filler 4"}); err == nil || !strings.Contains(err.Error(), `no line "Filler 4" there; it has Filler 3`) {
		t.Errorf("prune of a line that the server has not = %v, want the one that it has", err)
	}

	// A watch takes out at both ends what is a day older now, also while it holds the line at the server.
	now = now.AddDate(0, 0, 1)
	db, err := history.Open(t.Context(), file, "asusual watch")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	holder, err := history.Open(t.Context(), address, "asusual watch")
	if err != nil {
		t.Fatal(err)
	}
	defer holder.Close()
	if err := holder.Hold(t.Context(), "Filler 3"); err != nil {
		t.Fatal(err)
	}
	if got, err := prune(line, pruneOptions{dry: true}); err != nil || got != at("true", "1", there)+at("true", "1", file) {
		t.Errorf("prune while it is watched, dry = %s, %v, want one spectrum at each end", got, err)
	}
	var log bytes.Buffer
	r := &shifts{app: &app{now: func() time.Time { return now }}, db: db, lines: []config.Line{{Name: "Filler 3"}}, log: slog.New(slog.NewTextHandler(&log, nil)),
		config: &config.Config{Server: address, Keep: config.Keeping{Spectra: 30 * 24 * time.Hour}}}
	r.pruneOnce(t.Context())
	for _, want := range []string{"history=" + file + " spectra=1 ", `history="` + there + `" spectra=1 `} {
		if !strings.Contains(log.String(), want) {
			t.Errorf("a watch's pruning has no %q:\n%s", want, log.String())
		}
	}
	now = now.AddDate(0, 0, 1)
	if got, err := prune(line, pruneOptions{}); err != nil || got != at("false", "1", there) {
		t.Errorf("prune while it is watched = %s, %v, want one spectrum at the server, and the file left to the watch", got, err)
	}
	if err := server.Halt(); err != nil {
		t.Fatal(err)
	}
	log.Reset()
	r.pruneOnce(t.Context())
	if !strings.Contains(log.String(), history.ErrAway.Error()) || !strings.Contains(log.String(), "history="+file+" spectra=1 ") {
		t.Errorf("a watch's pruning while the server is away says:\n%s\nwant that it is, and the file pruned", log.String())
	}
	if err := server.Again(); err != nil {
		t.Fatal(err)
	}
}
