package runner

import (
	"fmt"
	"slices"
	"testing"
)

// Of several that fail, the error of the lowest is returned, in whatever order they are done.
func TestTry(t *testing.T) {
	backwards := Runner(func(n int, f func(i int)) {
		for i := range n {
			f(n - 1 - i)
		}
	})
	for name, r := range map[string]Runner{"nil": nil, "backwards": backwards} {
		done := 0
		err := r.Try(6, func(i int) error {
			done++
			if i == 2 || i == 4 {
				return fmt.Errorf("%d failed", i)
			}
			return nil
		})
		if err == nil || err.Error() != "2 failed" || done != 6 {
			t.Errorf("%s: %d done, %v; want 6 done, 2 failed", name, done, err)
		}
		if err := r.Try(3, func(int) error { return nil }); err != nil {
			t.Errorf("%s: %v where nothing fails", name, err)
		}
	}
}

// Each of 0 … n−1 is done once, by a runner and without one; parts cover all rows without a gap and without meeting.
func TestDoAndParts(t *testing.T) {
	backwards := Runner(func(n int, f func(i int)) {
		for i := range n {
			f(n - 1 - i)
		}
	})
	for name, r := range map[string]Runner{"nil": nil, "backwards": backwards} {
		for _, n := range []int{0, 1, 7, 8, 9} {
			var done []int
			r.Do(n, func(i int) { done = append(done, i) })
			if r != nil {
				slices.Reverse(done)
			}
			for i, got := range done {
				if got != i {
					t.Errorf("%s: Do(%d) did %v", name, n, done)
				}
			}
			rows := make([]int, n)
			r.Parts(n, 4, func(from, to int) {
				if to-from < 1 || to-from > 4 {
					t.Errorf("%s: Parts(%d, 4) has rows %d to %d", name, n, from, to)
				}
				for i := from; i < to; i++ {
					rows[i]++
				}
			})
			if len(done) != n || slices.ContainsFunc(rows, func(v int) bool { return v != 1 }) {
				t.Errorf("%s: of %d, %d were done, and rows so often: %v; want each once", name, n, len(done), rows)
			}
		}
	}
}
