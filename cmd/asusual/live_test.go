package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/model"
	"asusual/model/spectrum"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/report/chart"
	"asusual/report/live"
)

// Options of watch go before the settings, one by one; an empty address shows no page.
func TestSettled(t *testing.T) {
	set := config.Live{Address: "0.0.0.0:8443", TokenFile: "t", Certificate: "c", Key: "k", Hosts: []string{"h"}}
	for _, c := range []struct {
		name    string
		options listening
		given   []string
		want    listening
	}{
		{"settings alone", listening{}, nil, listening{address: "0.0.0.0:8443", tokenFile: "t", cert: "c", key: "k", hosts: []string{"h"}}},
		{"another address", listening{address: "127.0.0.1:1"}, []string{"listen"},
			listening{address: "127.0.0.1:1", tokenFile: "t", cert: "c", key: "k", hosts: []string{"h"}}},
		{"all options", listening{"127.0.0.1:1", "T", "C", "K", []string{"H"}}, []string{"listen", "token-file", "certificate", "key", "host"},
			listening{"127.0.0.1:1", "T", "C", "K", []string{"H"}}},
		{"no page", listening{}, []string{"listen"}, listening{}},
	} {
		given := func(option string) bool {
			for _, g := range c.given {
				if g == option {
					return true
				}
			}
			return false
		}
		if got := c.options.settled(set, given); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: settled() = %+v, want %+v", c.name, got, c.want)
		}
	}
}

// hourOf returns the times of the readings that the page of Filler 3 shows, with how many spectra each holds.
func hourOf(t *testing.T, s *live.Site) (told string) {
	t.Helper()
	w := httptest.NewRecorder()
	s.Handler().ServeHTTP(w, httptest.NewRequest("GET", "/line/filler-3/data.json", nil))
	var m struct {
		Readings []struct {
			Time    time.Time
			Spectra int
		}
	}
	if err := json.Unmarshal(w.Body.Bytes(), &m); err != nil {
		t.Fatal(err)
	}
	for _, r := range m.Readings {
		told += fmt.Sprintf("%s %d, ", r.Time.UTC().Format("2006 15:04"), r.Spectra)
	}
	return told
}

