package live

import (
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"crypto/tls"
	"encoding/hex"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"path"
	"strconv"
	"strings"
	"sync/atomic"
	"time"
)

// A Door says where to listen and who may come in. Who can reach an address of this computer alone, a loopback address, needs
// nothing; from elsewhere nobody comes in without a token.
type Door struct {
	Address   string       // host:port; an empty host is every address of this computer
	Token     string       // at least MinToken characters; "" for none
	Cert, Key string       // files for TLS; "" for none
	Hosts     []string     // names that a browser may know this computer by, besides the address
	Log       *slog.Logger // nil: nowhere
}

// MinToken is how long a token must be: sixteen characters of chance cannot be found out by trying.
const MinToken = 16

// ErrToken says that an address is open to other computers and has no token.
var ErrToken = errors.New("other computers can reach it, so it needs a token")

// A Shut is a door that cannot be opened now, though nothing is wrong with what was asked for: its port is taken, its certificate cannot be
// read, its network is not there yet.
type Shut struct{ Err error }

func (s *Shut) Error() string { return s.Err.Error() }
func (s *Shut) Unwrap() error { return s.Err }

// A Listener is an open door.
type Listener struct {
	net.Listener
	door     Door
	loopback bool
}

// Check says what is wrong with the door, without opening it: nil where nothing is.
func (d Door) Check() error {
	_, err := d.check()
	return err
}

// Ends returns when the certificate ends; the zero time where there is none, or the door could not be opened.
func (d Door) Ends() time.Time {
	p, err := d.check()
	if err != nil || p == nil || p.now.Leaf == nil {
		return time.Time{}
	}
	return p.now.Leaf.NotAfter
}

// check returns the certificate, nil for none. It refuses an address that other computers can reach where there is no token.
func (d Door) check() (*pair, error) {
	host, port, err := net.SplitHostPort(d.Address)
	if err == nil {
		_, err = net.LookupPort("tcp", port)
	}
	switch {
	case err != nil:
		return nil, fmt.Errorf("listening on %q: want an address and a port, such as 127.0.0.1:8080: %w", d.Address, err)
	case d.Token != "" && len(d.Token) < MinToken:
		return nil, fmt.Errorf("listening on %s: the token has %d characters, want at least %d", d.Address, len(d.Token), MinToken)
	case (d.Cert == "") != (d.Key == ""):
		return nil, fmt.Errorf("listening on %s: TLS needs a file with the certificate and one with its key", d.Address)
	case d.Token == "" && !isLoopback(host):
		return nil, fmt.Errorf("listening on %s: %w", d.Address, ErrToken)
	case d.Cert == "":
		return nil, nil
	}
	p := &pair{cert: d.Cert, key: d.Key, log: d.Log}
	if err := p.load(); err != nil {
		return nil, &Shut{fmt.Errorf("listening on %s: the certificate: %w", d.Address, err)}
	}
	return p, nil
}

