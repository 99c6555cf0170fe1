package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"asusual/report/browser"
)

// A tail gathers what a command writes while it runs.
type tail struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *tail) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *tail) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// watching runs the command watch until stop is called, and returns the address of its page.
func watching(t *testing.T, config, listen string) (url string, stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	var log tail
	done := make(chan int, 1)
	go func() { done <- run(ctx, []string{"watch", "--config", config, "--listen", listen}, nil, &log, &log) }()
	stop = sync.OnceFunc(func() {
		cancel()
		if status := <-done; status != 0 {
			t.Errorf("watch = %d: %s", status, log.String())
		}
	})
	t.Cleanup(stop)
	there := regexp.MustCompile(`address=(http://\S+)`)
	look := time.NewTicker(50 * time.Millisecond)
	defer look.Stop()
	end := time.After(patience)
	for {
		if m := there.FindStringSubmatch(log.String()); m != nil {
			return m[1], stop
		}
		select {
		case status := <-done:
			t.Fatalf("watch = %d: %s", status, log.String())
		case <-end:
			t.Fatalf("no live page in %v: %s", patience, log.String())
		case <-look.C:
		}
	}
}

// TestLivePageOfAWatch uses the live page as a shift leader does, on a watch of real files: the process changes, somebody takes
// notice, the group gets a name, the watch is stopped and started again.
func TestLivePageOfAWatch(t *testing.T) {
	if testing.Short() {
		t.Skip("a browser takes seconds")
	}
	b := browser.New(t)
	dir := t.TempDir()
	config, spectra, later := filepath.Join(dir, "asusual.toml"), filepath.Join(dir, "spectra"), filepath.Join(dir, "later")
	for _, err := range []error{
		writeOats(filepath.Join(dir, "good"), "good", writeTable), writeOats(later, "oil pump", writeFiles), os.Mkdir(spectra, 0o755),
		os.WriteFile(config, []byte("[site]\ntime-zone = \"UTC\"\n[[line]]\nname = \"Filler 3\"\nwatch = \"spectra\"\ngood = \"good\"\nreference = \"line.reference\"\n"), 0o644),
		copyFiles(filepath.Join(later, "2026-11-20-a"), spectra, 75),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	command := func(args ...string) string {
		var out bytes.Buffer
		if status := run(t.Context(), append(args, "--config", config), nil, &out, &out); status == statusFailed || status == statusUsage {
			t.Fatalf("asusual %s = %d: %s", strings.Join(args, " "), status, &out)
		}
		return out.String()
	}
	command("learn", "--pretreat", "snv")

	front := browser.NewFront(t)
	first, stop := watching(t, config, "127.0.0.1:0")
	front.Lead(strings.TrimSuffix(strings.TrimPrefix(first, "http://"), "/"))
	url := front.URL()
	b.Load(t, url, browser.View{Width: 1280})
	b.Until(t, `document.querySelector("h1").textContent.startsWith("The process has changed, since about 20 November, 0") && document.querySelectorAll(".plot svg").length === 3`)
	b.Eval(t, `(() => { document.getElementById("who").value = "Ada <b>"; document.getElementById("why").value = "pump is looked at"; document.getElementById("take").requestSubmit(); })()`, nil)
	b.Until(t, `/^Acknowledged at .* by Ada <b>: pump is looked at$/.test(document.getElementById("alarm").textContent) && document.getElementById("take").hidden`)
	if log := command("acknowledge", "--log"); !regexp.MustCompile(`acknowledged +Ada <b> +pump is looked at`).MatchString(log) {
		t.Errorf("acknowledge --log says\n%s\nwant that Ada did it", log)
	}

	b.Until(t, `!document.getElementById("name").hidden && document.getElementById("group").value.startsWith("group 2026-11-20 ")`)
	b.Eval(t, `(() => { document.getElementById("called").value = "usual"; document.getElementById("name").requestSubmit(); })()`, nil)
	b.Until(t, `document.getElementById("name-said").textContent.startsWith("This was not done: ")`)
	b.Eval(t, `(() => { document.getElementById("called").value = "no oil"; document.getElementById("name").requestSubmit(); })()`, nil)
	b.Until(t, `document.getElementById("called").value === ""`)
	if said := command("conditions"); !strings.Contains(said, "no oil") {
		t.Errorf("conditions says\n%s\nwant the new one", said)
	}
	if err := copyFiles(filepath.Join(later, "2026-11-20-a"), spectra, 85); err != nil {
		t.Fatal(err)
	}
	files, err := os.ReadDir(spectra) // 20261120-084800.csv
	if err != nil {
		t.Fatal(err)
	}
	last := files[len(files)-1].Name()
	last = last[9:11] + ":" + last[11:13] + ":" + last[13:15]
	// What was judged before the name is still there.
	b.Until(t, `document.getElementById("conditions").innerText.includes("no oil") && document.querySelector("#distance .m-outside") && document.getElementById("clock").textContent.includes("`+last+`")`)
	for _, trouble := range b.Troubles(func(address string) bool { return strings.HasPrefix(address, url) }) {
		if !strings.Contains(trouble, "/name") && !strings.Contains(trouble, "409") { // which was refused once
			t.Error(trouble)
		}
	}

	stop()
	records := strings.Split(strings.TrimSpace(command("export", "--format", "json")), "\n")
	var ended struct {
		Verdict string `json:"verdict"`
	}
	if err := json.Unmarshal([]byte(records[len(records)-1]), &ended); err != nil || ended.Verdict == "" {
		t.Fatalf("export ends with %s, %v", records[len(records)-1], err)
	}
	b.Until(t, `document.getElementById("notice").textContent.startsWith("The watch was stopped at ")`)
	next, _ := watching(t, config, "127.0.0.1:0")
	front.Lead(strings.TrimSuffix(strings.TrimPrefix(next, "http://"), "/"))
	b.Load(t, url, browser.View{Width: 1280}) // before any spectrum comes
	b.Until(t, `document.querySelectorAll("#distance path").length > 3 && document.getElementById("notice").textContent.startsWith("No spectra since 20 November, ")`)
	b.Until(t, `document.querySelector("h1").textContent.toLowerCase().startsWith(`+strconv.Quote(ended.Verdict)+`)`)
}
