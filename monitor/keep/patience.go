package keep

import "time"

// A patience tries again what fails because somebody else has the file open: on Windows such a file can be neither replaced nor
// renamed until it is closed. Readers, and programs that look for viruses, have it open for a moment.
type patience struct {
	passing func(error) bool // whether an error may be gone soon
	wait    func(time.Duration)
}

var patient = patience{passing, time.Sleep}

// The first wait, the longest one, and all of them together: well within the time in which a watch has to stop.
const (
	waitFirst = 5 * time.Millisecond
	waitLong  = 80 * time.Millisecond
	waitMost  = time.Second
)

func (p patience) do(act func() error) error {
	wait := waitFirst
	for waited := time.Duration(0); ; waited += wait {
		err := act()
		if err == nil || waited >= waitMost || !p.passing(err) {
			return err
		}
		if waited > 0 {
			wait = min(2*wait, waitLong)
		}
		p.wait(wait)
	}
}
