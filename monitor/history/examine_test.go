package history_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/monitor/history"
)

// A server is examined before there is a history on it, with one, as a user without rights, and when it is not there.
func TestExamine(t *testing.T) {
	address := onServer(t)
	s, err := theServer()
	if err != nil {
		t.Fatal(err)
	}
	examine := func(address string) history.Examination {
		t.Helper()
		x, err := history.Examine(t.Context(), address)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	x := examine(address)
	if x.Version != 0 || x.Newest < 5 || x.Place == "" || x.User != "asusual" || x.Encoding != "UTF8" || x.Standby || len(x.Missing) > 0 {
		t.Errorf("Examine of a server without a history = %+v", x)
	}
	if x.Software == "" || strings.ContainsAny(x.Software, " (") {
		t.Errorf("its software is %q, want a number alone", x.Software)
	}
	// Server and test have one clock.
	if x.Ahead.Abs() > x.Within+10*time.Millisecond {
		t.Errorf("its clock is %v ahead, within %v, want 0", x.Ahead, x.Within)
	}
	open(t, address)
	if x := examine(address); x.Version != x.Newest || len(x.Missing) > 0 {
		t.Errorf("Examine of a server with a history = %+v", x)
	}

	place := x.Place
	for _, statement := range []string{"CREATE ROLE guest LOGIN", "GRANT USAGE ON SCHEMA " + place + " TO guest", "GRANT SELECT ON ALL TABLES IN SCHEMA " + place + " TO guest",
		"GRANT INSERT, UPDATE ON " + place + ".record TO guest"} {
		if _, err := s.Run(place, statement); err != nil {
			t.Fatal(err)
		}
	}
	guest := strings.Replace(address, "user=asusual", "user=guest", 1)
	x = examine(guest)
	if x.User != "guest" || !slices.Contains(x.Missing, "DELETE on record") || slices.Contains(x.Missing, "INSERT on record") || !slices.Contains(x.Missing, "INSERT on file") {
		t.Errorf("rights that a guest lacks = %q, want those that were not given", x.Missing)
	}
	x = examine(strings.Replace(guest, place, "elsewhere", 1))
	if want := []string{`CREATE in "elsewhere"`}; !slices.Equal(x.Missing, want) {
		t.Errorf("rights that a guest lacks where there is no history = %q, want %q", x.Missing, want)
	}
	if _, err := history.Examine(t.Context(), fmt.Sprintf("postgres://127.0.0.1:%d/none", 1)); !errors.Is(err, history.ErrAway) {
		t.Errorf("Examine of a server that is not there = %v, want %v", err, history.ErrAway)
	}
}
