package keep

import "time"

// A patience tries again what fails because somebody else has the file open: on Windows such a file can be neither replaced nor
// renamed until it is closed. Readers, and programs that look for viruses, have it open for a moment.
type patience struct {
	passing func(error) bool // whether an error may be gone soon
	wait    func(time.Duration)
	most    time.Duration // all waits together
}

var patient = patience{passing, time.Sleep, waitMost}

// The first wait, the longest one, and all of them together: well within the time in which a watch has to stop.
const (
	waitFirst = 5 * time.Millisecond
	waitLong  = 80 * time.Millisecond
	waitMost  = time.Second
	waitLook  = 100 * time.Millisecond // for a lock that somebody only looks at
)

func (p patience) do(act func() error) error {
	wait := waitFirst
	for waited := time.Duration(0); ; waited += wait {
		err := act()
		if err == nil || waited >= p.most || !p.passing(err) {
			return err
		}
		if waited > 0 {
			wait = min(2*wait, waitLong)
		}
		p.wait(wait)
	}
}
