package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/pages"
	"asusual/cmd/asusual/words"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/report/live"
)

// A listening says where the live page is, and who may see it.
type listening struct {
	address, tokenFile, cert, key string
	hosts                         []string
}

func (o *listening) flags(f *pflag.FlagSet) {
	f.StringVar(&o.address, "listen", "", "show the lines on a page in a browser at `ADDR`, such as 127.0.0.1:8080; other computers reach it only with a token")
	f.StringVar(&o.tokenFile, "token-file", "", "the `FILE` with the token that the page asks for, at least 16 characters")
	f.StringVar(&o.cert, "certificate", "", "the `FILE` with the certificate, to encipher the page (TLS)")
	f.StringVar(&o.key, "key", "", "the `FILE` with the key of the certificate")
	f.StringSliceVar(&o.hosts, "host", nil, "a `NAME` by which browsers know this computer; may be given again")
}

// settled returns the options, and the settings of the configuration for those that were not given.
func (o listening) settled(c config.Live, given func(option string) bool) listening {
	for _, one := range []struct {
		option string
		dst    *string
		set    string
	}{{"listen", &o.address, c.Address}, {"token-file", &o.tokenFile, c.TokenFile}, {"certificate", &o.cert, c.Certificate}, {"key", &o.key, c.Key}} {
		if !given(one.option) {
			*one.dst = one.set
		}
	}
	if !given("host") {
		o.hosts = c.Hosts
	}
	if o.address == "" && given("listen") { // no page this time: what the settings say of it says nothing
		return listening{}
	}
	return o
}

// unplaced reports whether something is said of a page for which there is no address.
func (o listening) unplaced() bool {
	return o.address == "" && (o.tokenFile != "" || o.cert != "" || o.key != "" || len(o.hosts) > 0)
}

// door returns the door that the options ask for.
func (o listening) door() (live.Door, error) {
	d := live.Door{Address: o.address, Cert: o.cert, Key: o.key, Hosts: o.hosts}
	if o.tokenFile != "" {
		text, err := secretText(o.tokenFile)
		if err != nil {
			return d, fmt.Errorf("reading the token: %w", err)
		}
		line, _, _ := strings.Cut(strings.TrimSpace(text), "\n")
		if d.Token = strings.TrimSpace(line); d.Token == "" { // which would let everybody in
			return d, &words.NoToken{Path: o.tokenFile, Want: live.MinToken}
		}
	}
	if name, err := os.Hostname(); err == nil {
		d.Hosts = append(d.Hosts, name)
	}
	return d, nil
}

// A livePage shows the lines in a browser while they are watched.
type livePage struct {
	site  *live.Site
	open  func() (*live.Listener, error)
	at    *live.Listener // nil: not open yet
	said  string         // why it is not, without figures
	again time.Duration  // it is tried again after so long where it cannot be opened; 0: a minute
	board *monitor.Board // is told where it is; nil: nobody is
	place string         // as the options have the address
	db    *history.DB
	state string // the file that says how the lines stand
	log   *slog.Logger
}

// openLive opens the door of the live page; it returns nil where nobody shall listen. Where what keeps it shut may pass, such as a port that
// another program has, that is said and it is tried again, unless the page must be there: lines are not left unwatched for it.
func (r *shifts) openLive(o listening, must bool) (*livePage, error) {
	if o.unplaced() {
		return nil, wrongUse("--token-file, --certificate, --key and --host, or [live] in the configuration, say something of --listen or its address, which is missing")
	}
	if o.address == "" {
		return nil, nil
	}
	opt := live.Options{Site: r.config.Site.Name, Zone: r.config.Zone(), Language: r.config.Site.Language, Log: r.log, Acknowledge: r.acknowledge, Name: r.nameLive}
	for _, l := range r.lines {
		opt.Lines = append(opt.Lines, l.Name)
	}
	p := &livePage{open: func() (*live.Listener, error) { return o.listen(r.log) }, place: o.address, db: r.db, state: r.config.Signal.State, log: r.log}
	var err error
	if p.site, err = live.New(opt); err != nil {
		return nil, err
	}
	open := p.soon
	if must {
		open = p.open
	}
	if p.at, err = open(); err != nil && (must || !mayPass(err)) {
		return nil, err
	} else if err != nil {
		p.shut(err)
	}
	return p, nil
}

// listen opens the door that the options ask for.
func (o listening) listen(log *slog.Logger) (*live.Listener, error) {
	d, err := o.door()
	if err != nil {
		return nil, err
	}
	d.Log = log
	at, err := d.Listen()
	if errors.Is(err, live.ErrToken) {
		return nil, usageError{err}
	} else if err != nil {
		return nil, err
	}
	if elsewhere, enciphered := at.Open(); elsewhere && !enciphered {
		log.Warn("the live page and its token go over the network as they are; --certificate and --key encipher them")
	}
	return at, nil
}

// mayPass reports whether a door that is shut by the error may open by itself some day: a file or a network may come back.
func mayPass(err error) bool {
	var shut *live.Shut
	var file *fs.PathError
	return errors.As(err, &shut) || errors.As(err, &file)
}

// shut says why there is no page, anew only where it is something else. Figures make no other reason: a name server is asked from another
// port each time.
func (p *livePage) shut(why error) {
	same := strings.Map(func(r rune) rune {
		if '0' <= r && r <= '9' {
			return -1
		}
		return r
	}, why.Error())
	if p.said == same {
		return
	}
	p.said = same
	p.log.Error("the live page cannot be opened; the lines are watched all the same, and it is tried again each minute", "reason", why)
}

