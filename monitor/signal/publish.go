package signal

import (
	"context"
	"encoding/json"
	"errors"
	"math/rand/v2"
	"strings"
	"time"

	"asusual/monitor"
	"asusual/monitor/mqtt"
)

// A publisher tells a broker how the lines stand.
type publisher struct {
	opt  Options
	has  map[string]string // what the broker has of each topic, as far as it is known
	away bool              // it has been said that the broker is away
	no   map[string]bool   // topics that it has refused, said once
}

func newPublisher(opt Options) *publisher {
	broker := *opt.Broker
	opt.Broker = &broker
	p := &publisher{opt: opt}
	broker.Will = &mqtt.Message{Topic: p.topic("watch"), Payload: []byte("lost"), Retain: true}
	return p
}

func (p *publisher) topic(parts ...string) string {
	return p.opt.Prefix + "/" + strings.Join(parts, "/")
}

// level makes one level of a topic of a name.
func level(name string) string {
	var b strings.Builder
	for _, r := range name {
		if strings.ContainsRune("/+#%", r) || r < ' ' || r == 0x7f {
			const hex = "0123456789ABCDEF"
			b.WriteByte('%')
			b.WriteByte(hex[r>>4&15])
			b.WriteByte(hex[r&15])
			continue
		}
		b.WriteRune(r)
	}
	return b.String()
}

const (
	soonest = time.Second // between two tries to connect, the first time
	latest  = time.Minute // and after many
	lasted  = time.Minute // a connection that held so long starts the tries anew
)

// follow keeps a connection, and publishes over it.
func (p *publisher) follow(ctx context.Context, board *monitor.Board) {
	wait := soonest
	for ctx.Err() == nil {
		began := time.Now()
		err := p.connected(ctx, board)
		if ctx.Err() != nil {
			return
		}
		if time.Since(began) > lasted {
			wait = soonest
		}
		if !p.away {
			p.away = true
			p.opt.Log.Error("the broker is away; trying again", "broker", p.opt.Broker.Broker, "reason", err)
		}
		select {
		case <-ctx.Done():
		case <-time.After(wait/2 + rand.N(wait/2)): // many clients of one broker shall not come back at once
		}
		wait = min(2*wait, latest)
	}
}

const (
	beat    = 30 * time.Second       // between two heartbeats
	between = 500 * time.Millisecond // the least time between two rounds of figures
	goodbye = time.Second            // for the last message
)

// connected publishes over one connection until it ends, or the context does.
func (p *publisher) connected(ctx context.Context, board *monitor.Board) error {
	conn, err := mqtt.Dial(ctx, *p.opt.Broker)
	if err != nil {
		return err
	}
	defer conn.Close() // why it ended is known by then
	p.opt.Log.Info("connected to the broker", "broker", p.opt.Broker.Broker)
	p.has, p.away, p.no = map[string]string{}, false, map[string]bool{}
	set, stop := board.Follow()
	defer stop()
	tick := time.NewTicker(beat)
	defer tick.Stop()
	last, cancel := lasting(ctx)
	defer cancel()
	for {
		if err := p.round(last, conn, board); err != nil {
			return err
		}
		select {
		case <-ctx.Done():
		case <-conn.Done():
			return conn.Err()
		case <-time.After(between):
		}
		select {
		case <-ctx.Done():
			return errors.Join(p.round(last, conn, board), p.put(last, conn, p.topic("watch"), "stopped"))
		case <-conn.Done():
			return conn.Err()
		case <-set:
		case <-tick.C:
		}
	}
}

// lasting returns a context that ends a while after ctx does.
func lasting(ctx context.Context) (context.Context, context.CancelFunc) {
	longer, cancel := context.WithCancel(context.WithoutCancel(ctx))
	stop := context.AfterFunc(ctx, func() {
		late := time.NewTimer(goodbye)
		defer late.Stop()
		select {
		case <-late.C:
			cancel()
		case <-longer.Done():
		}
	})
	return longer, func() { stop(); cancel() }
}

// round publishes what the broker does not have yet.
func (p *publisher) round(ctx context.Context, conn *mqtt.Conn, board *monitor.Board) error {
	for _, s := range board.Bulletin().Lines {
		state, err := json.Marshal(s)
		if err != nil {
			return err
		}
		line := level(s.Line)
		for _, m := range [][2]string{{"verdict", s.Verdict}, {"distance", distance(s.Distance)}, {"state", string(state)}} {
			if err := p.put(ctx, conn, p.topic("line", line, m[0]), m[1]); err != nil {
				return err
			}
		}
	}
	if err := p.put(ctx, conn, p.topic("watch"), "watching"); err != nil {
		return err
	}
	return p.put(ctx, conn, p.topic("heartbeat"), time.Now().UTC().Truncate(beat/2).Format(time.RFC3339))
}

// put publishes unless the broker has it. What the broker refuses is said once; the rest goes on.
func (p *publisher) put(ctx context.Context, conn *mqtt.Conn, topic, payload string) error {
	if has, ok := p.has[topic]; ok && has == payload {
		return nil
	}
	err := conn.Publish(ctx, mqtt.Message{Topic: topic, Payload: []byte(payload), Retain: true})
	var no *mqtt.Refusal
	if errors.As(err, &no) && conn.Alive() {
		if !p.no[topic] {
			p.no[topic] = true
			p.opt.Log.Warn("the broker does not take a message", "topic", topic, "reason", err)
		}
		return nil
	}
	if err == nil {
		p.has[topic] = payload
	}
	return err
}
