package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/pages"
	"asusual/cmd/asusual/shift"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/model/verdict"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/report"
)

// shiftsWith is a line with a spectrum at each of the times, and a folder for its reports. It has no reference, so that each report that
// is begun is an error in the log that names the shift.
func shiftsWith(t *testing.T, now func() time.Time, times ...time.Time) (r *shifts, log *tail) {
	t.Helper()
	dir := t.TempDir()
	db, err := history.Open(t.Context(), filepath.Join(dir, "h"), "test")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	b := history.Batch{Line: "Filler 3"}
	for i, at := range times {
		b.Files = append(b.Files, judgedAt(fmt.Sprint(i, ".csv"), at))
	}
	if err := db.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	log = &tail{}
	line := config.Line{Name: "Filler 3", Reference: filepath.Join(dir, "none.reference")}
	c := &config.Config{Reports: filepath.Join(dir, "reports"), Lines: []config.Line{line},
		Shifts: []shift.Shift{{Name: "early", From: 6 * 60, To: 14 * 60}, {Name: "late", From: 14 * 60, To: 22 * 60}, {Name: "night", From: 22 * 60, To: 6 * 60}}}
	c.Site.Zone = time.UTC
	return &shifts{app: &app{now: now, out: &bytes.Buffer{}, errOut: &bytes.Buffer{}}, config: c, db: db, lines: c.Lines, log: slog.New(slog.NewTextHandler(log, nil))}, log
}

