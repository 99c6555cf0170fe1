package live

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"asusual/report"
)

// Handler returns the pages, open to everybody who can reach them: Serve puts a door before them.
func (s *Site) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.first)
	mux.HandleFunc("GET /events", func(w http.ResponseWriter, r *http.Request) {
		s.stream(w, r, func(uint64, bool) (any, uint64) { v, n := s.survey(); return v, n })
	})
	mux.HandleFunc("GET /lines.json", func(w http.ResponseWriter, _ *http.Request) {
		v, _ := s.survey()
		s.json(w, v)
	})
	mux.HandleFunc("GET /static/{name}", s.static)
	mux.HandleFunc("GET /line/{id}", s.of((*Line).page))
	mux.HandleFunc("GET /line/{id}/data.json", s.of((*Line).data))
	mux.HandleFunc("GET /line/{id}/readings.csv", s.of((*Line).csv))
	mux.HandleFunc("GET /line/{id}/events", s.of(func(l *Line, w http.ResponseWriter, r *http.Request) {
		s.stream(w, r, func(since uint64, whole bool) (any, uint64) { m, n := l.tell(since, whole); return m, n })
	}))
	mux.HandleFunc("POST /line/{id}/acknowledge", s.of((*Line).acknowledge))
	mux.HandleFunc("POST /line/{id}/name", s.of((*Line).nameGroup))
	// No page of another origin may make a browser ask for a change here.
	return headers(http.NewCrossOriginProtection().Handler(mux))
}

// headers are the same for every answer: nothing from elsewhere is loaded, and no other page may frame this one.
func headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src data:; "+
			"base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}

// of finds the line that an address speaks of.
func (s *Site) of(f func(*Line, http.ResponseWriter, *http.Request)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		for _, l := range s.lines {
			if l.id == r.PathValue("id") {
				f(l, w, r)
				return
			}
		}
		if r.Pattern == "GET /line/{id}" { // a person
			show(w, http.StatusNotFound, s.entrance("").unknown())
			return
		}
		http.NotFound(w, r)
	}
}

