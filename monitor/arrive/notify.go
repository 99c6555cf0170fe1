package arrive

import (
	"errors"
	"path/filepath"
	"runtime"
	"sync"

	"github.com/fsnotify/fsnotify"
)

// A Notifier is the operating system's notifications of a folder. It drains them in a goroutine of its own that only
// queues names, for the system drops them where nobody does.
type Notifier struct {
	root   string
	w      *fsnotify.Watcher
	moves  *moves // nil where the system has none
	events chan Event
	stop   chan struct{}
	done   sync.WaitGroup
	once   sync.Once

	mu       sync.Mutex
	followed map[string]bool // folders, relative to the root
}

var _ Source = (*Notifier)(nil)

// maxQueued bounds the names that wait to be looked at; more is as good as lost, and a listing finds them.
const maxQueued = 1 << 16

// NewNotifier returns the notifications of the folder of that path. Nothing is followed until Follow is called.
func NewNotifier(path string) (*Notifier, error) {
	whole, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	w, err := fsnotify.NewWatcher()
	if err != nil {
		return nil, err
	}
	n := &Notifier{root: whole, w: w, moves: newMoves(whole), events: make(chan Event), stop: make(chan struct{}), followed: map[string]bool{}}
	n.done.Go(n.drain)
	return n, nil
}

// Events returns the channel of notifications. It is closed by Close.
func (n *Notifier) Events() <-chan Event { return n.events }

// Follow asks for the notifications of a folder below the root.
func (n *Notifier) Follow(dir string) error {
	n.moves.follow(dir)
	err := n.w.Add(filepath.Join(n.root, filepath.FromSlash(dir)))
	if err == nil {
		n.mu.Lock()
		n.followed[dir] = true
		n.mu.Unlock()
	}
	return err
}

// Unfollow gives the notifications of a folder below the root up.
func (n *Notifier) Unfollow(dir string) {
	n.mu.Lock()
	was := n.followed[dir]
	delete(n.followed, dir)
	n.mu.Unlock()
	if was {
		n.moves.unfollow(dir)
		_ = n.w.Remove(filepath.Join(n.root, filepath.FromSlash(dir))) // fails where the folder is gone, and its notifications with it
	}
}

// Close ends the notifications. A second call does nothing.
func (n *Notifier) Close() error {
	var err error
	n.once.Do(func() {
		err = n.w.Close()
		close(n.stop)
		n.moves.close()
		n.done.Wait()
	})
	return err
}

// drain takes what the system sends and passes it on. A name that waits already is not queued twice.
func (n *Notifier) drain() {
	defer close(n.events)
	q := queue{waiting: map[Event]bool{}}
	moved := false // the last notification said that a file is renamed within the folder: what appears next is its new name
	for {
		var out chan<- Event
		var next Event
		if len(q.events) > 0 {
			out, next = n.events, q.events[0]
		}
		select {
		case <-n.stop:
			return
		case out <- next:
			q.pop()
		case e := <-n.moves.channel():
			q.push(e)
		case err, ok := <-n.w.Errors:
			if !ok {
				return
			}
			if errors.Is(err, fsnotify.ErrEventOverflow) {
				q.reset()
			}
			q.push(Event{Hint: Lost, Rel: "."})
		case e, ok := <-n.w.Events:
			if !ok {
				return
			}
			if ev, ok := n.event(e, moved); ok {
				q.push(ev)
			}
			moved = inPairs && e.Has(fsnotify.Rename)
		}
	}
}

// inPairs says that the system tells of a rename within the folder only, the old name and then at once the new one. Others say that a
// file went away, wherever to, and what appears next may be one that is just begun; moves tells of what is renamed there.
const inPairs = runtime.GOOS == "windows"

func (n *Notifier) event(e fsnotify.Event, moved bool) (Event, bool) {
	rel, err := filepath.Rel(n.root, e.Name)
	if err != nil {
		return Event{Hint: Lost, Rel: "."}, true
	}
	rel = filepath.ToSlash(rel)
	switch {
	case e.Has(fsnotify.Create) && moved:
		return Event{Complete, rel}, true
	case e.Has(fsnotify.Create), e.Has(fsnotify.Write):
		return Event{Changed, rel}, true
	case e.Has(fsnotify.Remove), e.Has(fsnotify.Rename):
		n.mu.Lock()
		delete(n.followed, rel)
		n.mu.Unlock()
		return Event{Gone, rel}, true
	}
	return Event{}, false
}

// A queue holds events in order, each once.
type queue struct {
	events  []Event
	waiting map[Event]bool
}

func (q *queue) push(e Event) {
	if q.waiting[e] {
		return
	}
	if len(q.events) >= maxQueued {
		q.reset()
		e = Event{Hint: Lost, Rel: "."}
	}
	q.waiting[e] = true
	q.events = append(q.events, e)
}

func (q *queue) pop() {
	delete(q.waiting, q.events[0])
	q.events = q.events[1:]
}

func (q *queue) reset() {
	q.events = nil
	q.waiting = map[Event]bool{}
}
