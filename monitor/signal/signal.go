package signal

import (
	"context"
	"log/slog"
	"strconv"
	"sync"
	"time"

	"asusual/monitor"
	"asusual/monitor/mqtt"
)

// Options say who is told. The zero value tells nobody.
type Options struct {
	Command []string      // the program and its arguments; none: no command
	Limit   time.Duration // for one run of the command; 0: 30 s
	Pause   time.Duration // before a command that failed is run again, twice as long each time; 0: 10 s
	Broker  *mqtt.Options // nil: none. Its Will is filled in here
	Prefix  string        // of the topics; "": asusual
	Log     *slog.Logger  // nil: nowhere
}

const (
	commandLimit = 30 * time.Second
	commandPause = 10 * time.Second
	topPrefix    = "asusual"
)

// Run tells what the board shows until the context ends.
func Run(ctx context.Context, board *monitor.Board, opt Options) {
	if opt.Limit <= 0 {
		opt.Limit = commandLimit
	}
	if opt.Pause <= 0 {
		opt.Pause = commandPause
	}
	if opt.Prefix == "" {
		opt.Prefix = topPrefix
	}
	if opt.Log == nil {
		opt.Log = slog.New(slog.DiscardHandler)
	}
	var telling sync.WaitGroup
	if len(opt.Command) > 0 {
		telling.Go(func() {
			(&runner{opt: opt, told: map[string]string{}, failed: map[string]failure{}}).follow(ctx, board)
		})
	}
	if opt.Broker != nil {
		telling.Go(func() { newPublisher(opt).follow(ctx, board) })
	}
	telling.Wait()
}

func moment(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339)
}

// distance is written to as many digits as it means something.
func distance(v float64) string { return strconv.FormatFloat(v, 'g', 4, 64) }
