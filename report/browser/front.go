package browser

import (
	"io"
	"net"
	"sync"
	"testing"
)

// A Front is an address that stays while the servers behind it come and go: a page that was loaded from it finds the next one there,
// and no other program can take the port meanwhile.
type Front struct {
	listener net.Listener

	mu   sync.Mutex
	to   string // "" for none
	open map[net.Conn]bool
}

// NewFront opens an address on this computer, behind which there is nothing yet.
func NewFront(t testing.TB) *Front {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	f := &Front{listener: l, open: map[net.Conn]bool{}}
	var all sync.WaitGroup
	all.Go(func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			all.Go(func() { f.lead(c) })
		}
	})
	t.Cleanup(func() {
		l.Close()
		f.mu.Lock()
		for c := range f.open {
			c.Close()
		}
		f.mu.Unlock()
		all.Wait()
	})
	return f
}

// URL is the address of the page.
func (f *Front) URL() string { return "http://" + f.listener.Addr().String() + "/" }

// Lead has who comes from now on be led to an address, host:port; "" turns them away.
func (f *Front) Lead(to string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.to = to
}

// lead joins a connection with one to the server behind, until either end hangs up.
func (f *Front) lead(c net.Conn) {
	defer c.Close()
	f.mu.Lock()
	to := f.to
	f.mu.Unlock()
	if to == "" {
		return
	}
	behind, err := net.Dial("tcp", to)
	if err != nil {
		return
	}
	defer behind.Close()
	f.keep(c, true)
	defer f.keep(c, false)
	done := make(chan struct{})
	go func() {
		defer close(done)
		io.Copy(behind, c)
		behind.Close()
	}()
	io.Copy(c, behind)
	c.Close()
	<-done
}

func (f *Front) keep(c net.Conn, open bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if open {
		f.open[c] = true
		return
	}
	delete(f.open, c)
}
