package live

import (
	"bufio"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"asusual/report"
	"asusual/report/chart"
)

// get asks a handler as a browser on this computer would.
func get(h http.Handler, path string, change ...func(*http.Request)) *httptest.ResponseRecorder {
	r := httptest.NewRequest("GET", "http://localhost:8080"+path, nil)
	for _, c := range change {
		c(r)
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func header(name, value string) func(*http.Request) {
	return func(r *http.Request) { r.Header.Set(name, value) }
}

// A heard is one event of a stream.
type heard struct {
	id, event string
	message   message
}

// listen opens a stream and returns what reads its next event, beats left out.
func listen(t *testing.T, base, path, after string) (next func() heard, hang func()) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), "GET", base+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	if after != "" {
		r.Header.Set("Last-Event-ID", after)
	}
	got, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	if s := got.Header.Get("Content-Type"); got.StatusCode != 200 || s != "text/event-stream" {
		t.Fatalf("GET %s = %s, %q, want 200 and text/event-stream", path, got.Status, s)
	}
	in := bufio.NewReader(got.Body)
	next = func() (h heard) {
		t.Helper()
		for {
			line, err := in.ReadString('\n')
			if err != nil {
				t.Fatalf("the stream ended: %v", err)
			}
			key, value, _ := strings.Cut(strings.TrimSuffix(line, "\n"), ": ")
			switch key {
			case "id":
				h.id = value
			case "event":
				h.event = value
			case "data":
				h.message = message{}
				if err := json.Unmarshal([]byte(value), &h.message); err != nil {
					t.Fatalf("data of %q: %v", h.event, err)
				}
			case "":
				if h.event != "" && h.event != "beat" {
					return h
				}
				h = heard{}
			}
		}
	}
	return next, func() { got.Body.Close() }
}

// Whoever comes by a bookmark of a line that has another name now is told so, and led on; a program gets no page.
func TestALineThatIsNotKnown(t *testing.T) {
	h := sampleSite(t, Options{}, false, at(11, 55)).Handler()
	for path, isPage := range map[string]bool{"/line/gone": true, "/line/gone/data.json": false, "/line/gone/events": false, "/line/events/events": false} {
		got := get(h, path)
		if got.Code != http.StatusNotFound || strings.Contains(got.Body.String(), `<a href="/">No line has this address.`) != isPage {
			t.Errorf("GET %s = %d, %s, want %d, and a page with the way to all lines: %v", path, got.Code, got.Body, http.StatusNotFound, isPage)
		}
	}
}

func TestStreamTellsWhatChanges(t *testing.T) {
	s := sampleSite(t, Options{}, false, at(11, 55))
	server := httptest.NewServer(s.Handler())
	defer server.Close()
	next, hang := listen(t, server.URL, "/line/filler-3/events", "")
	first := next()
	if n := len(first.message.Readings); !first.message.Whole || first.message.Usual == nil || first.message.Spectrum == nil || n < 300 {
		t.Fatalf("the first event: whole %v, %d readings; want all there is", first.message.Whole, n)
	}
	r := rand.New(rand.NewPCG(5, 5))
	add := func(minute int) {
		s.Line("Filler 3").Add(sampleReading(r, sampleUsual(), at(11, minute), 0))
	}
	add(56)
	second := next()
	if m := second.message; m.Whole || len(m.Readings) != 1 || !m.Readings[0].Time.Equal(at(11, 56)) || m.Usual != nil || m.Standing == nil {
		t.Errorf("after one spectrum the event has whole %v and %d readings, want that spectrum alone", m.Whole, len(m.Readings))
	}
	hang()
	add(57)
	add(58)

	again, hang := listen(t, server.URL, "/line/filler-3/events", second.id)
	if m := again().message; m.Whole || len(m.Readings) != 2 || !m.Readings[0].Time.Equal(at(11, 57)) {
		t.Errorf("resumed after %s: whole %v, %d readings; want the two that were missed", second.id, m.Whole, len(m.Readings))
	}
	hang()
	for _, id := range []string{"0123456789ab-7", "nonsense", first.id + "999999"} {
		again, hang := listen(t, server.URL, "/line/filler-3/events", id)
		if m := again().message; !m.Whole || len(m.Readings) < 300 {
			t.Errorf("resumed after %q, which this start never sent: whole %v, %d readings; want all there is", id, m.Whole, len(m.Readings))
		}
		hang()
	}
}

func TestAnotherReferenceReplacesAll(t *testing.T) {
	s := sampleSite(t, Options{}, false, at(11, 55))
	l := s.Line("Filler 3")
	_, before := l.tell(0, true)
	u := sampleUsual()
	u.Reference.Fingerprint = "another"
	l.Know(u)
	m, _ := l.tell(before, false)
	if !m.Whole || m.Usual == nil || len(m.Readings) != 0 || m.Spectrum != nil {
		t.Errorf("after another reference: whole %v, %d readings; want a new beginning, since scores of two references lie in two planes", m.Whole, len(m.Readings))
	}
}

