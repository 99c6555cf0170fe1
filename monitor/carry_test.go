package monitor_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"asusual/model/spectrum"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/monitor/history/testserver"
	"asusual/monitor/keep"
)

// startServer starts a PostgreSQL server that keeps what it confirmed, however it ends.
func startServer(t *testing.T) *testserver.Server {
	t.Helper()
	s, err := testserver.Start(true)
	if errors.Is(err, testserver.ErrMissing) {
		t.Skip(err)
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// eventually waits until something is so.
func eventually(t *testing.T, what string, is func() bool) {
	t.Helper()
	for end := time.Now().Add(patience); ; {
		if is() {
			return
		}
		if time.Now().After(end) {
			t.Fatalf("not within %v: %s", patience, what)
		}
		<-time.After(20 * time.Millisecond)
	}
}

// atServer returns the records of the line that the server has; nil where it cannot be asked.
func atServer(address string) []history.Record {
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	d, err := history.Read(ctx, address)
	if err != nil {
		return nil
	}
	defer d.Close()
	var rs []history.Record
	for r, err := range d.Spectra(ctx, everything) {
		if err != nil {
			return nil
		}
		rs = append(rs, r)
	}
	return rs
}

func (b *bench) carrying(address string) (stop func()) {
	b.t.Helper()
	c, err := monitor.NewCarrying(b.t.Context(), b.db, monitor.Server{Address: address, Watcher: "test", Lines: []string{"Filler 3"}, Log: b.line().Log})
	if err != nil {
		b.t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- c.Run(ctx) }()
	return func() {
		b.t.Helper()
		cancel()
		if err := <-done; err != nil {
			b.t.Errorf("Run = %v, want nil", err)
		}
	}
}

// The server falls and rises, in good order and not, while spectra arrive: the line goes on being judged, nothing is lost, and
// nothing comes to the server twice.
func TestTheServerFallsWhileALineIsWatched(t *testing.T) {
	s := startServer(t)
	address := s.Address("")
	b := newBench(t)
	spectra := produced(t, 180)
	stop := b.carrying(address)
	stopWatch := watching(t, b.line())
	put := 0
	more := func(n int) {
		b.putAll(spectra[put : put+n])
		put += n
	}
	more(40)
	eventually(t, "the server has the first", func() bool { return len(atServer(address)) == put })
	for _, fall := range []func() error{s.Crash, s.Halt} {
		more(20) // some are under way when it falls
		if err := fall(); err != nil {
			t.Fatal(err)
		}
		more(30)
		eventually(t, "all are judged while the server is away", func() bool { return len(b.records()) == put })
		eventually(t, "the log says that it is away", func() bool {
			return strings.Contains(b.logged(), "cannot be written; the lines are watched all the same")
		})
		if err := s.Again(); err != nil {
			t.Fatal(err)
		}
		more(10)
		eventually(t, "the server has all again", func() bool { return len(atServer(address)) == put })
	}
	more(20)
	eventually(t, "the server has the last", func() bool { return len(atServer(address)) == put })
	stopWatch()
	stop()
	b.expect("here", spectra)
	if got, want := atServer(address), b.records(); !reflect.DeepEqual(got, want) {
		t.Errorf("the server has %d records, want the %d that are kept here", len(got), len(want))
	}
	if n := strings.Count(b.logged(), "is there again"); n < 2 {
		t.Errorf("the log says %d times that the server is there again, want 2", n)
	}
}

// A watch that starts while the server is away goes on with a line that it knows, and not with one that it does not.
func TestAStartWithoutTheServer(t *testing.T) {
	s := startServer(t)
	address := s.Address("")
	b := newBench(t)
	of := func(line string) error {
		c, err := monitor.NewCarrying(t.Context(), b.db, monitor.Server{Address: address, Watcher: "test", Lines: []string{line}})
		if err == nil {
			err = c.Close()
		}
		return err
	}
	if err := of("Filler 3"); err != nil {
		t.Fatal(err)
	}
	if err := s.Halt(); err != nil {
		t.Fatal(err)
	}
	if err := of("Filler 4"); !errors.Is(err, history.ErrFirstStart) || !errors.Is(err, history.ErrAway) {
		t.Errorf("start of a new line without the server = %v, want %v", err, history.ErrFirstStart)
	}
	var spectra []spectrum.Spectrum
	spectra = append(spectra, produced(t, 10)...)
	b.putAll(spectra)
	stop := b.carrying(address)
	b.catchUp()
	if err := s.Again(); err != nil {
		t.Fatal(err)
	}
	eventually(t, "the server has all", func() bool { return len(atServer(address)) == 10 })
	other, err := history.Open(t.Context(), filepath.Join(t.TempDir(), "h"), "test")
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	var held *keep.Held
	if _, err := monitor.NewCarrying(t.Context(), other, monitor.Server{Address: address, Watcher: "second", Lines: []string{"Filler 3"}}); !errors.As(err, &held) {
		t.Errorf("a second watch of the line, from another file = %v, want it refused", err)
	}
	stop()
}

// Another computer's newer program brought the server forward: a line of this one that the server knows is watched on from a start, and
// what is found waits here. One that it does not know is not begun.
func TestAStartWithANewerServer(t *testing.T) {
	s := startServer(t)
	address := s.Address("")
	b := newBench(t)
	b.carrying(address)() // the line is known to the server
	version := func(of string) {
		t.Helper()
		if _, err := s.Run("asusual", "UPDATE asusual_schema SET version = "+of); err != nil {
			t.Fatal(err)
		}
	}
	version("version + 1")
	stop := b.carrying(address)
	b.putAll(produced(t, 10))
	b.catchUp()
	if w, err := b.db.Waiting(t.Context(), "Filler 3"); err != nil || w.Spectra != 10 {
		t.Errorf("Waiting = %+v, %v, want the 10 that were judged", w, err)
	}
	if says := b.logged(); !strings.Contains(says, "the lines are watched all the same") || !strings.Contains(says, "newer version of this program") {
		t.Errorf("the log says\n%s\nwant that the line is watched, and why the server is not written", says)
	}
	if _, err := monitor.NewCarrying(t.Context(), b.db, monitor.Server{Address: address, Watcher: "test", Lines: []string{"Filler 4"}}); !errors.Is(err, history.ErrFirstStart) || !errors.Is(err, history.ErrNewer) {
		t.Errorf("start of a new line = %v, want %v and %v", err, history.ErrFirstStart, history.ErrNewer)
	}
	stop()
	version("version - 1")
	other, err := history.Open(t.Context(), filepath.Join(t.TempDir(), "h"), "test") // the line moves to the other computer
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	far, err := history.OpenFar(t.Context(), other, address, "the new computer")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := far.Join(t.Context(), "Filler 3"); err != nil {
		t.Fatal(err)
	}
	version("version + 1")
	var held *keep.Held
	if _, err := monitor.NewCarrying(t.Context(), b.db, monitor.Server{Address: address, Watcher: "test", Lines: []string{"Filler 3"}}); !errors.As(err, &held) || !strings.HasPrefix(held.By.Name, "the new computer") {
		t.Errorf("start while a newer program on another computer has the line = %v, want it refused, with the other's name", err)
	}
	if err := far.Close(); err != nil {
		t.Fatal(err)
	}
	stop = b.carrying(address)
	version("version - 1") // this program is brought forward
	eventually(t, "the server has all", func() bool { return len(atServer(address)) == 10 })
	stop()
}

// An older copy of the line's own file is put back, and the watch started again: it goes on from what the server has, judges nothing
// of that again though the files are still there, and what is new comes to the server. The log says what happened.
func TestAnOlderCopyIsPutBackAndTheLineWatchedOn(t *testing.T) {
	s := startServer(t)
	address := s.Address("")
	b := newBench(t)
	spectra := produced(t, 60)
	b.putAll(spectra[:20])
	stop := b.carrying(address)
	b.catchUp()
	backup := filepath.Join(t.TempDir(), "copy")
	if err := b.db.Backup(t.Context(), backup); err != nil {
		t.Fatal(err)
	}
	b.putAll(spectra[20:40])
	b.catchUp()
	eventually(t, "the server has what came after the copy", func() bool { return len(atServer(address)) == 40 })
	stop()
	if err := b.db.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(backup, b.path); err != nil {
		t.Fatal(err)
	}
	b.open()
	stop = b.carrying(address)
	if said := "what is kept here was older than what the server has from it"; strings.Count(b.logged(), said) != 1 {
		t.Errorf("the log says\n%s\nwant once that %s", b.logged(), said)
	}
	stopWatch := watching(t, b.line())
	b.putAll(spectra[40:])
	eventually(t, "the server has all", func() bool { return len(atServer(address)) >= len(spectra) })
	stopWatch()
	stop()
	b.expect("here", spectra)
	if got, want := atServer(address), b.records(); !reflect.DeepEqual(got, want) {
		t.Errorf("the server has %d records, want the %d that are kept here", len(got), len(want))
	}
}

// At a start, as while it runs, a line that the server knows is watched though the server takes nothing: it may be standing by after a
// failover, or somebody took a right away. What waited is brought once it can be written.
func TestALineStartsWhileTheServerCannotBeWritten(t *testing.T) {
	s := startServer(t)
	address := s.Address("")
	b := newBench(t)
	spectra := produced(t, 30)
	b.carrying(address)() // the line is known to the server
	for i, way := range []struct{ shut, open string }{
		{"ALTER DATABASE postgres SET default_transaction_read_only = on", "ALTER DATABASE postgres RESET default_transaction_read_only"},
		{"ALTER ROLE asusual NOLOGIN", ""},
	} {
		if _, err := s.Run("", way.shut); err != nil {
			t.Fatal(err)
		}
		stop := b.carrying(address)
		stopWatch := watching(t, b.line())
		b.putAll(spectra[10*i : 10*i+10])
		eventually(t, "all are judged meanwhile", func() bool { return len(b.records()) == 10*i+10 })
		eventually(t, "the log says so", func() bool {
			return strings.Count(b.logged(), "cannot be written; the lines are watched all the same") == i+1
		})
		if way.open != "" {
			if _, err := s.Run("", "BEGIN READ WRITE; "+way.open+"; COMMIT"); err != nil {
				t.Fatal(err)
			}
			eventually(t, "the server has what waited", func() bool { return len(atServer(address)) == 10*i+10 })
		}
		stopWatch()
		stop()
	}
}

// The password of the server's user is changed while a line is watched: the new one is taken from its file, without another start.
func TestThePasswordOfTheServerIsChanged(t *testing.T) {
	s := startServer(t)
	b := newBench(t)
	spectra := produced(t, 20)
	run := func(statements string) {
		t.Helper()
		if _, err := s.Run("", statements); err != nil {
			t.Fatal(err)
		}
	}
	run("CREATE ROLE plant LOGIN PASSWORD 'oats'; GRANT CREATE ON DATABASE postgres TO plant")
	if err := os.WriteFile(filepath.Join(s.Folder(), "data", "pg_hba.conf"), []byte("local all asusual trust\nlocal all all scram-sha-256\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	run("SELECT pg_reload_conf()")
	secrets := filepath.Join(t.TempDir(), "pgpass")
	password := func(is string) {
		t.Helper()
		if err := os.WriteFile(secrets, []byte("*:*:*:plant:"+is+"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	password("oats")
	t.Setenv("PGPASSFILE", secrets)
	stop := b.carrying(strings.Replace(s.Address(""), "user=asusual", "user=plant", 1))
	stopWatch := watching(t, b.line())
	b.putAll(spectra[:10])
	eventually(t, "the server has the first", func() bool { return len(atServer(s.Address(""))) == 10 })

	run("ALTER ROLE plant PASSWORD 'rye'; SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE usename = 'plant'")
	b.putAll(spectra[10:])
	eventually(t, "all are judged meanwhile", func() bool { return len(b.records()) == 20 })
	eventually(t, "the log says so", func() bool {
		return strings.Contains(b.logged(), "cannot be written; the lines are watched all the same")
	})
	password("rye")
	eventually(t, "the server has what waited", func() bool { return len(atServer(s.Address(""))) == 20 })
	stopWatch()
	stop()
}
