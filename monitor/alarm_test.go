package monitor_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"asusual/model/alarm"
	"asusual/model/oatline"
	"asusual/monitor"
	"asusual/monitor/history"
)

// ask asks with patience.
func (b *bench) ask(r monitor.Request) (history.Act, error) {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	r.Line, r.Who = "Filler 3", "Ada"
	return monitor.Ask(ctx, b.path, r)
}

func (b *bench) acts() (words string) {
	b.t.Helper()
	for _, a := range all(b.t, b.db.Acts(context.Background(), everything)) {
		words += a.Act
		if a.Refused != "" {
			words += " refused"
		}
		words += ", "
	}
	return words
}

// The alarm of a change is acknowledged and shelved from outside, while the line is watched; the next start knows it.
func TestAlarmIsAcknowledgedWhileWatching(t *testing.T) {
	b := newBench(t)
	b.putAll(produced(t, 110, oatline.Upset{Kind: oatline.OilPump, After: 80 * time.Minute}))
	line := b.line()
	board := monitor.NewBoard("", nil)
	line.Board = board
	wait := kept(t, &line)
	stop := watching(t, line)
	defer stop()
	wait(110)
	got := board.Bulletin().Lines[0].Alarm
	if got.State != alarm.Unacknowledged || got.Episode.IsZero() {
		t.Fatalf("alarm after the oil pump failed = %+v, want unacknowledged, about its episode", got)
	}
	if info, err := os.Stat(b.path + ".requests"); err != nil || !info.IsDir() {
		t.Errorf("the folder of requests = %v, want that of the watch before anybody asks", err)
	}
	a, err := b.ask(monitor.Request{Act: monitor.Acknowledged, Why: "pump 2 was off <b>"})
	if err != nil || a.State != "acknowledged" || a.Who != "Ada" || a.Why != "pump 2 was off <b>" || !a.Episode.Equal(got.Episode) {
		t.Errorf("Ask to acknowledge = %+v, %v, want acknowledged", a, err)
	}
	until := time.Now().Add(time.Hour).UTC().Truncate(time.Second)
	if a, err = b.ask(monitor.Request{Act: monitor.Shelved, Why: "repair", Until: until}); err != nil || !a.Until.Equal(until) {
		t.Errorf("Ask to shelve = %+v, %v, want shelved until %v", a, err, until)
	}
	if _, err = b.ask(monitor.Request{Act: monitor.Shelved, Why: "for ever", Until: until.AddDate(1, 0, 0)}); !errors.Is(err, monitor.ErrRefused) {
		t.Errorf("Ask to shelve for a year = %v, want it refused", err)
	}
	stop()
	want := "raised, acknowledged, shelved, shelved refused, "
	if got := b.acts(); got != want {
		t.Errorf("Acts = %s, want %s", got, want)
	}
	if left, err := os.ReadDir(b.path + ".requests"); err != nil || len(left) != 0 {
		t.Errorf("requests left = %v, %v, want none", left, err)
	}
	if err := b.db.Close(); err != nil {
		t.Fatal(err)
	}
	if a, err = b.ask(monitor.Request{Act: monitor.Unshelved, Why: "repaired"}); err != nil || a.State != "unacknowledged" {
		t.Errorf("Ask to unshelve where nobody watches = %+v, %v, want unacknowledged, for the change is still there", a, err)
	}
	b.open()
	if got := b.acts(); got != want+"unshelved, " {
		t.Errorf("Acts = %s, want %s", got, want+"unshelved, ")
	}
}

// answering begins a watch that answers the next request in history and may not take its file away. end waits for it, or gives it up.
func (b *bench) answering() (end func()) {
	ctx, stop := context.WithCancel(b.t.Context())
	var done sync.WaitGroup
	done.Go(func() { b.answer(ctx) })
	return func() { stop(); done.Wait() }
}

func (b *bench) answer(ctx context.Context) {
	for {
		found, err := filepath.Glob(b.path + ".requests/*.json")
		if err != nil || ctx.Err() != nil {
			return
		}
		if len(found) == 0 {
			<-time.After(time.Millisecond)
			continue
		}
		id := strings.TrimSuffix(filepath.Base(found[0]), ".json")
		act := history.Act{Time: time.Now(), Act: monitor.Acknowledged, Who: "Ada", Why: "seen", State: "acknowledged", Request: id}
		if err := b.db.Append(context.Background(), history.Batch{Line: "Filler 3", Acts: []history.Act{act}}); err != nil {
			b.t.Error(err)
		}
		return
	}
}

// Whoever asks takes his request away once it is answered: in a folder that is another user's, the watch cannot.
func TestARequestThatTheWatchCannotTakeAway(t *testing.T) {
	b := newBench(t)
	end := b.answering()
	if a, err := b.ask(monitor.Request{Act: monitor.Acknowledged, Why: "seen"}); err != nil || a.State != "acknowledged" {
		t.Errorf("Ask = %+v, %v, want the answer", a, err)
	}
	end()
	if left, err := os.ReadDir(b.path + ".requests"); err != nil || len(left) != 0 {
		t.Errorf("requests left = %v, %v, want none", left, err)
	}
}