// A week of ten spectra a second, in short: memory holds an hour, in slots.
func TestMemoryIsBounded(t *testing.T) {
	s, err := New(Options{Lines: []string{"Filler 3"}})
	if err != nil {
		t.Fatal(err)
	}
	l := s.Line("Filler 3")
	from := at(0, 0)
	for i := range 90_000 { // two and a half hours
		l.Add(Reading{Time: from.Add(time.Duration(i) * 100 * time.Millisecond), Distance: 0.5 + float64(i%20)/100, Inside: true, Condition: "usual"})
	}
	if n := len(l.readings); n > 1801 {
		t.Errorf("%d readings are kept, want one each two seconds of an hour", n)
	}
	if k := l.readings[10]; k.n != 20 || k.low != 0.5 || k.high != 0.69 || !(math.Abs(k.distance-0.595) <= 1e-9) {
		t.Errorf("a slot holds %d spectra, %g to %g, mean %g; want 20, 0.5 to 0.69, 0.595", k.n, k.low, k.high, k.distance)
	}
	for i := range 20_000 { // a line whose condition changes with every spectrum
		l.Add(Reading{Time: from.Add(3*time.Hour + time.Duration(i)*100*time.Millisecond), Distance: 1, Condition: []string{"rinse", "usual"}[i%2]})
	}
	if n := len(l.readings); n > maxKept {
		t.Errorf("%d readings are kept, want at most %d", n, maxKept)
	}
}

func TestReadings(t *testing.T) {
	s, err := New(Options{Lines: []string{"Filler 3"}, Zone: zone})
	if err != nil {
		t.Fatal(err)
	}
	l := s.Line("Filler 3")
	for _, r := range []Reading{
		{Time: at(11, 0), Distance: 0.5, Inside: true, Condition: "usual"},
		{Time: at(11, 2), Distance: 40, Condition: "rinse"},
		{Time: at(11, 1), Distance: 1.5, Condition: "uncharted", Score: chart.Point{X: 1, Y: 2}, Late: true},
		{Time: at(11, 3), Distance: math.NaN(), Condition: "unfit"},
		{Time: at(9, 0), Distance: 0.5, Inside: true, Condition: "usual", Late: true}, // of long before
	} {
		l.Add(r)
	}
	m, _ := l.tell(0, true)
	var got []string
	for _, r := range m.Readings {
		got = append(got, r.Kind)
	}
	if want := "inside outside elsewhere unfit"; strings.Join(got, " ") != want {
		t.Errorf("kinds in order of time = %v, want %s", got, want)
	}
	if r := m.Readings[3]; r.Distance != nil || r.Score != nil {
		t.Errorf("a spectrum that could not be judged has the distance %v, want none", r.Distance)
	}
	var whole struct {
		Figures struct {
			Expected   int     `json:"expected"`
			Peak       float64 `json:"peak"`
			Conditions []struct {
				Condition string  `json:"condition"`
				Time      float64 `json:"time_s"`
			} `json:"conditions"`
		} `json:"figures"`
	}
	if err := json.Unmarshal(get(s.Handler(), "/line/filler-3/data.json").Body.Bytes(), &whole); err != nil {
		t.Fatal(err)
	}
	if f := whole.Figures; m.Figures != nil || f.Expected != 2 || f.Peak != 1.5 || len(f.Conditions) != 4 || f.Conditions[0].Time != 60 {
		t.Errorf("data.json has the figures %+v, want those of the words; a stream has none: %s", f, m.Figures)
	}
	w := get(s.Handler(), "/line/filler-3/readings.csv")
	rows, err := csv.NewReader(w.Body).ReadAll()
	if err != nil || len(rows) != 5 || rows[2][1] != "1.5" || rows[2][6] != "uncharted" || rows[2][8] != "2" || rows[4][1] != "" {
		t.Errorf("readings.csv = %v, %v; want a head and four rows", rows, err)
	}
	if st := m.Standing; st.Expected != 2 || st.Inside != 1 || st.Condition != "unfit" || st.Words.Headline != "Cannot say yet." {
		t.Errorf("standing = %d of %d within, in %q, %q; want 1 of 2, unfit, and no verdict before there is one", st.Inside, st.Expected, st.Condition, st.Words.Headline)
	}
}

// A name that a spreadsheet would run as a formula is text in the table.
func TestNamesAreNoFormulas(t *testing.T) {
	s := sampleSite(t, Options{}, false, at(11, 55))
	s.Line("Filler 3").Add(Reading{Time: at(11, 56), Distance: 40, Condition: "=rinse"})
	if w := get(s.Handler(), "/line/filler-3/readings.csv"); !strings.Contains(w.Body.String(), ",'=rinse,") {
		t.Errorf("readings.csv = %s, want the condition as text", w.Body)
	}
}

// What lasts longer than its condition may is drawn as outside, and the words say so.
func TestTooLong(t *testing.T) {
	s := sampleSite(t, Options{}, true, at(11, 55))
	l := s.Line("Filler 3")
	for second := range 60 {
		l.Add(Reading{Time: at(11, 56).Add(time.Duration(second) * time.Second), Distance: 40, Condition: "rinse", Over: second >= 20})
	}
	m, _ := l.tell(0, true)
	n := len(m.Readings)
	if first, last := m.Readings[n-30].Kind, m.Readings[n-1].Kind; first != elsewhere || last != outside {
		t.Errorf("a rinse is %s at first and %s in the end, want elsewhere, then outside", first, last)
	}
	said, _ := json.Marshal(m.Standing.Words)
	for _, want := range []string{"In rinse, for longer than it may last.", "38 s of it longer than it may last"} {
		if !strings.Contains(string(said), want) {
			t.Errorf("the page says %s, want %q in it", said, want)
		}
	}
	if st := m.Standing; *st.Distance != 40 {
		t.Errorf("the distance is %g, want 40", *st.Distance)
	}
}

