package testserver

import (
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
)

// ErrMissing says that this computer has no PostgreSQL to start.
var ErrMissing = errors.New("no PostgreSQL is installed here (Debian: apt-get install postgresql)")

// A Server is a PostgreSQL server that was started here.
type Server struct {
	bin, dir string
	safe     bool
}

// Start makes a new server and starts it. With safe it keeps what it has written through a power cut, as a server in use does;
// without, only through its own end, which is quicker. Where there is no PostgreSQL here the error is ErrMissing.
func Start(safe bool) (*Server, error) {
	bin, err := find()
	if err != nil {
		return nil, err
	}
	sweep(bin)
	// A short path, for that of a socket may have a hundred characters.
	dir, err := os.MkdirTemp("", prefix)
	if err != nil {
		return nil, err
	}
	s := &Server{bin: bin, dir: dir, safe: safe}
	err = errors.Join(os.WriteFile(filepath.Join(dir, "owner"), []byte(strconv.Itoa(os.Getpid())), 0o644), giveAway(dir))
	if err == nil {
		err = s.run("initdb", "-D", s.data(), "-U", "asusual", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync")
	}
	if err == nil {
		err = s.Again()
	}
	if err != nil {
		return nil, errors.Join(err, os.RemoveAll(dir))
	}
	return s, nil
}

const prefix = "asusual-pg"

// sweep ends servers whose owner was killed before it could.
func sweep(bin string) {
	left, _ := filepath.Glob(filepath.Join(os.TempDir(), prefix+"*")) // the pattern is right
	for _, dir := range left {
		text, err := os.ReadFile(filepath.Join(dir, "owner"))
		if err != nil {
			continue
		}
		if pid, err := strconv.Atoi(string(text)); err == nil && gone(pid) {
			_ = (&Server{bin: bin, dir: dir}).Close() // what stays is in nobody's way
		}
	}
}

// find returns the folder with the programs of the newest PostgreSQL here.
func find() (string, error) {
	if runtime.GOOS == "windows" {
		return "", ErrMissing
	}
	all, err := filepath.Glob("/usr/lib/postgresql/*/bin") // as Debian has them
	if err != nil {
		return "", err
	}
	if path, err := exec.LookPath("initdb"); err == nil {
		all = append([]string{filepath.Dir(path)}, all...)
	}
	all = slices.DeleteFunc(all, func(dir string) bool {
		_, err := os.Stat(filepath.Join(dir, "postgres"))
		return err != nil
	})
	if len(all) == 0 {
		return "", ErrMissing
	}
	return all[len(all)-1], nil
}

func (s *Server) data() string { return filepath.Join(s.dir, "data") }

// run runs a program of PostgreSQL as a user who may: a server refuses to run as root.
func (s *Server) run(name string, args ...string) error {
	c := exec.Command(filepath.Join(s.bin, name), args...)
	c.Dir = s.dir
	asAnother(c)
	// Into a file, for a server that goes on would hold a pipe open.
	said, err := os.CreateTemp(s.dir, "said")
	if err != nil {
		return err
	}
	defer said.Close()
	c.Stdout, c.Stderr = said, said
	if err := c.Run(); err != nil {
		text, _ := os.ReadFile(said.Name())
		log, _ := os.ReadFile(filepath.Join(s.data(), "log"))
		return fmt.Errorf("%s: %w: %s%s", name, err, text, log)
	}
	return nil
}

// Again starts the server, after Halt or Crash.
func (s *Server) Again() error {
	set := []string{"-k " + s.dir, "-c listen_addresses=", "-c max_connections=60", "-c shared_buffers=128MB", "-c max_wal_size=4GB"}
	if !s.safe {
		set = append(set, "-c fsync=off", "-c full_page_writes=off")
	}
	return s.run("pg_ctl", "-D", s.data(), "-l", filepath.Join(s.data(), "log"), "-w", "-t", "60", "-o", strings.Join(set, " "), "start")
}

// Halt ends the server in good order: whoever is connected is cut off.
func (s *Server) Halt() error { return s.run("pg_ctl", "-D", s.data(), "-m", "fast", "-w", "stop") }

// Crash ends the server at once, as if its process had been killed.
func (s *Server) Crash() error {
	return s.run("pg_ctl", "-D", s.data(), "-m", "immediate", "-w", "stop")
}

// Close ends the server and removes all that it had.
func (s *Server) Close() error {
	_ = s.Halt() // it may not be running
	return os.RemoveAll(s.dir)
}

// Address is that of a place of its own in the server's database, by a name of letters and digits.
func (s *Server) Address(place string) string {
	q := url.Values{"host": {s.dir}, "user": {"asusual"}}
	if place != "" {
		q.Set("search_path", place)
	}
	return "postgres:///postgres?" + q.Encode()
}

// Folder is where the server keeps all it has.
func (s *Server) Folder() string { return s.dir }

// Run runs statements in a place, by the server's own shell, and returns what it prints.
func (s *Server) Run(place, statements string) (string, error) {
	psql := filepath.Join(s.bin, "psql")
	if _, err := os.Stat(psql); err != nil {
		psql = "psql"
	}
	c := exec.Command(psql, "-h", s.dir, "-U", "asusual", "-d", "postgres", "-v", "ON_ERROR_STOP=1", "-qAt", "-c", statements)
	c.Env = append(os.Environ(), "PGOPTIONS=-c search_path="+place)
	out, err := c.CombinedOutput()
	if err != nil {
		return "", fmt.Errorf("%w: %s", err, out)
	}
	return strings.TrimSpace(string(out)), nil
}

// Dump returns a place as statements that make it again, as the server's own tool writes them.
func (s *Server) Dump(place string) (string, error) {
	c := exec.Command(filepath.Join(s.bin, "pg_dump"), "-h", s.dir, "-U", "asusual", "-d", "postgres", "-n", place, "--inserts", "--no-owner", "--no-privileges")
	out, err := c.Output()
	if err != nil {
		return "", err
	}
	var kept []string
	for _, line := range strings.Split(string(out), "\n") {
		if !strings.HasPrefix(line, "--") && !strings.HasPrefix(line, `\`) && line != "" { // \ is of its shell
			kept = append(kept, line)
		}
	}
	return strings.Join(kept, "\n") + "\n", nil
}
