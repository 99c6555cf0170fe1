package sift

// A runner calls f for 0 to n−1, perhaps several at a time. What f does for one i does not depend on the others.
type runner func(n int, f func(i int))

// inTurn calls f one after another.
func inTurn(n int, f func(i int)) {
	for i := range n {
		f(i)
	}
}

// parts calls f for parts of 0 to n−1, of so many rows that they take long enough to be worth it.
func (e runner) parts(n, rows int, f func(from, to int)) {
	e((n+rows-1)/rows, func(i int) { f(i*rows, min((i+1)*rows, n)) })
}
