package live

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"log/slog"
	"math/big"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"asusual/report/browser"
)

const token = "sixteen letters or more"

// certificate makes a certificate for localhost and 127.0.0.1 that vouches for itself, writes it and its key into files, and returns
// what trusts it.
func certificate(t *testing.T) (cert, key string, trust *x509.CertPool) {
	t.Helper()
	secret, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	c := &x509.Certificate{
		SerialNumber: big.NewInt(3), Subject: pkix.Name{CommonName: "filler3.plant"}, DNSNames: []string{"localhost", "filler3.plant"}, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign,
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, IsCA: true, BasicConstraintsValid: true,
	}
	der, err := x509.CreateCertificate(rand.Reader, c, c, &secret.PublicKey, secret)
	if err != nil {
		t.Fatal(err)
	}
	pkcs8, err := x509.MarshalPKCS8PrivateKey(secret)
	if err != nil {
		t.Fatal(err)
	}
	trust = x509.NewCertPool()
	trust.AppendCertsFromPEM(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}))
	dir := t.TempDir()
	cert, key = filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	for path, block := range map[string]*pem.Block{cert: {Type: "CERTIFICATE", Bytes: der}, key: {Type: "PRIVATE KEY", Bytes: pkcs8}} {
		if err := os.WriteFile(path, pem.EncodeToMemory(block), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return cert, key, trust
}

// enciphered serves a site to every computer, over TLS and with a token.
func enciphered(t *testing.T) (url string, trust *x509.CertPool) {
	t.Helper()
	cert, key, trust := certificate(t)
	l, err := Door{Address: "0.0.0.0:0", Token: token, Cert: cert, Key: key, Hosts: []string{"localhost"}}.Listen()
	if err != nil {
		t.Fatal(err)
	}
	if elsewhere, enciphered := l.Open(); !elsewhere || !enciphered {
		t.Errorf("Open() = %v, %v, want other computers to reach it, enciphered", elsewhere, enciphered)
	}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	s := sampleSite(t, Options{}, true, at(11, 55))
	go func() { done <- s.Serve(ctx, l) }()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Errorf("Serve() = %v, want it to end in good order", err)
		}
	})
	return l.URL(), trust
}

// TestEnciphered asks over TLS with a real certificate, as who trusts it and as who does not, with a token and without.
func TestEnciphered(t *testing.T) {
	url, trust := enciphered(t)
	if !strings.HasPrefix(url, "https://localhost:") {
		t.Fatalf("URL() = %q, want https and a name of the certificate", url)
	}
	client := func(pool *x509.CertPool) *http.Client {
		return &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}, ForceAttemptHTTP2: true, DisableKeepAlives: true}}
	}
	if r, err := client(nil).Get(url); err == nil {
		r.Body.Close()
		t.Errorf("who does not trust the certificate is answered %s, want no answer", r.Status)
	}
	plain, err := http.Get("http://" + strings.TrimPrefix(url, "https://"))
	if err == nil {
		plain.Body.Close()
		if plain.StatusCode != http.StatusBadRequest {
			t.Errorf("a question that is not enciphered is answered %s, want 400", plain.Status)
		}
	}
	old := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: trust, MaxVersion: tls.VersionTLS11}}}
	if r, err := old.Get(url); err == nil {
		r.Body.Close()
		t.Error("TLS 1.1 is answered, want no answer")
	}
	for _, c := range []struct {
		name, path, header string
		want               int
	}{
		{"no token", "", "", 401},
		{"a wrong token", "?token=another+of+sixteen", "", 401},
		{"data without a token", "line/filler-3/data.json", "", 401},
		{"a token in the header", "line/filler-3/data.json", "Bearer " + token, 200},
		{"a wrong one in the header", "line/filler-3/data.json", "Bearer " + token[:16], 401},
		{"a token in the address", "?token=" + strings.ReplaceAll(token, " ", "+"), "", 200},
	} {
		q, err := http.NewRequestWithContext(t.Context(), "GET", url+c.path, nil)
		if err != nil {
			t.Fatal(err)
		}
		if c.header != "" {
			q.Header.Set("Authorization", c.header)
		}
		r, err := client(trust).Do(q)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		r.Body.Close()
		if r.StatusCode != c.want || r.ProtoMajor != 2 || r.TLS.Version < tls.VersionTLS12 {
			t.Errorf("%s: %s over HTTP/%d, want %d over HTTP/2", c.name, r.Status, r.ProtoMajor, c.want)
		}
		for _, k := range r.Cookies() {
			if !k.Secure || !k.HttpOnly || k.SameSite != http.SameSiteStrictMode || strings.Contains(k.Value, token[:7]) {
				t.Errorf("%s: the cookie %v, want it for TLS alone, out of reach of scripts, and not the token", c.name, k)
			}
		}
	}
}

