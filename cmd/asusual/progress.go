package main

import (
	"fmt"
	"io"
	"strings"
	"time"
)

// A progress rewrites one line that says how far long work is. It says nothing where nobody is looking.
type progress struct {
	w     io.Writer
	now   func() time.Time
	shown int // how many characters stand on the line
	last  time.Time
}

// progress returns what shows the progress of a command, on the terminal where there is one.
func (a *app) progress() *progress {
	if a.quiet || !isTerminal(a.errOut) {
		return &progress{}
	}
	return &progress{w: a.errOut, now: a.now}
}

// often is how long a line of progress stands at least: rewriting it costs more than reading a small file.
const often = 100 * time.Millisecond

// step shows that done of total are done. A total of 0 is one that nobody knows.
func (p *progress) step(stage string, done, total int) {
	if p.w == nil {
		return
	}
	now := p.now()
	if now.Sub(p.last) < often && done != total {
		return
	}
	p.last = now
	switch {
	case total > 1:
		p.show(fmt.Sprintf("%s: %d of %d", stage, done, total))
	case done > 1:
		p.show(fmt.Sprintf("%s: %d", stage, done))
	default:
		p.show(stage + " …")
	}
}

func (p *progress) show(text string) {
	n := len([]rune(text))
	fmt.Fprint(p.w, "\r"+text+strings.Repeat(" ", max(p.shown-n, 0)))
	p.shown = n
}

// end clears the line, for what is said next.
func (p *progress) end() {
	if p.shown > 0 {
		fmt.Fprint(p.w, "\r"+strings.Repeat(" ", p.shown)+"\r")
		p.shown = 0
	}
}