// NaN and infinity from outside never reach the JSON, which could not hold them.
func TestNothingButNumbers(t *testing.T) {
	s := sampleSite(t, Options{}, true, at(11, 55))
	l := s.Line("Filler 3")
	u := sampleUsual()
	u.Typical, u.Mean[3], u.Scores[0].X = math.NaN(), math.Inf(1), math.NaN()
	l.Know(u)
	l.Add(Reading{Time: at(11, 56), Distance: math.Inf(1), Condition: "uncharted", Score: chart.Point{X: math.NaN()}})
	l.Add(Reading{Time: at(11, 57), Distance: 2, Condition: "uncharted", Score: chart.Point{X: math.NaN(), Y: math.Inf(-1)}, Absorbance: []float64{1, 2}})
	w := get(s.Handler(), "/line/filler-3/data.json")
	var m message
	if err := json.Unmarshal(w.Body.Bytes(), &m); w.Code != 200 || err != nil || m.Standing == nil {
		t.Errorf("data.json = %d, %v; want it to be read", w.Code, err)
	}
}

func TestHeaders(t *testing.T) {
	s := sampleSite(t, Options{}, false, at(11, 55))
	for _, path := range []string{"/", "/line/filler-3", "/line/filler-3/data.json", "/lines.json", "/static/live.js", "/static/live.css", "/nowhere"} {
		h := get(s.Handler(), path).Header()
		csp := h.Get("Content-Security-Policy")
		for _, want := range []string{"default-src 'none'", "script-src 'self'", "frame-ancestors 'none'", "form-action 'none'", "base-uri 'none'"} {
			if !strings.Contains(csp, want) {
				t.Errorf("GET %s: Content-Security-Policy %q, want %s in it", path, csp, want)
			}
		}
		if strings.Contains(csp, "unsafe") || h.Get("X-Content-Type-Options") != "nosniff" || h.Get("Cache-Control") != "no-store" || h.Get("Referrer-Policy") != "same-origin" {
			t.Errorf("GET %s: headers %v", path, h)
		}
	}
	page := get(s.Handler(), "/").Body.String()
	if n := strings.Count(page, "<script"); n != strings.Count(page, `<script src="/static/`) || n == 0 {
		t.Errorf("the page has %d scripts, want each from its own address and none inline", n)
	}
}

func TestNamesStayText(t *testing.T) {
	name := `Filler ` + nasty
	s := sampleSite(t, Options{Lines: []string{name, "Filler 4"}}, true, at(11, 55))
	for _, path := range []string{"/", "/line/filler-img-src-x-onerror-alert-1"} {
		w := get(s.Handler(), path)
		if body := w.Body.String(); w.Code != 200 || strings.Contains(body, "<img") || !strings.Contains(body, "&lt;img src=x") {
			t.Errorf("GET %s = %d: want the name of the line escaped", path, w.Code)
		}
	}
}

func TestLines(t *testing.T) {
	s := sampleSite(t, Options{Lines: []string{"Filler 3", "Filler 4", "Füller", "灌装"}}, false, at(11, 55))
	page := get(s.Handler(), "/").Body.String()
	for _, id := range []string{"filler-3", "filler-4", "f-ller", "line-4"} {
		if !strings.Contains(page, `href="/line/`+id+`"`) {
			t.Errorf("the list does not lead to /line/%s", id)
		}
		if w := get(s.Handler(), "/line/"+id); w.Code != 200 {
			t.Errorf("GET /line/%s = %d, want 200", id, w.Code)
		}
	}
	if w := get(s.Handler(), "/line/filler-9"); w.Code != 404 {
		t.Errorf("GET of a line that is not there = %d, want 404", w.Code)
	}
	if l := s.Line("Filler 9"); l != nil {
		t.Errorf("Line(Filler 9) = %v, want none", l)
	}
	if _, err := New(Options{}); err == nil {
		t.Error("New without a line = nil, want an error")
	}
}