// Every shift that history has spectra of and that has no report gets one, not those of longer than two weeks ago.
func TestShiftsThatWereMissed(t *testing.T) {
	now := at("2026-11-25T15:00:00Z")
	r, _ := shiftsWith(t, func() time.Time { return now }, at("2026-10-01T07:00:00Z"), at("2026-11-20T07:00:00Z"), at("2026-11-20T23:00:00Z"),
		at("2026-11-21T05:59:59Z"), at("2026-11-22T15:00:00Z"), at("2026-11-25T06:00:00Z"), at("2026-11-25T14:30:00Z"))
	there := filepath.Join(shelfOf(r.config).Of("Filler 3", shift.Span{Name: "late", Date: "2026-11-22"}), pages.HandoverName)
	if err := os.MkdirAll(filepath.Dir(there), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(there, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	spans, older := r.missing(t.Context(), r.lines[0], now)
	var got []string
	for _, s := range spans {
		got = append(got, s.Date+" "+s.Name)
	}
	if want := "2026-11-20 early, 2026-11-20 night, 2026-11-25 early"; strings.Join(got, ", ") != want || !older {
		t.Errorf("missing = %v, older %v, want %s, and that there are older ones", got, older, want)
	}
}

// A page that somebody asked for in the midst of a shift is not the report of the shift, which comes at its end, once.
func TestAPageBeforeTheEndOfTheShift(t *testing.T) {
	now := at("2026-11-25T09:00:00Z")
	r, log := shiftsWith(t, func() time.Time { return now }, at("2026-11-25T07:00:00Z"), at("2026-11-25T13:00:00Z"))
	r.lines[0].Reference = filepath.Join("..", "..", "model", "testdata", "version-4.reference")
	span, err := r.config.Plan().On("early", "2026-11-25")
	if err != nil {
		t.Fatal(err)
	}
	path, _, err := r.handoverOf(t.Context(), r.config, r.db, r.lines[0], span, now)
	if err != nil {
		t.Fatal(err)
	}
	early, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	now = at("2026-11-25T14:02:00Z")
	for range 2 { // the second life of the watch finds it there
		r.reports(t.Context(), r.lines[0], now, map[shift.Span]bool{})
	}
	if n := strings.Count(log.String(), "report written"); n != 1 {
		t.Errorf("the report was written %d times at the end of the shift, want once:\n%s", n, log)
	}
	const still = "Written before the shift ended"
	page, err := os.ReadFile(path)
	if err != nil || !bytes.Contains(early, []byte(still)) || bytes.Contains(page, []byte(still)) {
		t.Errorf("the page after the shift still says %q, or the first did not, %v", still, err)
	}
}

// A report names a card only where it is of the version that judged: that of a version before lies there still where a reference that was
// learned elsewhere was copied over the file.
func TestAReportNamesTheCardOfItsVersion(t *testing.T) {
	now := at("2026-11-25T15:00:00Z")
	r, _ := shiftsWith(t, func() time.Time { return now })
	l := r.lines[0]
	first, second := stored(t, "version-3.reference"), stored(t, "version-4.reference")
	batch := history.Batch{Line: l.Name}
	for day, ref := range map[string]*model.Reference{"2026-11-23": first, "2026-11-24": second} {
		j := judgedAt(day, at(day+"T07:00:00Z"))
		j.Records[0].Reference = ref.Fingerprint()
		batch.Files = append(batch.Files, j)
	}
	if err := r.db.Append(t.Context(), batch); err != nil {
		t.Fatal(err)
	}
	linked := func(day string) string {
		t.Helper()
		span, err := r.config.Plan().On("early", day)
		if err != nil {
			t.Fatal(err)
		}
		path, _, err := r.handoverOf(t.Context(), r.config, r.db, l, span, now)
		if err != nil {
			t.Fatal(err)
		}
		b, err := os.ReadFile(filepath.Join(filepath.Dir(path), "figures.json"))
		var is struct{ Reference struct{ Card string } }
		if err := errors.Join(err, json.Unmarshal(b, &is)); err != nil {
			t.Fatal(err)
		}
		return is.Reference.Card
	}
	if first.Fingerprint() == second.Fingerprint() {
		t.Fatal("both versions have one fingerprint")
	}
	d := &learned{line: l, zone: time.UTC, language: report.English(), reference: first}
	if err := d.write(); err != nil {
		t.Fatal(err)
	}
	const want = "../../../none-card.html"
	if got := linked("2026-11-23"); got != want {
		t.Errorf("a report by the version whose card lies there names %q, want %q", got, want)
	}
	var b bytes.Buffer
	if err := errors.Join(second.Encode(&b), os.WriteFile(l.Reference, b.Bytes(), 0o644)); err != nil {
		t.Fatal(err)
	}
	if got := linked("2026-11-24"); got != "" {
		t.Errorf("a report by a version that was copied over names %q, the card of the one before, want none", got)
	}
	d.reference = second
	if err := d.writeCard(second, cardOf(l.Reference)); err != nil {
		t.Fatal(err)
	}
	if got := linked("2026-11-24"); got != want {
		t.Errorf("with the card of that version a report names %q, want %q", got, want)
	}
}

// stored returns a reference of model's testdata.
func stored(t *testing.T, name string) *model.Reference {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "..", "model", "testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	ref, err := model.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	return ref
}

// A report that somebody made before the last files of the shift were judged, or that the watch wrote while the share was away, is written
// anew, once, as soon as more is known; not where history knows less, since what is too old was taken out.
func TestAReportThatLacksWhatCameLater(t *testing.T) {
	now := at("2026-11-25T14:00:20Z")
	r, log := shiftsWith(t, func() time.Time { return now }, at("2026-11-25T07:00:00Z"), at("2026-11-25T07:01:00Z"))
	l := &r.lines[0]
	l.Reference = filepath.Join("..", "..", "model", "testdata", "version-4.reference")
	span, err := r.config.Plan().On("early", "2026-11-25")
	if err != nil {
		t.Fatal(err)
	}
	path, _, err := r.handoverOf(t.Context(), r.config, r.db, *l, span, now)
	if err != nil {
		t.Fatal(err)
	}
	written := map[shift.Span]bool{} // of one life of the watch
	for _, step := range []struct {
		what, now string
		more      history.Judged
		spectra   int // on the page
		want      int // how often the watch wrote it by then
	}{
		{what: "nothing more", now: "2026-11-25T14:02:00Z", spectra: 2},
		{what: "a spectrum that settled", now: "2026-11-25T14:02:00Z", more: judgedAt("13:59.csv", at("2026-11-25T13:59:00Z")), spectra: 3, want: 1},
		{what: "nothing more after it", now: "2026-11-25T14:02:00Z", spectra: 3, want: 1},
		{what: "the spectra of a share that was away", now: "2026-11-25T22:02:00Z", more: judgedAt("13:30.csv", at("2026-11-25T13:30:00Z")), spectra: 4, want: 2},
		{what: "a file that cannot be read", now: "2026-11-26T06:02:00Z", more: unreadableAt("bad.csv", at("2026-11-25T13:40:00Z")), spectra: 4, want: 3},
		{what: "a spectrum of before a weekend", now: "2026-11-28T14:02:00Z", more: judgedAt("13:50.csv", at("2026-11-25T13:50:00Z")), spectra: 5, want: 4},
		{what: "a spectrum of before two weeks", now: "2026-12-09T22:02:00Z", more: judgedAt("13:55.csv", at("2026-11-25T13:55:00Z")), spectra: 5, want: 4},
	} {
		if step.more.File.Name != "" {
			if err := r.db.Append(t.Context(), history.Batch{Line: l.Name, Files: []history.Judged{step.more}}); err != nil {
				t.Fatal(err)
			}
		}
		now = at(step.now)
		r.reports(t.Context(), *l, now, written)
		if n := strings.Count(log.String(), "report written"); n != step.want {
			t.Fatalf("%s: the watch wrote the report %d times by then, want %d:\n%s", step.what, n, step.want, log)
		}
		table, err := os.ReadFile(filepath.Join(filepath.Dir(path), "distance.csv"))
		if n := strings.Count(string(table), "2026-11-25T"); err != nil || n != step.spectra {
			t.Errorf("%s: %d spectra in the report, %v, want %d", step.what, n, err, step.spectra)
		}
	}
	now = at("2026-11-26T06:02:00Z")
	if _, err := r.db.Prune(t.Context(), l.Name, history.Keep{Spectra: time.Hour}, at("2026-11-25T14:30:00Z"), false); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		r.reports(t.Context(), *l, now, map[shift.Span]bool{})
	}
	if n := strings.Count(log.String(), "report written"); n != 4 {
		t.Errorf("the report was written %d times, of less in the end, want 4:\n%s", n, log)
	}
}

// A report with a table that could not be written is written again with the next one, over one from the midst of its shift as well.
func TestAReportWithATableInUseIsWrittenAgain(t *testing.T) {
	for _, early := range []bool{true, false} {
		now := at("2026-11-25T10:00:00Z")
		r, log := shiftsWith(t, func() time.Time { return now }, at("2026-11-25T07:00:00Z"), at("2026-11-25T07:01:00Z"))
		l := &r.lines[0]
		l.Reference = filepath.Join("..", "..", "model", "testdata", "version-4.reference")
		span, err := r.config.Plan().On("early", "2026-11-25")
		if err != nil {
			t.Fatal(err)
		}
		if early {
			if _, _, err := r.handoverOf(t.Context(), r.config, r.db, *l, span, now); err != nil {
				t.Fatal(err)
			}
		}
		table := filepath.Join(shelfOf(r.config).Of(l.Name, span), "distance.csv")
		if err := errors.Join(os.RemoveAll(table), os.MkdirAll(filepath.Join(table, "in use"), 0o755)); err != nil {
			t.Fatal(err)
		}
		written := map[shift.Span]bool{}
		for i, step := range []struct{ at, said string }{
			{"2026-11-25T14:02:00Z", "report written, but not all that belongs to it"}, {"2026-11-25T22:02:00Z", `msg="report written"`}, {"2026-11-26T06:02:00Z", ""},
		} {
			if i == 1 {
				if err := os.RemoveAll(table); err != nil {
					t.Fatal(err)
				}
			}
			now = at(step.at)
			before := len(log.String())
			r.reports(t.Context(), *l, now, written)
			said := log.String()[before:]
			if step.said == "" && strings.Contains(said, "report written") || !strings.Contains(said, step.said) {
				t.Errorf("early %v, %s: the log says\n%s\nwant %q", early, step.at, said, step.said)
			}
		}
		if b, err := os.ReadFile(table); err != nil || strings.Count(string(b), "2026-11-25T") != 2 {
			t.Errorf("early %v: the table holds %s, %v, want both spectra", early, b, err)
		}
		if err := r.db.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

func fileAt(name string, at time.Time) history.File {
	return history.File{Name: name, Version: 1, Modified: at, Received: at}
}

// judgedAt is a file with a usual spectrum.
func judgedAt(name string, at time.Time) history.Judged {
	return history.Judged{File: fileAt(name, at),
		Records: []history.Record{{Time: at, Received: at, Condition: "usual", Verdict: verdict.AsUsual.String(), Instrument: "fit", Reference: "r"}}}
}

// The reports of lines whose shifts end together are written one after another, so that the index names them all.
func TestReportsOfManyLinesAtOnce(t *testing.T) {
	var r *shifts
	end := at("2026-11-25T14:02:00Z")
	var alone atomic.Int64
	now := func() time.Time { // which each report asks for when it is begun
		if r.writing.TryLock() {
			r.writing.Unlock()
			alone.Add(1)
		}
		return end
	}
	r, log := shiftsWith(t, now, at("2026-11-25T07:00:00Z"))
	first := r.lines[0]
	first.Reference = filepath.Join("..", "..", "model", "testdata", "version-4.reference")
	r.config.Lines = nil
	for _, name := range []string{"Filler 1", "Filler 2", "Filler 3", "Filler 4"} {
		l := first
		l.Name = name
		r.config.Lines = append(r.config.Lines, l)
		if err := r.db.Append(t.Context(), history.Batch{Line: name, Files: []history.Judged{judgedAt("a.csv", at("2026-11-25T07:30:00Z"))}}); err != nil {
			t.Fatal(err)
		}
	}
	var all sync.WaitGroup
	for _, l := range r.config.Lines {
		all.Go(func() { r.report(t.Context(), l, r.config.Plan().Last(end)) })
	}
	all.Wait()
	if n := strings.Count(log.String(), "report written"); n != 4 || alone.Load() != 0 {
		t.Errorf("%d reports written, %d of them begun while another could be, want 4, one after another:\n%s", n, alone.Load(), log)
	}
	index, err := os.ReadFile(filepath.Join(r.config.Reports, "index.html"))
	if n := bytes.Count(index, []byte("/"+pages.HandoverName+`"`)); err != nil || n != 4 {
		t.Errorf("the index leads to %d reports, %v, want 4", n, err)
	}
}

// A shift whose files could not be read, all of them, is a shift: it gets its report, and is the one that ended last.
func TestAShiftOfUnreadableFiles(t *testing.T) {
	now := at("2026-11-25T15:00:00Z")
	for _, c := range []struct {
		what    string
		spectra []time.Time
		bad     []time.Time
		missing string
		last    string // of handover without options
	}{
		{"after a day as usual", []time.Time{at("2026-11-24T07:00:00Z")}, []time.Time{at("2026-11-25T07:00:00Z")}, "2026-11-24 early, 2026-11-25 early", "2026-11-25 early"},
		{"on the first day", nil, []time.Time{at("2026-11-25T07:00:00Z")}, "2026-11-25 early", "2026-11-25 early"},
		{"days ago", []time.Time{at("2026-11-20T07:00:00Z")}, []time.Time{at("2026-11-21T07:00:00Z")}, "2026-11-20 early, 2026-11-21 early", "2026-11-21 early"},
		{"of times to come", []time.Time{at("2026-11-20T07:00:00Z")}, []time.Time{at("2030-11-21T07:00:00Z")}, "2026-11-20 early", "2026-11-20 early"},
		{"none", nil, nil, "", "no spectra"},
	} {
		r, _ := shiftsWith(t, func() time.Time { return now }, c.spectra...)
		for _, at := range c.bad {
			if err := r.db.Append(t.Context(), history.Batch{Line: "Filler 3", Files: []history.Judged{unreadableAt("bad.csv", at)}}); err != nil {
				t.Fatal(err)
			}
		}
		spans, _ := r.missing(t.Context(), r.lines[0], now)
		var got []string
		for _, s := range spans {
			got = append(got, s.Date+" "+s.Name)
		}
		if strings.Join(got, ", ") != c.missing {
			t.Errorf("unreadable files %s: missing = %v, want %s", c.what, got, c.missing)
		}
		last, err := r.spanOf(t.Context(), r.config, r.db, r.lines[0], handoverOptions{})
		said := last.Date + " " + last.Name
		if none := new(words.NoSpectraInPeriod); errors.As(err, &none) {
			said, err = "no spectra", nil
		}
		if err != nil || said != c.last {
			t.Errorf("unreadable files %s: the shift that ended last is %s, %v, want %s", c.what, said, err, c.last)
		}
	}
}

// unreadableAt is a file that cannot be read.
func unreadableAt(name string, at time.Time) history.Judged {
	return history.Judged{File: fileAt(name, at), Unreadable: []history.Unreadable{{Reason: "cut off", Time: at, Received: at, Count: 1}}}
}

// Of two shifts that end at the same moment each gets its report.
func TestShiftsThatEndTogether(t *testing.T) {
	now := at("2026-11-25T15:00:00Z")
	r, _ := shiftsWith(t, func() time.Time { return now }, at("2026-11-24T13:00:00Z"), at("2026-11-25T13:00:00Z"))
	r.config.Shifts = []shift.Shift{{Name: "early", From: 6 * 60, To: 14 * 60}, {Name: "cleaning", From: 12 * 60, To: 14 * 60}, {Name: "late", From: 14 * 60, To: 22 * 60}}
	spans, _ := r.missing(t.Context(), r.lines[0], now)
	var got []string
	for _, s := range spans {
		got = append(got, s.Date+" "+s.Name)
	}
	if want := "2026-11-24 early, 2026-11-24 cleaning, 2026-11-25 early, 2026-11-25 cleaning"; strings.Join(got, ", ") != want {
		t.Errorf("missing = %v, want %s", got, want)
	}
}

// Reports wait until no file waits; then come those that were missed, and after them one a shift. What could not be written is tried again
// with the next one.
func TestReportsWaitForTheBacklog(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		start := time.Now() // midnight, in the night shift
		r, log := shiftsWith(t, time.Now, start.Add(-30*time.Hour), start.Add(-9*time.Hour), start.Add(time.Hour))
		ctx, stop := context.WithCancel(t.Context())
		var waiting atomic.Int64
		waiting.Store(5)
		done := make(chan struct{})
		go func() {
			r.follow(ctx, r.lines[0], func() int { return int(waiting.Load()) })
			close(done)
		}()
		begun := func() int { return strings.Count(log.String(), "could not be written") }
		time.Sleep(time.Hour)
		synctest.Wait()
		if n := begun(); n != 0 || !strings.Contains(log.String(), "reports of shifts wait until the files that are there are judged") {
			t.Errorf("%d reports begun while files wait, want none, and the reason:\n%s", n, log)
		}
		waiting.Store(0)
		time.Sleep(time.Minute)
		synctest.Wait()
		if n := begun(); n != 2 || !strings.Contains(log.String(), "their reports are written now") {
			t.Errorf("%d reports begun after the backlog, want the two that were missed:\n%s", n, log)
		}
		time.Sleep(6 * time.Hour) // the night is over
		synctest.Wait()
		if n := begun(); n != 5 || !strings.Contains(log.String(), "shift=night") {
			t.Errorf("%d reports begun in all, want five: the night's, and the two once more:\n%s", n, log)
		}
		waiting.Store(7)
		time.Sleep(8*time.Hour + backlogMost)
		synctest.Wait()
		if !strings.Contains(log.String(), "files wait still, and reports are written without what they hold") {
			t.Errorf("nothing is said of files that wait for ever:\n%s", log)
		}
		before := strings.Count(log.String(), "files wait still")
		waiting.Store(unwatched)
		time.Sleep(9 * time.Hour)
		synctest.Wait()
		for said, want := range map[string]int{"reports of shifts wait while the line is not watched": 1, "the line is not watched now, such as while its folder is away, and reports are written": 1, "files wait still": before} {
			if n := strings.Count(log.String(), said); n != want {
				t.Errorf("while the folder is away it is said %d times that %s, want %d:\n%s", n, said, want, log)
			}
		}
		stop()
		<-done
		r.db.Close()
	})
}

// A shift in which nothing came gets its report with the next one, where its files come later after all.
func TestAShiftWhoseFilesComeLater(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		start := time.Now() // midnight, in the night shift
		r, log := shiftsWith(t, time.Now, start.Add(-30*24*time.Hour))
		ctx, stop := context.WithCancel(t.Context())
		done := make(chan struct{})
		go func() {
			r.follow(ctx, r.lines[0], func() int { return 0 })
			close(done)
		}()
		time.Sleep(7 * time.Hour)
		synctest.Wait()
		late := start.Add(time.Hour)
		if err := r.db.Append(ctx, history.Batch{Line: "Filler 3", Files: []history.Judged{judgedAt("late.csv", late)}}); err != nil {
			t.Fatal(err)
		}
		before := strings.Count(log.String(), "shift=night")
		if before != 1 {
			t.Errorf("the night's report was begun %d times at its end, want once:\n%s", before, log)
		}
		time.Sleep(8 * time.Hour)
		synctest.Wait()
		if n := strings.Count(log.String(), "shift=night"); n != before+1 {
			t.Errorf("the night's report was begun %d times after its files came, want once:\n%s", n-before, log)
		}
		stop()
		<-done
		r.db.Close()
	})
}

