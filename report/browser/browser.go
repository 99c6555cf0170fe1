package browser

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
	"runtime"
	"testing"
	"time"
)

// A Browser is a headless Chromium with one page, driven over a pipe by its DevTools protocol.
type Browser struct {
	in      io.WriteCloser
	out     *bufio.Reader
	next    int
	session string
	loader  string  // of the page
	events  []event // since the page was loaded
}

type event struct {
	Method string          `json:"method"`
	Params json.RawMessage `json:"params"`
}

// New starts Chromium, or skips the test where there is none. With ASUSUAL_NO_SKIP=1 that fails it instead.
func New(t testing.TB) *Browser {
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
		"--no-first-run", "--user-data-dir="+userData(t), "--remote-debugging-pipe")
	cmd.ExtraFiles = []*os.File{fromTest, toTest} // descriptors 3 and 4, which Chromium reads and writes
	if err := cmd.Start(); err != nil {
		t.Fatalf("starting %s: %v", path, err)
	}
	fromTest.Close()
	toTest.Close()
	b := &Browser{in: toBrowser, out: bufio.NewReaderSize(fromBrowser, 1<<20)}
	timer := time.AfterFunc(15*time.Minute, func() { cmd.Process.Kill() }) // a browser that hangs does not hang the tests
	t.Cleanup(func() {
		toBrowser.Write([]byte(`{"id":1000000,"method":"Browser.close"}` + "\x00"))
		toBrowser.Close()
		io.Copy(io.Discard, fromBrowser)
		cmd.Wait()
		timer.Stop()
		fromBrowser.Close()
	})
	b.open(t)
	return b
}

// userData returns a folder for a browser. Processes of it may write there for a moment after it has ended.
func userData(t testing.TB) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "asusual-browser-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		for range 50 {
			if os.RemoveAll(dir) == nil {
				return
			}
			<-time.After(100 * time.Millisecond)
		}
		t.Logf("%s is left behind: it could not be removed", dir)
	})
	return dir
}

// open makes the page and listens to its console, its log and its requests.
func (b *Browser) open(t testing.TB) {
	t.Helper()
	var target struct{ TargetID string }
	b.Call(t, "Target.createTarget", map[string]any{"url": "about:blank"}, &target)
	var attached struct{ SessionID string }
	b.Call(t, "Target.attachToTarget", map[string]any{"targetId": target.TargetID, "flatten": true}, &attached)
	b.session = attached.SessionID
	for _, d := range []string{"Page", "Runtime", "Log", "Network"} {
		b.Call(t, d+".enable", nil, nil)
	}
}

// Call sends a command of the DevTools protocol and returns its result; what happens meanwhile is kept for Troubles.
func (b *Browser) Call(t testing.TB, method string, params map[string]any, result any) {
	t.Helper()
	if failed := b.call(t, method, params, result); failed != "" {
		t.Fatalf("%s: %s", method, failed)
	}
}

// call is Call that returns the error of the command, "" for none.
func (b *Browser) call(t testing.TB, method string, params map[string]any, result any) (failed string) {
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
			return string(got.Error)
		}
		if result != nil {
			if err := json.Unmarshal(got.Result, result); err != nil {
				t.Fatalf("%s: %v", method, err)
			}
		}
		return ""
	}
}

func (b *Browser) read(t testing.TB, into any) {
	t.Helper()
	raw, err := b.out.ReadBytes(0)
	if err != nil {
		t.Fatalf("Chromium ended: %v", err)
	}
	if err := json.Unmarshal(bytes.TrimRight(raw, "\x00"), into); err != nil {
		t.Fatal(err)
	}
}

// A View is how a page is looked at.
type View struct {
	Width, Height int    // in CSS pixels; below 500 as on a telephone; a height of 0 is 900
	Media         string // "screen" or "print"; "" is screen
	Dark          bool   // the reader prefers a dark page
}

// FileURL returns the address of a file.
func FileURL(path string) string { return (&url.URL{Scheme: "file", Path: path}).String() }