// close closes the door, for the ways out before anybody is served. A second call, and one of nil, does nothing.
func (p *livePage) close() {
	if p != nil && p.at != nil {
		p.at.Close()
	}
}

// acknowledge notes that somebody knows of the alarm of a line.
func (r *shifts) acknowledge(ctx context.Context, line, who, why string) error {
	ctx, cancel := context.WithTimeout(ctx, 10*time.Second)
	defer cancel()
	_, err := monitor.Ask(ctx, r.config.History, monitor.Request{Line: line, Act: monitor.Acknowledged, Who: who, Why: why})
	return err
}

// nameLive makes a condition of a group, as the command conditions name does, of the line as it is watched: what stands in the
// configuration by now is for the next start.
func (r *shifts) nameLive(ctx context.Context, line, group, name string) (said string, err error) {
	r.naming.Lock()
	defer r.naming.Unlock()
	l, err := r.config.Find(line)
	if err != nil {
		return "", err
	}
	n, err := r.nameIn(ctx, r.config, l, group, name)
	if n == nil || !isWritten(err) {
		return "", err
	}
	if err != nil { // it is named, and what it lacks is beside
		said = err.Error() + "; " + words.Hint(err)
	}
	if n.waits() {
		said = cmp.Or(said, "the reference with the new condition is written") + "; " + n.takenUp()
	}
	return said, nil
}

// join has the page told what the watch of a line finds, and tells it the last hour.
func (p *livePage) join(ctx context.Context, w *monitor.Line) error {
	f := &feed{ctx: ctx, page: p, line: p.site.Line(w.Name), name: w.Name, inner: w.References}
	if _, err := f.Current(); err != nil {
		return err
	}
	w.References, w.Judged, w.Kept = f, f.judged, f.kept
	p.recall(f.line, w.Name)
	f.line.Forget() // what a watch that failed has told
	last, err := p.db.State(ctx, w.Name)
	if err != nil || last.Newest.IsZero() {
		return err
	}
	from, err := p.recent(ctx, w.Name, last.Newest)
	if err != nil {
		return err
	}
	// To where the clock stands: a spectrum that lies after it bears a time that was taken back.
	for r, err := range p.db.Spectra(ctx, history.Query{Line: w.Name, From: from, To: last.Newest.Add(1)}) {
		if err != nil {
			return err
		}
		if slices.Contains(f.same, r.Reference) {
			f.line.Add(pages.Reading(r, nil))
		}
	}
	return nil
}

// recent returns from when on the page is told what was judged: the last hour, or the last day where the hour holds too few spectra to
// tell how often they come.
func (p *livePage) recent(ctx context.Context, line string, last time.Time) (time.Time, error) {
	hour := last.Add(-time.Hour)
	n := 0
	for _, err := range p.db.Spectra(ctx, history.Query{Line: line, From: hour, To: last.Add(1)}) {
		if err != nil {
			return hour, err
		}
		if n++; n > 5 {
			return hour, nil
		}
	}
	return last.Add(-24 * time.Hour), nil
}

// recall shows how the line stood when the watch before ended, until the watch tells how it stands.
func (p *livePage) recall(l *live.Line, name string) {
	b, err := monitor.ReadBulletin(p.state)
	if err != nil { // there was none yet, or it cannot be read: then the watch tells it in a moment
		return
	}
	for _, s := range b.Lines {
		if s.Line == name {
			s.Trouble, s.Behind, s.Unreadable = "", 0, 0 // of that watch
			l.Set(pages.Standing(s, nil))
		}
	}
}

// run answers until the context ends, once the door can be opened.
func (p *livePage) run(ctx context.Context) error {
	for p.at == nil {
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(cmp.Or(p.again, time.Minute)):
		}
		var err error
		if p.at, err = p.tried(ctx); err != nil && ctx.Err() == nil {
			p.shut(err)
		}
	}
	p.log.Info("the live page is there", "address", p.at.URL())
	p.board.SetPage(p.place)
	defer p.board.SetPage("")
	return p.site.Serve(ctx, p.at)
}

// soonEnough is how long the lines wait for a page at the start of a watch.
const soonEnough = 10 * time.Second

// soon opens the door, or says after soonEnough that its token or its certificate does not come.
func (p *livePage) soon() (*live.Listener, error) {
	ctx, cancel := context.WithTimeout(context.Background(), soonEnough)
	defer cancel()
	at, err := p.tried(ctx)
	if ctx.Err() != nil && at == nil {
		return nil, &live.Shut{Err: fmt.Errorf("its token, certificate or address does not come within %v", soonEnough)}
	}
	return at, err
}

// tried opens the door, or returns once the context ends: a token or a certificate on a share that hangs is not waited for, and a door
// that opens after that is closed.
func (p *livePage) tried(ctx context.Context) (*live.Listener, error) {
	type door struct {
		at  *live.Listener
		err error
	}
	opened := make(chan door)
	go func() {
		at, err := p.open()
		select {
		case opened <- door{at, err}:
		case <-ctx.Done():
			if at != nil {
				at.Close()
			}
		}
	}()
	select {
	case d := <-opened:
		return d.at, d.err
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}
