package arrive

import (
	"encoding/binary"
	"os"
	"path"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
)

// moves are the system's notifications of files that are renamed into a folder, from wherever: such a file is whole. The
// Notifier's own say of it only that a name appeared, as of a file that was just begun.
type moves struct {
	root   string
	fd     int
	file   *os.File // of fd; closing it ends the reading
	events chan Event
	stop   chan struct{}
	done   sync.WaitGroup

	mu   sync.Mutex
	dirs map[int32]string // by the number of their watch
}

// newMoves returns nil where the system gives none.
func newMoves(root string) *moves {
	fd, err := syscall.InotifyInit1(syscall.IN_CLOEXEC | syscall.IN_NONBLOCK)
	if err != nil {
		return nil
	}
	m := &moves{root: root, fd: fd, file: os.NewFile(uintptr(fd), "inotify"), events: make(chan Event), stop: make(chan struct{}),
		dirs: map[int32]string{}}
	m.done.Go(m.read)
	return m
}

// follow asks for those of a folder. Where that is refused, files moved there settle like others.
func (m *moves) follow(dir string) {
	if m == nil {
		return
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.dirs == nil {
		return // closed
	}
	wd, err := syscall.InotifyAddWatch(m.fd, filepath.Join(m.root, filepath.FromSlash(dir)), syscall.IN_MOVED_TO|syscall.IN_ONLYDIR)
	if err == nil {
		m.dirs[int32(wd)] = dir
	}
}

// unfollow gives those of a folder up.
func (m *moves) unfollow(dir string) {
	if m == nil {
		return
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	for wd, of := range m.dirs {
		if of == dir {
			delete(m.dirs, wd)
			_, _ = syscall.InotifyRmWatch(m.fd, uint32(wd)) // fails where the folder is gone
		}
	}
}

// channel returns their channel, which is never closed, nil where there are none.
func (m *moves) channel() <-chan Event {
	if m == nil {
		return nil
	}
	return m.events
}

func (m *moves) close() {
	if m == nil {
		return
	}
	m.mu.Lock()
	m.dirs = nil // the number may be another file's soon
	m.mu.Unlock()
	close(m.stop)
	_ = m.file.Close() // nothing was written to it
	m.done.Wait()
}

// read passes on what comes until the file is closed.
func (m *moves) read() {
	buf := make([]byte, 64<<10)
	for {
		n, err := m.file.Read(buf)
		if err != nil {
			return
		}
		for b := buf[:n]; len(b) >= syscall.SizeofInotifyEvent; {
			wd, mask := int32(binary.NativeEndian.Uint32(b)), binary.NativeEndian.Uint32(b[4:])
			end := syscall.SizeofInotifyEvent + int(binary.NativeEndian.Uint32(b[12:]))
			name := strings.TrimRight(string(b[syscall.SizeofInotifyEvent:end]), "\x00")
			b = b[end:]
			if e, ok := m.event(wd, mask, name); ok {
				select {
				case m.events <- e:
				case <-m.stop:
					return
				}
			}
		}
	}
}

func (m *moves) event(wd int32, mask uint32, name string) (Event, bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	dir, known := m.dirs[wd]
	switch {
	case mask&syscall.IN_Q_OVERFLOW != 0:
		return Event{Lost, "."}, true
	case mask&syscall.IN_IGNORED != 0:
		delete(m.dirs, wd)
	case known && mask&syscall.IN_MOVED_TO != 0 && mask&syscall.IN_ISDIR == 0:
		return Event{Complete, path.Join(dir, name)}, true
	}
	return Event{}, false
}