// post asks for a change as the page does.
func post(h http.Handler, path, body string, change ...func(*http.Request)) *httptest.ResponseRecorder {
	r := httptest.NewRequest("POST", "http://localhost:8080"+path, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	for _, c := range change {
		c(r)
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

// A deadlined writer is of a connection whose deadlines can be set, and keeps them.
type deadlined struct {
	*httptest.ResponseRecorder
	read, write time.Time
}

func (d *deadlined) SetReadDeadline(t time.Time) error  { d.read = t; return nil }
func (d *deadlined) SetWriteDeadline(t time.Time) error { d.write = t; return nil }

// To name a group from a share may take minutes: neither the deadline of a request nor that of a short answer ends it.
func TestAChangeTakesItsTime(t *testing.T) {
	w := &deadlined{httptest.NewRecorder(), at(11, 55), at(11, 55)}
	asked := false
	o := Options{Name: func(context.Context, string, string, string) (string, error) {
		if asked = true; !w.read.IsZero() || !w.write.IsZero() {
			t.Errorf("while the group is named the deadlines are %v and %v, want none", w.read, w.write)
		}
		return "", nil
	}}
	r := httptest.NewRequest("POST", "http://localhost:8080/line/filler-3/name", strings.NewReader(`{"group":"group A","name":"leak"}`))
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	sampleSite(t, o, true, at(11, 55)).Handler().ServeHTTP(w, r)
	if !asked || w.Code != 200 || w.write.IsZero() {
		t.Errorf("asked: %t, status %d, deadline of the answer %v; want it asked, 200, and a deadline", asked, w.Code, w.write)
	}
}

func TestChanges(t *testing.T) {
	var done []string
	o := Options{
		Acknowledge: func(_ context.Context, line, who, why string) error {
			done = append(done, line+" "+who+": "+why)
			return nil
		},
		Name: func(_ context.Context, line, group, name string) (string, error) {
			done = append(done, line+" "+group+" "+name)
			if name == "usual" {
				return "", errors.New("usual is taken")
			}
			return "the reference with the new condition is written; a watch takes it up once it is approved", nil
		},
	}
	h := sampleSite(t, o, true, at(11, 55)).Handler()
	take, name := "/line/filler-3/acknowledge", "/line/filler-3/name"
	for _, c := range []struct {
		what, path, body string
		change           func(*http.Request)
		code             int
		done             string
	}{
		{"acknowledge", take, `{"who":" Ada\u202e\n ","why":"seen"}`, nil, 200, "Filler 3 Ada: seen"},
		{"acknowledge by nobody", take, `{"why":"seen"}`, nil, 400, ""},
		{"acknowledge without a reason", take, `{"who":"Ada"}`, nil, 400, ""},
		{"name", name, `{"group":"group A","name":"leak"}`, nil, 200, "Filler 3 group A leak"},
		{"a name that is taken", name, `{"group":"group A","name":"usual"}`, nil, 409, "Filler 3 group A usual"},
		{"no name", name, `{"group":"group A","name":"  "}`, nil, 400, ""},
		{"a name without end", name, `{"group":"group A","name":"` + strings.Repeat("x", 81) + `"}`, nil, 400, ""},
		{"a body without end", take, `{"who":"` + strings.Repeat("x", 2*maxBody) + `"}`, nil, 400, ""},
		{"nonsense", take, `who`, nil, 400, ""},
		{"a key that nobody knows", take, `{"whom":"Ada"}`, nil, 400, ""},
		{"a form of another page", take, `who=Ada`, header("Content-Type", "application/x-www-form-urlencoded"), 415, ""},
		{"a page of another site", take, `{"who":"Ada"}`, header("Sec-Fetch-Site", "cross-site"), 403, ""},
		{"a page of another origin, by an old browser", take, `{"who":"Ada"}`, func(r *http.Request) {
			r.Header.Del("Sec-Fetch-Site")
			r.Header.Set("Origin", "http://elsewhere.example")
		}, 403, ""},
	} {
		done = nil
		change := c.change
		if change == nil {
			change = func(*http.Request) {}
		}
		if w := post(h, c.path, c.body, change); w.Code != c.code || strings.Join(done, "; ") != c.done {
			t.Errorf("%s: POST %s = %d, done %q; want %d, %q", c.what, c.path, w.Code, done, c.code, c.done)
		}
	}
	o.Language = report.German()
	german := post(sampleSite(t, o, true, at(11, 55)).Handler(), name, `{"group":"group A","name":"leak"}`, func(*http.Request) {})
	if got, want := strings.TrimSpace(german.Body.String()), `{"said":"die Referenz mit dem neuen Zustand ist geschrieben; eine Überwachung übernimmt sie, sobald sie freigegeben ist"}`; got != want {
		t.Errorf("what is to be known of a name that was given is answered as %s, want %s", got, want)
	}
	bare := sampleSite(t, Options{}, true, at(11, 55)).Handler()
	if w := post(bare, take, `{}`); w.Code != 404 {
		t.Errorf("POST where nothing can be acknowledged = %d, want 404", w.Code)
	}
	if strings.Contains(get(bare, "/").Body.String(), "<form") {
		t.Error("the page offers what it cannot do")
	}
}

func TestToken(t *testing.T) {
	const token = "0123456789abcdef"
	s := sampleSite(t, Options{}, false, at(11, 55))
	h := s.guard(Door{Address: "0.0.0.0:8080", Token: token, Hosts: []string{"plant-7"}}, false, 8080, s.Handler())
	if w := get(h, "/"); w.Code != 401 || strings.Contains(w.Body.String(), "Filler") {
		t.Errorf("GET without a token = %d, want 401 and nothing of the line", w.Code)
	}
	for _, wrong := range []func(*http.Request){
		header("Authorization", "Bearer 0123456789abcdee"), header("Authorization", token), header("Cookie", "asusual-8080="+token), header("Cookie", "asusual-8080="),
	} {
		if w := get(h, "/", wrong); w.Code != 401 {
			t.Errorf("GET with a wrong token = %d, want 401", w.Code)
		}
	}
	if w := get(h, "/", header("Authorization", "Bearer "+token)); w.Code != 200 {
		t.Errorf("GET with the token in its head = %d, want 200", w.Code)
	}
	w := get(h, "//elsewhere.example/x?token="+token)
	cookie := w.Header().Get("Set-Cookie")
	if w.Code != 200 || !strings.Contains(cookie, "HttpOnly") || !strings.Contains(cookie, "SameSite=Strict") || strings.Contains(cookie, token) {
		t.Errorf("GET with the token in the address = %d, Set-Cookie %q; want a cookie for this site alone that does not tell the token", w.Code, cookie)
	}
	if body := w.Body.String(); strings.Contains(body, `url=//`) || strings.Contains(body, `href="//`) || strings.Contains(body, token) {
		t.Errorf("the page of welcome leads elsewhere or tells the token: %s", body)
	}
	pair, _, _ := strings.Cut(cookie, ";")
	if w := get(h, "/line/filler-3/data.json", header("Cookie", pair)); w.Code != 200 || w.Header().Get("Set-Cookie") != cookie {
		t.Errorf("GET with the cookie = %d, Set-Cookie %q, want 200 and the cookie for as long anew: a screen on a wall stays", w.Code, w.Header().Get("Set-Cookie"))
	}
	if w := post(h, "/line/filler-3/acknowledge?token="+token, `{}`); w.Code != 401 {
		t.Errorf("POST with the token in its address = %d, want 401", w.Code)
	}
}

// A name that another page made stand for this address is not answered (DNS rebinding).
func TestHosts(t *testing.T) {
	s := sampleSite(t, Options{}, false, at(11, 55))
	near := Door{Address: "127.0.0.1:8080"}
	far := Door{Address: "0.0.0.0:8080", Token: "0123456789abcdef", Hosts: []string{"plant-7"}}
	for _, c := range []struct {
		door     Door
		loopback bool
		host     string
		want     bool
	}{
		{near, true, "127.0.0.1:8080", true}, {near, true, "localhost:8080", true}, {near, true, "LOCALHOST", true}, {near, true, "[::1]:8080", true},
		{near, true, "elsewhere.example:8080", false}, {near, true, "127.0.0.1.elsewhere.example", false}, {near, true, "192.0.2.7:8080", false}, {near, true, "", false},
		{far, false, "192.0.2.7:8080", true}, {far, false, "plant-7:8080", true}, {far, false, "Plant-7.", true}, {far, false, "elsewhere.example", false},
	} {
		w := get(s.guard(c.door, c.loopback, 8080, s.Handler()), "/lines.json", header("Authorization", "Bearer "+c.door.Token), func(r *http.Request) { r.Host = c.host })
		if got := w.Code == 200; got != c.want || !got && w.Code != http.StatusMisdirectedRequest {
			t.Errorf("a door at %s asked as %q = %d, want answered: %v", c.door.Address, c.host, w.Code, c.want)
		}
	}
}

func TestListen(t *testing.T) {
	for _, c := range []struct {
		door Door
		want string // in the error; "" for none
	}{
		{Door{Address: "127.0.0.1:0"}, ""},
		{Door{Address: "localhost:0"}, ""},
		{Door{Address: "0.0.0.0:0", Token: "0123456789abcdef"}, ""},
		{Door{Address: "0.0.0.0:0"}, "needs a token"},
		{Door{Address: ":0"}, "needs a token"},
		{Door{Address: "192.0.2.7:8080"}, "needs a token"},
		{Door{Address: "0.0.0.0:0", Token: "short"}, "5 characters"},
		{Door{Address: "8080"}, "want an address and a port"},
		{Door{Address: "127.0.0.1:80800"}, "want an address and a port"},
		{Door{Address: "127.0.0.1:htpt"}, "want an address and a port"},
		{Door{Address: "127.0.0.1:0", Cert: "a.pem"}, "its key"},
		{Door{Address: "127.0.0.1:0", Cert: "nowhere.pem", Key: "nowhere.key"}, "certificate"},
	} {
		checked := c.door.Check()
		l, err := c.door.Listen()
		if err == nil {
			l.Close()
		}
		if fmt.Sprint(checked) != fmt.Sprint(err) {
			t.Errorf("%+v.Check() = %v, want what Listen says, %v", c.door, checked, err)
		}
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%+v.Listen() = %v, want %q", c.door, err, c.want)
		}
	}
	if _, err := (Door{Address: "0.0.0.0:0"}).Listen(); !errors.Is(err, ErrToken) {
		t.Errorf("Listen() on every address = %v, want ErrToken", err)
	}
}

// A pipes is a listener whose connections are in memory and hold nothing, so that who does not read is found out at once.
type pipes struct {
	conns chan net.Conn
	done  chan struct{}
}

func (p *pipes) Accept() (net.Conn, error) {
	select {
	case c := <-p.conns:
		return c, nil
	case <-p.done:
		return nil, net.ErrClosed
	}
}
func (p *pipes) Close() error   { close(p.done); return nil }
func (p *pipes) Addr() net.Addr { return &net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 8080} }

func TestSlowReaderIsDropped(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := sampleSite(t, Options{}, false, at(11, 55))
		p := &pipes{conns: make(chan net.Conn), done: make(chan struct{})}
		srv := &http.Server{Handler: s.Handler()}
		go srv.Serve(p)
		ours, theirs := net.Pipe()
		p.conns <- theirs
		fmt.Fprint(ours, "GET /line/filler-3/events HTTP/1.1\r\nHost: localhost\r\n\r\n")
		if _, err := io.ReadFull(ours, make([]byte, 16)); err != nil {
			t.Fatal(err)
		}
		began := time.Now()
		synctest.Wait() // the rest of the first event waits to be read
		if n := s.reading(); n != 1 {
			t.Fatalf("%d streams are open, want 1", n)
		}
		io.Copy(io.Discard, &once{ours}) // nothing more is read, until the server hangs up
		if n, took := s.reading(), time.Since(began); n != 0 || took < patience || took > 2*patience {
			t.Errorf("%d streams are open after %v, want none after %v", n, took, patience)
		}
		ours.Close()
		srv.Close()
		synctest.Wait()
	})
}

