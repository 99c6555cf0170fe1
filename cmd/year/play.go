package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"time"

	"asusual/model"
	"asusual/model/fitness"
	"asusual/model/limits"
	"asusual/model/oatline"
	"asusual/model/spectrum"
	"asusual/model/verdict"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/monitor/keep"
)

// A game is a year that is being played.
type game struct {
	*plan
	seed     uint64
	channels int
	promise  limits.Promise
	dir      string
	history  *history.DB
	progress io.Writer
	good     [][][]oatline.Stretch // what each product's reference is learned from, a run each
	episodes []episode
	watched  map[time.Month]time.Duration
	silent   map[time.Month]time.Duration // of that without an upset: how long nothing could be said, for the instrument was called unfit
	learned  int
}

// An episode is one that the watch of a product told.
type episode struct {
	history.Episode
	product int
}

func (o options) open(ctx context.Context, p *plan, progress io.Writer) (*game, error) {
	for _, q := range products {
		if err := os.MkdirAll(filepath.Join(o.dir, q.name), 0o755); err != nil {
			return nil, err
		}
	}
	db, err := history.Open(ctx, filepath.Join(o.dir, "year.history"), "year")
	if err != nil {
		return nil, err
	}
	return &game{plan: p, seed: o.seed, channels: o.channels, promise: o.promise, dir: o.dir, history: db, progress: progress, good: make([][][]oatline.Stretch, len(products)), watched: map[time.Month]time.Duration{}, silent: map[time.Month]time.Duration{}}, nil
}

// play learns, watches and extends, month after month.
func (g *game) play(ctx context.Context) error {
	for product := range products {
		for day := -goodRuns; day < 0; day++ {
			g.good[product] = append(g.good[product], g.run(day, product))
		}
	}
	if err := g.learn(-1, false); err != nil {
		return err
	}
	for day := 0; day < g.days; {
		end := day + 1
		for end < g.days && g.first.AddDate(0, 0, end).Day() != 1 && end != g.exchange()+1 && end != g.exchange()+goodRuns+1 {
			end++
		}
		fmt.Fprintf(g.progress, "%s to %s\n", g.first.AddDate(0, 0, day).Format(time.DateOnly), g.first.AddDate(0, 0, end-1).Format(time.DateOnly))
		if err := g.span(ctx, day, end); err != nil {
			return err
		}
		day = end
	}
	return nil
}

// span plays the days from day to before end, and has the engineer do what is due after them.
func (g *game) span(ctx context.Context, day, end int) error {
	if g.unwatched(day) {
		for product := range products {
			g.good[product] = nil
			for d := day; d < end; d++ {
				g.good[product] = append(g.good[product], g.run(d, product))
			}
		}
		return g.learn(end-1, false)
	}
	if err := g.write(ctx, day, end); err != nil {
		return err
	}
	for product := range products {
		if err := g.watch(ctx, product, day, end); err != nil {
			return err
		}
	}
	if day == g.exchange() || end == g.days {
		return nil
	}
	for product := range products {
		for d := day; d < end; d += 2 {
			if g.on[d][product] == nil && !g.told(d, product) {
				g.good[product] = append(g.good[product], g.run(d, product))
			}
		}
	}
	return g.learn(end-1, true)
}

// told reports whether an episode of the product overlaps its run of the day.
func (g *game) told(day, product int) bool {
	from := g.start(day, product)
	for _, e := range g.episodes {
		if e.product == product && e.From.Before(from.Add(runLength)) && (e.To.IsZero() || e.To.After(from)) {
			return true
		}
	}
	return false
}

// each does f(0) … f(n−1), as many at a time as there are processors.
func each(n int, f func(i int)) {
	var running sync.WaitGroup
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i := range n {
		free <- struct{}{}
		running.Go(func() {
			f(i)
			<-free
		})
	}
	running.Wait()
}

