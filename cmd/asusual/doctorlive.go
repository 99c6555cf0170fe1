package main

import (
	"context"
	"net"
	"time"

	"asusual/cmd/asusual/words"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/monitor/keep"
)

// endsSoon is how long before its end a certificate is looked at: common practice, no source.
const endsSoon = 30 * 24 * time.Hour

// live looks whether the live page can be where the configuration says, and whether the watch would open it.
func (e *examination) live(ctx context.Context) {
	o := listening{}.settled(e.config.Live, func(string) bool { return false })
	at := o.address
	if o.unplaced() {
		e.wrong("", "live.unset")
		return
	}
	if at == "" {
		return
	}
	d, err := o.door()
	if err == nil {
		err = d.Check()
	}
	if err != nil && mayPass(err) {
		e.wrong("", "live.shut", "reason", err.Error())
		return
	} else if err != nil {
		e.wrong("", "live.refused", "reason", err.Error())
		return
	}
	if ends := d.Ends(); !ends.IsZero() && ends.Sub(e.now) < endsSoon {
		day := words.Moment(ends.In(e.config.Zone()))
		if ends.Before(e.now) {
			e.wrong("", "live.ends", "day", day)
		} else {
			e.look("", "live.ends", "day", day)
		}
	}
	l, err := d.Listen()
	if err == nil {
		_ = l.Close() // nobody was let in
		e.fine("", "live", "address", at)
		return
	}
	var other net.Dialer
	ctx, cancel := context.WithTimeout(ctx, 2*time.Second)
	defer cancel()
	if conn, dialled := other.DialContext(ctx, "tcp", at); dialled == nil {
		_ = conn.Close()
		if by, held, _ := keep.Look(history.LockOf(e.config.History)); held {
			if b, err := monitor.ReadBulletin(e.config.Signal.State); err == nil && !b.Stopped && b.PID == by.PID && b.Page == at {
				e.fine("", "live.there", "address", at)
			} else {
				e.look("", "live.other", "address", at)
			}
			return
		}
	}
	e.wrong("", "live.bad", "address", at, "reason", err.Error())
}