// Load shows an address and waits until all of it is there. What was told before is forgotten.
func (b *Browser) Load(t testing.TB, address string, v View) {
	t.Helper()
	if v.Height == 0 {
		v.Height = 900
	}
	scheme := "light"
	if v.Dark {
		scheme = "dark"
	}
	b.Call(t, "Emulation.setDeviceMetricsOverride", map[string]any{"width": v.Width, "height": v.Height, "deviceScaleFactor": 1, "mobile": v.Width < 500}, nil)
	b.Call(t, "Emulation.setEmulatedMedia", map[string]any{"media": v.Media,
		"features": []map[string]string{{"name": "prefers-color-scheme", "value": scheme}}}, nil)
	b.navigate(t, "about:blank") // what the page before is still at has an end with it, and is told by now
	b.navigate(t, address)
}

// navigate goes to an address and waits until it is loaded.
func (b *Browser) navigate(t testing.TB, address string) {
	t.Helper()
	b.events = nil
	var of struct{ LoaderID string }
	b.Call(t, "Page.navigate", map[string]any{"url": address}, &of)
	b.loader = of.LoaderID
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

// Eval returns what an expression gives on the page; a promise is waited for.
func (b *Browser) Eval(t testing.TB, expression string, into any) {
	t.Helper()
	var got struct {
		Result           struct{ Value json.RawMessage }
		ExceptionDetails json.RawMessage
	}
	b.Call(t, "Runtime.evaluate", map[string]any{"expression": expression, "returnByValue": true, "awaitPromise": true}, &got)
	if got.ExceptionDetails != nil {
		t.Fatalf("%s: %s", expression, got.ExceptionDetails)
	}
	if into == nil {
		return
	}
	if err := json.Unmarshal(got.Result.Value, into); err != nil {
		t.Fatalf("%s: %v", expression, err)
	}
}

// patience is how long a page may take for something, on a machine that is busy.
const patience = time.Minute

// Until waits on the page until an expression is true, also where the page loads itself anew meanwhile.
func (b *Browser) Until(t testing.TB, expression string) {
	t.Helper()
	var got struct{ Result struct{ Value bool } }
	wait := map[string]any{"returnByValue": true, "awaitPromise": true, "expression": fmt.Sprintf(`new Promise(done => {
		const end = performance.now() + %d; const ask = () => {
		let now = false; try { now = Boolean(%s); } catch (e) {}
		if (now || performance.now() > end) done(now); else setTimeout(ask, 30); }; ask(); })`, patience.Milliseconds(), expression)}
	failed := b.call(t, "Runtime.evaluate", wait, &got)
	for tries := 0; failed != "" && tries < 5; tries++ { // the page that was asked is no more
		failed = b.call(t, "Runtime.evaluate", wait, &got)
	}
	if failed != "" {
		t.Fatalf("%s: %s", expression, failed)
	}
	if !got.Result.Value {
		var text string
		b.Eval(t, `document.body.innerText.slice(0, 600)`, &text)
		t.Fatalf("waited in vain for %s; the page says:\n%s", expression, text)
	}
}

// Troubles are what the console, the log and the requests of the page tell since it was loaded. own says which addresses the
// page may ask for, besides those that carry their data in them.
func (b *Browser) Troubles(own func(address string) bool) (all []string) {
	for _, e := range b.events {
		switch e.Method {
		case "Runtime.consoleAPICalled", "Runtime.exceptionThrown", "Log.entryAdded", "Network.loadingFailed":
			all = append(all, e.Method+": "+string(e.Params))
		case "Network.requestWillBeSent":
			var p struct {
				LoaderID string
				Request  struct{ URL string }
			}
			json.Unmarshal(e.Params, &p)
			if p.LoaderID != "" && b.loader != "" && p.LoaderID != b.loader { // of the page before, on its way out
				continue
			}
			if u, err := url.Parse(p.Request.URL); err != nil || u.Scheme != "data" && !own(p.Request.URL) {
				all = append(all, "request of "+p.Request.URL)
			}
		}
	}
	return all
}

// Picture writes what the page looks like, all of its height, to a PNG file.
func (b *Browser) Picture(t testing.TB, path string) {
	t.Helper()
	var got struct{ Data string }
	b.Call(t, "Page.captureScreenshot", map[string]any{"format": "png", "captureBeyondViewport": true}, &got)
	raw, err := base64.StdEncoding.DecodeString(got.Data)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, raw, 0o644); err != nil {
		t.Fatal(err)
	}
}
