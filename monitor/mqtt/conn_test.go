package mqtt_test

import (
	"bufio"
	"context"
	"errors"
	"net"
	"strings"
	"testing"
	"time"

	"asusual/monitor/mqtt"
)

// A scripted broker answers one connection with the bytes of say, one after each packet that it gets, and closes at the end of them.
func scripted(t *testing.T, say ...[]byte) (url string, got <-chan byte) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	kinds := make(chan byte, 100)
	done := make(chan struct{})
	go func() {
		defer close(done)
		defer close(kinds) // who waits for a packet that does not come is told
		c, err := l.Accept()
		if err != nil {
			return
		}
		defer c.Close()
		r := bufio.NewReader(c)
		for {
			first, err := r.ReadByte()
			if err != nil {
				return
			}
			n, err := r.ReadByte() // the packets of these tests are short
			if err != nil {
				return
			}
			if _, err := r.Discard(int(n)); err != nil {
				return
			}
			kinds <- first >> 4
			if len(say) == 0 {
				return
			}
			if _, err := c.Write(say[0]); err != nil {
				return
			}
			say = say[1:]
		}
	}()
	t.Cleanup(func() {
		if err := l.Close(); err != nil {
			t.Error(err)
		}
		<-done
	})
	return "mqtt://" + l.Addr().String(), kinds
}

var (
	yes  = []byte{0x20, 3, 0, 0, 0}
	took = func(id byte, more ...byte) []byte { return append([]byte{0x40, byte(2 + len(more)), 0, id}, more...) }
)

func TestPublish(t *testing.T) {
	url, got := scripted(t, yes, took(1), took(2, 0x10, 0), took(3, 0x87, 0), took(4))
	c, err := mqtt.Dial(t.Context(), mqtt.Options{Broker: url})
	if err != nil {
		t.Fatal(err)
	}
	var no *mqtt.Refusal
	for i, want := range []mqtt.Reason{0, 0, 0x87, 0} {
		err := c.Publish(t.Context(), mqtt.Message{Topic: "a/b", Payload: []byte("x")})
		if want == 0 && err != nil || want != 0 && (!errors.As(err, &no) || no.Reason != want || !strings.Contains(err.Error(), "not authorized")) {
			t.Errorf("Publish %d = %v, want %v", i, err, want)
		}
	}
	for _, m := range []mqtt.Message{{}, {Topic: "a/+"}, {Topic: "\xff"}} {
		if err := c.Publish(t.Context(), m); err == nil {
			t.Errorf("Publish(%+v) = nil, want an error", m)
		}
	}
	if err := errors.Join(c.Close(), c.Close()); err != nil {
		t.Errorf("Close, twice = %v, want nil", err)
	}
	if err := c.Publish(t.Context(), mqtt.Message{Topic: "a"}); !errors.Is(err, mqtt.ErrClosed) {
		t.Errorf("Publish after Close = %v, want %v", err, mqtt.ErrClosed)
	}
	kinds := ""
	for range 6 {
		kinds += string('a' + rune(<-got))
	}
	if kinds != "bddddo" { // a connection, four messages, a goodbye
		t.Errorf("packets sent = %s, want bddddo", kinds)
	}
}

func TestWhatABrokerMayDo(t *testing.T) {
	t.Parallel() // it waits
	for _, c := range []struct {
		name string
		say  [][]byte
		dial string // what Dial says, or
		next string // what Publish says
	}{
		{"refuses", [][]byte{{0x20, 9, 0, 0x86, 6, 0x1f, 0, 3, 'w', 'h', 'o'}}, `bad user name or password ("who")`, ""},
		{"closes", nil, "unexpected EOF", ""},
		{"speaks another language", [][]byte{[]byte("HTTP/1.1 400 Bad Request\r\nContent-Type: text/plain\r\nConnection: close\r\n\r\n400 Bad Request")}, "malformed", ""},
		{"says version 3.1.1", [][]byte{{0x20, 2, 0, 1}}, "malformed", ""},
		{"takes no quality of service 1", [][]byte{{0x20, 5, 0, 0, 2, 0x24, 0}}, "QoS not supported", ""},
		{"keeps nothing", [][]byte{{0x20, 5, 0, 0, 2, 0x25, 0}}, "", "retain not supported"},
		{"takes short messages only", [][]byte{{0x20, 8, 0, 0, 5, 0x27, 0, 0, 0, 8}}, "", "packet too large"},
		{"shuts down", [][]byte{yes, {0xe0, 1, 0x8b}}, "", "server shutting down"},
		{"goes away", [][]byte{yes}, "", "the broker is gone"},
		{"says nothing", [][]byte{yes, nil}, "", "did not take a message within"},
		{"answers for another", [][]byte{yes, took(9)}, "", "did not take a message within"},
		{"subscribes", [][]byte{yes, {0x82, 0}}, "", "malformed"},
	} {
		wait := time.Minute
		if strings.Contains(c.next, "within") {
			wait = 5 * time.Second // in which Dial has to be done, too
		}
		url, _ := scripted(t, c.say...)
		conn, err := mqtt.Dial(t.Context(), mqtt.Options{Broker: url, Wait: wait})
		if c.dial != "" {
			if err == nil || !strings.Contains(err.Error(), c.dial) {
				t.Errorf("a broker that %s: Dial = %v, want %q", c.name, err, c.dial)
			}
			continue
		}
		if err != nil {
			t.Errorf("a broker that %s: Dial = %v, want nil", c.name, err)
			continue
		}
		err = conn.Publish(t.Context(), mqtt.Message{Topic: "a", Payload: []byte("some text"), Retain: true})
		if err == nil || !strings.Contains(err.Error(), c.next) {
			t.Errorf("a broker that %s: Publish = %v, want %q", c.name, err, c.next)
		}
		_ = conn.Close() // it ended as the table says
	}
}

func TestDialGivesUp(t *testing.T) {
	for _, url := range []string{"", "http://x", "mqtt://", "127.0.0.1:1883", "mqtt://[", "tcp://x:1"} {
		if _, err := mqtt.Dial(t.Context(), mqtt.Options{Broker: url}); err == nil || !strings.Contains(err.Error(), "want mqtt://host") {
			t.Errorf("Dial(%q) = %v, want it said what a broker's address looks like", url, err)
		}
	}
	l, err := net.Listen("tcp", "127.0.0.1:0") // takes connections, and says nothing
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	opt := mqtt.Options{Broker: "mqtt://" + l.Addr().String(), Wait: 50 * time.Millisecond}
	if _, err := mqtt.Dial(t.Context(), opt); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("Dial of a silent broker = %v, want %v", err, context.DeadlineExceeded)
	}
}

// A broker that gives no sign of life is found out, and one that asks for more of them than was offered gets them.
func TestSignsOfLife(t *testing.T) {
	t.Parallel()                                 // it waits
	soon := []byte{0x20, 6, 0, 0, 3, 0x13, 0, 1} // keep alive: 1 s
	url, got := scripted(t, soon, []byte{0xd0, 0}, nil)
	c, err := mqtt.Dial(t.Context(), mqtt.Options{Broker: url, KeepAlive: time.Hour, Wait: 10 * time.Second})
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Err(); err == nil || !strings.Contains(err.Error(), "no sign of life") {
		t.Errorf("Err = %v, want that there was no sign of life", err)
	}
	if a, b, d := <-got, <-got, <-got; a != 1 || b != 12 || d != 12 {
		t.Errorf("packets sent = %d %d %d, want a connection and two signs of life", a, b, d)
	}
	_ = c.Close() // it ended as it should
}
