package mqtt

import (
	"bufio"
	"context"
	"crypto/tls"
	"encoding/binary"
	"errors"
	"fmt"
	"net"
	"net/url"
	"sync"
	"sync/atomic"
	"time"
)

// Options say how to connect. Broker is needed; the rest has useful zero values.
type Options struct {
	Broker    string // mqtt://host:port, or mqtts:// over TLS; the ports are 1883 and 8883 where none is said
	Client    string // the name of this client; "" lets the broker give one
	User      string
	Password  string
	Renewed   func() (string, error) // asked for the password at each Dial, since passwords change; nil: Password
	TLS       *tls.Config            // for mqtts; nil: the system's certificates
	KeepAlive time.Duration          // between two signs of life, whole seconds; 0: 30 s
	Wait      time.Duration          // for the broker to answer; 0: 10 s
	Will      *Message               // what the broker publishes where this client is lost
}

// A Message is what is published.
type Message struct {
	Topic   string
	Payload []byte
	Retain  bool // the broker keeps it for those who come later
}

func (m *Message) validate() error {
	if m.Topic == "" {
		return errors.New("a message without a topic")
	}
	for _, c := range m.Topic {
		if c == '+' || c == '#' {
			return fmt.Errorf("topic %q: + and # stand for others, none can be published to", m.Topic)
		}
	}
	return checkText("topic", m.Topic)
}

// A Conn is one connection to a broker. It is safe for concurrent use; one message at a time is on its way.
type Conn struct {
	net     net.Conn
	opt     Options
	limits  properties
	life    time.Duration // between two signs of life
	sending sync.Mutex    // held while a packet is written
	asking  sync.Mutex    // held while an answer is waited for
	id      uint16
	acks    chan answer
	pongs   chan struct{}
	done    chan struct{}
	leaving atomic.Bool // the broker is being told goodbye, and may hang up first
	once    sync.Once
	err     error // why it ended, once done is closed
	running sync.WaitGroup
}

// Dial connects to the broker, and returns once the broker has said yes.
func Dial(ctx context.Context, opt Options) (*Conn, error) {
	if opt.KeepAlive <= 0 {
		opt.KeepAlive = 30 * time.Second
	}
	if opt.Wait <= 0 {
		opt.Wait = 10 * time.Second
	}
	if opt.Renewed != nil {
		var err error
		if opt.Password, err = opt.Renewed(); err != nil {
			return nil, fmt.Errorf("password: %w", err)
		}
	}
	hello, err := opt.hello()
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(ctx, opt.Wait)
	defer cancel()
	link, err := opt.dial(ctx)
	if err != nil {
		return nil, err
	}
	c := &Conn{net: link, opt: opt, acks: make(chan answer, 1), pongs: make(chan struct{}, 1), done: make(chan struct{})}
	r := bufio.NewReader(link)
	if err := c.greet(ctx, hello, r); err != nil {
		return nil, errors.Join(err, link.Close())
	}
	c.running.Go(func() {
		err := c.receive(r)
		if c.leaving.Load() {
			err = ErrClosed
		}
		c.end(err)
	})
	c.running.Go(c.live)
	return c, nil
}

func (o *Options) dial(ctx context.Context) (net.Conn, error) {
	u, err := url.Parse(o.Broker)
	if err != nil || u.Hostname() == "" || u.Scheme != "mqtt" && u.Scheme != "mqtts" {
		return nil, fmt.Errorf("broker %q: want mqtt://host or mqtts://host, with :port where it is not the usual one", o.Broker)
	}
	port := u.Port()
	if u.Scheme == "mqtt" {
		if port == "" {
			port = "1883"
		}
		return (&net.Dialer{}).DialContext(ctx, "tcp", net.JoinHostPort(u.Hostname(), port))
	}
	if port == "" {
		port = "8883"
	}
	return (&tls.Dialer{Config: o.TLS}).DialContext(ctx, "tcp", net.JoinHostPort(u.Hostname(), port))
}

