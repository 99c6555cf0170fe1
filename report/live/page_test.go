package live

import (
	"bytes"
	"context"
	"flag"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"asusual/report"
)

var regen = flag.Bool("regen", false, "write the golden pages anew")

// TestPages compares the pages as a browser gets them, before a script has drawn anything, with the golden ones.
func TestPages(t *testing.T) {
	both := Options{
		Acknowledge: func(context.Context, string, string, string) error { return nil },
		Name:        func(context.Context, string, string, string) (string, error) { return "", nil },
	}
	many, german := both, both
	many.Lines = []string{"Filler " + nasty, "Filler 4"}
	german.Language = report.German()
	door := func(path string, change ...func(*http.Request)) []byte {
		s := sampleSite(t, Options{}, false, at(11, 55))
		d := Door{Address: "0.0.0.0:8080", Token: "sixteen letters + 1"}
		return get(s.guard(d, false, 8080, s.Handler()), path, change...).Body.Bytes()
	}
	page := func(o Options, changed bool, path string) []byte {
		return get(sampleSite(t, o, changed, at(11, 55)).Handler(), path).Body.Bytes()
	}
	for name, got := range map[string][]byte{
		"usual": page(Options{}, false, "/"), "changed": page(both, true, "/"), "german": page(german, true, "/"),
		"lines": page(many, true, "/"), "one-of-many": page(many, true, "/line/filler-img-src-x-onerror-alert-1"),
		"unknown": page(german, true, "/line/filler-2"), "token": door("/"), "welcome": door("/line/a%20%22b%3C?token=sixteen+letters+%2B+1"),
	} {
		got = bytes.ReplaceAll(got, []byte(assets()), []byte("…")) // changes with every change of a script
		golden := filepath.Join("testdata", name+".html")
		if *regen {
			if err := os.WriteFile(golden, got, 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(golden)
		if err != nil {
			t.Fatalf("no golden: %v; go test -regen writes it", err)
		}
		if !bytes.Equal(got, want) {
			g, w := strings.Split(string(got), "\n"), strings.Split(string(want), "\n")
			for i := range min(len(g), len(w)) {
				if g[i] != w[i] {
					t.Errorf("the page %s differs from %s in line %d: got %q, want %q", name, golden, i+1, g[i], w[i])
					break
				}
			}
			if len(g) != len(w) {
				t.Errorf("the page %s has %d lines, %s has %d", name, len(g), golden, len(w))
			}
		}
	}
}
