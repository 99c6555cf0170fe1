package live

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"log/slog"
	"net/http"
	"strconv"
	"time"

	"asusual/report"
)

// A Plain is one page without a script, made anew for whoever asks: a browser asks again by itself.
type Plain struct {
	Language *report.Language // of the pages at the door; nil: English
	Log      *slog.Logger     // nil: nowhere
	Again    time.Duration    // after which a browser asks again; 0: never
	// Page returns the page, whole, with its style inside, and its figures as JSON. It is called from several goroutines.
	Page func(ctx context.Context) (html, figures []byte, err error)
	JSON string // the name of the figures below the address
}

// Serve answers at the door until the context ends. The listener is closed.
func (p Plain) Serve(ctx context.Context, l *Listener) error {
	s := &Site{opt: Options{Log: p.Log}, lang: p.Language, done: make(chan struct{})}
	if s.opt.Log == nil {
		s.opt.Log = slog.New(slog.DiscardHandler)
	}
	if s.lang == nil {
		s.lang = report.English()
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /static/{name}", s.static) // for the pages at the door
	made := func(w http.ResponseWriter, r *http.Request) (html, figures []byte, ok bool) {
		html, figures, err := p.Page(r.Context())
		if err != nil {
			s.opt.Log.Error("the page could not be made", "reason", err)
			http.Error(w, s.lang.Said("this page could not be made; it is asked for again by itself"), http.StatusInternalServerError)
		}
		return html, figures, err == nil
	}
	if p.JSON != "" {
		mux.HandleFunc("GET /"+p.JSON, func(w http.ResponseWriter, r *http.Request) {
			if _, figures, ok := made(w, r); ok {
				w.Header().Set("Content-Type", "application/json")
				w.Write(figures)
			}
		})
	}
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		if p.Again > 0 { // also where the page cannot be made, or a screen would show that for ever
			h.Set("Refresh", strconv.Itoa(int(p.Again/time.Second)))
		}
		html, _, ok := made(w, r)
		if !ok {
			return
		}
		h.Set("Content-Type", "text/html; charset=utf-8")
		h.Set("Content-Security-Policy", "default-src 'none'; style-src '"+hashOf(style(html))+"'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
		w.Write(html)
	})
	return s.serve(ctx, l, headers(mux))
}

// style returns what stands in the style element of a page.
func style(html []byte) []byte {
	_, rest, _ := bytes.Cut(html, []byte("<style>"))
	in, _, _ := bytes.Cut(rest, []byte("</style>"))
	return in
}

// hashOf names a text in a content security policy, so that no other style is used.
func hashOf(text []byte) string {
	sum := sha256.Sum256(text)
	return "sha256-" + base64.StdEncoding.EncodeToString(sum[:])
}
