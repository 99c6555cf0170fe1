package arrive_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"asusual/monitor/arrive"
)

// watchDisk runs a scanner with the system's own notifications, and listings so seldom that they find nothing.
func watchDisk(t *testing.T, d disk, settle time.Duration) <-chan arrive.File {
	t.Helper()
	n, err := arrive.NewNotifier(d.Path())
	if err != nil {
		t.Skipf("no notifications here: %v", err)
	}
	s := newScanner(t, arrive.Options{Tree: d, Source: n, Settle: settle, Poll: time.Hour, Rescan: time.Hour})
	out := make(chan arrive.File, 1<<15)
	done := make(chan error, 1)
	ago := time.Now().Add(-2 * time.Hour)
	d.write("first.csv", 1, ago) // handed on by the first listing: from then on notifications come
	ctx, cancel := context.WithCancel(t.Context())
	go func() {
		done <- s.Run(ctx, func(f arrive.File) error { out <- f; return nil })
	}()
	t.Cleanup(func() {
		cancel()
		if err := <-done; !errors.Is(err, context.Canceled) {
			t.Errorf("Run = %v, want %v", err, context.Canceled)
		}
		if err := errors.Join(n.Close(), n.Close()); err != nil {
			t.Errorf("Close, twice = %v, want nil", err)
		}
	})
	late := time.After(2 * time.Minute)
	for {
		select {
		case <-out:
			return out
		case <-late:
			t.Fatal("nothing was handed on within two minutes")
		case <-time.After(200 * time.Millisecond): // a system that does not say whose clock its files have: there it has to settle, unless it is renamed
			d.write("first.csv.tmp", 1, ago)
			d.rename("first.csv.tmp", "first.csv")
		}
	}
}

func next(t *testing.T, out <-chan arrive.File) arrive.File {
	t.Helper()
	select {
	case f := <-out:
		return f
	case <-time.After(2 * time.Minute):
		t.Fatal("nothing was handed on within two minutes")
		return arrive.File{}
	}
}

func TestTheSystemsNotifications(t *testing.T) {
	d := openDisk(t)
	out := watchDisk(t, d, 30*time.Millisecond)
	for i := range 20 {
		name := fmt.Sprintf("%02d.csv", i)
		d.write(name+".tmp", 100, time.Now())
		d.rename(name+".tmp", name)
		if f := next(t, out); f.Rel != name || f.Size != 100 {
			t.Fatalf("after a rename: %+v, want %s of 100 bytes", f, name)
		}
	}
	d.write("2026-11-26/deep/a.csv.tmp", 50, time.Now())
	d.rename("2026-11-26/deep/a.csv.tmp", "2026-11-26/deep/a.csv")
	if f := next(t, out); f.Rel != "2026-11-26/deep/a.csv" {
		t.Errorf("in a new folder: %+v, want a.csv", f)
	}
	d.write("2026-11-26/b.csv.tmp", 50, time.Now())
	d.rename("2026-11-26/b.csv.tmp", "2026-11-26/b.csv")
	if f := next(t, out); f.Rel != "2026-11-26/b.csv" {
		t.Errorf("in it, later: %+v, want b.csv", f)
	}
}

// A file that is renamed into the folder from elsewhere is whole, and not waited for.
func TestMovedInFromElsewhere(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("this system does not tell such a file from one that is begun here")
	}
	d, elsewhere := openDisk(t), t.TempDir()
	out := watchDisk(t, d, time.Hour) // that settles nothing
	for _, folder := range []string{"", "2026-11-26/"} {
		if folder != "" {
			whole, ago := filepath.Join(elsewhere, "whole"), time.Now().Add(-24*time.Hour)
			d.must(os.Mkdir(whole, 0o755))
			d.must(os.WriteFile(filepath.Join(whole, "old.csv"), []byte("1,2\n"), 0o644))
			d.must(os.Chtimes(filepath.Join(whole, "old.csv"), ago, ago))
			d.must(os.Rename(whole, d.at(folder)))
			if f := next(t, out); f.Rel != folder+"old.csv" {
				t.Fatalf("in a new folder: %+v, want old.csv", f)
			}
		}
		for i := range 5 {
			name := fmt.Sprintf("%s%d.csv", folder, i)
			from := filepath.Join(elsewhere, "written.csv")
			d.must(os.WriteFile(from, []byte("1,2\n"), 0o644))
			d.must(os.Rename(from, d.at(name)))
			if f := next(t, out); f.Rel != name || f.Size != 4 {
				t.Fatalf("moved in: %+v, want %s of 4 bytes", f, name)
			}
		}
	}
}

