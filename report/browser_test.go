package report

import (
	"bufio"
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
)

// A browser is a headless Chromium, driven over a pipe by its DevTools protocol.
type browser struct {
	in      io.WriteCloser
	out     *bufio.Reader
	next    int
	session string
	events  []event // since the last look
}

type event struct {
	Method string          `json:"method"`
	Params json.RawMessage `json:"params"`
}

// newBrowser starts Chromium, or skips the test where there is none. With ASUSUAL_NO_SKIP=1 that fails it instead.
func newBrowser(t *testing.T) *browser {
	t.Helper()
	skip := t.Skipf
	if os.Getenv("ASUSUAL_NO_SKIP") == "1" {
		skip = t.Fatalf
	}
	if runtime.GOOS == "windows" {
		skip("the pipe to Chromium needs file descriptors, which %s does not hand on", runtime.GOOS)
	}
	path, err := exec.LookPath("chromium")
	if err != nil {
		skip("no chromium on this machine: %v", err)
	}
	fromTest, toBrowser, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	fromBrowser, toTest, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(path, "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--disable-background-networking",
		"--no-first-run", "--user-data-dir="+t.TempDir(), "--remote-debugging-pipe")
	cmd.ExtraFiles = []*os.File{fromTest, toTest} // descriptors 3 and 4, which Chromium reads and writes
	if err := cmd.Start(); err != nil {
		t.Fatalf("starting %s: %v", path, err)
	}
	fromTest.Close()
	toTest.Close()
	b := &browser{in: toBrowser, out: bufio.NewReaderSize(fromBrowser, 1<<20)}
	timer := time.AfterFunc(4*time.Minute, func() { cmd.Process.Kill() }) // a browser that hangs does not hang the tests
	t.Cleanup(func() {
		toBrowser.Write([]byte(`{"id":1000000,"method":"Browser.close"}` + "\x00"))
		toBrowser.Close()
		io.Copy(io.Discard, fromBrowser)
		cmd.Wait()
		timer.Stop()
		fromBrowser.Close()
	})
	return b
}

// call sends a command and returns its result; what happens meanwhile is kept in events.
func (b *browser) call(t *testing.T, method string, params map[string]any, result any) {
	t.Helper()
	b.next++
	msg := map[string]any{"id": b.next, "method": method, "params": params}
	if b.session != "" {
		msg["sessionId"] = b.session
	}
	raw, err := json.Marshal(msg)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.in.Write(append(raw, 0)); err != nil {
		t.Fatalf("%s: %v", method, err)
	}
	for {
		var got struct {
			ID     int             `json:"id"`
			Result json.RawMessage `json:"result"`
			Error  json.RawMessage `json:"error"`
			event
		}
		b.read(t, &got)
		if got.ID == 0 {
			b.events = append(b.events, got.event)
			continue
		}
		if got.ID != b.next {
			continue
		}
		if got.Error != nil {
			t.Fatalf("%s: %s", method, got.Error)
		}
		if result != nil {
			if err := json.Unmarshal(got.Result, result); err != nil {
				t.Fatalf("%s: %v", method, err)
			}
		}
		return
	}
}

func (b *browser) read(t *testing.T, into any) {
	t.Helper()
	raw, err := b.out.ReadBytes(0)
	if err != nil {
		t.Fatalf("Chromium ended: %v", err)
	}
	if err := json.Unmarshal(bytes.TrimRight(raw, "\x00"), into); err != nil {
		t.Fatal(err)
	}
}

// open makes a page and listens to its console, its log and its requests.
func (b *browser) open(t *testing.T) {
	t.Helper()
	var target struct{ TargetID string }
	b.call(t, "Target.createTarget", map[string]any{"url": "about:blank"}, &target)
	var attached struct{ SessionID string }
	b.call(t, "Target.attachToTarget", map[string]any{"targetId": target.TargetID, "flatten": true}, &attached)
	b.session = attached.SessionID
	for _, d := range []string{"Page", "Runtime", "Log", "Network"} {
		b.call(t, d+".enable", nil, nil)
	}
}