func (s *Site) json(w http.ResponseWriter, v any) {
	b, err := json.Marshal(v)
	if err != nil {
		s.opt.Log.Error("the live page", "reason", err)
		http.Error(w, "this could not be written", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.Write(append(b, '\n'))
}

func (l *Line) data(w http.ResponseWriter, _ *http.Request) {
	m, _ := l.tell(0, true)
	var err error
	if m.Figures, err = l.figures(m.Now); err != nil {
		l.site.opt.Log.Error("the live page", "reason", err)
	}
	l.site.json(w, m)
}

// csv writes the readings of the last hour as a table.
func (l *Line) csv(w http.ResponseWriter, _ *http.Request) {
	m, _ := l.tell(0, true)
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	c := csv.NewWriter(w)
	c.Write([]string{"time", "distance", "low", "high", "spectra", "kind", "condition", "score_1", "score_2"})
	number := func(v *float64) string {
		if v == nil {
			return ""
		}
		return strconv.FormatFloat(*v, 'g', -1, 64)
	}
	for _, r := range m.Readings {
		row := []string{r.Time.Format(time.RFC3339Nano), number(r.Distance), number(r.Low), number(r.High), strconv.Itoa(r.Spectra), r.Kind, report.Cell(r.Condition), "", ""}
		if r.Score != nil {
			row[7], row[8] = number(&r.Score[0]), number(&r.Score[1])
		}
		c.Write(row)
	}
	c.Flush()
}

// stream sends what tell gives as server-sent events, now and whenever something changed, until the reader goes, does not read,
// or the site ends.
func (s *Site) stream(w http.ResponseWriter, r *http.Request, tell func(since uint64, whole bool) (any, uint64)) {
	wake, ok := s.join()
	if !ok {
		w.Header().Set("Retry-After", "10")
		http.Error(w, "too many pages are open, or the watch is ending", http.StatusServiceUnavailable)
		return
	}
	defer s.leave(wake)
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("X-Accel-Buffering", "no") // a proxy shall hand each event on
	out := &sender{w: w, rc: http.NewResponseController(w)}
	sent, whole := s.resume(r)
	whole = !whole
	out.comment("as usual")
	beat := time.NewTicker(beatEvery)
	defer beat.Stop()
	for first := true; ; first = false {
		v, seq := tell(sent, whole)
		if first || seq > sent {
			out.event("now", s.start+"-"+strconv.FormatUint(seq, 10), v)
			sent, whole = seq, false
		}
		if out.err != nil || !s.wait(r, wake, beat, out) {
			return
		}
	}
}

// wait returns when something changed, false when the stream shall end. Meanwhile it beats.
func (s *Site) wait(r *http.Request, wake chan struct{}, beat *time.Ticker, out *sender) bool {
	calm := time.NewTimer(pace) // what comes at once goes together
	defer calm.Stop()
	var changed <-chan struct{}
	for out.err == nil {
		select {
		case <-r.Context().Done():
			return false
		case <-s.done:
			out.event("end", "", map[string]time.Time{"now": s.opt.Now()})
			return false
		case <-calm.C:
			changed = wake
		case <-changed:
			return true
		case <-beat.C:
			out.event("beat", "", map[string]time.Time{"now": s.opt.Now()})
		}
	}
	return false
}

// resume returns the number up to which a reader was told what happened; ok is false for one that is new or comes from an earlier
// start of the server.
func (s *Site) resume(r *http.Request) (seq uint64, ok bool) {
	id := r.Header.Get("Last-Event-ID")
	if id == "" {
		id = r.URL.Query().Get("after")
	}
	start, n, _ := strings.Cut(id, "-")
	seq, err := strconv.ParseUint(n, 10, 64)
	s.mu.Lock()
	defer s.mu.Unlock()
	if err != nil || start != s.start || seq > s.seq {
		return 0, false
	}
	return seq, true
}

// A sender writes events, each within a time; after the first error it writes nothing.
type sender struct {
	w   http.ResponseWriter
	rc  *http.ResponseController
	err error
}

func (o *sender) send(b []byte) {
	if o.err != nil {
		return
	}
	if err := o.rc.SetWriteDeadline(time.Now().Add(patience)); err != nil && !errors.Is(err, http.ErrNotSupported) {
		o.err = err
		return
	}
	if _, o.err = o.w.Write(b); o.err == nil {
		o.err = o.rc.Flush()
	}
}

func (o *sender) comment(text string) { o.send([]byte(": " + text + "\n\n")) }

func (o *sender) event(name, id string, v any) {
	data, err := json.Marshal(v) // holds no line end
	if err != nil {
		o.err = err
		return
	}
	var b bytes.Buffer
	if id != "" {
		fmt.Fprintf(&b, "id: %s\n", id)
	}
	fmt.Fprintf(&b, "event: %s\ndata: %s\n\n", name, data)
	o.send(b.Bytes())
}

// maxBody is how much a request for a change may hold.
const maxBody = 4096

// ask reads what a request for a change says; where it is not right the answer is written and ok is false.
func ask(w http.ResponseWriter, r *http.Request, into any, allowed bool) (ok bool) {
	switch {
	case !allowed:
		http.NotFound(w, r)
		return false
	case !strings.HasPrefix(r.Header.Get("Content-Type"), "application/json"): // which no form of another page can send
		http.Error(w, "want application/json", http.StatusUnsupportedMediaType)
		return false
	}
	conn := http.NewResponseController(w) // where it has no deadlines there is nothing to do
	_ = conn.SetReadDeadline(time.Now().Add(patience))
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, maxBody))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		http.Error(w, "not what is asked for: "+err.Error(), http.StatusBadRequest)
		return false
	}
	// What is asked for takes its time: to name a group, many files are read again.
	_, _ = conn.SetReadDeadline(time.Time{}), conn.SetWriteDeadline(time.Time{})
	return true
}

// told answers a request for a change: with what is to be said of one that was made, or why it was not.
func (l *Line) told(w http.ResponseWriter, said string, err error) {
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(patience))
	if err != nil {
		http.Error(w, l.site.lang.Answered(err.Error(), l.site.opt.Zone, l.site.opt.Now()), http.StatusConflict)
		return
	}
	answer := map[string]string{}
	if said != "" {
		answer["said"] = l.site.lang.Answered(said, l.site.opt.Zone, l.site.opt.Now())
	}
	l.site.json(w, answer)
}

// plain is what a person wrote, without what cannot be seen; "" where it is longer than most characters.
func plain(s string, most int) string {
	s = strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) {
			return -1
		}
		return r
	}, s))
	if utf8.RuneCountInString(s) > most {
		return ""
	}
	return s
}

func (l *Line) acknowledge(w http.ResponseWriter, r *http.Request) {
	var in struct {
		Who string `json:"who"`
		Why string `json:"why"`
	}
	if !ask(w, r, &in, l.site.opt.Acknowledge != nil) {
		return
	}
	who, why := plain(in.Who, 80), plain(in.Why, 400)
	if who == "" || why == "" {
		http.Error(w, l.site.lang.Said("who it is, in at most 80 characters, and why, in at most 400, are needed"), http.StatusBadRequest)
		return
	}
	l.told(w, "", l.site.opt.Acknowledge(r.Context(), l.name, who, why))
}

func (l *Line) nameGroup(w http.ResponseWriter, r *http.Request) {
	var in struct {
		Group string `json:"group"`
		Name  string `json:"name"`
	}
	if !ask(w, r, &in, l.site.opt.Name != nil) {
		return
	}
	name := plain(in.Name, 80)
	if name == "" {
		http.Error(w, l.site.lang.Said("a name of 1 to 80 characters is needed"), http.StatusBadRequest)
		return
	}
	said, err := l.site.opt.Name(r.Context(), l.name, in.Group, name)
	l.told(w, said, err)
}