// Reports wait for files that are there, not for those that a busy line always has: which still settle.
func TestWaitingIsNotSettling(t *testing.T) {
	w := &watchers{board: monitor.NewBoard("", nil)}
	w.board.Set(monitor.Status{Line: "Filler 3", Behind: 3, Settling: 3})
	w.board.Set(monitor.Status{Line: "Filler 4", Behind: 3, Settling: 1})
	w.board.Set(monitor.Status{Line: "Filler 5", Trouble: "its folder is away"})
	for line, want := range map[string]int{"Filler 3": 0, "Filler 4": 2, "Filler 5": unwatched, "Filler 6": unwatched} {
		if got := w.waiting(line); got != want {
			t.Errorf("waiting(%s) = %d, want %d", line, got, want)
		}
	}
}

// What runs beside a watch writes the page of a shift at its end, two minutes after, and not before.
func TestTheReportComesAtTheEndOfTheShift(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		start := time.Now() // midnight, in the night shift
		r, log := shiftsWith(t, time.Now, start.Add(time.Minute))
		r.lines[0].Reference = filepath.Join("..", "..", "model", "testdata", "version-4.reference")
		span, ok := r.config.Plan().At(start)
		if !ok || span.To.Sub(start) != 6*time.Hour {
			t.Fatalf("the shift at %v = %+v, %v, want one until six", start, span, ok)
		}
		page := filepath.Join(shelfOf(r.config).Of("Filler 3", span), pages.HandoverName)
		ctx, stop := context.WithCancel(t.Context())
		done := make(chan struct{})
		go func() {
			r.follow(ctx, r.lines[0], func() int { return 0 })
			close(done)
		}()
		for _, c := range []struct {
			after time.Duration // midnight
			there bool
		}{{6*time.Hour + afterShift - time.Second, false}, {6*time.Hour + afterShift + time.Second, true}} {
			time.Sleep(c.after - time.Since(start))
			synctest.Wait()
			if exists(page) != c.there || strings.Contains(log.String(), "report written") != c.there {
				t.Errorf("%v after midnight the page is there: %v, want %v\n%s", c.after, exists(page), c.there, log)
			}
		}
		stop()
		<-done
		r.db.Close()
	})
}
