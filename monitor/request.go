package monitor

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"
	"unicode/utf8"

	"asusual/monitor/arrive"
	"asusual/monitor/history"
	"asusual/monitor/keep"
)

// A Request asks something of the alarm of a line, from outside of the watch.
type Request struct {
	ID    string    `json:"id"` // filled in by Ask
	Line  string    `json:"line"`
	Act   string    `json:"act"`            // Acknowledged, Shelved or Unshelved
	Who   string    `json:"who"`            // needed
	Why   string    `json:"why"`            // needed
	Until time.Time `json:"until,omitzero"` // of a shelf
	At    time.Time `json:"at"`             // when it was asked; filled in by Ask
}

// most is how long a name and a reason may be, in bytes.
const (
	mostWho = 200
	mostWhy = 2000
)

func (r *Request) validate() error {
	switch {
	case r.Line == "":
		return errors.New("no line is named")
	case r.Act != Acknowledged && r.Act != Shelved && r.Act != Unshelved:
		return fmt.Errorf("%q is not %s, %s or %s", r.Act, Acknowledged, Shelved, Unshelved)
	case strings.TrimSpace(r.Who) == "":
		return errors.New("nobody is named who does it")
	case strings.TrimSpace(r.Why) == "":
		return errors.New("no reason is given")
	case len(r.Who) > mostWho || len(r.Why) > mostWhy:
		return fmt.Errorf("a name of %d and a reason of %d bytes, at most %d and %d are kept", len(r.Who), len(r.Why), mostWho, mostWhy)
	case !utf8.ValidString(r.Who) || !utf8.ValidString(r.Why):
		return errors.New("the name or the reason is not UTF-8")
	case r.Act == Shelved && history.CheckTime(r.Until) != nil:
		return errors.New("a shelf needs an end")
	}
	return nil
}

// ErrRefused says that a request was understood and not done: the text says why.
var ErrRefused = errors.New("refused")

// Ask asks something of the alarm of a line whose history has that path, and returns what became of it. Where a watch has the
// history it is asked through a file in a folder beside it, and its answer is waited for until the context ends; else it is
// done at once. What is refused is kept in history too, and an error that wraps ErrRefused.
func Ask(ctx context.Context, path string, r Request) (history.Act, error) {
	var id [8]byte
	rand.Read(id[:]) // never fails
	r.ID, r.At = hex.EncodeToString(id[:]), time.Now().UTC()
	if err := r.validate(); err != nil {
		return history.Act{}, fmt.Errorf("line %q: %w: %w", r.Line, ErrRefused, err)
	}
	if _, err := os.Stat(path); err != nil {
		return history.Act{}, fmt.Errorf("the history: %w", err)
	}
	db, err := history.Open(ctx, path, "asusual")
	var held *keep.Held
	var a history.Act
	switch {
	case err == nil:
		a, err = alone(ctx, db, r)
		err = errors.Join(err, db.Close())
	case errors.As(err, &held):
		a, err = askWatch(ctx, path, r, held)
	case errors.Is(err, history.ErrReadOnly) && inboxOf(path).there(): // who may not write history may ask all the same
		if _, is, unknown := keep.Look(history.LockOf(path)); is || unknown != nil {
			a, err = askWatch(ctx, path, r, err)
		}
	}
	if err == nil && a.Refused != "" {
		err = fmt.Errorf("line %q: %w: %s", r.Line, ErrRefused, a.Refused)
	}
	return a, err
}

// alone does what is asked where nobody watches.
func alone(ctx context.Context, db *history.DB, r Request) (history.Act, error) {
	a, err := loadAlarm(ctx, db, r.Line)
	if err != nil {
		return history.Act{}, err
	}
	now := time.Now()
	acts := append(a.expire(now), a.answer(r, now))
	text, err := json.Marshal(&a)
	if err != nil {
		return history.Act{}, err
	}
	last := acts[len(acts)-1]
	last.Line = r.Line
	return last, db.Append(ctx, history.Batch{Line: r.Line, Alarm: text, Acts: acts})
}

