package signal_test

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"math/big"
	dice "math/rand/v2"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"asusual/monitor"
	"asusual/monitor/mqtt"
	"asusual/monitor/signal"
)

// A broker is Eclipse Mosquitto, as Debian has it: a broker that others wrote, read by a client that others wrote.
type broker struct {
	t    *testing.T
	port string
	conf string
	cmd  *exec.Cmd
}

// newBroker starts one on a loopback port, with one more line of configuration where there is one.
func newBroker(t *testing.T, more ...string) *broker {
	t.Helper()
	for _, tool := range []string{"mosquitto", "mosquitto_sub"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skipf("no %s here: apt-get install mosquitto mosquitto-clients", tool)
		}
	}
	port := freePort(t)
	b := &broker{t: t, port: port, conf: filepath.Join(t.TempDir(), "broker.conf")}
	conf := "listener " + port + " 127.0.0.1\nallow_anonymous true\npersistence false\nlog_dest stderr\n"
	if len(more) > 0 {
		conf = "listener " + port + " 127.0.0.1\npersistence false\n" + strings.Join(more, "\n") + "\n"
	}
	if err := os.WriteFile(b.conf, []byte(conf), 0o644); err != nil {
		t.Fatal(err)
	}
	b.start()
	t.Cleanup(b.stop)
	return b
}

// freePort returns a port that nobody listens on, from below those that systems give to outgoing connections: such a one could
// be taken by another test before the broker has it.
func freePort(t *testing.T) string {
	t.Helper()
	for range 100 {
		l, err := net.Listen("tcp", fmt.Sprintf("127.0.0.1:%d", 10000+dice.IntN(20000)))
		if err != nil {
			continue
		}
		_, port, _ := net.SplitHostPort(l.Addr().String())
		if err := l.Close(); err != nil {
			t.Fatal(err)
		}
		return port
	}
	t.Fatal("no free port between 10000 and 30000")
	return ""
}

func (b *broker) url() string { return "mqtt://127.0.0.1:" + b.port }

func (b *broker) start() {
	b.t.Helper()
	b.cmd = exec.Command("mosquitto", "-c", b.conf)
	if err := b.cmd.Start(); err != nil {
		b.t.Fatal(err)
	}
	until(b.t, "the broker", func() bool {
		c, err := net.Dial("tcp", "127.0.0.1:"+b.port)
		if err == nil {
			c.Close()
		}
		return err == nil
	})
}

// stop kills it, as a power cut would: it keeps nothing.
func (b *broker) stop() {
	if b.cmd == nil {
		return
	}
	_ = b.cmd.Process.Kill()
	_ = b.cmd.Wait() // killed: its status says so
	b.cmd = nil
}

// retained returns the retained messages under the topics, sorted, as another client gets them: "topic payload".
func (b *broker) retained(topic string) string {
	b.t.Helper()
	out, _ := exec.Command("mosquitto_sub", "-V", "mqttv5", "-h", "127.0.0.1", "-p", b.port, "-t", topic, "-q", "1", "-F", "%r %q %t %p",
		"--retained-only", "-W", "1").Output() // it ends with a status for its time-out
	return string(out)
}

func TestBrokerKnowsHowLinesStand(t *testing.T) {
	br := newBroker(t)
	b := monitor.NewBoard("", nil)
	var log journal
	b.Set(status("Filler 3/+#", "as usual", 0.51234))
	stop := telling(t, b, signal.Options{Broker: &mqtt.Options{Broker: br.url(), Client: "watch"}, Prefix: "plant/oat", Log: log.log()})
	has := func(want ...string) func() bool {
		return func() bool {
			got := br.retained("plant/oat/#")
			for _, w := range want {
				if !strings.Contains(got, "1 1 plant/oat/"+w) { // retained, quality of service 1
					return false
				}
			}
			return true
		}
	}
	line := "line/Filler 3%2F%2B%23/"
	until(t, "the first state", has("watch watching\n", "heartbeat 20", line+"verdict as usual\n", line+"distance 0.5123\n", line+`state {"line":"Filler 3/+#"`))

	br.stop()
	until(t, "the log", func() bool { return strings.Contains(log.String(), "the broker is away") })
	b.Set(status("Filler 3/+#", "cannot say", 0.9))
	b.Set(status("Filler 3/+#", "the process has changed", 2.5))
	br.start()
	until(t, "the state after the broker was away", has("watch watching\n", line+"verdict the process has changed\n", line+"distance 2.5\n"))
	if n := strings.Count(log.String(), "the broker is away"); n != 1 {
		t.Errorf("log lines while the broker was away = %d, want 1:\n%s", n, log.String())
	}
	stop()
	until(t, "the goodbye", has("watch stopped\n", line+"verdict the process has changed\n"))
}

