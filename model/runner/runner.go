package runner

// A Runner calls f for 0 … n−1, in any order and perhaps several at once, and returns when all are done. What f does for one i does
// not depend on the others. Nil stands for one after another; see Do.
type Runner func(n int, f func(i int))

// Do calls f for 0 … n−1 by the runner, one after another where it is nil.
func (r Runner) Do(n int, f func(i int)) {
	if r != nil {
		r(n, f)
		return
	}
	for i := range n {
		f(i)
	}
}

// Try is Do of what may fail. It returns the error of the lowest i that failed, so that the answer does not depend on the runner.
func (r Runner) Try(n int, f func(i int) error) error {
	errs := make([]error, n)
	r.Do(n, func(i int) { errs[i] = f(i) })
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// Parts calls f for parts of 0 … n−1, of so many rows that they take long enough to be worth it.
func (r Runner) Parts(n, rows int, f func(from, to int)) {
	r.Do((n+rows-1)/rows, func(i int) { f(i*rows, min((i+1)*rows, n)) })
}
