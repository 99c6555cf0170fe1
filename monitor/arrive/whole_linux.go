package arrive

import (
	"os"
	"runtime"
	"strings"
	"syscall"
	"time"
)

// wholeFirst is how much room is made for the first file.
const wholeFirst = 64 << 10

// openDir opens a folder for readWhole; nil where that cannot be.
func openDir(root *os.Root) *os.File {
	f, err := root.Open(".")
	if err != nil {
		return nil
	}
	return f
}

// readWhole reads a file by its path, or where dir is not nil by its name in that folder.
func readWhole(dir *os.File, name string, buf []byte, most int64) (w Whole, ok bool) {
	const flags = syscall.O_RDONLY | syscall.O_CLOEXEC | plainly
	var fd int
	var err error
	if dir == nil {
		fd, err = syscall.Open(name, flags, 0)
	} else if strings.Contains(name, "/") || name == ".." {
		return Whole{}, false
	} else {
		fd, err = syscall.Openat(int(dir.Fd()), name, flags|syscall.O_NOFOLLOW, 0)
		runtime.KeepAlive(dir)
	}
	if err != nil {
		return Whole{}, false
	}
	defer func() { _ = syscall.Close(fd) }() // nothing was written through it
	buf = buf[:cap(buf)]
	if len(buf) == 0 {
		buf = make([]byte, wholeFirst)
	}
	for n := 0; int64(n) <= most; {
		k, err := syscall.Read(fd, buf[n:])
		if err != nil || k < 0 {
			return Whole{}, false
		}
		n += k
		var s syscall.Stat_t
		if err := syscall.Fstat(fd, &s); err != nil || s.Mode&syscall.S_IFMT != syscall.S_IFREG || s.Size > most {
			return Whole{}, false
		}
		switch {
		case int64(n) == s.Size:
			return Whole{buf[:n], time.Unix(s.Mtim.Unix())}, true
		case k == 0 || int64(n) > s.Size: // it shrank
			return Whole{}, false
		case int64(len(buf)) < s.Size:
			buf = append(buf[:n], make([]byte, s.Size-int64(n))...)
			buf = buf[:cap(buf)]
		}
	}
	return Whole{}, false
}
