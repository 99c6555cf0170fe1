package archive

import (
	"strings"
	"testing"

	"asusual/monitor/history"
)

// A table of spectra is refused with an error that names it, or each of its rows is written as it would be read again.
func FuzzTable(f *testing.F) {
	names := make([]string, len(spectraColumns()))
	for i, c := range spectraColumns() {
		names[i] = c.name
	}
	head := strings.Join(names, ",") + "\n"
	f.Add(head + "2026-11-25T06:00:00Z,a.csv,0,Filler 3,usual,1.5,0.25,0.5,true,as usual,run 1,false,40ded19087b4,,,fit,0.1 -0.2,0.1,0.2,0.3,0.4,2026-11-25T06:00:01Z,-17,[]\n")
	f.Add(head + "2026-11-25T06:00:00Z,\"a\nb,c.csv\",7,Filler 3,unfit,,,,false,cannot say,,true,,,,unfit,,,,,,,0,\n")
	f.Add(head)
	f.Add("time,file\n1,2\n")
	f.Add("\xff\"")
	f.Fuzz(func(t *testing.T, text string) {
		for r, err := range rowsOf(strings.NewReader(text), "spectra.csv", spectraColumns()) {
			if err != nil {
				if !strings.Contains(err.Error(), "spectra.csv") {
					t.Errorf("rowsOf(%q) = %v, want the table named", text, err)
				}
				return
			}
			var again history.Record
			for _, c := range spectraColumns() {
				cell := c.get(&r)
				if c.set == nil {
					continue
				}
				if err := c.set(&again, cell); err != nil {
					t.Fatalf("%s %q, as it was written of a row that was read, is refused: %v", c.name, cell, err)
				}
				if got := c.get(&again); got != cell {
					t.Errorf("%s %q is read back as %q", c.name, cell, got)
				}
			}
		}
	})
}
