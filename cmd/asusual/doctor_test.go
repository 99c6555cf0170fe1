package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/gather"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/monitor/history/testserver"
	"asusual/monitor/keep"
	"asusual/report"
)

// A zone that is wrong moves all times alike, by a multiple of a quarter of an hour; anything else is none.
func TestZoneOff(t *testing.T) {
	h, m, s := time.Hour, time.Minute, time.Second
	for _, c := range []struct {
		off  []time.Duration
		want time.Duration
	}{
		{[]time.Duration{2*h - s, 2 * h, 2*h - 3*s}, 2 * h},
		{[]time.Duration{-5*h - 30*m, -5*h - 30*m - s, -5*h - 30*m - 9*s}, -5*h - 30*m},
		{[]time.Duration{5*h + 45*m, 5*h + 45*m, 5*h + 44*m}, 5*h + 45*m}, // Kathmandu
		{[]time.Duration{-s, -2 * s, 0}, 0},                               // as it should be
		{[]time.Duration{2 * h, 2 * h}, 0},                                // too few
		{[]time.Duration{2 * h, 3 * h, 2 * h}, 0},                         // not alike: files that were copied
		{[]time.Duration{2*h + 7*m, 2*h + 7*m, 2*h + 7*m}, 0},             // a clock that is wrong, and no zone
		{[]time.Duration{15 * m, 15 * m, 15 * m}, 0},                      // no zone is that near
		{[]time.Duration{-72 * h, -72 * h, -72 * h}, 0},                   // copied days later
		{nil, 0},
	} {
		if got := zoneOff(slices.Clone(c.off)); got != c.want {
			t.Errorf("zoneOff(%v) = %v, want %v", c.off, got, c.want)
		}
	}
}

// The clock is looked at by the newest files: their times against when they were written, and whether they go back.
func TestDoctorLooksAtTheClock(t *testing.T) {
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		name  string
		at    func(i int) time.Time // that file i, written i−20 minutes from now, says
		check string
	}{
		{"as it should be", func(i int) time.Time { return now.Add(time.Duration(i-20) * time.Minute) }, "clock"},
		{"an hour off", func(i int) time.Time { return now.Add(time.Duration(i-20)*time.Minute - time.Hour) }, "clock.zone"},
		{"in the future", func(i int) time.Time { return now.Add(time.Duration(i) * time.Minute) }, "clock.future"},
		{"put back", func(i int) time.Time { return now.Add(time.Duration(i-20-i/10*7) * time.Minute) }, "clock.step"},
		{"no times", func(int) time.Time { return time.Time{} }, "clock"},
	} {
		e := &examination{app: &app{}, config: &config.Config{}, now: now}
		var newest []lying
		alone := map[string]time.Time{}
		var last time.Time
		for i := range 20 {
			f := lying{File: gather.File{Path: filepath.Join("spectra", string(rune('a'+i)))}, written: now.Add(time.Duration(i-20) * time.Minute)}
			newest = append(newest, f)
			alone[f.Path] = c.at(i)
			if alone[f.Path].After(last) {
				last = alone[f.Path]
			}
		}
		e.clock(config.Line{Name: "Filler 3"}, newest, alone, last)
		if len(e.found) != 1 || e.found[0].Check != c.check || (e.found[0].State == fine) != (c.check == "clock") {
			t.Errorf("clock, %s = %+v, want %s alone", c.name, e.found, c.check)
		}
	}
}