// doorIn serves a door in memory, in a bubble, until the test ends; dial knocks at it.
func doorIn(t *testing.T, d Door) (dial func(ask string) (conn net.Conn, answer *bufio.Reader)) {
	s := sampleSite(t, Options{}, false, at(11, 55))
	p := &pipes{conns: make(chan net.Conn), done: make(chan struct{})}
	ctx, stop := context.WithCancel(t.Context())
	served := make(chan error, 1)
	go func() { served <- s.Serve(ctx, &Listener{p, d, true}) }()
	var open []net.Conn
	t.Cleanup(func() {
		for _, c := range open {
			c.Close()
		}
		stop()
		if err := <-served; err != nil {
			t.Error(err)
		}
	})
	return func(ask string) (net.Conn, *bufio.Reader) {
		ours, theirs := net.Pipe()
		p.conns <- theirs
		open = append(open, ours)
		go io.WriteString(ours, ask) // it is read, or the connection is closed
		return ours, bufio.NewReader(ours)
	}
}

// Who says that more is to come, and sends nothing, is let go, whether or not they have the token; a stream, after which nothing is to
// come, goes on.
func TestWhoSendsNothingIsDropped(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		const token = "0123456789abcdef"
		dial := doorIn(t, Door{Address: "127.0.0.1:8080", Token: token})
		for name, ask := range map[string]string{
			"without the token": "POST /line/filler-3/acknowledge HTTP/1.1\r\nHost: localhost\r\nContent-Length: 1000\r\n\r\n",
			"with the token":    "POST /line/filler-3/acknowledge HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer " + token + "\r\nContent-Length: 1000\r\n\r\n",
		} {
			conn, answer := dial(ask)
			began := time.Now()
			conn.SetReadDeadline(began.Add(4 * askTime))
			io.Copy(io.Discard, answer)
			if took := time.Since(began); took > askTime+time.Second {
				t.Errorf("%s: a connection without a body is held for %v, want at most %v", name, took, askTime)
			}
		}
		_, events := dial("GET /line/filler-3/events HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer " + token + "\r\n\r\n")
		for began := time.Now(); time.Since(began) < 4*askTime; {
			if _, err := events.ReadString('\n'); err != nil {
				t.Fatalf("a stream ended after %v: %v", time.Since(began), err)
			}
		}
	})
}