// load shows a file at a width and waits until all of it is there.
func (b *browser) load(t *testing.T, file string, width int, media string) {
	t.Helper()
	b.call(t, "Emulation.setDeviceMetricsOverride", map[string]any{"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 500}, nil)
	b.call(t, "Emulation.setEmulatedMedia", map[string]any{"media": media}, nil)
	b.events = nil
	b.call(t, "Page.navigate", map[string]any{"url": (&url.URL{Scheme: "file", Path: file}).String()}, nil)
	for {
		for _, e := range b.events {
			if e.Method == "Page.loadEventFired" {
				return
			}
		}
		var e event
		b.read(t, &e)
		b.events = append(b.events, e)
	}
}

// eval returns what an expression gives on the page.
func (b *browser) eval(t *testing.T, expression string, into any) {
	t.Helper()
	var got struct {
		Result           struct{ Value json.RawMessage }
		ExceptionDetails json.RawMessage
	}
	b.call(t, "Runtime.evaluate", map[string]any{"expression": expression, "returnByValue": true}, &got)
	if got.ExceptionDetails != nil {
		t.Fatalf("%s: %s", expression, got.ExceptionDetails)
	}
	if err := json.Unmarshal(got.Result.Value, into); err != nil {
		t.Fatalf("%s: %v", expression, err)
	}
}

// troubles are what the console, the log and the requests of the page tell since it was loaded.
func (b *browser) troubles(file string) (all []string) {
	for _, e := range b.events {
		switch e.Method {
		case "Runtime.consoleAPICalled", "Runtime.exceptionThrown", "Log.entryAdded", "Network.loadingFailed":
			all = append(all, e.Method+": "+string(e.Params))
		case "Network.requestWillBeSent":
			var p struct{ Request struct{ URL string } }
			json.Unmarshal(e.Params, &p)
			if !strings.HasPrefix(p.Request.URL, "data:") && !strings.HasSuffix(p.Request.URL, filepath.Base(file)) {
				all = append(all, "request of "+p.Request.URL)
			}
		}
	}
	return all
}

// TestInBrowser shows every page at the width of a screen, of a telephone and of paper, and asks a real browser.
func TestInBrowser(t *testing.T) {
	if testing.Short() {
		t.Skip("a browser takes seconds")
	}
	b := newBrowser(t)
	b.open(t)
	dir := t.TempDir()
	headlines := map[string]string{
		"handover-changed": "The process has changed, since about 11:20.", "handover-usual": "As usual.",
		"handover-cannot-say": "Cannot say.", "handover-empty": "Cannot say.", "handover-against": "The process has changed, since about 11:20.",
		"card": "line.reference", "compare": "Today against last week: the process has changed.", "index": "Reports",
	}
	for name, p := range allPages(t) {
		file := filepath.Join(dir, name+".html")
		if err := os.WriteFile(file, p.HTML, 0o644); err != nil {
			t.Fatal(err)
		}
		for _, width := range []int{1280, 390} {
			t.Run(fmt.Sprintf("%s/%d", name, width), func(t *testing.T) {
				b.load(t, file, width, "screen")
				b.checkScreen(t, headlines[name], width)
				for _, trouble := range b.troubles(file) {
					t.Error(trouble)
				}
			})
		}
		most, printed := map[string]int{"handover-changed": 3, "handover-cannot-say": 3, "handover-empty": 3, "card": 4}[name]
		if !printed {
			continue
		}
		t.Run(name+"/A4", func(t *testing.T) {
			b.checkPaper(t, file, headlines[name], most, strings.HasPrefix(name, "handover"))
		})
	}
}

func (b *browser) checkScreen(t *testing.T, headline string, width int) {
	t.Helper()
	var text string
	b.eval(t, `document.querySelector("h1").innerText`, &text)
	if text != headline {
		t.Errorf("the headline reads %q, want %q", text, headline)
	}
	var wide int
	b.eval(t, `document.documentElement.scrollWidth`, &wide)
	if wide > width {
		var which []string
		b.eval(t, fmt.Sprintf(`[...document.querySelectorAll("body *")].filter(e => e.getBoundingClientRect().right > %d && !e.closest(".scroll")).map(e => e.outerHTML.slice(0, 80))`, width), &which)
		t.Errorf("the page is %d px wide on %d: %q", wide, width, which)
	}
	var broken int
	b.eval(t, `[...document.images].filter(i => !i.complete || i.naturalWidth == 0).length`, &broken)
	if broken > 0 {
		t.Errorf("%d pictures are broken", broken)
	}
	var pictures int
	b.eval(t, `document.querySelectorAll("img[onerror], img[src=x], script").length`, &pictures)
	if pictures > 0 {
		t.Errorf("%d elements came from the name of a file", pictures)
	}
}

// checkPaper prints on A4: how many pages, and whether the first holds all answers and the lines to sign.
func (b *browser) checkPaper(t *testing.T, file, headline string, most int, first bool) {
	t.Helper()
	b.load(t, file, 688, "print") // the width between the margins: 182 mm at 96 pixels an inch
	if first {
		var bottom float64
		b.eval(t, `document.querySelector(".short-caution").getBoundingClientRect().bottom + scrollY`, &bottom)
		if high := (297 - 22) / 25.4 * 96; bottom > high {
			t.Errorf("the first page needs %.0f px, A4 has %.0f", bottom, high)
		}
	}
	var pdf struct{ Data string }
	b.call(t, "Page.printToPDF", map[string]any{"preferCSSPageSize": true, "printBackground": false}, &pdf)
	raw, err := base64.StdEncoding.DecodeString(pdf.Data)
	if err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(raw, []byte("/Type /Page\n")); n == 0 || n > most {
		t.Errorf("prints on %d pages, want 1 to %d", n, most)
	}
	if path, err := exec.LookPath("pdftotext"); err == nil {
		cmd := exec.Command(path, "-l", "1", "-", "-")
		cmd.Stdin = bytes.NewReader(raw)
		out, err := cmd.Output()
		if text := strings.Join(strings.Fields(string(out)), " "); err != nil || !strings.Contains(text, headline) {
			t.Errorf("pdftotext of the first page: %v, want %q in it, got %.200q", err, headline, text)
		}
	}
	if dir := os.Getenv("ASUSUAL_KEEP_PAGES"); dir != "" {
		name := filepath.Join(dir, strings.TrimSuffix(filepath.Base(file), ".html"))
		if err := os.WriteFile(name+".pdf", raw, 0o644); err != nil {
			t.Fatal(err)
		}
		html, err := os.ReadFile(file)
		if err == nil {
			err = os.WriteFile(name+".html", html, 0o644)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}
