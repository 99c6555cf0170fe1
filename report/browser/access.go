package browser

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

// Axe is the environment variable that names the file axe.min.js of axe-core, the checks of accessibility after WCAG 2
// (Deque Systems, axe-core, Mozilla Public License 2.0). Nothing of it is part of this program.
const Axe = "ASUSUAL_AXE"

// ReadAxe returns the script of axe-core, or skips the test where there is none.
func ReadAxe(t testing.TB) string {
	t.Helper()
	path := os.Getenv(Axe)
	if path == "" {
		t.Skipf("no axe-core: unpack what npm pack axe-core fetches, and set %s to its axe.min.js", Axe)
	}
	script, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%s: %v", Axe, err)
	}
	return string(script)
}

// Accessible reports what the script of axe-core finds serious or critical on the page that is shown.
func (b *Browser) Accessible(t testing.TB, axe string) {
	t.Helper()
	b.Eval(t, axe+"\n;0", nil)
	var found []struct {
		ID, Impact, Help string
		Nodes            []struct {
			HTML           string
			FailureSummary string
		}
	}
	b.Eval(t, `axe.run(document, {resultTypes: ["violations"]}).then(r => r.violations)`, &found)
	for _, f := range found {
		said := fmt.Sprintf("%s (%s): %s", f.ID, f.Impact, f.Help)
		for _, n := range f.Nodes[:min(3, len(f.Nodes))] {
			said += fmt.Sprintf("\n\t%.160s\n\t\t%s", n.HTML, strings.ReplaceAll(n.FailureSummary, "\n", " "))
		}
		if f.Impact == "serious" || f.Impact == "critical" {
			t.Error(said)
			continue
		}
		t.Log(said)
	}
}