// However many knock, most descriptors stay with the spectra; when they go, others come in.
func TestConnectionsAreBounded(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		dial := doorIn(t, Door{Address: "127.0.0.1:8080"})
		var all []net.Conn
		for range mostHeld {
			c, _ := dial("")
			all = append(all, c)
		}
		if _, answer := dial("GET / HTTP/1.1\r\nHost: localhost\r\n\r\n"); readable(answer) {
			t.Errorf("the connection after %d is answered, want it closed", mostHeld)
		}
		all[0].Close()
		synctest.Wait()
		if _, answer := dial("GET / HTTP/1.1\r\nHost: localhost\r\n\r\n"); !readable(answer) {
			t.Error("after one has gone the next is not answered")
		}
	})
}

func readable(r *bufio.Reader) bool {
	_, err := r.ReadByte()
	return err == nil
}

// A once waits for longer than anybody has patience, and then reads.
type once struct{ net.Conn }

func (o *once) Read(b []byte) (int, error) {
	time.Sleep(patience + time.Second) // in a bubble
	return o.Conn.Read(b)
}

func (s *Site) reading() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.readers)
}

func TestBeatAndPace(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := sampleSite(t, Options{}, false, at(11, 55))
		p := &pipes{conns: make(chan net.Conn), done: make(chan struct{})}
		srv := &http.Server{Handler: s.Handler()}
		go srv.Serve(p)
		ours, theirs := net.Pipe()
		p.conns <- theirs
		go fmt.Fprint(ours, "GET /events HTTP/1.1\r\nHost: localhost\r\n\r\n")
		began, r := time.Now(), rand.New(rand.NewPCG(1, 1))
		var names []string
		in := bufio.NewScanner(ours)
		in.Buffer(nil, 1<<22)
		for len(names) < 3 && in.Scan() {
			if name, ok := strings.CutPrefix(in.Text(), "event: "); ok {
				names = append(names, name)
				for i := range 20 { // that come within the pace
					s.Line("Filler 3").Add(sampleReading(r, sampleUsual(), at(11, 56).Add(time.Duration(20*len(names)+i)*time.Second), 0))
				}
			}
		}
		if took := time.Since(began); strings.Join(names, " ") != "now now now" || took != 2*pace {
			t.Errorf("%v took %v, want 20 spectra in one event each %v", names, took, pace)
		}
		for len(names) < 6 && in.Scan() {
			if name, ok := strings.CutPrefix(in.Text(), "event: "); ok {
				names = append(names, name)
			}
		}
		if got := strings.Join(names[4:], " "); got != "beat beat" {
			t.Errorf("a line at rest says %q, want beats", got)
		}
		s.end()
		for in.Scan() {
			if name, ok := strings.CutPrefix(in.Text(), "event: "); ok {
				names = append(names, name)
				break
			}
		}
		if last := names[len(names)-1]; last != "end" {
			t.Errorf("the last event is %q, want end", last)
		}
		ours.Close()
		srv.Close()
		synctest.Wait()
	})
}

