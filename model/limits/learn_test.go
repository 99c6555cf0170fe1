package limits

import (
	"encoding/json"
	"sync"
	"testing"
)

// TestLearnAtOnce: what is learned does not depend on what runs its parts.
func TestLearnAtOnce(t *testing.T) {
	tracks := line{runs: 8, length: 80, k: 3, phi: 0.5, between: 1}.tracks(9)
	var text [2]string
	for i, each := range []func(int, func(int)){nil, func(n int, f func(int)) {
		var wg sync.WaitGroup
		for i := range n {
			wg.Go(func() { f(i) })
		}
		wg.Wait()
	}} {
		l, err := Learn(tracks, nil, Options{Each: each})
		if err != nil {
			t.Fatal(err)
		}
		b, err := json.Marshal(l)
		if err != nil {
			t.Fatal(err)
		}
		text[i] = string(b)
	}
	if text[0] != text[1] {
		t.Errorf("Learn one after another = %s\nat once = %s", text[0], text[1])
	}
}