func TestBrokerTellsTheWillOfOneThatIsLost(t *testing.T) {
	br := newBroker(t)
	c, err := mqtt.Dial(t.Context(), mqtt.Options{Broker: br.url(), Will: &mqtt.Message{Topic: "a/watch", Payload: []byte("lost"), Retain: true}})
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Publish(t.Context(), mqtt.Message{Topic: "a/watch", Payload: []byte("watching"), Retain: true}); err != nil {
		t.Fatal(err)
	}
	until(t, "what it said", func() bool { return br.retained("a/watch") == "1 1 a/watch watching\n" })
	over, cancel := context.WithCancel(t.Context())
	cancel()
	for c.Alive() { // ends without a goodbye
		_ = c.Publish(over, mqtt.Message{Topic: "a/watch", Payload: []byte("watching"), Retain: true})
	}
	until(t, "the will", func() bool { return br.retained("a/watch") == "1 1 a/watch lost\n" })
}

// passwords makes a file that lets one user in, with a password.
func passwords(t *testing.T, user, password string) string {
	t.Helper()
	if _, err := exec.LookPath("mosquitto_passwd"); err != nil {
		t.Skip("no mosquitto_passwd here: apt-get install mosquitto")
	}
	words := filepath.Join(t.TempDir(), "passwords")
	if out, err := exec.Command("mosquitto_passwd", "-c", "-b", words, user, password).CombinedOutput(); err != nil {
		t.Fatalf("mosquitto_passwd: %v: %s", err, out)
	}
	if err := os.Chmod(words, 0o644); err != nil { // the broker may run as another user
		t.Fatal(err)
	}
	for dir := filepath.Dir(words); dir != os.TempDir() && dir != "/"; dir = filepath.Dir(dir) {
		if err := os.Chmod(dir, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	return words
}

func TestBrokerAsksWhoItIs(t *testing.T) {
	br := newBroker(t, "allow_anonymous false", "password_file "+passwords(t, "line", "oats"))
	for _, c := range []struct{ user, password, says string }{
		{"line", "oats", ""}, {"line", "rye", "not authorized"}, {"", "", "not authorized"},
	} {
		conn, err := mqtt.Dial(t.Context(), mqtt.Options{Broker: br.url(), User: c.user, Password: c.password, Wait: 5 * time.Second})
		if c.says == "" {
			if err != nil {
				t.Errorf("Dial as %q = %v, want nil", c.user, err)
				continue
			}
			if err := conn.Close(); err != nil {
				t.Error(err)
			}
		} else if err == nil || !strings.Contains(fmt.Sprint(err), c.says) {
			t.Errorf("Dial as %q with %q = %v, want %q", c.user, c.password, err, c.says)
		}
	}
}

// A password that was changed is asked for anew: the broker is told again without another start.
func TestBrokerAsksForTheNewPassword(t *testing.T) {
	br := newBroker(t, "allow_anonymous false", "password_file "+passwords(t, "line", "oats"))
	b := monitor.NewBoard("", nil)
	var log journal
	has := []string{"rye", "oats"}
	broker := &mqtt.Options{Broker: br.url(), User: "line", Password: "rye", Renewed: func() (string, error) {
		now := has[0]
		has = has[len(has)-1:]
		return now, nil
	}}
	stop := telling(t, b, signal.Options{Broker: broker, Prefix: "plant/oat", Log: log.log()})
	until(t, "the connection with the new password", func() bool { return strings.Contains(log.String(), "connected to the broker") })
	if !strings.Contains(log.String(), "the broker is away") {
		t.Errorf("the log has %s, want that the first password was refused", log.String())
	}
	stop()
}

// The connection is encrypted, and a broker whose certificate nobody vouches for is refused.
func TestBrokerOverTLS(t *testing.T) {
	dir := t.TempDir()
	pool := certificate(t, dir)
	br := newBroker(t, "allow_anonymous true", "certfile "+filepath.Join(dir, "cert.pem"), "keyfile "+filepath.Join(dir, "key.pem"))
	url := "mqtts://127.0.0.1:" + br.port
	c, err := mqtt.Dial(t.Context(), mqtt.Options{Broker: url, TLS: &tls.Config{RootCAs: pool}})
	if err != nil {
		t.Fatalf("Dial over TLS = %v, want nil", err)
	}
	if err := errors.Join(c.Publish(t.Context(), mqtt.Message{Topic: "a", Payload: []byte("x")}), c.Close()); err != nil {
		t.Errorf("Publish over TLS = %v, want nil", err)
	}
	if _, err := mqtt.Dial(t.Context(), mqtt.Options{Broker: url}); err == nil || !strings.Contains(err.Error(), "certificate") {
		t.Errorf("Dial of a broker that nobody vouches for = %v, want its certificate refused", err)
	}
}

// certificate writes a certificate for the loopback address and its key, and returns who vouches for it: itself.
func certificate(t *testing.T, dir string) *x509.CertPool {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	now := time.Now()
	about := &x509.Certificate{SerialNumber: big.NewInt(1), NotBefore: now.Add(-time.Hour), NotAfter: now.Add(time.Hour), IsCA: true,
		BasicConstraintsValid: true, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}}
	cert, err := x509.CreateCertificate(rand.Reader, about, about, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	whole := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: cert})
	for name, text := range map[string][]byte{"cert.pem": whole, "key.pem": pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret})} {
		if err := os.WriteFile(filepath.Join(dir, name), text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for at := dir; at != os.TempDir() && at != "/"; at = filepath.Dir(at) { // the broker may run as another user
		if err := os.Chmod(at, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	pool := x509.NewCertPool()
	pool.AppendCertsFromPEM(whole)
	return pool
}
