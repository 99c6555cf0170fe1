package live

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"net/http"
	"path"
	"sync"
	"time"

	"asusual/report"
)

//go:embed static
var files embed.FS

// served are the style and the scripts, by name.
var served = sync.OnceValue(func() map[string][]byte {
	all := map[string][]byte{}
	for _, name := range []string{"live.css", "stream.js", "draw.js", "live.js", "lines.js"} {
		b, err := files.ReadFile("static/" + name)
		if err != nil {
			b = []byte("/* " + err.Error() + " */")
		}
		if name == "live.css" {
			b = append([]byte(report.Style()), b...)
		}
		all[name] = b
	}
	return all
})

// assets tells one version of the page from another, so that a page that was left open through an update loads itself anew.
var assets = sync.OnceValue(func() string {
	h := sha256.New()
	for _, name := range []string{"live.css", "stream.js", "draw.js", "live.js", "lines.js"} {
		h.Write(served()[name])
	}
	return hex.EncodeToString(h.Sum(nil)[:6])
})

func (s *Site) static(w http.ResponseWriter, r *http.Request) {
	b, ok := served()[r.PathValue("name")]
	if !ok {
		http.NotFound(w, r)
		return
	}
	types := map[string]string{".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8"}
	w.Header().Set("Content-Type", types[path.Ext(r.PathValue("name"))])
	w.Write(b)
}

// A view is what a page is made from.
type view struct {
	Tag    string // of the language
	Title  string
	Kicker string
	ID     string // of the line
	Assets string
	Words  string // JSON, for the script
	// Now and Offsets are the time at which the page is made and the clocks of the site, for the script until it is told them.
	Now, Offsets string
	Text         map[string]string // what stands on the page as it is
	Told         report.Told
	Last         string    // when the newest spectrum came
	Lines        []summary // of all lines of the site, where there are several
	Take         bool      // somebody may acknowledge
	Name         bool      // somebody may name a group

	last func(at time.Time) string // says when the newest spectrum came
}

func (s *Site) view() view {
	words, err := json.Marshal(s.lang.LiveWords())
	if err != nil {
		words = []byte("{}") // strings can always be written
	}
	now := s.opt.Now()
	clocks, err := json.Marshal(s.offsets(now))
	if err != nil {
		clocks = []byte("[]") // numbers can always be written
	}
	v := view{Tag: s.lang.Tag, Assets: assets(), Words: string(words), Now: now.UTC().Format(time.RFC3339Nano), Offsets: string(clocks),
		Text: s.lang.LiveTexts(), last: func(at time.Time) string { return s.lang.LastSpectrum(at, s.opt.Zone) },
		Take: s.opt.Acknowledge != nil, Name: s.opt.Name != nil}
	if len(s.lines) > 1 {
		all, _ := s.survey()
		v.Lines = all.Lines
	}
	return v
}

// first is the page of the only line, or the list of all.
func (s *Site) first(w http.ResponseWriter, r *http.Request) {
	if len(s.lines) == 1 {
		s.lines[0].page(w, r)
		return
	}
	v := s.view()
	v.Title, v.Kicker = s.lang.LiveTitle("", s.opt.Site), s.opt.Site
	show(w, http.StatusOK, v.lines())
}

func (l *Line) page(w http.ResponseWriter, _ *http.Request) {
	v := l.site.view()
	m, _ := l.tell(0, true)
	v.ID, v.Title, v.Kicker, v.Told = l.id, l.site.lang.LiveTitle(l.name, l.site.opt.Site), l.name, m.Standing.Words
	v.Last = v.last(m.Standing.LastSpectrum)
	show(w, http.StatusOK, v.line())
}

func show(w http.ResponseWriter, status int, html []byte) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	w.Write(html)
}