// hello returns the CONNECT packet, §3.1.
func (o *Options) hello() ([]byte, error) {
	for what, s := range map[string]string{"client": o.Client, "user": o.User} {
		if err := checkText(what, s); err != nil {
			return nil, err
		}
	}
	if len(o.Password) > 65_535 {
		return nil, fmt.Errorf("password: %w", ErrTooLong)
	}
	flags := byte(0x02) // a clean start
	if o.User != "" {
		flags |= 0x80
	}
	if o.Password != "" {
		flags |= 0x40
	}
	if o.Will != nil {
		if err := o.Will.validate(); err != nil {
			return nil, fmt.Errorf("will: %w", err)
		}
		if len(o.Will.Payload) > 65_535 {
			return nil, fmt.Errorf("will: %w", ErrTooLong)
		}
		flags |= 0x04 | 1<<3 // quality of service 1
		if o.Will.Retain {
			flags |= 0x20
		}
	}
	b := append(appendBytes(nil, "MQTT"), 5, flags)
	b = binary.BigEndian.AppendUint16(b, uint16(min(o.KeepAlive/time.Second, 65_535)))
	b = append(b, 5, 0x27) // one property: the largest packet that is taken
	b = binary.BigEndian.AppendUint32(b, maxPacket)
	b = appendBytes(b, o.Client)
	if o.Will != nil {
		b = append(b, 0) // no properties
		b = appendBytes(appendBytes(b, o.Will.Topic), string(o.Will.Payload))
	}
	if o.User != "" {
		b = appendBytes(b, o.User)
	}
	if o.Password != "" {
		b = appendBytes(b, o.Password)
	}
	return frame(connect, 0, b)
}

// greet sends CONNECT and takes the broker's answer.
func (c *Conn) greet(ctx context.Context, hello []byte, r *bufio.Reader) error {
	stop := context.AfterFunc(ctx, func() { _ = c.net.SetDeadline(time.Unix(1, 0)) }) // ends reading and writing
	defer stop()
	if _, err := c.net.Write(hello); err != nil {
		return first(ctx, err)
	}
	p, err := read(r)
	if err != nil {
		return fmt.Errorf("waiting for the broker's answer: %w", first(ctx, unexpected(err)))
	}
	if p.kind != connack {
		return fmt.Errorf("%w: kind %d where the answer to a connection is due", ErrMalformed, p.kind)
	}
	a, err := p.answer()
	switch {
	case err != nil:
		return err
	case a.reason != 0:
		return &Refusal{"the connection", a.reason, a.properties.reason}
	case a.maximumQoS < 1:
		return &Refusal{"quality of service 1", 0x9b, a.properties.reason}
	}
	if !stop() {
		return ctx.Err()
	}
	c.limits, c.life = a.properties, c.opt.KeepAlive
	if a.keepAlive >= 0 {
		c.life = time.Duration(a.keepAlive) * time.Second
	}
	return nil
}

// first returns the end of the context where it is over, for then err is only what came of it.
func first(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	return err
}

// receive takes what the broker sends until something ends it.
func (c *Conn) receive(r *bufio.Reader) error {
	for {
		p, err := read(r)
		if err != nil {
			return fmt.Errorf("the broker is gone: %w", unexpected(err))
		}
		switch p.kind {
		case pingresp:
			select {
			case c.pongs <- struct{}{}:
			default:
			}
		case puback, disconnect:
			a, err := p.answer()
			if err != nil {
				return err
			}
			if p.kind == disconnect {
				return &Refusal{"to go on", a.reason, a.properties.reason}
			}
			select {
			case c.acks <- a:
			default: // nobody waits for a second one
			}
		default:
			return fmt.Errorf("%w: kind %d, which a publisher does not get", ErrMalformed, p.kind)
		}
	}
}

