package main

import (
	"context"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"net/http/httptest"
	"os"
	"path/filepath"
	"testing"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/monitor/mqtt"
)

// Who is told is made from the settings; the password is the first line of its file, or stands in the environment.
func TestSignals(t *testing.T) {
	dir := t.TempDir()
	secret := filepath.Join(dir, "secret")
	for name, text := range map[string]string{secret: "oats and rye\r\nmore\n", filepath.Join(dir, "no.pem"): "no certificate"} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	t.Setenv(passwordVariable, "from outside")
	broker := config.MQTT{Broker: "mqtt://broker", Topic: "plant", Client: "filler", User: "line"}
	opt, err := signals(config.Signal{MQTT: broker}, nil)
	if err != nil || opt.Broker == nil || opt.Prefix != "plant" || opt.Broker.Client != "filler" || opt.Broker.User != "line" || opt.Broker.Password != "from outside" {
		t.Errorf("signals(%+v) = %+v, %v, want the password of the environment", broker, opt.Broker, err)
	}
	broker.PasswordFile = secret
	if opt, err = signals(config.Signal{MQTT: broker}, nil); err != nil || opt.Broker.Password != "oats and rye" {
		t.Errorf("signals(%+v) = %+v, %v, want the first line of the file", broker, opt.Broker, err)
	}
	for text, want := range map[string]string{"\ufeffoats and rye\r\n": "oats and rye", "\xff\xfeo\x00\r\x00\n\x00": "", "o\x00a\x00t\x00": ""} {
		if err := os.WriteFile(secret, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		opt, err = signals(config.Signal{MQTT: broker}, nil)
		var not *words.NotUTF8
		if refused := errors.As(err, &not); opt.Broker.Password != want && !refused || refused != (want == "") {
			t.Errorf("signals with a password file of %q = %q, %v, want %q, or that it is no UTF-8", text, opt.Broker.Password, err, want)
		}
	}
	if opt, err = signals(config.Signal{}, nil); err != nil || opt.Broker != nil || opt.Command != nil {
		t.Errorf("signals of nothing = %+v, %v, want nobody told", opt, err)
	}
	broker.PasswordFile, broker.Trust = "", filepath.Join(dir, "no.pem") // which is asked for nothing, and told of elsewhere
	if opt, err = signals(config.Signal{MQTT: broker}, nil); err != nil || opt.Broker.TLS != nil {
		t.Errorf("signals(%+v) = %v, want a broker that is reached as it is", broker, err)
	}
	broker.Broker = "mqtts://broker"
	for _, s := range []config.Signal{{MQTT: broker}, {Command: []string{filepath.Join(dir, "no-such-program")}}} {
		if _, err := signals(s, nil); err == nil {
			t.Errorf("signals(%+v) = no error, want one", s)
		}
	}
}

// certificate returns the paths of files with a certificate and its key, and when it ends.
func certificate(t *testing.T) (cert, key string, ends time.Time) {
	t.Helper()
	s := httptest.NewTLSServer(nil)
	defer s.Close()
	secret, err := x509.MarshalPKCS8PrivateKey(s.TLS.Certificates[0].PrivateKey)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	cert, key = filepath.Join(dir, "plant.pem"), filepath.Join(dir, "plant.key")
	for path, block := range map[string]*pem.Block{cert: {Type: "CERTIFICATE", Bytes: s.Certificate().Raw}, key: {Type: "PRIVATE KEY", Bytes: secret}} {
		if err := os.WriteFile(path, pem.EncodeToMemory(block), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return cert, key, s.Certificate().NotAfter
}

// A password that others on the network can read is said; where there is none, or nobody else to read it, there is nothing to say.
func TestPasswordsOnTheNetwork(t *testing.T) {
	for _, c := range []struct {
		broker, password string
		want             bool
	}{
		{"mqtt://broker.plant", "oats", true}, {"mqtt://192.0.2.1:1884", "oats", true}, {"mqtt://broker.plant", "", false}, {"mqtts://broker.plant", "oats", false},
		{"mqtt://localhost:1883", "oats", false}, {"mqtt://127.0.0.1", "oats", false}, {"mqtt://[::1]:1883", "oats", false},
	} {
		if got := isBare(&mqtt.Options{Broker: c.broker, Password: c.password}); got != c.want {
			t.Errorf("isBare(%s, %q) = %v, want %v", c.broker, c.password, got, c.want)
		}
	}
	if isBare(nil) {
		t.Error("isBare of no broker = true")
	}
	t.Setenv(passwordVariable, "")
	ctx, cancel := context.WithCancel(t.Context())
	cancel() // no broker is asked
	cert, _, _ := certificate(t)
	idle, err := config.Decode("f.toml", "[signal.mqtt]\nbroker = 'mqtt://192.0.2.1'\ntrust = '"+cert+"'")
	if err != nil {
		t.Fatalf("certificates for a broker that is asked for none = %v, want a configuration that works all the same", err)
	}
	e := &examination{app: &app{}, config: idle}
	if e.signals(ctx); len(e.found) == 0 || e.found[0].Check != "mqtt.trust" || e.found[0].State != look || e.found[0].Try == "" {
		t.Errorf("doctor finds %+v, want first that trust says nothing", e.found)
	}
	t.Setenv(passwordVariable, "oats")
	e = &examination{app: &app{}, config: &config.Config{Signal: config.Signal{MQTT: config.MQTT{Broker: "mqtt://192.0.2.1"}}}}
	if e.signals(ctx); len(e.found) == 0 || e.found[0].Check != "mqtt.bare" || e.found[0].State != look || e.found[0].Try == "" {
		t.Errorf("doctor finds %+v, want first that the password can be read", e.found)
	}
}
