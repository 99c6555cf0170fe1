package gather

import (
	"slices"
	"testing"

	"asusual/model/spectrum"
)

func TestOnceTakesEachSpectrumOnce(t *testing.T) {
	all := oats(t, 5)
	again := all[3]
	again.File, again.Row = "copy.csv", 7
	later := all[1]
	later.Time = later.Time.Add(1) // the same values at another time are another spectrum
	var o Once
	first := o.Take(Batch{Spectra: slices.Clone(all)})
	if len(first.Spectra) != 5 || len(first.Unreadable) != 0 {
		t.Errorf("Take(5 spectra) = %d, %d copies, want 5, 0", len(first.Spectra), len(first.Unreadable))
	}
	second := o.Take(Batch{Spectra: []spectrum.Spectrum{again, later}})
	if len(second.Spectra) != 1 || len(second.Unreadable) != 1 || second.Unreadable[0].File != "copy.csv" || second.Unreadable[0].Row != 7 {
		t.Errorf("Take(copy, later) = %v, %v, want the later one, and the copy named", second.Spectra, second.Unreadable)
	}
}
