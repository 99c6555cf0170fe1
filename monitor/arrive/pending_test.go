package arrive

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"
)

func TestPendingGivesWhatOneListingFoundInTheOrderOfWriting(t *testing.T) {
	p := newPending()
	now := time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)
	const n = 200
	for _, i := range rand.New(rand.NewPCG(1, 1)).Perm(n) {
		// Pairs share the time of their last change, as on file systems that count in seconds.
		f := File{Rel: fmt.Sprintf("s%03d.csv", i), Modified: now.Add(time.Duration(i/2) * time.Second)}
		p.put(&candidate{file: f, due: now.Add(time.Hour), found: true})
	}
	for i := range n {
		c := p.take(now.Add(time.Hour))
		if want := fmt.Sprintf("s%03d.csv", i); c == nil || c.file.Rel != want {
			t.Fatalf("take %d = %v, want %s", i, c, want)
		}
	}
	if c := p.take(now.Add(time.Hour)); c != nil {
		t.Errorf("take after the last = %v, want none", c)
	}
}
