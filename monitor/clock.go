package monitor

import "time"

// putBackAfter is how many spectra in a row must lie behind before the clock is taken to have been put back. Chosen so that
// a handful of files copied in later is late, and an hour of doubled local time costs half a minute at a spectrum a second.
const putBackAfter = 30

// A clock tells spectra that are late from those of a clock that was put back. The computer's own clock may have been ahead, too, or a
// file bear a time to come: what was written then was written now at the latest, or nothing would ever be written after it.
type clock struct {
	newest  time.Time // of the spectra that took part in the verdict
	written time.Time // when the file of the newest was written
	behind  int       // late spectra in a row, each after the one before
	last    time.Time // of them
}

// resumed returns a clock that goes on after the newest spectrum that history has. When its file was written is not kept.
func resumed(newest, now time.Time) clock {
	return clock{newest: newest, written: earlier(newest, now)}
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

// take says whether a spectrum of that time, in a file written at that time, is late; back is how far the clock was put back
// where this spectrum shows that it was.
func (c *clock) take(at, written, now time.Time) (late bool, back time.Duration) {
	c.written = earlier(c.written, now)
	if !at.Before(c.newest) {
		c.newest, c.behind = at, 0
		if written.After(c.written) {
			c.written = written
		}
		return false, 0
	}
	// Files written before the newest one are old ones that came late, however many they are.
	if written.Before(c.written) || c.behind > 0 && !at.After(c.last) {
		c.behind = 0
	}
	if !written.Before(c.written) {
		c.behind++
	}
	c.last = at
	if c.behind < putBackAfter {
		return true, 0
	}
	back = c.newest.Sub(at)
	c.newest, c.written, c.behind = at, written, 0
	return false, back
}
