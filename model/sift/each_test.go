package sift

import (
	"math/rand/v2"
	"reflect"
	"sync"
	"testing"

	"asusual/model/oatline"
)

// atOnce calls f for all at once, in an order of chance.
func atOnce(n int, f func(i int)) {
	var running sync.WaitGroup
	for _, i := range rand.Perm(n) {
		running.Go(func() { f(i) })
	}
	running.Wait()
}

// What runs at once decides nothing.
func TestFindAtOnce(t *testing.T) {
	b := newBlend(t, oatline.Settings{Seed: 5, Channels: 64}, 9, 260, &spoilers[1], 0.15) // more rows than one part
	want, err := Find(b.x, b.runs, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	for range 5 {
		got, err := Find(b.x, b.runs, 1, atOnce)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("Find, several things at once, keeps %d rows of %d, one after another %d; or for other reasons", got.Kept(), len(got.Keep), want.Kept())
		}
	}
	if want.Kept() == len(want.Keep) {
		t.Error("nothing was sifted: there is nothing to compare")
	}
}
