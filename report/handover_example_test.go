package report_test

import (
	"fmt"
	"strings"
	"time"

	"asusual/report"
)

// The handover of a shift in which no spectra came: the page is there all the same, and says so.
func ExampleHandover() {
	from := time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)
	h := report.Handover{
		Line: "Filler 3", Shift: "day", From: from, To: from.Add(8 * time.Hour),
		Verdict: report.CannotSay,
	}
	page, err := h.Render()
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, line := range strings.Split(string(page.HTML), "\n") {
		if strings.HasPrefix(line, "<h1>") {
			fmt.Println(line)
		}
	}
	// Output: <h1>Cannot say.</h1>
}
