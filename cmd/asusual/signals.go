package main

import (
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"log/slog"
	"net"
	"net/url"
	"os"
	"os/exec"
	"strings"

	"asusual/cmd/asusual/config"
	"asusual/monitor/mqtt"
	"asusual/monitor/signal"
)

// passwordVariable is where the environment has the password of the broker, where no file has it.
const passwordVariable = "ASUSUAL_MQTT_PASSWORD"

// isBare reports whether the password of a broker goes over a network as it is.
func isBare(o *mqtt.Options) bool {
	if o == nil || o.Password == "" {
		return false
	}
	u, err := url.Parse(o.Broker)
	if err != nil || u.Scheme != "mqtt" {
		return false
	}
	ip := net.ParseIP(u.Hostname())
	return !strings.EqualFold(u.Hostname(), "localhost") && (ip == nil || !ip.IsLoopback())
}

// isIdle reports whether certificates are named for a broker that is not asked for one, since nothing is encrypted.
func isIdle(s config.MQTT) bool {
	return s.Trust != "" && strings.HasPrefix(strings.ToLower(s.Broker), "mqtt:")
}

// signals returns who is told how the lines stand, besides the state file. What cannot work is an error now, not at the first
// change.
func signals(s config.Signal, log *slog.Logger) (signal.Options, error) {
	opt := signal.Options{Command: s.Command, Limit: s.Limit, Prefix: s.MQTT.Topic, Log: log}
	if len(s.Command) > 0 {
		if _, err := exec.LookPath(s.Command[0]); err != nil {
			return opt, fmt.Errorf("[signal] command: %w", err)
		}
	}
	if s.MQTT.Broker == "" {
		return opt, nil
	}
	opt.Broker = &mqtt.Options{Broker: s.MQTT.Broker, Client: s.MQTT.Client, User: s.MQTT.User, Password: os.Getenv(passwordVariable)}
	if s.MQTT.PasswordFile != "" {
		opt.Broker.Renewed = func() (string, error) { return passwordIn(s.MQTT.PasswordFile) }
		var err error
		if opt.Broker.Password, err = opt.Broker.Renewed(); err != nil {
			return opt, fmt.Errorf("[signal.mqtt] password-file: %w", err)
		}
	}
	if s.MQTT.Trust != "" && !isIdle(s.MQTT) {
		b, err := os.ReadFile(s.MQTT.Trust)
		if err != nil {
			return opt, fmt.Errorf("[signal.mqtt] trust: %w", err)
		}
		pool := x509.NewCertPool()
		if !pool.AppendCertsFromPEM(b) {
			return opt, fmt.Errorf("[signal.mqtt] trust: %s holds no certificate in PEM form", s.MQTT.Trust)
		}
		opt.Broker.TLS = &tls.Config{RootCAs: pool, MinVersion: tls.VersionTLS12}
	}
	return opt, nil
}