func TestTooManyStreams(t *testing.T) {
	s := sampleSite(t, Options{}, false, at(11, 55))
	for range most {
		if _, ok := s.join(); !ok {
			t.Fatalf("%d streams were refused", most)
		}
	}
	if w := get(s.Handler(), "/line/filler-3/events"); w.Code != 503 || w.Header().Get("Retry-After") == "" {
		t.Errorf("one stream more = %d, want 503 and when to come again", w.Code)
	}
}

// The offsets of Berlin on 25 October 2026: two hours until 01:00 UTC, then one (IANA time zone database).
func TestOffsets(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Skipf("no table of time zones on this machine: %v", err)
	}
	change := time.Date(2026, 10, 25, 1, 0, 0, 0, time.UTC)
	got := offsets(berlin, change.Add(-time.Hour), change.Add(time.Hour))
	if len(got) != 2 || got[0].Seconds != 7200 || got[1].Seconds != 3600 || !got[1].From.Equal(change) {
		t.Errorf("offsets round the end of summer time = %v, want 7200 and from %v 3600", got, change)
	}
	if got := offsets(berlin, change.Add(24*time.Hour), change.Add(26*time.Hour)); len(got) != 1 || got[0].Seconds != 3600 {
		t.Errorf("offsets of a day in winter = %v, want 3600 alone", got)
	}
}

// The share of a Gaussian cloud within radius r is 1 − exp(−r²/2): the contour of 90 % lies near r = 2.146, widened by the kernel.
func TestContours(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	var pts []chart.Point
	for range 2000 {
		pts = append(pts, chart.Point{X: 3 + 2*r.NormFloat64(), Y: -1 + 0.5*r.NormFloat64()})
	}
	all := contours(pts)
	if len(all) != len(shares) {
		t.Fatalf("contours() has %d lines, want %d", len(all), len(shares))
	}
	for _, c := range all {
		want := math.Sqrt(-2 * math.Log(1-c.Share))
		within := 0
		for _, p := range pts {
			if inRings(p, c.Rings) {
				within++
			}
		}
		if got := float64(within) / float64(len(pts)); math.Abs(got-c.Share) > 0.02 {
			t.Errorf("the contour of %g holds %.3f of the points", c.Share, got)
		}
		if c.Share > 0.95 {
			continue // the edge of a cloud is ragged
		}
		for _, q := range c.Rings[0] {
			if d := math.Hypot((q[0]-3)/2, (q[1]+1)/0.5); math.Abs(d-want) > 0.5 {
				t.Errorf("the contour of %g comes to %.2f standard deviations, want about %.2f", c.Share, d, want)
				break
			}
		}
	}
	if got := contours(pts[:fewest-1]); got != nil {
		t.Errorf("contours of %d points = %v, want none", fewest-1, got)
	}
	for _, c := range contours(make([]chart.Point, 50)) {
		for _, ring := range c.Rings {
			for _, q := range ring {
				if d := math.Hypot(q[0], q[1]); !(d < 1e-9) { // nor is it no number
					t.Errorf("the contour of %g round fifty spectra at one place comes to %v, want it there", c.Share, q)
				}
			}
		}
	}
}

// inRings reports whether a point lies in an odd number of closed lines.
func inRings(p chart.Point, rings [][][2]float64) (in bool) {
	for _, ring := range rings {
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			if (a[1] > p.Y) != (b[1] > p.Y) && p.X < a[0]+(p.Y-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
				in = !in
			}
		}
	}
	return in
}

