package arrive

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"testing"
	"testing/fstest"
	"testing/synctest"
)

func TestAhead(t *testing.T) {
	file, err := fstest.MapFS{"a": {}}.Stat("a")
	if err != nil {
		t.Fatal(err)
	}
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		asked, closed := 0, false
		read := func(context.Context) ([]fs.FileInfo, error) {
			if asked++; asked == 4 {
				return nil, io.EOF
			}
			return []fs.FileInfo{file}, nil
		}
		next, end := ahead(ctx, read, func() { closed = true })
		for i := range 3 {
			synctest.Wait()
			if want := i + 1; asked != want {
				t.Errorf("before answer %d is taken, %d were asked for, want %d", i, asked, want)
			}
			if infos, err := next(); err != nil || len(infos) != 1 {
				t.Errorf("answer %d: %v, %v", i, infos, err)
			}
		}
		if _, err := next(); !errors.Is(err, io.EOF) {
			t.Errorf("at the end: %v, want %v", err, io.EOF)
		}
		end()
		if asked != 4 || !closed {
			t.Errorf("asked %d times, closed %v", asked, closed)
		}

		asked, closed = 0, false
		next, end = ahead(ctx, read, func() { closed = true })
		synctest.Wait()
		cancel()
		end() // waits for the one who reads, of whom nothing was taken
		if _, err := next(); !errors.Is(err, context.Canceled) || asked != 1 || !closed {
			t.Errorf("stopped: %v, asked %d times, closed %v", err, asked, closed)
		}
	})
}