// Whoever names the history by a link asks where its watch looks.
func TestARequestThroughALink(t *testing.T) {
	b := newBench(t)
	link := filepath.Join(t.TempDir(), "link.history")
	if err := os.Symlink(b.path, link); err != nil {
		t.Skip(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	end := b.answering()
	defer end()
	a, err := monitor.Ask(ctx, link, monitor.Request{Line: "Filler 3", Act: monitor.Acknowledged, Who: "Ada", Why: "seen"})
	if err != nil || a.State != "acknowledged" {
		t.Errorf("Ask = %+v, %v, want the answer", a, err)
	}
}

// Who may write to the folder of requests may ask, also who may not write the history.
func TestWhoMayOnlyAsk(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("root may write everywhere")
	}
	b := newBench(t)
	for _, err := range []error{os.Mkdir(b.path+".requests", 0o755), os.Chmod(b.path, 0o444), os.Chmod(b.path+".lock", 0o444)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	end := b.answering()
	if a, err := b.ask(monitor.Request{Act: monitor.Acknowledged, Why: "seen"}); err != nil || a.State != "acknowledged" {
		t.Errorf("Ask = %+v, %v, want the answer", a, err)
	}
	end()
	if err := os.Chmod(b.path+".requests", 0o555); err != nil {
		t.Fatal(err)
	}
	if a, err := b.ask(monitor.Request{Act: monitor.Acknowledged, Why: "seen"}); !errors.Is(err, history.ErrReadOnly) {
		t.Errorf("Ask where the folder of requests may not be written either = %+v, %v, want %v", a, err, history.ErrReadOnly)
	}
	for _, err := range []error{os.Chmod(b.path+".requests", 0o755), b.db.Close()} {
		if err != nil {
			t.Fatal(err)
		}
	}
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	if a, err := monitor.Ask(ctx, b.path, monitor.Request{Line: "Filler 3", Act: monitor.Acknowledged, Who: "Ada", Why: "seen"}); !errors.Is(err, history.ErrReadOnly) {
		t.Errorf("Ask where nobody watches = %+v, %v, want %v, and not that it waits for an answer", a, err, history.ErrReadOnly)
	}
	if left, err := os.ReadDir(b.path + ".requests"); err != nil || len(left) > 0 {
		t.Errorf("Ask where nobody watches leaves %v, %v, want no request", left, err)
	}
}

// What stands in the folder of requests and is none does no harm, and is said once.
func TestRequestsThatAreNone(t *testing.T) {
	b := newBench(t)
	box := b.path + ".requests"
	if err := os.Mkdir(box, 0o755); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"a.json": "{", "b.json": strings.Repeat("[", 1<<15), "c.json": `{"id":"../../c","line":"Filler 3","act":"acknowledged","who":"x","why":"y"}`,
		"d.json": `{"id":"d","line":"Filler 3","act":"delete","who":"x","why":"y"}`, "e.json": `{"id":"e","line":"Filler 3","act":"acknowledged","who":" ","why":"y"}`,
		"notes.txt": "not looked at", "f.json": `{"id":"f","line":"Filler 9","act":"acknowledged","who":"x","why":"y"}`,
	} {
		if err := os.WriteFile(filepath.Join(box, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	line := b.line()
	stop := watching(t, line)
	defer stop()
	if _, err := b.ask(monitor.Request{Act: monitor.Acknowledged, Why: "seen"}); !errors.Is(err, monitor.ErrRefused) || !strings.Contains(err.Error(), "nothing to acknowledge") {
		t.Errorf("Ask beside them = %v, want an answer", err)
	}
	stop()
	left, err := os.ReadDir(box)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range left {
		names = append(names, e.Name())
	}
	if got, want := strings.Join(names, " "), "a.json.refused b.json.refused c.json.refused d.json.refused e.json.refused f.json notes.txt"; got != want {
		t.Errorf("left in the folder = %s, want %s", got, want)
	}
	if n := strings.Count(b.logged(), "was set aside"); n != 5 {
		t.Errorf("log lines about them = %d, want 5:\n%s", n, b.logged())
	}
}

func TestAskOfNothing(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	good := monitor.Request{Line: "Filler 9", Act: monitor.Acknowledged, Who: "Ada", Why: "seen"}
	if _, err := monitor.Ask(ctx, filepath.Join(t.TempDir(), "none"), good); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("Ask without a history = %v, want %v", err, os.ErrNotExist)
	}
	for _, r := range []monitor.Request{{}, {Line: "Filler 3", Act: monitor.Shelved, Who: "Ada", Why: "x"},
		{Line: "Filler 3", Act: monitor.Acknowledged, Who: "Ada"}, {Line: "Filler 3", Act: monitor.Acknowledged, Who: "\xff", Why: "x"},
		{Line: "Filler 3", Act: monitor.Acknowledged, Who: "Ada", Why: strings.Repeat("x", 1<<14)}} {
		if _, err := monitor.Ask(ctx, "x", r); !errors.Is(err, monitor.ErrRefused) {
			t.Errorf("Ask(%+.40v) = %v, want it refused", r, err)
		}
	}
	b := newBench(t) // its history is held, and nobody watches line 9
	go func() {      // whoever asks waits for an answer until the context ends
		defer cancel()
		for asked := false; !asked && t.Context().Err() == nil; <-time.After(10 * time.Millisecond) {
			requests, _ := filepath.Glob(filepath.Join(b.path+".requests", "*.json"))
			asked = len(requests) > 0
		}
	}()
	if _, err := monitor.Ask(ctx, b.path, good); err == nil || !strings.Contains(err.Error(), `does it watch line "Filler 9"`) {
		t.Errorf("Ask of a line that nobody watches = %v, want that said", err)
	}
	if left, err := os.ReadDir(b.path + ".requests"); err != nil || len(left) != 0 {
		t.Errorf("requests left = %v, %v, want none", left, err)
	}
}