// A line with a spectrum every 90 minutes is quiet after five such pauses, and a night without any changes nothing of that; one of
// which a single spectrum is known is quiet after two minutes.
func TestQuietOfARareLine(t *testing.T) {
	s, err := New(Options{Lines: []string{"Filler 3"}, Zone: zone})
	if err != nil {
		t.Fatal(err)
	}
	l := s.Line("Filler 3")
	for _, c := range []struct {
		minute int // since midnight
		want   time.Duration
	}{
		{0, 2 * time.Minute}, {90, 450 * time.Minute}, {180, 450 * time.Minute}, {270, 450 * time.Minute}, {990, 450 * time.Minute}, {1080, 450 * time.Minute},
	} {
		l.Add(Reading{Time: at(0, c.minute), Distance: 0.5, Inside: true, Condition: "usual"})
		if m, _ := l.tell(0, true); m.Standing.Quiet != c.want.Seconds() {
			t.Errorf("after the spectrum of minute %d a pause is said after %g s, want %v", c.minute, m.Standing.Quiet, c.want)
		}
	}
	for i := range 61 { // now one a minute: the hour tells it
		l.Add(Reading{Time: at(19, i), Distance: 0.5, Inside: true, Condition: "usual"})
	}
	if m, _ := l.tell(0, true); m.Standing.Quiet != 300 {
		t.Errorf("with a spectrum a minute a pause is said after %g s, want 300", m.Standing.Quiet)
	}
}

// A spectrometer whose clock is ahead is shown by its own times.
func TestClockAhead(t *testing.T) {
	s := sampleSite(t, Options{Now: func() time.Time { return at(7, 0) }}, true, at(11, 55))
	m, _ := s.Line("Filler 3").tell(0, true)
	if got := m.Standing.Words.Headline; got != "The process has changed, since about 11:31." || m.Standing.Expected == 0 {
		t.Errorf("with spectra of 11:55 at 07:00 the headline is %q", got)
	}
}

// After one spectrum of 2030 the watch goes on with those of today once enough have come, and so does the page. A clock that was put back
// by less than the hour shown has written a while twice: what it writes now counts.
func TestClockPutBack(t *testing.T) {
	s := sampleSite(t, Options{}, false, at(11, 55))
	l, r := s.Line("Filler 3"), rand.New(rand.NewPCG(8, 8))
	add := func(t time.Time, late bool) {
		one := sampleReading(r, sampleUsual(), t, 0)
		one.Late = late
		l.Add(one)
	}
	add(time.Date(2030, 1, 1, 0, 0, 0, 0, zone), false)
	for i := range 9 {
		add(at(11, 56).Add(time.Duration(i)*time.Second), true)
	}
	l.Add(Reading{Time: at(11, 0), Received: at(11, 50), Late: true})
	m, before := l.tell(0, true)
	if st := m.Standing; st.LastSpectrum.In(zone).Year() != 2030 || !st.Still.Equal(at(11, 55).Add(4*time.Second)) {
		t.Errorf("with a newest spectrum of %v none has come since %v, want since the last was judged, 11:55:04", st.LastSpectrum, st.Still)
	}
	add(at(11, 57), false)
	add(at(11, 58), false)
	m, _ = l.tell(before, false)
	if n := len(m.Readings); n != 2 || !m.Whole || !m.Standing.LastSpectrum.Equal(at(11, 58)) || m.Spectrum == nil || !m.Spectrum.Time.Equal(at(11, 58)) {
		t.Fatalf("after the clock was put back a page that knew of 2030 is told %d readings, whole %v, newest %v; want all of it anew, the two of now", n, m.Whole, m.Standing.LastSpectrum)
	}
	_, before = l.tell(0, true)
	add(at(11, 57).Add(30*time.Second), false)
	m, _ = l.tell(before, false)
	if n := len(m.Readings); n != 2 || !m.Whole || !m.Readings[1].Time.Equal(at(11, 57).Add(30*time.Second)) || !m.Spectrum.Time.Equal(at(11, 57).Add(30*time.Second)) {
		t.Errorf("after the clock was put back by half a minute: %d readings, whole %v; want the one before it and the one of now", n, m.Whole)
	}
}

func TestInstrumentSince(t *testing.T) {
	now := at(11, 55)
	s := sampleSite(t, Options{Now: func() time.Time { return now }}, false, now)
	l := s.Line("Filler 3")
	now = at(12, 0)
	l.Set(Standing{Verdict: report.CannotSay, Since: now, Instrument: report.Instrument{State: "unfit"}})
	m, _ := l.tell(0, true)
	if got := m.Standing.Words.Instrument[0]; got != "The instrument is unfit, since 12:00." {
		t.Errorf("the instrument's line = %q", got)
	}
	now = at(18, 0) // the spectra are of hours before
	l.Set(Standing{Verdict: report.CannotSay, Since: now, Instrument: report.Instrument{State: "ageing"}})
	m, _ = l.tell(0, true)
	if got := m.Standing.Words.Instrument[0]; !strings.HasSuffix(got, ", since 11:55.") {
		t.Errorf("hours after the last spectrum the instrument's line = %q, want since that", got)
	}
}

// A condition named meanwhile leaves usual as it is: what was judged before goes on being shown.
func TestAnotherVersionKeepsAll(t *testing.T) {
	s := sampleSite(t, Options{}, false, at(11, 55))
	l := s.Line("Filler 3")
	before := len(l.readings)
	u := sampleUsual()
	u.Same, u.Reference.Fingerprint = []string{"another", u.Reference.Fingerprint}, "another"
	l.Know(u)
	if m, _ := l.tell(0, true); len(m.Readings) != before || m.Spectrum == nil || m.Standing.Fingerprint != "another" {
		t.Errorf("after a version with the same usual: %d readings, want all %d", len(m.Readings), before)
	}
}
