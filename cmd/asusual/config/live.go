package config

import (
	"fmt"
	"net"
)

// Live says whether the lines are shown on a page in a browser while they are watched, and who may see it.
type Live struct {
	Address          string // host:port; "" for nowhere
	TokenFile        string // whole path; "" for no token
	Certificate, Key string // whole paths; "" for no TLS
	Hosts            []string
}

func decodeLive(t *table, l *Live) {
	t.parse("address", func(v string) error {
		if _, port, err := net.SplitHostPort(v); err != nil || port == "" {
			return fmt.Errorf("%q is not an address and a port such as 127.0.0.1:8080", v)
		}
		l.Address = v
		return nil
	})
	t.filePath("token-file", &l.TokenFile)
	t.filePath("certificate", &l.Certificate)
	t.filePath("key", &l.Key)
	if (l.Certificate == "") != (l.Key == "") {
		t.doc.wrong(t.path, "[live] needs both certificate and key, or neither")
	}
	t.texts("hosts", &l.Hosts)
	t.end()
}
