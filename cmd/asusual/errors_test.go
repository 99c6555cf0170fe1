package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// Whatever goes wrong ends with what to try, on a line of its own: wrong command lines, wrong settings, files that are not there,
// files that are none, folders that cannot be used.
func TestEveryErrorEndsWithWhatToTry(t *testing.T) {
	dir := t.TempDir()
	t.Chdir(dir)
	for name, text := range map[string]string{
		"plain.toml":    "[[line]]\nname = \"a\"\nwatch = \"in\"\ngood = \"good\"\nreference = \"r\"\n",
		"two.toml":      "[[line]]\nname = \"a\"\n[[line]]\nname = \"b\"\n",
		"bare.toml":     "[[line]]\nname = \"a\"\n",
		"key.toml":      "[[line]]\nname = \"a\"\nwach = \"in\"\n",
		"syntax.toml":   "[[line]\nname = a\n",
		"unread.toml":   "[[line]]\nname = \"a\"\nreference = \"none\"\nwatch = \"in\"\n",
		"notref.toml":   "[[line]]\nname = \"a\"\nreference = \"text.csv\"\nwatch = \"in\"\n",
		"nowatch.toml":  "[[line]]\nname = \"a\"\nreference = \"text.csv\"\nwatch = \"nowhere\"\n",
		"badhist.toml":  "history = \"text.csv\"\n[[line]]\nname = \"a\"\nwatch = \"in\"\nreference = \"r\"\n",
		"keep.toml":     "[[line]]\nname = \"a\"\n[history]\nkeep-spectra = \"99 days\"\n",
		"text.csv":      "this is no spectrum\nat all\n",
		"in/few.csv":    "900,0.5\n901,0.6\n902,0.7\n",
		"empty/.hidden": "",
		"state.json":    "{",
		"blank.token":   " \n",
	} {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	ends := regexp.MustCompile(`(?s)^asusual: .+\ntry: [^\n]+\n$`)
	for _, c := range []struct {
		command string
		status  int
	}{
		{"brew", 2}, {"jugde", 2}, {"learn --brew", 2}, {"judge", 2}, {"inspect", 2}, {"demo --days 1", 2}, {"demo --days x", 2}, {"demo x", 2},
		{"learn", 2}, {"learn good", 2}, {"learn --good in", 2}, {"learn --good in --reference x --promise never", 2}, {"learn --good in --reference x --pretreat brew", 2},
		{"learn --good in --reference x --runs brew", 2}, {"learn --good in --reference x --axis inch", 2}, {"learn --good in --reference x --quantity taste", 2},
		{"learn --good in --reference x --condition rinse", 2}, {"learn --good in --reference x --components -1", 2}, {"learn --trust", 2},
		{"learn --good nowhere --reference x", 1}, {"learn --good empty --reference x", 1}, {"learn --good in --reference x", 1}, {"learn --good text.csv --reference x", 1},
		{"learn --good in --reference none/x", 1}, {"learn --extend in", 2},
		{"judge nowhere --reference x", 1}, {"judge in --reference text.csv", 1}, {"judge in", 2}, {"inspect nowhere", 1}, {"inspect empty", 1},
		{"--config none.toml watch", 2}, {"--config key.toml watch", 2}, {"--config syntax.toml watch", 2}, {"--config bare.toml watch", 2}, {"watch", 2},
		{"--config unread.toml watch", 1}, {"--config notref.toml watch", 1}, {"--config nowatch.toml watch", 1}, {"--config plain.toml watch --token-file x", 1}, {"site --listen 127.0.0.1:0 --token-file blank.token", 1},
		{"--config two.toml handover", 2}, {"--config two.toml handover --line c", 2}, {"--config plain.toml handover", 1}, {"--config badhist.toml handover", 1},
		{"--config plain.toml handover --shift noon --date 2026-11-25", 1}, {"--config plain.toml compare", 2}, {"--config plain.toml compare --this x --that y", 2},
		{"--config plain.toml compare --this today --that yesterday", 1}, {"export --format xml", 2}, {"export --from x", 2}, {"export", 1}, {"export x", 2},
		{"export --month 2026-11", 2}, {"--config badhist.toml export", 1}, {"import", 2}, {"import x", 2}, {"import x --history h", 1}, {"backup", 2}, {"backup x", 1},
		{"--config plain.toml prune", 1}, {"--config keep.toml prune", 1}, {"prune", 2}, {"approve", 2}, {"approve --reference none --log", 1}, {"approve --reference text.csv --by a --note b", 1},
		{"--config plain.toml status", 1}, {"status", 2}, {"--config plain.toml status --line b", 2}, {"--config plain.toml acknowledge", 2}, {"--config plain.toml acknowledge --by a", 2},
		{"--config plain.toml acknowledge --by a --why b", 1}, {"--config plain.toml shelve --for 1h --off --by a --why b", 2}, {"--config plain.toml shelve --for 99h --by a --why b", 2},
		{"--config plain.toml conditions", 1}, {"--config plain.toml conditions name a", 2}, {"--config plain.toml conditions name a b", 1}, {"--config plain.toml conditions forget", 2},
		{"--config plain.toml instrument nowhere", 2}, {"doctor", 2}, {"doctor --line x", 2}, {"init a b", 2}, {"init --service x", 2}, {"init text.csv/x", 1}, {"help brew", 2},
	} {
		status, _, errOut := call(t, strings.Fields(c.command)...)
		if status != c.status || !ends.MatchString(errOut) {
			t.Errorf("asusual %s = %d, %q, want %d and what to try at the end", c.command, status, errOut, c.status)
		}
		if strings.Contains(errOut, "%!") || strings.Count(errOut, "\ntry: ") > 1 {
			t.Errorf("asusual %s says %q, want it once and without a slip of formatting", c.command, errOut)
		}
	}
}
