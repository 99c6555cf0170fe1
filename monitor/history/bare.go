package history

import (
	"crypto/tls"
	"net"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// Bare reports whether a server of that address that offers no encryption, or who stands for it, may be sent the password over a network
// as it is.
func Bare(address string) bool {
	cfg, err := pgx.ParseConfig(address)
	if err != nil || cfg.Password == "" {
		return false
	}
	bare := isBare(cfg.Host, cfg.Port, cfg.TLSConfig)
	for _, f := range cfg.Fallbacks {
		bare = bare || isBare(f.Host, f.Port, f.TLSConfig)
	}
	return bare
}

func isBare(host string, port uint16, c *tls.Config) bool {
	if network, _ := pgconn.NetworkAddress(host, port); network == "unix" || c != nil {
		return false
	}
	ip := net.ParseIP(host)
	return !strings.EqualFold(host, "localhost") && (ip == nil || !ip.IsLoopback())
}
