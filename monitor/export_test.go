package monitor

import "time"

// LookNow makes Current look at the file at its next call.
func (f *ReferenceFile) LookNow() {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.looked = time.Time{}
}

// PutBackAfter is the bound that tests of the clock need.
const PutBackAfter = putBackAfter