// Nothing is written into a watched folder unasked, and nothing of what is tried stays anywhere.
func TestDoctorWritesNothingUnasked(t *testing.T) {
	dir := t.TempDir()
	watched := filepath.Join(dir, "spectra")
	if err := os.Mkdir(watched, 0o755); err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	if err := os.Chtimes(watched, at, at); err != nil {
		t.Fatal(err)
	}
	l := config.Line{Name: "Filler 3", Watch: watched}
	c := &config.Config{History: filepath.Join(dir, "h"), Reports: filepath.Join(dir, "reports"), Lines: []config.Line{l}, Signal: config.Signal{State: filepath.Join(dir, "state.json")}}
	e := &examination{app: &app{}, config: c, now: time.Now(), pace: map[string]float64{}}
	e.folders()
	e.notified(t.Context(), l)
	e.disks()
	if info, err := os.Stat(watched); err != nil || !info.ModTime().Equal(at) {
		t.Errorf("the watched folder was changed at %v, %v, want it untouched since %v", info.ModTime(), err, at)
	}
	e.opt.writeTest = true
	e.notified(t.Context(), l)
	for _, folder := range []string{dir, watched} {
		left, err := os.ReadDir(folder)
		if err != nil || folder == dir && len(left) != 1 || folder == watched && len(left) != 0 {
			t.Errorf("left in %s: %v, %v, want nothing of doctor's", folder, left, err)
		}
	}
	var checks []string
	for _, s := range e.found {
		checks = append(checks, s.Check+" "+s.State)
		if s.Text == "" || s.State != fine && s.Try == "" {
			t.Errorf("%+v says nothing, or not what to try", s)
		}
	}
	if !slices.Contains(checks, "folder fine") || len(checks) < 6 {
		t.Errorf("checks = %v, want three folders, two notifications and a disk", checks)
	}
}

// That a notification did not come is said only where one was waited for.
func TestDoctorTellsWhatWasNotTried(t *testing.T) {
	dir := t.TempDir()
	watched := filepath.Join(dir, "spectra")
	if err := os.Mkdir(watched, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(dir, 0o555); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.Chmod(dir, 0o755) })
	if err := canWrite(dir); err == nil {
		t.Skip("this user, such as root, may write wherever it wants")
	}
	c := &config.Config{History: filepath.Join(dir, "h"), Reports: dir, Site: config.Site{Language: report.German()}}
	e := &examination{app: &app{}, config: c, tag: "de"}
	e.notified(t.Context(), config.Line{Watch: watched})
	if len(e.found) != 1 || e.found[0].Check != "notify.failed" || !strings.HasSuffix(e.found[0].Text, ": das Recht dazu fehlt") || e.found[0].Try == "" {
		t.Errorf("doctor where it may not write = %+v, want that nothing was tried, and why", e.found)
	}
}

// An examination that was stopped says nothing of what it did not wait for.
func TestDoctorThatIsStopped(t *testing.T) {
	dir := t.TempDir()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	for range 20 { // of what is ready at the same time any may be taken
		e := &examination{app: &app{}, config: &config.Config{History: filepath.Join(dir, "h"), Reports: dir}}
		if e.notified(ctx, config.Line{Watch: dir}); slices.ContainsFunc(e.found, func(s seen) bool { return s.State != fine }) {
			t.Errorf("doctor that was stopped = %+v, want nothing wrong", e.found)
		}
	}
}

