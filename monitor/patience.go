package monitor

import (
	"context"
	"time"

	"asusual/monitor/history"
)

const (
	patienceFirst = time.Second      // before the first new attempt, then twice as long each time
	patienceMost  = 30 * time.Second // at most
)

// patiently does something with history again and again while it fails for a reason that may pass by itself, until stop. trouble is told
// the first such error, and nil when it is over.
func patiently(stop <-chan struct{}, trouble func(error), do func() error) error {
	wait := patienceFirst
	for told := false; ; told = true {
		err := do()
		if err == nil {
			if told {
				trouble(nil)
			}
			return nil
		}
		if !history.Passing(err) {
			return err
		}
		if !told {
			trouble(err)
		}
		select {
		case <-stop:
			return err
		case <-time.After(wait):
		}
		wait = min(2*wait, patienceMost)
	}
}

// write and read do something with history, patiently: judging waits meanwhile, and the line says so.
func (c *committer) write(do func() error) error { return patiently(c.stop, c.trouble("written"), do) }
func (c *committer) read(do func() error) error  { return patiently(c.stop, c.trouble("read"), do) }

func (c *committer) trouble(what string) func(error) {
	return func(err error) {
		if err == nil {
			c.status.trouble, c.status.troubled = "", time.Time{}
			c.line.Log.Info("history can be " + what + " again")
			return
		}
		c.status.trouble, c.status.troubled = err.Error(), time.Now().Round(0)
		c.tell()
		c.line.Log.Error("history cannot be "+what+"; judging waits, nothing is lost", "reason", err)
	}
}

// ask does something with history, patiently, on the way of a worker.
func (w *worker) ask(ctx context.Context, do func() error) error {
	return patiently(ctx.Done(), func(err error) {
		if err == nil {
			w.line.Log.Info("history can be read again")
		} else {
			w.line.Log.Error("history cannot be read; reading waits, nothing is lost", "reason", err)
		}
	}, do)
}