// askWatch leaves the request for the watch, and waits for the answer in history.
func askWatch(ctx context.Context, path string, r Request, held error) (none history.Act, err error) {
	db, err := history.Read(ctx, path)
	if err != nil {
		return none, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	box := inboxOf(path)
	if err := box.put(r); err != nil {
		return none, fmt.Errorf("%w; asking the watch: %v", held, err) // what keeps the caller from history says more
	}
	look := time.NewTicker(50 * time.Millisecond)
	defer look.Stop()
	for {
		a, ok, err := db.Answer(ctx, r.Line, r.ID)
		if ok {
			_ = os.Remove(box.name(r.ID)) // where the watch may not take it away itself
			return a, nil
		}
		if err != nil && ctx.Err() == nil {
			return none, err
		}
		select {
		case <-look.C:
		case <-ctx.Done():
			if err := os.Remove(box.name(r.ID)); errors.Is(err, fs.ErrNotExist) { // it was just taken in
				if a, ok, err := db.Answer(context.WithoutCancel(ctx), r.Line, r.ID); ok || err != nil {
					return a, err
				}
			}
			return none, fmt.Errorf("no answer from the watch that has the history (%w); does it watch line %q? asusual acknowledge --log shows whether it was done after all", held, r.Line)
		}
	}
}

// An inbox is the folder beside a history in which a running watch is asked something, a file a request. Files are put there
// whole, and taken away once history has what became of them.
type inbox string

func inboxOf(path string) inbox { return inbox(history.FileOf(path) + ".requests") }

func (b inbox) name(id string) string { return filepath.Join(string(b), id+".json") }

func (b inbox) there() bool {
	info, err := os.Stat(string(b))
	return err == nil && info.IsDir()
}

// make makes the folder, unless it is there. A watch does so when it starts, so that the folder is its own whoever asks first.
func (b inbox) make() error { return os.MkdirAll(string(b), 0o755) }

func (b inbox) put(r Request) error {
	text, err := json.Marshal(r)
	if err != nil {
		return err
	}
	if err := b.make(); err != nil {
		return err
	}
	return keep.WriteFile(b.name(r.ID), append(text, '\n'))
}

const (
	mostAsked = 100      // requests taken in at a time
	mostText  = 16 << 10 // bytes of one
)

// asked returns the requests for the line. What is none is set aside, and the log says so; what cannot be read now is left there. told are
// those of which the log said it.
func (b inbox) asked(line string, told map[string]bool, log *slog.Logger) ([]Request, error) {
	entries, err := os.ReadDir(string(b))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		log.Error("the folder of requests cannot be listed", "folder", string(b), "reason", err)
		return nil, err
	}
	var asked []Request
	for _, e := range entries {
		if filepath.Ext(e.Name()) != ".json" || len(asked) == mostAsked {
			continue
		}
		r, err := b.read(e)
		var unread *fs.PathError
		if errors.As(err, &unread) {
			if !missing(err) && !told[e.Name()] { // or another line took it
				told[e.Name()] = true
				log.Warn("a request cannot be read yet; trying again", "file", filepath.Join(string(b), e.Name()), "reason", err)
			}
			continue
		}
		delete(told, e.Name())
		if err != nil {
			b.aside(e.Name(), err, log)
			continue
		}
		if r.Line == line {
			asked = append(asked, r)
		}
	}
	return asked, nil
}

func (b inbox) read(e fs.DirEntry) (r Request, err error) {
	if !e.Type().IsRegular() {
		return r, errors.New("is no regular file")
	}
	f, err := arrive.OpenFile(filepath.Join(string(b), e.Name()))
	if err != nil {
		return r, err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, mostText+1))
	if err != nil {
		return r, err
	}
	if len(text) > mostText {
		return r, fmt.Errorf("longer than %d bytes", mostText)
	}
	return parseRequest(text, e.Name())
}

// parseRequest reads the text of a request in the file of that name.
func parseRequest(text []byte, name string) (r Request, err error) {
	if err := json.Unmarshal(text, &r); err != nil {
		return r, err
	}
	if r.ID+".json" != name {
		return r, fmt.Errorf("it calls itself %q", r.ID)
	}
	return r, r.validate()
}

// aside renames a file that is no request, so that it is said once.
func (b inbox) aside(name string, why error, log *slog.Logger) {
	from := filepath.Join(string(b), name)
	if err := os.Rename(from, from+".refused"); err == nil {
		log.Warn("a file among the requests is none; it was set aside", "file", from+".refused", "reason", why)
	}
}

// done takes a request away.
func (b inbox) done(r Request) { _ = os.Remove(b.name(r.ID)) } // one that stays is known by its answer
