package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"time"

	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/monitor/history/testserver"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, os.Args[1:], os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "sitebench:", err)
		os.Exit(1)
	}
}

// A bench is one server and what is put on it.
type bench struct {
	out   io.Writer
	s     *testserver.Server
	rows  int           // to fill in
	lines int           //
	limit time.Duration // of the fill
	brink int           // spectra that each watcher brings
	begin time.Time
	end   time.Time // of the fill
}

const place = "site" // on the server

func run(ctx context.Context, args []string, out io.Writer) (err error) {
	b := &bench{out: out, begin: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)}
	f := flag.NewFlagSet("sitebench", flag.ContinueOnError)
	f.IntVar(&b.rows, "rows", 10_000_000, "records to fill in")
	f.IntVar(&b.lines, "lines", 10, "lines")
	f.DurationVar(&b.limit, "for", 10*time.Minute, "how long to fill at most")
	f.IntVar(&b.brink, "bring", 5000, "spectra that each watcher then brings")
	if err := f.Parse(args); err != nil {
		return err
	}
	if b.rows < 1 || b.lines < 1 || b.brink < 1 {
		return errors.New("-rows, -lines and -bring take numbers from 1")
	}
	if b.s, err = testserver.Start(true); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, b.s.Close()) }()
	for _, step := range []func(context.Context) error{b.fill, b.bring, b.shifts, b.site, b.prune} {
		if err := step(ctx); err != nil {
			return err
		}
	}
	return nil
}

func name(i int) string { return fmt.Sprintf("Filler %d", i+1) }

// hour is the file of one hour: a table with a row a spectrum.
const hour = 3600

// fill makes lines and words by the program, and the records by the server.
func (b *bench) fill(ctx context.Context) error {
	for i := range b.lines {
		if err := b.first(ctx, i); err != nil {
			return err
		}
	}
	start, filled := time.Now(), 0
	// Six hours of all lines a statement, in the order in which they would have come.
	for h := 1; filled < b.rows && time.Since(start) < b.limit && ctx.Err() == nil; h += 6 {
		hours := min(6, (b.rows-filled+b.lines*hour-1)/(b.lines*hour))
		if _, err := b.s.Run(place, fmt.Sprintf(fillText, b.begin.Unix(), h, h+hours-1)); err != nil {
			return err
		}
		filled += hours * hour * b.lines
		b.end = b.begin.Add(time.Duration(h+hours) * time.Hour)
	}
	took := time.Since(start)
	size, err := b.s.Run(place, `SELECT pg_size_pretty(pg_total_relation_size('record'))`)
	if err != nil {
		return err
	}
	fmt.Fprintf(b.out, "filled %d records of %d lines, %.1f days, in %.0f s (%.0f a second, by the server itself); they take %s\n", filled, b.lines,
		b.end.Sub(b.begin).Hours()/24, took.Seconds(), float64(filled)/took.Seconds(), size)
	for _, care := range []string{"VACUUM ANALYZE record", "ANALYZE file", "CHECKPOINT"} { // as a server in use does by itself in time
		if _, err := b.s.Run(place, care); err != nil {
			return err
		}
	}
	return b.forget()
}

// first brings an hour of one spectrum, so that line, words and state are there.
func (b *bench) first(ctx context.Context, i int) (err error) {
	db, err := history.Open(ctx, b.s.Address(place), "sitebench")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	batch := spectra(name(i), b.begin, 1)
	batch.State = history.State{Course: []byte("{}"), Reference: "0123456789ab", Newest: b.begin}
	return db.Append(ctx, batch)
}

// fillText: %d seconds since 1970, and the first and the last hour.
const fillText = `
INSERT INTO file (id, line, name, version, size, modified, digest, digest2, bytes, rows, lines, partial, received)
	SELECT (l.id << 40) + h + 1, l.id, 'hour-' || h, 1, 4096, 0, hashint8(h), h, 4096, 3600, 3600, 0, 0
	FROM line l, generate_series(%[2]d, %[3]d) h;
INSERT INTO record (line, time, file, row, received, run, condition, t2, q, distance, inside, late, verdict, scores, map, rough, instrument, reference, mark)
	SELECT l.id, (%[1]d::bigint + t) * 1000000000, (l.id << 40) + t / 3600 + 1, t %% 3600 + 1, (%[1]d::bigint + t) * 1000000000, u.id, u.id, 3 + t %% 7, 1e-6, 0.5, 1, 0, v.id,
		int8send(t * 7919::bigint) || decode(repeat('3ff0000000000000', 5), 'hex'), '\x3f8000003f800000', '\x3f8000003f800000', f.id, r.id, t::bigint * 7919
	FROM generate_series(%[2]d * 3600, %[3]d * 3600 + 3599) t, line l, word u, word v, word f, word r
	WHERE u.text = 'usual' AND v.text = 'as usual' AND f.text = 'fit' AND r.text = '0123456789ab'
	ORDER BY t, l.id;`

// spectra is a batch of n spectra, one a second, each in a file of its own.
func spectra(line string, from time.Time, n int) history.Batch {
	batch := history.Batch{Line: line}
	for i := range n {
		at := from.Add(time.Duration(i) * time.Second)
		file := at.Format("20060102-150405") + ".csv"
		batch.Files = append(batch.Files, history.Judged{
			File: history.File{Name: file, Version: 1, Size: 4096, Bytes: 4096, Rows: 1, Modified: at, Received: at,
				Digest: history.Digest{byte(i), byte(i >> 8), byte(at.Unix())}},
			Records: []history.Record{{Time: at, Received: at, Run: "usual", Condition: "usual", T2: 3, Q: 1e-6, Distance: 0.5, Inside: true,
				Verdict: "as usual", Scores: []float64{1, -2, 3, 4, 5, float64(i)}, Map: [2]float32{1, 2}, Rough: [2]float32{1, 2},
				Instrument: "fit", Reference: "0123456789ab", Mark: int64(i)}},
		})
	}
	return batch
}

// site asks for what the page over all lines shows.
func (b *bench) site(ctx context.Context) (err error) {
	if err := b.forget(); err != nil {
		return err
	}
	start := time.Now()
	db, err := history.Read(ctx, b.s.Address(place))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	for _, when := range []string{"first", "again"} {
		if when == "again" {
			start = time.Now()
		}
		all, err := monitor.Standings(ctx, db)
		if err != nil {
			return err
		}
		fmt.Fprintf(b.out, "all %d lines for the page over the site, %s: %.0f ms\n", len(all), when, ms(start))
	}
	return nil
}

func ms(since time.Time) float64 { return float64(time.Since(since).Microseconds()) / 1000 }
