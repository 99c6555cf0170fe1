package live

import (
	"crypto/tls"
	"errors"
	"io/fs"
	"log/slog"
	"os"
	"sync"
	"time"
)

// A pair is a certificate and its key in files, which are read anew when they were written anew: they are renewed while a watch goes on.
type pair struct {
	cert, key string
	log       *slog.Logger // nil: nowhere

	mu      sync.Mutex
	now     *tls.Certificate
	written [2]time.Time // of both files as they are in use
	said    string       // why those of now cannot be used
	gone    time.Time    // since when one is not there; zero: both are
}

// load reads the files, where they are not those that were read before.
func (p *pair) load() error {
	var written [2]time.Time
	for i, path := range []string{p.cert, p.key} {
		info, err := os.Stat(path)
		if err != nil {
			return err
		}
		written[i] = info.ModTime()
	}
	if p.now != nil && written == p.written {
		return nil
	}
	c, err := tls.LoadX509KeyPair(p.cert, p.key)
	if err != nil {
		return err
	}
	p.now, p.written = &c, written
	return nil
}

// get returns the certificate as it is now; that of before where it cannot be read.
func (p *pair) get(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	err := p.load()
	switch {
	case err == nil:
		p.said, p.gone = "", time.Time{}
	case errors.Is(err, fs.ErrNotExist) && p.renewing(time.Now()):
	case p.said != err.Error():
		p.said = err.Error()
		if p.log != nil {
			p.log.Warn("the new certificate of the live page cannot be used; it goes on with the one of before", "file", p.cert, "reason", err)
		}
	}
	return p.now, nil
}

// renewing reports whether what is not there may be in its renewal, which takes a moment.
func (p *pair) renewing(now time.Time) bool {
	if p.gone.IsZero() {
		p.gone = now
	}
	return now.Sub(p.gone) < time.Minute
}