// A file that is moved out of the folder, as into an archive, says nothing of the one that is begun next.
func TestMovedOutOfTheFolder(t *testing.T) {
	if runtime.GOOS != "linux" && runtime.GOOS != "windows" {
		t.Skip("this system does not tell a file that is renamed from one that is begun")
	}
	d, archive := openDisk(t), t.TempDir()
	out := watchDisk(t, d, time.Hour) // that settles nothing
	for i := range 3 {
		name := fmt.Sprintf("%d.csv", i)
		d.write(name+".tmp", 100, time.Now())
		d.rename(name+".tmp", name)
		if f := next(t, out); f.Rel != name {
			t.Fatalf("handed on: %+v, want %s, whole", f, name)
		}
		d.must(os.Rename(d.at(name), filepath.Join(archive, name)))
		d.write(fmt.Sprintf("begun %d.csv", i), 50, time.Now())
	}
	d.write("last.csv.tmp", 100, time.Now())
	d.rename("last.csv.tmp", "last.csv")
	if f := next(t, out); f.Rel != "last.csv" {
		t.Errorf("handed on: %+v, want nothing that is just begun", f)
	}
}

func TestABurstLosesNothing(t *testing.T) {
	d := openDisk(t)
	out := watchDisk(t, d, 250*time.Millisecond)
	const n = 1000
	for i := range n {
		name := filepath.Join(d.Path(), fmt.Sprintf("%05d.csv", i)) // a file that is begun may be handed on empty where the test is stopped for long
		if err := errors.Join(os.WriteFile(name+".tmp", []byte("1,2\n"), 0o644), os.Rename(name+".tmp", name)); err != nil {
			t.Fatal(err)
		}
	}
	seen := map[string]int{}
	for range n {
		seen[next(t, out).Rel]++
	}
	for name, times := range seen {
		if times != 1 {
			t.Errorf("%s was handed on %d times, want once", name, times)
		}
	}
}

// Of a folder with many files the first by name are handed on before the others were even described, where their times are in
// that order; a new scanner goes on behind the file dealt with last.
func TestManyFilesAreBegunByTheirNames(t *testing.T) {
	d := openDisk(t)
	const n = 5500 // more than are begun with
	at := func(i int) string { return fmt.Sprintf("day %d/%05d.csv", i/5000, i) }
	d.must(errors.Join(os.Mkdir(d.at("day 0"), 0o755), os.Mkdir(d.at("day 1"), 0o755)))
	began := time.Now().Add(-24 * time.Hour)
	for i := range n {
		d.must(os.WriteFile(d.at(at(i)), nil, 0o644))
		d.must(os.Chtimes(d.at(at(i)), began, began.Add(time.Duration(i)*time.Second)))
	}
	late := func(i int) { d.must(os.Chtimes(d.at(at(i)), began, began.Add(-time.Hour))) }
	for _, tt := range []struct {
		order    arrive.Order
		after    string
		late     int // a file that is older than its name says; 0: none
		first    string
		together int // handed on before more were found
	}{
		{arrive.ByTime, "", 0, at(0), 4096},
		{arrive.ByTime, at(499), 0, at(500), 4096},
		{arrive.ByTime, at(4999), 0, at(0), 0}, // few are behind it, and the listing takes all
		{arrive.NewestFirst, "", 0, at(5499), 4096},
		{arrive.ByName, "", 3000, at(0), 4096},
		{arrive.ByTime, "", 3000, at(3000), 0},
	} {
		if tt.late > 0 {
			late(tt.late)
		}
		var behind []int // when each was handed on
		var s *arrive.Scanner
		var first string
		seen := map[string]bool{}
		enough := errors.New("enough")
		s = newScanner(t, arrive.Options{Tree: d.Disk, Order: tt.order, After: tt.after})
		err := s.Run(t.Context(), func(f arrive.File) error {
			if first == "" {
				first = f.Rel
			}
			if seen[f.Rel] {
				t.Errorf("%+v: %s is handed on twice", tt, f.Rel)
			}
			seen[f.Rel] = true
			if behind = append(behind, s.Behind()); len(seen) == n {
				return enough
			}
			return nil
		})
		if !errors.Is(err, enough) {
			t.Fatalf("%+v: Run = %v, want %v", tt, err, enough)
		}
		together := 0 // what is known to wait grows there
		for i := 1; i < n; i++ {
			if behind[i] >= behind[i-1] {
				together = i
			}
		}
		if first != tt.first || together != tt.together {
			t.Errorf("%+v: the first is %s, and %d come before more were found; want %s, %d", tt, first, together, tt.first, tt.together)
		}
	}
}

