package main

import (
	"os"
	"path/filepath"
	"testing"

	"asusual/cmd/asusual/config"
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
	mqtt := config.MQTT{Broker: "mqtt://broker", Topic: "plant", Client: "filler", User: "line"}
	opt, err := signals(config.Signal{MQTT: mqtt}, nil)
	if err != nil || opt.Broker == nil || opt.Prefix != "plant" || opt.Broker.Client != "filler" || opt.Broker.User != "line" || opt.Broker.Password != "from outside" {
		t.Errorf("signals(%+v) = %+v, %v, want the password of the environment", mqtt, opt.Broker, err)
	}
	mqtt.PasswordFile = secret
	if opt, err = signals(config.Signal{MQTT: mqtt}, nil); err != nil || opt.Broker.Password != "oats and rye" {
		t.Errorf("signals(%+v) = %+v, %v, want the first line of the file", mqtt, opt.Broker, err)
	}
	if opt, err = signals(config.Signal{}, nil); err != nil || opt.Broker != nil || opt.Command != nil {
		t.Errorf("signals of nothing = %+v, %v, want nobody told", opt, err)
	}
	mqtt.Trust = filepath.Join(dir, "no.pem")
	for _, s := range []config.Signal{{MQTT: mqtt}, {Command: []string{filepath.Join(dir, "no-such-program")}}} {
		if _, err := signals(s, nil); err == nil {
			t.Errorf("signals(%+v) = no error, want one", s)
		}
	}
}