// Listen opens the door, where nothing is wrong with it.
func (d Door) Listen() (*Listener, error) {
	secret, err := d.check()
	if err != nil {
		return nil, err
	}
	l, err := net.Listen("tcp", d.Address)
	if err != nil {
		return nil, &Shut{fmt.Errorf("listening on %s: %w", d.Address, err)}
	}
	bound := l.Addr().(*net.TCPAddr).IP.IsLoopback()
	if d.Token == "" && !bound { // localhost may stand for anything
		l.Close()
		return nil, fmt.Errorf("listening on %s, which is %s: %w", d.Address, l.Addr(), ErrToken)
	}
	if secret != nil {
		l = tls.NewListener(l, &tls.Config{GetCertificate: secret.get, MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"}})
	}
	return &Listener{l, d, bound}, nil
}

func isLoopback(host string) bool {
	ip := net.ParseIP(host)
	return strings.EqualFold(host, "localhost") || ip != nil && ip.IsLoopback()
}

// Open reports whether other computers can reach it, and whether what goes over the wire is enciphered.
func (l *Listener) Open() (elsewhere, enciphered bool) { return !l.loopback, l.door.Cert != "" }

// URL is the address of the page, without the token.
func (l *Listener) URL() string {
	scheme := "http"
	if l.door.Cert != "" {
		scheme = "https"
	}
	host, _, _ := net.SplitHostPort(l.door.Address)
	at := l.Addr().(*net.TCPAddr)
	if host == "" || at.IP.IsUnspecified() {
		host = "localhost"
		if len(l.door.Hosts) > 0 {
			host = l.door.Hosts[0]
		}
	}
	return scheme + "://" + net.JoinHostPort(host, strconv.Itoa(at.Port)) + "/"
}

// Serve answers at the door until the context ends, and then lets every page know and waits for it. The listener is closed.
func (s *Site) Serve(ctx context.Context, l *Listener) error { return s.serve(ctx, l, s.Handler()) }

// What a connection may take, also of one who has no token yet. The process needs its descriptors for spectra.
const (
	headTime = 5 * time.Second
	askTime  = 15 * time.Second // for all of what is asked, and for the answer
	idleTime = 2 * time.Minute
	mostHeld = 256 // connections at the same time, of which streams are few
)

func (s *Site) serve(ctx context.Context, l *Listener, inner http.Handler) error {
	var held atomic.Int32
	srv := &http.Server{
		Handler:           s.guard(l.door, l.loopback, l.Addr().(*net.TCPAddr).Port, inner),
		ReadHeaderTimeout: headTime, ReadTimeout: askTime, WriteTimeout: askTime, IdleTimeout: idleTime, MaxHeaderBytes: 16 << 10,
		ErrorLog: slog.NewLogLogger(s.opt.Log.Handler(), slog.LevelDebug),
		ConnState: func(c net.Conn, now http.ConnState) {
			switch now {
			case http.StateNew:
				if held.Add(1) > mostHeld {
					c.Close()
				}
			case http.StateClosed:
				held.Add(-1)
			}
		},
	}
	failed := make(chan error, 1)
	go func() { failed <- srv.Serve(l) }() // waited for below
	select {
	case err := <-failed:
		s.end()
		return fmt.Errorf("the live page: %w", err)
	case <-ctx.Done():
	}
	s.end()
	wait, cancel := context.WithTimeout(context.WithoutCancel(ctx), 2*time.Second)
	defer cancel()
	if srv.Shutdown(wait) != nil {
		srv.Close() // who still reads is let go
	}
	<-failed
	return nil
}

// guard lets nobody in who does not have the token, and none whose browser was led here by another name: a page elsewhere could
// make its name stand for this address, and then read what is here.
func (s *Site) guard(d Door, loopback bool, port int, inner http.Handler) http.Handler {
	own := ownHosts(d, loopback)
	cookie := "asusual-" + strconv.Itoa(port) // cookies know no ports, and two watches have two tokens
	sum := sha256.Sum256([]byte("asusual live page\n" + d.Token))
	pass := hex.EncodeToString(sum[:])
	let := func(w http.ResponseWriter) {
		http.SetCookie(w, &http.Cookie{Name: cookie, Value: pass, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode,
			Secure: d.Cert != "", MaxAge: 90 * 24 * 3600})
	}
	return headers(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !own(r.Host) {
			http.Error(w, strings.Replace(s.lang.LiveTexts()["host"], "{host}", plain(r.Host, 300), 1), http.StatusMisdirectedRequest)
			return
		}
		if d.Token == "" {
			inner.ServeHTTP(w, r)
			return
		}
		if c, err := r.Cookie(cookie); err == nil && same(c.Value, pass) {
			if r.Method == http.MethodGet { // a screen on a wall stays
				let(w)
			}
			inner.ServeHTTP(w, r)
			return
		}
		if t, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "); ok && same(t, d.Token) {
			inner.ServeHTTP(w, r)
			return
		}
		if r.Method == http.MethodGet && same(r.URL.Query().Get("token"), d.Token) {
			let(w)
			// Not a redirect: a browser that came over a link from elsewhere would not send the cookie along with that.
			to := "/" + strings.TrimLeft(path.Clean(r.URL.Path), "/") // never //elsewhere
			show(w, http.StatusOK, s.entrance(to).welcome())
			return
		}
		w.Header().Set("WWW-Authenticate", "Bearer")
		show(w, http.StatusUnauthorized, s.entrance("").token())
	}))
}

// entrance is a view of the pages that stand before the others: they tell nothing about the lines.
func (s *Site) entrance(to string) view {
	return view{Tag: s.lang.Tag, Title: "asusual", Text: s.lang.LiveTexts(), ID: to}
}

// same compares in a time that does not tell how much is right.
func same(a, b string) bool {
	x, y := sha256.Sum256([]byte(a)), sha256.Sum256([]byte(b))
	return subtle.ConstantTimeCompare(x[:], y[:]) == 1
}

// ownHosts tells the names of this door from others. An address in figures cannot be made to stand for another one.
func ownHosts(d Door, loopback bool) func(host string) bool {
	listen, _, _ := net.SplitHostPort(d.Address)
	return func(host string) bool {
		if h, _, err := net.SplitHostPort(host); err == nil {
			host = h
		}
		host = strings.TrimSuffix(strings.Trim(host, "[]"), ".")
		if isLoopback(host) || listen != "" && strings.EqualFold(host, listen) {
			return true
		}
		for _, h := range d.Hosts {
			if strings.EqualFold(h, host) {
				return true
			}
		}
		return !loopback && net.ParseIP(host) != nil
	}
}
