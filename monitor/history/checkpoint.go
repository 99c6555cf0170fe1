package history

import (
	"context"
	"sync"
	"time"
)

// A tender brings what commits left in the write-ahead log into the database's file, beside the writing: a commit that did it
// itself would wait for the disk, and the files that come meanwhile with it. It also leaves little to do for whoever closes
// the history. It asks for a passive checkpoint, which waits for nobody and nobody for it (SQLite documentation,
// "Write-Ahead Logging", section 2.1, and "PRAGMA wal_checkpoint").
type tender struct {
	cancel  context.CancelFunc
	written chan struct{}
	done    sync.WaitGroup
}

// tendEvery is how long commits gather before they are brought over. Chosen so that the log stays of a few megabytes at the
// pace of a busy line, and pages that several commits change are written once.
const tendEvery = 2 * time.Second

// commitCheckpoint is the size of the log, in pages of 4 KiB, at which a commit brings it over itself: only where the tender
// does not get on.
const commitCheckpoint = 16384

func (d *DB) tend() *tender {
	ctx, cancel := context.WithCancel(context.Background())
	t := &tender{cancel: cancel, written: make(chan struct{}, 1)}
	t.done.Go(func() {
		for {
			select {
			case <-ctx.Done():
				return
			case <-t.written:
			}
			select {
			case <-ctx.Done():
				return
			case <-time.After(tendEvery):
			}
			// Twice: what was committed during the first, which took long, is little, and without it the log never starts anew.
			for range 2 {
				_, _ = d.pool.ExecContext(ctx, "PRAGMA wal_checkpoint(PASSIVE)") // the next one, or a commit, finds the same trouble
			}
		}
	})
	return t
}

// wrote tells it that there is something to do.
func (t *tender) wrote() {
	if t == nil {
		return
	}
	select {
	case t.written <- struct{}{}:
	default:
	}
}

// stop ends it. A second call does nothing.
func (t *tender) stop() {
	if t == nil {
		return
	}
	t.cancel()
	t.done.Wait()
}
