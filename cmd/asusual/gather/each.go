package gather

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// Each calls f for 0 to n−1, on as many goroutines as the machine has processors, and returns when all are done.
func Each(n int, f func(i int)) {
	var next atomic.Int64
	var running sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		running.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				f(i)
			}
		})
	}
	running.Wait()
}