// What a watch tells the page when it begins is the hour before the newest spectrum that took part in the verdict, once, however often
// it begins: a line that failed is tried again.
func TestTheHourIsToldOnce(t *testing.T) {
	dir := t.TempDir()
	good, file := filepath.Join(dir, "good"), filepath.Join(dir, "line.reference")
	if err := writeOats(good, "good", writeTable); err != nil {
		t.Fatal(err)
	}
	if status, _, said := call(t, "learn", "--good", good, "--pretreat", "snv", "--reference", file); status != statusDone {
		t.Fatalf("learn = %d: %s", status, said)
	}
	refs, err := monitor.NewReferenceFile(file, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	ref, err := refs.Current()
	if err != nil {
		t.Fatal(err)
	}
	db, err := history.Open(t.Context(), filepath.Join(dir, "h"), "test")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	b := history.Batch{Line: "Filler 3", State: history.State{Course: []byte("{}"), Reference: ref.Fingerprint, Newest: at("2026-11-25T12:00:00Z")}}
	for i, when := range []string{"2026-11-25T10:59:00Z", "2026-11-25T11:30:00Z", "2026-11-25T11:30:01Z", "2026-11-25T12:00:00Z", "2030-01-01T00:00:00Z"} {
		b.Files = append(b.Files, history.Judged{File: history.File{Name: fmt.Sprint(i, ".csv"), Version: 1, Modified: at(when), Received: at(when)},
			Records: []history.Record{{Time: at(when), Received: at(when), Condition: "usual", Inside: true, Verdict: "as usual", Instrument: "fit", Reference: ref.Fingerprint}}})
	}
	if err := db.Append(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	site, err := live.New(live.Options{Lines: []string{"Filler 3"}})
	if err != nil {
		t.Fatal(err)
	}
	page := &livePage{site: site, db: db, log: slog.New(slog.DiscardHandler)}
	for range 2 {
		line := monitor.Line{Name: "Filler 3", References: refs}
		if err := page.join(t.Context(), &line); err != nil {
			t.Fatal(err)
		}
		if got, want := hourOf(t, site), "2026 11:30 2, 2026 12:00 1, "; got != want {
			t.Errorf("the page is told %s, want %s", got, want)
		}
		line.Judged(history.Record{Time: at("2030-01-01T00:00:01Z"), Condition: "usual", Reference: ref.Fingerprint}) // and then the watch fails
	}
}

// A scale measures the same at each channel: the minute of the spectrum.
type scale struct{ minute float64 }

func (s *scale) Judge(_ *model.Judgement, of spectrum.Spectrum) { s.minute = float64(of.Time.Minute()) }
func (s *scale) Absorbance() []float64                          { return []float64{s.minute, s.minute} }

// Once the clock was put back, the newest spectrum is shown again, not that of a time to come.
func TestTheNewestSpectrumAfterTheClockWasPutBack(t *testing.T) {
	site, err := live.New(live.Options{Lines: []string{"Filler 3"}})
	if err != nil {
		t.Fatal(err)
	}
	f := &feed{line: site.Line("Filler 3"), same: []string{"r"}}
	f.line.Know(live.Usual{Axis: chart.Axis{Unit: "nm", At: []float64{1000, 1010}}, Mean: []float64{0, 0}, SD: []float64{1, 1}})
	judge := &overheard{&scale{}, f}
	for _, when := range []string{"2030-01-01T00:01:00Z", "2026-11-25T11:30:00Z", "2026-11-25T11:31:00Z"} {
		judge.Judge(&model.Judgement{}, spectrum.Spectrum{Time: at(when)})
		f.judged(history.Record{Time: at(when), Condition: "usual", Reference: "r"})
	}
	w := httptest.NewRecorder()
	site.Handler().ServeHTTP(w, httptest.NewRequest("GET", "/line/filler-3/data.json", nil))
	var m struct {
		Spectrum struct{ Absorbance []float64 }
	}
	if err := json.Unmarshal(w.Body.Bytes(), &m); err != nil || !reflect.DeepEqual(m.Spectrum.Absorbance, []float64{31, 31}) {
		t.Errorf("the page has the spectrum %v, %v, want that of 11:31", m.Spectrum.Absorbance, err)
	}
}

// An unlocked notes whether the feed was locked when something was logged.
type unlocked struct {
	slog.Handler
	feed   *feed
	logged int
	locked bool
}

func (u *unlocked) Handle(context.Context, slog.Record) error {
	u.logged++
	if u.locked = !u.feed.mu.TryLock(); !u.locked {
		u.feed.mu.Unlock()
	}
	return nil
}

// A verdict that holds no more is none on the page either, nor for a program that reads how the lines stand.
func TestThePageHoldsNoVerdictForLongerThanItsWatch(t *testing.T) {
	db, err := history.Open(t.Context(), filepath.Join(t.TempDir(), "h"), "test")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	site, err := live.New(live.Options{Lines: []string{"Filler 3"}})
	if err != nil {
		t.Fatal(err)
	}
	f := &feed{ctx: t.Context(), page: &livePage{site: site, db: db, log: slog.New(slog.DiscardHandler)}, line: site.Line("Filler 3"), name: "Filler 3"}
	last := at("2026-11-25T12:00:00Z") // years from whenever this runs
	for _, c := range []struct {
		fresh     time.Duration
		now, then string
	}{{0, "as usual", ""}, {time.Second, "cannot say", "as usual"}} {
		f.kept(monitor.Status{Verdict: "as usual", Since: last, LastJudged: last, Fresh: c.fresh})
		w := httptest.NewRecorder()
		site.Handler().ServeHTTP(w, httptest.NewRequest("GET", "/lines.json", nil))
		var told struct {
			Lines []struct {
				Verdict string
				Last    string `json:"last_verdict"`
			}
		}
		if err := json.Unmarshal(w.Body.Bytes(), &told); err != nil || len(told.Lines) != 1 {
			t.Fatalf("lines.json = %s, %v", w.Body, err)
		}
		if got := told.Lines[0]; got.Verdict != c.now || got.Last != c.then {
			t.Errorf("fresh for %v: lines.json says %q, last %q, want %q, %q", c.fresh, got.Verdict, got.Last, c.now, c.then)
		}
	}
}

// Judging does not wait for what the page asks of history.
func TestJudgingDoesNotWaitForThePage(t *testing.T) {
	db, err := history.Open(t.Context(), filepath.Join(t.TempDir(), "h"), "test")
	if err != nil {
		t.Fatal(err)
	}
	db.Close() // so that asking is an error, which is logged where history was asked
	site, err := live.New(live.Options{Lines: []string{"Filler 3"}})
	if err != nil {
		t.Fatal(err)
	}
	log := &unlocked{Handler: slog.NewTextHandler(io.Discard, nil)}
	f := &feed{ctx: t.Context(), page: &livePage{site: site, db: db, log: slog.New(log)}, line: site.Line("Filler 3")}
	log.feed = f
	f.kept(monitor.Status{})
	if log.logged != 1 || log.locked {
		t.Errorf("while history is asked for the groups (%d times) the feed is locked: %v", log.logged, log.locked)
	}
}

// A live page of the configuration whose port is taken, or whose token or certificate is not there, keeps no line from being watched, and
// comes once it can be opened. One that is asked for wrongly, or on the command line, is an error.
func TestAPageThatCannotBeOpenedYet(t *testing.T) {
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	address, none := taken.Addr().String(), filepath.Join(t.TempDir(), "none")
	short := filepath.Join(t.TempDir(), "short")
	if err := os.WriteFile(short, []byte("short"), 0o600); err != nil {
		t.Fatal(err)
	}
	r, log := shiftsWith(t, time.Now)
	for _, c := range []struct {
		name   string
		o      listening
		must   bool
		opened bool // or to be opened yet
	}{
		{"the port is taken", listening{address: address}, false, true},
		{"no token yet", listening{address: "127.0.0.1:0", tokenFile: none}, false, true},
		{"no certificate yet", listening{address: "127.0.0.1:0", cert: none, key: none}, false, true},
		{"the port is taken, and it was asked for by hand", listening{address: address}, true, false},
		{"a token that is too short", listening{address: "127.0.0.1:0", tokenFile: short}, false, false},
		{"no token", listening{address: "0.0.0.0:0"}, false, false},
		{"no port", listening{address: "8080"}, false, false},
		{"no such port", listening{address: "127.0.0.1:80800"}, false, false},
	} {
		p, err := r.openLive(c.o, c.must)
		if (err == nil) != c.opened || c.opened && p.at != nil {
			t.Errorf("%s: openLive() = %v, want the watch to go on: %v", c.name, err, c.opened)
		}
		p.close()
	}
	if said := strings.Count(log.String(), "the live page cannot be opened; the lines are watched all the same"); said != 3 {
		t.Errorf("the log says %d times that the page cannot be opened, want 3:\n%s", said, log)
	}
	p, err := r.openLive(listening{address: address}, false)
	if err != nil {
		t.Fatal(err)
	}
	p.again, p.board = time.Millisecond, monitor.NewBoard("", nil)
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- p.run(ctx) }()
	taken.Close()
	for {
		answer, err := http.Get("http://" + address + "/lines.json")
		if err == nil {
			answer.Body.Close()
			break
		}
		if t.Context().Err() != nil {
			t.Fatal(err)
		}
		runtime.Gosched()
	}
	if got := p.board.Bulletin().Page; got != address {
		t.Errorf("the state file says that the page is at %q, want %q", got, address)
	}
	stop()
	if err := <-done; err != nil || p.board.Bulletin().Page != "" {
		t.Errorf("run() = %v, and the state file says that the page is at %q, want nowhere", err, p.board.Bulletin().Page)
	}
	if said := strings.Count(log.String(), "the live page cannot be opened"); said != 4 {
		t.Errorf("the log says %d times that a page cannot be opened, want each of 4 once:\n%s", said, log)
	}
}

// Why a page cannot be opened is said once where only figures of it differ, such as the port from which the name server was asked, and
// again where it is something else.
func TestWhyAPageIsShutIsSaidOnce(t *testing.T) {
	log := &tail{}
	p := &livePage{log: slog.New(slog.NewTextHandler(log, nil))}
	for _, c := range []struct {
		why  string
		said int // so far
	}{
		{"lookup h on 10.0.0.1:53: read udp 10.0.0.2:40404->10.0.0.1:53: i/o timeout", 1},
		{"lookup h on 10.0.0.1:53: read udp 10.0.0.2:51789->10.0.0.1:53: i/o timeout", 1},
		{"lookup h on 10.0.0.1:53: no such host", 2},
	} {
		p.shut(errors.New(c.why))
		if said := strings.Count(log.String(), "the live page cannot be opened"); said != c.said {
			t.Errorf("after %q the log says %d times that the page cannot be opened, want %d", c.why, said, c.said)
		}
	}
}

// The lines do not wait without end for a token or a certificate on a share that hangs, either.
func TestTheLinesDoNotWaitForThePage(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		hangs := make(chan struct{})
		p := &livePage{open: func() (*live.Listener, error) { <-hangs; return nil, errors.New("too late") }}
		began := time.Now()
		if at, err := p.soon(); at != nil || err == nil || !mayPass(err) || time.Since(began) != soonEnough {
			t.Errorf("soon() = %v, %v after %v, want that it may pass after %v", at, err, time.Since(began), soonEnough)
		}
		close(hangs)
		synctest.Wait()
	})
}

// A stop does not wait for a token or a certificate on a share that hangs, and a door that opens after it is closed again.
func TestAStopDoesNotWaitForThePage(t *testing.T) {
	late, err := live.Door{Address: "127.0.0.1:0"}.Listen()
	if err != nil {
		t.Fatal(err)
	}
	defer late.Close()
	site, err := live.New(live.Options{Lines: []string{"Filler 3"}})
	if err != nil {
		t.Fatal(err)
	}
	synctest.Test(t, func(t *testing.T) {
		hangs := make(chan struct{})
		p := &livePage{site: site, log: slog.New(slog.DiscardHandler), open: func() (*live.Listener, error) { <-hangs; return late, nil }}
		ctx, stop := context.WithCancel(t.Context())
		done := make(chan error, 1)
		go func() { done <- p.run(ctx) }()
		time.Sleep(2 * time.Minute) // it is tried, and hangs
		stop()
		synctest.Wait()
		select {
		case err := <-done:
			if err != nil {
				t.Errorf("run() = %v, want that it was stopped", err)
			}
		default:
			t.Error("run() waits after the stop for a door that hangs")
		}
		close(hangs)
		synctest.Wait()
		if late.Close() == nil {
			t.Error("the door that opened after the stop was left open")
		}
	})
}
