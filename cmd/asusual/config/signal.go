package config

import (
	"fmt"
	"net/url"
	"strings"
	"time"
)

// Signal says how others are told.
type Signal struct {
	State   string        // the file that always says the state of each line; "" for none
	Command []string      // the program that is run when a verdict changes, and its arguments; none: no program
	Limit   time.Duration // for one run of it; 0 for the default
	MQTT    MQTT
}

// MQTT says to which broker the state of the lines is published.
type MQTT struct {
	Broker       string // "" for none
	Topic        string // that all others lie below; "" for the default
	Client       string
	User         string
	PasswordFile string // whole path; "": the environment may have it
	Trust        string // a file of certificates that vouch for the broker; "": the system's
}

func decodeSignal(t *table, s *Signal) {
	t.filePath("state", &s.State)
	t.texts("command", &s.Command)
	if len(s.Command) > 0 && strings.ContainsAny(s.Command[0], `/\`) { // a bare name is looked for where programs are
		s.Command[0] = t.whole("command", s.Command[0])
	}
	t.duration("command-limit", time.Second, &s.Limit)
	if m := t.table("mqtt"); m != nil {
		m.parse("broker", func(v string) error {
			u, err := url.Parse(v)
			if err != nil || u.Hostname() == "" || u.Scheme != "mqtt" && u.Scheme != "mqtts" {
				return fmt.Errorf("%q is not like mqtt://host or mqtts://host:8883", v)
			}
			if u.User != nil {
				return fmt.Errorf("a name or a password does not belong in the address; write user and password-file")
			}
			s.MQTT.Broker = v
			return nil
		})
		if s.MQTT.Broker == "" && !m.has("broker") {
			m.doc.wrong(m.path, "[signal.mqtt] needs a broker, such as mqtt://host")
		}
		m.parse("topic", func(v string) error {
			if v == "" || strings.ContainsAny(v, "+#") || strings.HasPrefix(v, "/") || strings.HasSuffix(v, "/") {
				return fmt.Errorf("%q is not a topic such as plant/oat; + and # have a meaning of their own", v)
			}
			s.MQTT.Topic = v
			return nil
		})
		m.text("client", &s.MQTT.Client)
		m.text("user", &s.MQTT.User)
		m.filePath("password-file", &s.MQTT.PasswordFile)
		m.filePath("trust", &s.MQTT.Trust)
		m.end()
	}
	t.end()
}
