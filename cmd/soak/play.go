package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/model"
	"asusual/model/oatline"
	"asusual/model/pretreat"
)

const lineName = "Oat-drink filler"

// apart is how far apart in time the spectra of a burst are.
const apart = 20 * time.Millisecond

// fileName names the file of a spectrum by its number.
func fileName(i int) string { return fmt.Sprintf("%07d.csv", i) }

func (s *soak) spectra() string   { return filepath.Join(s.dir, "spectra") }
func (s *soak) ready() string     { return filepath.Join(s.dir, "ready") }
func (s *soak) reference() string { return filepath.Join(s.dir, "line.reference") }
func (s *soak) history() string   { return filepath.Join(s.dir, "asusual.history") }
func (s *soak) state() string     { return filepath.Join(s.dir, "state.json") }

// prepare makes the job's folder anew: a configuration, a reference, and the files, ready or there.
func (s *soak) prepare(ctx context.Context) error {
	for _, err := range []error{os.RemoveAll(s.dir), os.MkdirAll(s.spectra(), 0o755), os.MkdirAll(s.ready(), 0o755)} {
		if err != nil {
			return err
		}
	}
	text := fmt.Sprintf("[[line]]\nname = %q\nwatch = \"spectra\"\nreference = \"line.reference\"\n[signal]\nstate = \"state.json\"\n", lineName)
	if err := os.WriteFile(filepath.Join(s.dir, config.Name), []byte(text), 0o644); err != nil {
		return err
	}
	line, err := oatline.New(oatline.Settings{Seed: s.seed, Channels: s.channels})
	if err != nil {
		return err
	}
	if err := s.learn(line); err != nil {
		return err
	}
	to := s.ready()
	if s.job.standing {
		to = s.spectra()
	}
	return s.write(ctx, line, to)
}

// learn writes the reference: six runs of usual production from the weeks before.
func (s *soak) learn(line *oatline.Line) error {
	t := &model.Training{}
	for run := range 6 {
		r, err := line.Series(oatline.Stretch{Run: fmt.Sprint("good ", run), From: s.now.AddDate(0, 0, run-20), Every: time.Minute, N: 120})
		if err != nil {
			return err
		}
		for sp := range r.All() {
			t.Add(model.Usual, sp)
		}
	}
	ref, err := model.Learn(t, model.Options{Name: lineName, Now: s.now, Components: 3, Pretreat: []pretreat.Step{{Name: pretreat.SNV}}})
	if err != nil {
		return err
	}
	f, err := os.Create(s.reference())
	if err != nil {
		return err
	}
	return errors.Join(ref.Encode(f), f.Close())
}

// write writes the files of the job. Their spectra end about now, so that none lies far ahead of the clock.
func (s *soak) write(ctx context.Context, line *oatline.Line, to string) error {
	every := s.job.every
	if every == 0 {
		every = apart
	}
	series, err := line.Series(oatline.Stretch{Run: "day", From: s.now.Add(-time.Duration(s.job.files) * every), Every: every, N: s.job.files})
	if err != nil {
		return err
	}
	var b []byte
	i := 0
	for sp := range series.All() {
		sp.Run, sp.Label = "", ""
		if b, err = oatline.AppendTwoColumns(b[:0], sp); err != nil {
			return err
		}
		if err := errors.Join(os.WriteFile(filepath.Join(to, fileName(i)), b, 0o644), ctx.Err()); err != nil {
			return err
		}
		i++
	}
	return nil
}

// play brings the files into the folder and notes when.
func (s *soak) play(ctx context.Context) error {
	began := time.Now()
	for i := range s.job.files {
		if s.job.every > 0 {
			if err := until(ctx, began.Add(time.Duration(i)*s.job.every)); err != nil {
				return err
			}
		}
		name := filepath.Join(s.spectra(), fileName(i))
		if err := os.Rename(filepath.Join(s.ready(), fileName(i)), name+".tmp"); err != nil {
			return err
		}
		s.renamed[i] = time.Now()
		if err := os.Rename(name+".tmp", name); err != nil {
			return err
		}
		if i%1024 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
	}
	return nil
}

// until waits until the time has come.
func until(ctx context.Context, at time.Time) error {
	d := time.Until(at)
	if d <= 0 {
		return ctx.Err()
	}
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