// testEnciphered opens the page in a browser by the address with the token, once, and then without.
func testEnciphered(t *testing.T, b *browser.Browser) {
	url, _ := enciphered(t)
	b.Call(t, "Security.setIgnoreCertificateErrors", map[string]any{"ignore": true}, nil) // it trusts no file; TestEnciphered checks trust
	b.Load(t, url, browser.View{Width: 1280})
	until(t, b, `document.querySelector(".since").textContent.startsWith("This page asks for a token.")`)
	b.Load(t, url+"?token="+strings.ReplaceAll(token, " ", "+"), browser.View{Width: 1280})
	b.Load(t, url, browser.View{Width: 1280}) // the cookie stands for the token now
	until(t, b, `document.querySelectorAll(".plot svg").length === 3 && document.getElementById("clock").textContent !== "" && isSecureContext`)
	for _, trouble := range b.Troubles(func(address string) bool { return strings.HasPrefix(address, url) }) {
		if !strings.Contains(trouble, "net::ERR_ABORTED") { // the way there from the welcome, which this load cut off
			t.Error(trouble)
		}
	}
}

// A certificate that is renewed while the page is served is taken up, and where the new one cannot be used the one before stays.
func TestTheCertificateIsRenewed(t *testing.T) {
	cert, key, _ := certificate(t)
	var log bytes.Buffer
	d := Door{Address: "127.0.0.1:0", Cert: cert, Key: key, Log: slog.New(slog.NewTextHandler(&log, nil))}
	if ends := d.Ends(); time.Until(ends) > time.Hour || time.Until(ends) < 0 {
		t.Errorf("Ends() = %v, want within the hour", ends)
	}
	p, err := d.check()
	if err != nil {
		t.Fatal(err)
	}
	served := func() []byte {
		t.Helper()
		c, err := p.get(nil)
		if err != nil {
			t.Fatal(err)
		}
		return c.Certificate[0]
	}
	first := served()
	put := func(from, to string, at time.Time) {
		t.Helper()
		b, err := os.ReadFile(from)
		if err == nil {
			err = errors.Join(os.WriteFile(to, b, 0o600), os.Chtimes(to, at, at))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	cert2, key2, _ := certificate(t)
	put(cert2, cert, time.Now().Add(time.Minute)) // its key does not lie there yet
	for range 2 {                                 // what is the matter is said once
		if !bytes.Equal(served(), first) {
			t.Error("a certificate without its key is served, want the one before")
		}
	}
	if n := strings.Count(log.String(), "cannot be used"); n != 1 {
		t.Errorf("the log has %s, want once that the new one cannot be used", log.String())
	}
	put(key2, key, time.Now().Add(2*time.Minute))
	if bytes.Equal(served(), first) {
		t.Error("the old certificate is served after it was renewed")
	}
	if err := os.Remove(key); err != nil {
		t.Fatal(err)
	}
	for minute := range 4 { // a renewal takes a moment, and no longer
		second := served()
		if bytes.Equal(second, first) {
			t.Error("without the file of the key the certificate before the last is served")
		}
		if n, want := strings.Count(log.String(), filepath.Base(key)+": "), min(minute, 1); n != want {
			t.Errorf("%d minutes without the key the log has %s, want %d times that it is not there", minute, log.String(), want)
		}
		p.gone = p.gone.Add(-time.Minute)
	}
	put(key2, key, time.Now().Add(2*time.Minute))
	if served(); !p.gone.IsZero() {
		t.Errorf("the key is there again, and missed since %v", p.gone)
	}
}
