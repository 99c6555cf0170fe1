// Package runner is how a caller lends its processors to model, which starts no goroutine of its own: what may be done at once is
// handed to a Runner. It knows nothing of what is run, and has no limit of its own.
package runner