// learn learns the references of all products from their good runs, at the end of a day.
func (g *game) learn(day int, extend bool) error {
	at := g.first.AddDate(0, 0, day+1)
	for product := range products {
		var t model.Training
		for _, run := range g.good[product] {
			for s, err := range g.line.Spectra(run) {
				if err != nil {
					return err
				}
				s.Label = ""
				t.Add(model.Usual, s)
			}
		}
		opt := model.Options{Name: products[product].name, Now: at, Promise: g.promise, Auto: true, Each: each}
		var old *model.Reference
		if extend {
			data, err := os.ReadFile(g.reference(product))
			if err != nil {
				return err
			}
			if old, err = decode(data); err != nil {
				return err
			}
			opt.Auto, opt.Pretreat = false, old.Chain.Steps() // another pretreatment would be another reference
		}
		r, err := model.Learn(&t, opt)
		if err != nil {
			return fmt.Errorf("%s: %w", products[product].name, err)
		}
		if extend {
			r, _ = r.Renewing(old, model.Renewal{At: at, What: "extended"})
		}
		data, err := encode(r)
		if err != nil {
			return err
		}
		if err := keep.WriteFile(g.reference(product), data); err != nil {
			return err
		}
		g.learned++
	}
	return nil
}

func (g *game) reference(product int) string {
	return filepath.Join(g.dir, products[product].name+".reference")
}

// write writes the days' runs as a spectrometer's program would, a table a run.
func (g *game) write(ctx context.Context, day, end int) error {
	errs := make([]error, (end-day)*len(products))
	each(len(errs), func(i int) {
		d, product := day+i/len(products), i%len(products)
		errs[i] = errors.Join(g.writeRun(d, product), ctx.Err())
	})
	return errors.Join(errs...)
}

func (g *game) writeRun(day, product int) (err error) {
	f, err := os.Create(filepath.Join(g.dir, products[product].name, g.start(day, product).Format(time.DateOnly)+".csv"))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	var wrong error
	err = oatline.WriteTable(f, func(yield func(spectrum.Spectrum) bool) {
		for s, err := range g.line.Spectra(g.run(day, product)) {
			if err != nil {
				wrong = err
				return
			}
			s.Label = "" // what the line was doing is not told
			if !yield(s) {
				return
			}
		}
	})
	return errors.Join(wrong, err)
}

// watch has the real watch go over what is new in a product's folder, and takes down the episodes that it told.
func (g *game) watch(ctx context.Context, product, day, end int) error {
	refs, err := monitor.NewReferenceFile(g.reference(product), nil)
	if err != nil {
		return err
	}
	name := products[product].name
	if err := monitor.CatchUp(ctx, monitor.Line{Name: name, Folder: filepath.Join(g.dir, name), References: refs, History: g.history}); err != nil {
		return err
	}
	q := history.Query{Line: name, From: g.first.AddDate(0, 0, day), To: g.first.AddDate(0, 0, end)}
	for e, err := range g.history.Episodes(ctx, q) {
		if err != nil {
			return err
		}
		if !e.From.Before(q.From) { // else it was taken down before
			g.episodes = append(g.episodes, episode{e, product})
		}
	}
	for d := day; d < end; d++ {
		g.watched[g.start(d, product).Month()] += runLength
	}
	if err := g.listen(ctx, product, q); err != nil {
		return err
	}
	n := 0
	for _, err := range g.history.Unreadable(ctx, q) {
		n++
		if err != nil {
			return err
		}
	}
	if n > 0 {
		return fmt.Errorf("%s: %d files could not be read", name, n)
	}
	return nil
}

// listen takes down for how long the watch said nothing though nothing had happened.
func (g *game) listen(ctx context.Context, product int, q history.Query) error {
	for r, err := range g.history.Spectra(ctx, q) {
		if err != nil {
			return err
		}
		if day := g.day(r.Time); day == g.exchange() || g.on[day][product] != nil {
			continue
		}
		if r.Verdict == verdict.CannotSay.String() && r.Instrument == string(fitness.Bad) {
			g.silent[r.Time.Month()] += g.every
		}
	}
	return nil
}