// BenchmarkList lists a folder of 100,000 files: first where all are new, then where all are known.
func BenchmarkList(b *testing.B) {
	dir := b.TempDir()
	const n = 100_000
	for i := range n {
		if i%1000 == 0 {
			if err := os.MkdirAll(filepath.Join(dir, fmt.Sprint("day", i/10_000)), 0o755); err != nil {
				b.Fatal(err)
			}
		}
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprint("day", i/10_000), fmt.Sprintf("s%06d.csv", i)), nil, 0o644); err != nil {
			b.Fatal(err)
		}
	}
	d, err := arrive.OpenDisk(dir)
	if err != nil {
		b.Fatal(err)
	}
	defer d.Close()
	count := func(s *arrive.Scanner, want int) {
		got := 0
		if err := s.Once(b.Context(), func(arrive.File) error { got++; return nil }); err != nil || got != want {
			b.Fatalf("Once = %d files, %v, want %d", got, err, want)
		}
	}
	b.Run("new", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			s, err := arrive.New(arrive.Options{Tree: d})
			if err != nil {
				b.Fatal(err)
			}
			count(s, n)
		}
	})
	b.Run("known", func(b *testing.B) {
		b.ReportAllocs()
		s, err := arrive.New(arrive.Options{Tree: d})
		if err != nil {
			b.Fatal(err)
		}
		count(s, n)
		for b.Loop() {
			count(s, 0)
		}
	})
}

// Of a folder whose notifications were given up none come, until they are asked for again.
func TestNotificationsThatAreGivenUp(t *testing.T) {
	dir := t.TempDir()
	n, err := arrive.NewNotifier(dir)
	if err != nil {
		t.Skipf("no notifications here: %v", err)
	}
	defer n.Close()
	for _, sub := range []string{"old", "new"} {
		if err := errors.Join(os.Mkdir(filepath.Join(dir, sub), 0o755), n.Follow(sub)); err != nil {
			t.Fatal(err)
		}
	}
	n.Unfollow("old")
	n.Unfollow("old") // and again, and of one that nobody asked for
	n.Unfollow("none")
	first := func(names ...string) string {
		t.Helper()
		for _, name := range names {
			path := filepath.Join(dir, filepath.FromSlash(name))
			if err := errors.Join(os.WriteFile(filepath.Join(dir, "made"), nil, 0o644), os.Rename(filepath.Join(dir, "made"), path)); err != nil {
				t.Fatal(err)
			}
		}
		select {
		case e := <-n.Events():
			return e.Rel
		case <-time.After(2 * time.Minute):
			t.Fatal("no notification within two minutes")
			return ""
		}
	}
	if got := first("old/a.csv", "old/b.csv", "new/c.csv"); got != "new/c.csv" {
		t.Errorf("the first notification is of %s, want new/c.csv: those of the other folder were given up", got)
	}
	if err := n.Follow("old"); err != nil {
		t.Fatal(err)
	}
	for got := first("old/d.csv"); got != "old/d.csv"; got = first() {
		if got != "new/c.csv" {
			t.Fatalf("a notification of %s, want one of old/d.csv", got)
		}
	}
}
