package arrive

import "time"

// A Whole is a small file that was read in one go, as it was at the end of that.
type Whole struct {
	Bytes    []byte
	Modified time.Time
}

// ReadWhole reads a regular file of at most most bytes into buf, or into more room where that is too small. It asks the system
// for no more than it must, which is half of the cost of a small file. ok is false where the file cannot be read so, for
// whatever reason: who opens it is told which.
func ReadWhole(path string, buf []byte, most int64) (w Whole, ok bool) {
	return readWhole(nil, path, buf, most)
}

// ReadWhole reads a file that lies in the folder itself, which is one that Below has opened, as the function ReadWhole does.
// It follows no link.
func (d *Disk) ReadWhole(base string, buf []byte, most int64) (w Whole, ok bool) {
	d.mu.RLock()
	defer d.mu.RUnlock()
	if d.dir == nil {
		return Whole{}, false
	}
	return readWhole(d.dir, base, buf, most)
}