// live sends a sign of life in good time, and ends the connection where the broker gives none, §3.1.2.10.
func (c *Conn) live() {
	if c.life <= 0 {
		return // the broker does not ask for any
	}
	tick := time.NewTicker(max(c.life/2, time.Second/2))
	defer tick.Stop()
	for {
		select {
		case <-c.done:
			return
		case <-tick.C:
		}
		if err := c.send([]byte{pingreq << 4, 0}); err != nil {
			return
		}
		late := time.NewTimer(c.opt.Wait)
		select {
		case <-c.pongs:
		case <-late.C:
			c.end(fmt.Errorf("the broker gave no sign of life within %v", c.opt.Wait))
		case <-c.done:
		}
		late.Stop()
	}
}

func (c *Conn) send(b []byte) error {
	c.sending.Lock()
	defer c.sending.Unlock()
	err := c.net.SetWriteDeadline(time.Now().Add(c.opt.Wait))
	if err == nil {
		_, err = c.net.Write(b)
	}
	if err != nil {
		c.end(err)
		<-c.done
		return c.err
	}
	return nil
}

// end ends the connection; the first reason counts.
func (c *Conn) end(why error) {
	c.once.Do(func() {
		c.err = why
		close(c.done)
		_ = c.net.Close() // the reason is known already
	})
}

// Done is closed when the connection has ended.
func (c *Conn) Done() <-chan struct{} { return c.done }

// Alive reports whether the connection has not ended.
func (c *Conn) Alive() bool {
	select {
	case <-c.done:
		return false
	default:
		return true
	}
}

// Err says why the connection has ended, once Done is closed.
func (c *Conn) Err() error {
	<-c.done
	return c.err
}

// Publish publishes a message, and returns once the broker has said that it has it. An error that is a *Refusal leaves the
// connection as it is; after any other it has ended.
func (c *Conn) Publish(ctx context.Context, m Message) error {
	if err := m.validate(); err != nil {
		return err
	}
	if m.Retain && !c.limits.retain {
		return &Refusal{"the message", 0x9a, ""}
	}
	c.asking.Lock()
	defer c.asking.Unlock()
	c.id = max(c.id+1, 1) // never 0, §2.2.1
	flags := byte(1 << 1)
	if m.Retain {
		flags |= 1
	}
	b := binary.BigEndian.AppendUint16(appendBytes(nil, m.Topic), c.id)
	b = append(b, 0) // no properties
	b, err := frame(publish, flags, append(b, m.Payload...))
	if err != nil {
		return err
	}
	if most := c.limits.maximumPacket; most > 0 && uint64(len(b)) > uint64(most) {
		return &Refusal{"the message", 0x95, fmt.Sprintf("%d bytes, it takes %d", len(b), most)}
	}
	if err := c.send(b); err != nil {
		return err
	}
	return c.acknowledged(ctx)
}

// acknowledged waits for the broker's word on the last message.
func (c *Conn) acknowledged(ctx context.Context) error {
	late := time.NewTimer(c.opt.Wait)
	defer late.Stop()
	for {
		select {
		case a := <-c.acks:
			if a.id != c.id {
				continue // of one that was given up
			}
			if a.reason.Fault() {
				return &Refusal{"the message", a.reason, a.properties.reason}
			}
			return nil
		case <-c.done:
			return c.err
		case <-ctx.Done():
			c.end(ctx.Err())
			return ctx.Err()
		case <-late.C:
			c.end(fmt.Errorf("the broker did not take a message within %v", c.opt.Wait))
			return c.Err()
		}
	}
}

// ErrClosed is why a connection has ended that was closed in good order.
var ErrClosed = errors.New("closed")

// Close says goodbye, so that no will is published, and ends the connection. A second call does nothing.
func (c *Conn) Close() error {
	if c.Alive() {
		c.leaving.Store(true)
		_ = c.send([]byte{disconnect << 4, 0}) // normal; where it is not heard, the will says so
		c.end(ErrClosed)
	}
	c.running.Wait()
	if errors.Is(c.err, ErrClosed) {
		return nil
	}
	return c.err
}
