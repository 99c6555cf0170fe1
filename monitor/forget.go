package monitor

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"time"

	"asusual/monitor/arrive"
	"asusual/monitor/history"
)

// ErrNoFolder says that which files are gone cannot be told now: the watched folder is not there, or there is nothing in it, as in the
// place of a share that is not mounted.
var ErrNoFolder = errors.New("which files are gone cannot be told now")

// Forget takes out of the line's history what is known of files whose spectra were taken out and that are no longer in the folder; their
// contents stay known, so that none is judged again that returns: it is not for a line that judges copies. With dry it only counts.
func Forget(ctx context.Context, db *history.DB, line, folder string, k history.Keep, now time.Time, dry bool) (n int, err error) {
	gone := func(names []string) (is []bool, err error) {
		tree, err := arrive.OpenDisk(folder) // each time: a share may go meanwhile
		if err == nil {
			defer func() { err = errors.Join(err, tree.Close()) }()
			err = holdsSomething(tree)
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w: %w", folder, ErrNoFolder, err)
		}
		is = make([]bool, len(names))
		for i, name := range names {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			_, err := tree.Lstat(name)
			is[i] = errors.Is(err, fs.ErrNotExist)
		}
		return is, nil
	}
	return db.Forget(ctx, line, k, now, gone, dry)
}

// holdsSomething returns why a folder does not: an error, or that it is empty.
func holdsSomething(tree arrive.Tree) error {
	f, err := tree.Open(".")
	if err != nil {
		return err
	}
	defer f.Close()
	in, ok := f.(fs.ReadDirFile)
	if !ok {
		return errors.New("it is no folder")
	}
	if _, err := in.ReadDir(1); errors.Is(err, io.EOF) {
		return errors.New("it is empty")
	} else if err != nil {
		return err
	}
	return nil
}
