package browser

import (
	"bytes"
	"os"
	"os/exec"
	"strings"
	"testing"
)

// Print prints the page as somebody would, without colours of backgrounds, and returns the PDF and how many pages it has.
func (b *Browser) Print(t testing.TB) (pdf []byte, pages int) {
	t.Helper()
	var out struct{ Data []byte }
	b.Call(t, "Page.printToPDF", map[string]any{"preferCSSPageSize": true, "printBackground": false}, &out)
	return out.Data, bytes.Count(out.Data, []byte("/Type /Page\n"))
}

// FirstPage returns the words on the first page of a PDF. It is not ok where nothing reads them, which with CI set, or with
// ASUSUAL_NO_SKIP=1, fails the test.
func FirstPage(t testing.TB, pdf []byte) (text string, ok bool) {
	t.Helper()
	path, err := exec.LookPath("pdftotext")
	if err != nil {
		say := t.Logf
		if os.Getenv("CI") != "" || os.Getenv("ASUSUAL_NO_SKIP") == "1" {
			say = t.Fatalf
		}
		say("what is printed is not read: it needs pdftotext, of Debian's package poppler-utils: %v", err)
		return "", false
	}
	cmd := exec.Command(path, "-l", "1", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("pdftotext: %v", err)
	}
	return strings.Join(strings.Fields(string(out)), " "), true
}