// What is written to a disk a day counts once, however many lines and settings name the folder.
func TestDoctorCountsAPaceOnce(t *testing.T) {
	dir := t.TempDir()
	watched, ours := filepath.Join(dir, "spectra"), filepath.Join(dir, "ours")
	for _, folder := range []string{watched, ours} {
		if err := os.Mkdir(folder, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	lines := []config.Line{{Watch: watched}, {Watch: watched}, {Watch: watched}}
	c := &config.Config{History: filepath.Join(ours, "h"), Reports: filepath.Join(ours, "reports"), Lines: lines} // no folder of reports yet
	e := &examination{app: &app{}, config: c, pace: map[string]float64{ours: 1000, watched: 3e6}}
	e.disks()
	if got := e.pace[ours]; got != 3001000 || len(e.found) != 1 {
		t.Errorf("the pace on the disk = %v, said %+v, want 3001000, of one disk", got, e.found)
	}
}

// A live page that the watch would refuse is wrong before anybody starts the watch, whether or not its port is free.
func TestDoctorLooksAtTheLivePage(t *testing.T) {
	dir := t.TempDir()
	file := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	blank, short, long := file("blank", "\ufeff \n\n"), file("short", "abc\n"), file("long", "0123456789abcdef\n")
	wide := file("wide", "\xff\xfe"+strings.Join(strings.Split("0123456789abcdef\r\n", ""), "\x00")+"\x00") // as > of a PowerShell writes
	for _, c := range []struct {
		name  string
		page  config.Live
		check string // "" for none
		texts [2]string
	}{
		{"none", config.Live{}, "", [2]string{}},
		{"here", config.Live{Address: "127.0.0.1:0"}, "live", [2]string{"can be at 127.0.0.1:0", "kann bei 127.0.0.1:0 sein"}},
		{"with a token", config.Live{Address: "127.0.0.1:0", TokenFile: long}, "live", [2]string{"can be at", "kann bei"}},
		{"no token", config.Live{Address: "0.0.0.0:0"}, "live.refused", [2]string{"so it needs a token", "also braucht sie ein Token"}},
		{"no token in its file", config.Live{Address: "127.0.0.1:0", TokenFile: blank}, "live.refused",
			[2]string{"blank: holds no token; want a line of at least 16 characters", "blank: enthält kein Token; nötig ist eine Zeile mit mindestens 16 Zeichen"}},
		{"a token in UTF-16", config.Live{Address: "127.0.0.1:0", TokenFile: wide}, "live.refused", [2]string{"wide: is UTF-16 or no text; write it as UTF-8", "wide: ist UTF-16 oder kein Text"}},
		{"short token", config.Live{Address: "0.0.0.0:0", TokenFile: short}, "live.refused", [2]string{"has 3 characters, want at least 16", "hat 3 Zeichen, nötig sind mindestens 16"}},
		{"no file", config.Live{Address: "127.0.0.1:0", TokenFile: "nowhere"}, "live.shut", [2]string{"would run without it: reading the token: open nowhere", "würde ohne sie laufen: beim Lesen des Tokens: open nowhere"}},
		{"no certificate", config.Live{Address: "127.0.0.1:0", Certificate: short, Key: short}, "live.shut", [2]string{"0: the certificate: ", "0: das Zertifikat: "}},
		{"no address", config.Live{TokenFile: long}, "live.unset", [2]string{"its address is missing", "ihre Adresse fehlt"}},
	} {
		for i, l := range []*report.Language{report.English(), report.German()} {
			e := &examination{app: &app{}, config: &config.Config{Live: c.page, Site: config.Site{Language: l}}, tag: l.Tag}
			e.live(t.Context())
			if c.check == "" && len(e.found) == 0 {
				continue
			}
			if len(e.found) != 1 || e.found[0].Check != c.check || (e.found[0].State == fine) != (c.check == "live") || !strings.Contains(e.found[0].Text, c.texts[i]) {
				t.Errorf("%s, in %s: %+v, want %s alone, with %q", c.name, l.Tag, e.found, c.check, c.texts[i])
			}
		}
	}
}

// Where somebody answers at the address of the live page while a watch runs, its state file says whether that is its page: a watch whose page
// cannot be opened runs all the same.
func TestDoctorTellsTheLivePageFromAnother(t *testing.T) {
	dir := t.TempDir()
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	c := &config.Config{History: filepath.Join(dir, "h"), Live: config.Live{Address: taken.Addr().String()}}
	c.Signal.State = filepath.Join(dir, "state.json")
	for _, w := range []struct {
		page, check, state string
		pid                int // of who holds the history
	}{
		{"", "live.other", look, os.Getpid()},
		{"127.0.0.1:1", "live.other", look, os.Getpid()},
		{c.Live.Address, "live.there", fine, os.Getpid()},
		{c.Live.Address, "live.other", look, os.Getpid() + 1}, // and the state file is that of a watch that was killed
	} {
		held, err := keep.Take(history.LockOf(c.History), keep.Holder{PID: w.pid})
		if err != nil {
			t.Fatal(err)
		}
		board := monitor.NewBoard(c.Signal.State, nil)
		board.SetPage(w.page)
		ctx, stop := context.WithCancel(t.Context())
		done := make(chan struct{})
		go func() { defer close(done); board.Run(ctx) }()
		for b, err := monitor.ReadBulletin(c.Signal.State); err != nil || b.Page != w.page || b.Stopped; b, err = monitor.ReadBulletin(c.Signal.State) {
			if t.Context().Err() != nil {
				t.Fatal(err)
			}
			board.SetPage(w.page)
			runtime.Gosched()
		}
		e := &examination{app: &app{}, config: c, tag: "en"}
		e.live(t.Context())
		if len(e.found) != 1 || e.found[0].Check != w.check || e.found[0].State != w.state {
			t.Errorf("with the page of the watch at %q doctor says %+v, want %s alone, %s", w.page, e.found, w.check, w.state)
		}
		stop()
		<-done
		if err := held.Release(); err != nil {
			t.Fatal(err)
		}
	}
}

// A certificate that ends soon is to be looked at, and one that has ended is wrong.
func TestDoctorLooksAtTheCertificate(t *testing.T) {
	cert, key, ends := certificate(t)
	page := config.Live{Address: "127.0.0.1:0", Certificate: cert, Key: key}
	for left, want := range map[time.Duration]string{31 * 24 * time.Hour: "", 29 * 24 * time.Hour: look, -time.Hour: wrong} {
		e := &examination{app: &app{}, config: &config.Config{Live: page}, now: ends.Add(-left)}
		e.live(t.Context())
		got := ""
		if e.found[0].Check == "live.ends" {
			got = e.found[0].State
		}
		if got != want {
			t.Errorf("%v before its end doctor finds %+v, want the certificate to be %q", left, e.found, want)
		}
	}
}

// Without shifts the whole day is one, of which there is a report all the same.
func TestDoctorWithoutShifts(t *testing.T) {
	for tag, want := range map[string]string{"en": "the whole day is one shift, and its report comes after midnight", "de": "der ganze Tag gilt als eine, und ihr Bericht kommt nach Mitternacht"} {
		e := &examination{app: &app{}, config: &config.Config{}, tag: tag, now: at("2026-11-25T12:00:00Z")}
		e.times()
		if last := e.found[len(e.found)-1]; last.Check != "shifts.none" || !strings.HasSuffix(last.Text, want) {
			t.Errorf("without shifts doctor says %q, want %q", last.Text, want)
		}
		span := e.config.Plan().Last(e.now)
		if midnight := at("2026-11-25T00:00:00Z"); !span.To.Equal(midnight) || span.To.Sub(span.From) != 24*time.Hour {
			t.Errorf("the last shift then is %+v, want the day until %v", span, midnight)
		}
	}
}

// What is wrong with a folder is said in the language of the site.
func TestDoctorSaysReasonsInGerman(t *testing.T) {
	file := filepath.Join(t.TempDir(), "a.csv")
	if err := os.WriteFile(file, []byte("900,1\n901,2\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for watch, want := range map[string]string{file: ": kein Ordner", file + ".d": ": keine solche Datei und kein solcher Ordner"} {
		e := &examination{app: &app{}, config: &config.Config{Site: config.Site{Language: report.German()}}, tag: "de", pace: map[string]float64{}}
		e.watched(config.Line{Name: "Filler 3", Watch: watch})
		if len(e.found) != 1 || e.found[0].Check != "watch.bad" || !strings.HasSuffix(e.found[0].Text, want) {
			t.Errorf("watched(%s) = %+v, want a text that ends with %q", watch, e.found, want)
		}
	}
}

// A whole examination in German has no English in it: numbers, times and what was guessed are said as the pages say them.
func TestDoctorSpeaksGermanThroughout(t *testing.T) {
	dir := t.TempDir()
	watched := filepath.Join(dir, "spectra")
	if err := os.Mkdir(watched, 0o755); err != nil {
		t.Fatal(err)
	}
	var spectrum strings.Builder
	for i := range 64 {
		fmt.Fprintf(&spectrum, "%d\t%.4f\n", 900+10*i, 0.4+0.001*float64(i%7))
	}
	written := at("2026-11-20T12:00:00Z")
	for i := range 1001 {
		path := filepath.Join(watched, fmt.Sprintf("s%04d.txt", i))
		if err := errors.Join(os.WriteFile(path, []byte(spectrum.String()), 0o644), os.Chtimes(path, written, written)); err != nil {
			t.Fatal(err)
		}
	}
	for name, text := range map[string]string{"no.reference": "nothing", "no.history": strings.Repeat("no history", 100)} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	lines := []config.Line{{Name: "Linie 1", Watch: watched, Reference: filepath.Join(dir, "no.reference")}, {Name: "Linie 2", Watch: watched}}
	c := &config.Config{History: filepath.Join(dir, "no.history"), Reports: dir, Lines: lines, Site: config.Site{Language: report.German()}}
	c.Signal.State = filepath.Join(dir, "state.json")
	e := &examination{app: &app{}, config: c, now: at("2026-11-25T12:00:00Z"), tag: "de", pace: map[string]float64{}}
	e.times()
	e.folders()
	if db := e.history(t.Context()); db != nil {
		t.Errorf("doctor opened what is no history")
	}
	for _, l := range lines {
		e.line(t.Context(), l, nil)
	}
	e.disks()
	e.serverClock(history.Examination{Ahead: 12340 * time.Millisecond})
	english := regexp.MustCompile(`(?i)\b(the|of|and|is|days|guessed|absorbance|channels|cannot|which|not)\b|\d,\d{3}|\d\.\d\b`)
	var all strings.Builder
	for _, s := range e.found {
		text := strings.NewReplacer(dir, "", " (file is not a database (26))", "").Replace(s.Text + " / " + s.Try) // the words of SQLite
		all.WriteString(text + "\n")
		if found := english.FindString(text); found != "" {
			t.Errorf("%s: %q in German has %q", s.Check, text, found)
		}
	}
	for _, want := range []string{"Dateien: 1.001, ", "die neueste ist 5 Tage alt", "64 Kanäle, 900–1530", "erraten", "12,3 s", "eine Kopie von vorher", "keine Referenz ist genannt"} {
		if !strings.Contains(all.String(), want) {
			t.Errorf("doctor in German lacks %q:\n%s", want, all.String())
		}
	}
}

// The server of a history is looked at: its clock, by seconds, what may be done there, what it holds, and what waits for it.
func TestDoctorLooksAtTheServer(t *testing.T) {
	server := startServer(t)
	dir, address := t.TempDir(), server.Address("site")
	now := time.Now()
	examined := func(address string) (checks map[string]seen, read bool) {
		c := &config.Config{History: filepath.Join(dir, "h"), Server: address, Lines: []config.Line{{Name: "Filler 3"}}}
		e := &examination{app: &app{}, config: c, now: now}
		read = e.server(t.Context())
		checks = map[string]seen{}
		for _, s := range e.found {
			checks[s.Check] = s
			if s.Text == "" || strings.Contains(s.Text+s.Try, "{") || s.State != fine && s.Try == "" {
				t.Errorf("%+v says nothing, or not what to try", s)
			}
		}
		return checks, read
	}
	got, read := examined(address)
	if read || len(got) != 4 || got["server"].State != fine || got["server.clock"].State != fine || got["server.none"].State != look || got["server.rights"].State != fine {
		t.Errorf("doctor of a server without a history = %+v", got)
	}
	keptHistory(t, address, 3, now)
	keptHistory(t, filepath.Join(dir, "h"), 3, now)
	if got, read = examined(address); !read || got["server.schema"].State != fine || got["server.brought"].State != fine {
		t.Errorf("doctor of a server with a history = %+v", got)
	}
	if got, read = examined("postgres://127.0.0.1:1/none"); read || got["server.bad"].State != wrong || !strings.Contains(got["server.bad"].Try, "look whether the server runs") {
		t.Errorf("doctor of a server that is not there = %+v", got)
	}
	// Whoever is not let in is told what of user, password and database; also where the server's reason is none that is known.
	for from, to := range map[string]string{"user=asusual": "user=nobody", "/postgres?": "/nowhere?"} {
		elsewhere := strings.Replace(address, from, to, 1)
		if got, read = examined(elsewhere); read || !strings.Contains(got["server.bad"].Text, "does not let this user in (") || !strings.HasPrefix(got["server.bad"].Try, "user and database in the address") {
			t.Errorf("doctor of %s = %+v", elsewhere, got["server.bad"])
		}
	}
	if _, err := server.Run("", "CREATE SCHEMA half; CREATE TABLE half.asusual_schema (nothing int)"); err != nil {
		t.Fatal(err)
	}
	if got, _ = examined(server.Address("half")); got["server.bad"].State != wrong || !strings.HasPrefix(got["server.bad"].Try, "look at the server's log") {
		t.Errorf("doctor of a server that says something else = %+v", got["server.bad"])
	}
	for _, c := range []struct {
		ahead, within time.Duration
		check, state  string
		says          string
	}{
		{time.Second, 10 * time.Millisecond, "server.clock", fine, "1.0 s apart"},
		{-3 * time.Second, 2 * time.Second, "server.clock", fine, "3.0 s apart (within 2.0 s)"},
		{12340 * time.Millisecond, time.Millisecond, "server.clock.ahead", look, "12.3 s ahead"},
		{-5 * time.Second, 0, "server.clock.behind", look, "5.0 s behind"},
		{time.Hour, 0, "server.clock.ahead", wrong, "3600.0 s ahead"},
		{-61 * time.Second, 0, "server.clock.behind", wrong, "61.0 s behind"},
	} {
		e := &examination{}
		e.serverClock(history.Examination{Ahead: c.ahead, Within: c.within})
		if s := e.found[0]; len(e.found) != 1 || s.Check != c.check || s.State != c.state || !strings.Contains(s.Text, c.says) {
			t.Errorf("a server's clock that is %v ahead, within %v: %+v, want %s, %s", c.ahead, c.within, e.found, c.check, c.says)
		}
	}

	// What a watch kept while the server was away waits.
	db, err := history.Open(t.Context(), filepath.Join(dir, "h"), "test")
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Carry(t.Context(), true); err != nil {
		t.Fatal(err)
	}
	if err := db.Append(t.Context(), history.Batch{Line: "Filler 3", Files: []history.Judged{{
		File:    history.File{Name: "late.csv", Version: 1, Modified: now},
		Records: []history.Record{{Time: now, Received: now, Condition: "usual", Verdict: "as usual", Reference: "abc"}},
	}}}); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	now = now.Add(time.Hour)
	if got, _ = examined("postgres://127.0.0.1:1/none"); got["server.waiting"].State != look || !strings.Contains(got["server.waiting"].Text, ": 1, since ") {
		t.Errorf("doctor with a spectrum that waits = %+v", got)
	}
}

// startServer starts a PostgreSQL server for a test.
func startServer(t *testing.T) *testserver.Server {
	t.Helper()
	server, err := testserver.Start(false)
	if errors.Is(err, testserver.ErrMissing) {
		t.Skip(err)
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := server.Close(); err != nil {
			t.Error(err)
		}
	})
	return server
}

func TestHowLongRoomLasts(t *testing.T) {
	e := &examination{config: &config.Config{}}
	for _, c := range []struct {
		days float64
		want string
	}{
		{0.4, "less than two days"}, {1.9, "less than two days"}, {2, "2 days"}, {99.7, "99 days"}, {127, "120 days"}, {731, "more than two years"},
	} {
		if got := e.lasting(c.days); got != c.want {
			t.Errorf("lasting(%v) = %q, want %q", c.days, got, c.want)
		}
	}
}

func TestDoctorLooksAtSince(t *testing.T) {
	now := time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		since string
		want  bool
	}{{"2026-11-25T09:00", false}, {"2027-11-25T09:00", true}} {
		conf, err := config.Decode("f.toml", "[site]\ntime-zone = 'UTC'\n[[line]]\nname = 'oats'\nwatch = 'w'\n[line.instrument]\nsince = '"+c.since+"'\n[[line.instrument.check]]\nrole = 'dark'\nname = 'dark*'")
		if err != nil {
			t.Fatal(err)
		}
		e := &examination{app: &app{}, config: conf, now: now}
		e.own(t.Context(), conf.Lines[0], nil)
		said := slices.ContainsFunc(e.found, func(s seen) bool { return s.Check == "instrument.since" && s.State == look && s.Try != "" })
		if said != c.want {
			t.Errorf("since = %s on %v: doctor finds %+v, want that it says so: %v", c.since, now, e.found, c.want)
		}
	}
}
