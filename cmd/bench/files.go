package main

import (
	"bufio"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/shift"
	"asusual/model"
	"asusual/model/oatline"
	"asusual/model/pretreat"
	"asusual/model/spectrum"
	"asusual/monitor"
	"asusual/monitor/history"
	"asusual/monitor/keep"
)

const (
	runs     = 10 // that the files are in, a folder each
	lineName = "Oat-drink filler"
)

// day is when the first run began.
var day = time.Date(2026, 11, 2, 6, 0, 0, 0, time.UTC)

// steps are the pretreatment of every job: SNV, then a first derivative.
var steps = []pretreat.Step{{Name: pretreat.SNV}, {Name: pretreat.Derivative, Window: 15, Degree: 2, Order: 1}}

// components is k in every job.
const components = 6

// folder is where files of these sizes lie: another size or seed gets another folder.
func (o options) folder(kind string) string {
	switch kind {
	case "good":
		kind += fmt.Sprintf("-%d-%d", o.files, o.channels)
	case "line":
		kind += fmt.Sprintf("-%d-%d-%d", o.channels, o.shift, o.shifts)
	case "matrix":
		kind += fmt.Sprintf("-%d-%d", o.rows, o.wide)
	}
	return filepath.Join(o.dir, fmt.Sprintf("%s-%d", kind, o.seed))
}

// once makes a folder, unless an earlier run did. What is half made is made anew.
func once(dir string, fill func(dir string) error) error {
	if _, err := os.Stat(dir); err == nil {
		return nil
	}
	part := dir + ".part"
	if err := errors.Join(os.RemoveAll(part), os.MkdirAll(part, 0o755), fill(part)); err != nil {
		return err
	}
	return os.Rename(part, dir)
}

// makeGood writes the known-good spectra, a file each, a folder a run.
func (o options) makeGood(ctx context.Context) error {
	return once(o.folder("good"), func(dir string) error {
		line, err := oatline.New(oatline.Settings{Seed: o.seed, Channels: o.channels})
		if err != nil {
			return err
		}
		var b []byte
		for r := range runs {
			s, err := line.Series(goodRun(r, o.files/runs))
			if err != nil {
				return err
			}
			to := filepath.Join(dir, fmt.Sprintf("run-%02d", r+1))
			if err := os.MkdirAll(to, 0o755); err != nil {
				return err
			}
			for sp := range s.All() {
				sp.Run, sp.Label = "", ""
				if b, err = oatline.AppendTwoColumns(b[:0], sp); err != nil {
					return err
				}
				name := filepath.Join(to, sp.Time.Format("20060102-150405")+".csv")
				if err := errors.Join(os.WriteFile(name, b, 0o644), ctx.Err()); err != nil {
					return err
				}
			}
		}
		return nil
	})
}

func goodRun(r, n int) oatline.Stretch {
	return oatline.Stretch{Run: fmt.Sprintf("run %d", r+1), From: day.AddDate(0, 0, r), N: n, Every: 10 * time.Second}
}

// makeMatrix writes a matrix of spectra, row by row, as 64-bit floating-point numbers with the low byte first.
func (o options) makeMatrix(context.Context) error {
	return once(o.folder("matrix"), func(dir string) error {
		f, err := os.Create(filepath.Join(dir, "rows.f64"))
		if err != nil {
			return err
		}
		w := bufio.NewWriterSize(f, 1<<20)
		b := make([]byte, 8*o.wide)
		bands := newBands(o.wide, o.seed)
		x := make([]float64, o.wide)
		for range o.rows {
			bands.next(x)
			for j, v := range x {
				binary.LittleEndian.PutUint64(b[8*j:], math.Float64bits(v))
			}
			if _, err := w.Write(b); err != nil {
				return errors.Join(err, f.Close())
			}
		}
		return errors.Join(w.Flush(), f.Close())
	})
}

// reference learns a small reference on the axis of the line.
func (o options) reference(channels int) (*model.Reference, *oatline.Line, error) {
	line, err := oatline.New(oatline.Settings{Seed: o.seed, Channels: channels})
	if err != nil {
		return nil, nil, err
	}
	var t model.Training
	for r := range runs {
		s, err := line.Series(goodRun(r, 60))
		if err != nil {
			return nil, nil, err
		}
		for sp := range s.All() {
			sp.Label = ""
			t.Add(model.Usual, sp)
		}
	}
	ref, err := model.Learn(&t, model.Options{Name: lineName, Now: day.AddDate(0, 0, runs), Pretreat: steps, Components: components})
	return ref, line, err
}

// makeLine makes a line as asusual watches it: settings, a reference, a shift of spectra at one a second in a table,
// judged into history, and the same shift again until there are as many as should be.
func (o options) makeLine(ctx context.Context) error {
	return once(o.folder("line"), func(dir string) error {
		ref, line, err := o.reference(o.channels)
		if err != nil {
			return err
		}
		text := config.Sample(config.Answers{
			Site: "Oat hall (invented)", Zone: "UTC", Line: lineName, Watch: "spectra", Good: []string{"good"}, Reference: "line.reference",
			Shifts: []shift.Shift{{Name: "early", From: 6 * 60, To: 14 * 60}, {Name: "late", From: 14 * 60, To: 22 * 60}, {Name: "night", From: 22 * 60, To: 6 * 60}},
		})
		if err := errors.Join(keep.WriteFile(filepath.Join(dir, config.Name), []byte(text)), writeReference(dir, ref), os.MkdirAll(filepath.Join(dir, "spectra"), 0o755)); err != nil {
			return err
		}
		if err := o.writeShift(line, filepath.Join(dir, "spectra", "early.csv")); err != nil {
			return err
		}
		db, err := history.Open(ctx, filepath.Join(dir, "asusual.history"), "bench")
		if err != nil {
			return err
		}
		err = monitor.CatchUp(ctx, monitor.Line{
			Name: lineName, Folder: filepath.Join(dir, "spectra"), References: monitor.Always{Reference: monitor.Of(ref)}, History: db,
			Read: spectrum.Options{Time: spectrum.TimeHeader},
		})
		if err == nil {
			err = o.repeat(ctx, db)
		}
		return errors.Join(err, db.Close())
	})
}

func writeReference(dir string, ref *model.Reference) error {
	f, err := os.Create(filepath.Join(dir, "line.reference"))
	if err != nil {
		return err
	}
	return errors.Join(ref.Encode(f), f.Close())
}

// shiftFrom is when the shift begins.
var shiftFrom = day.AddDate(0, 0, runs)

// writeShift writes a shift in which the product is thinned with water for a while.
func (o options) writeShift(line *oatline.Line, name string) error {
	s, err := line.Series(oatline.Stretch{
		Run: "early", From: shiftFrom, N: o.shift, Every: time.Second,
		Upsets: []oatline.Upset{{Kind: oatline.Dilution, Size: 0.1, After: time.Duration(o.shift/2) * time.Second, For: time.Duration(o.shift/8) * time.Second}},
	})
	if err != nil {
		return err
	}
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	w := bufio.NewWriterSize(f, 1<<20)
	return errors.Join(oatline.WriteTable(w, s.All()), w.Flush(), f.Close())
}

// repeat keeps the shift in history again and again, each time a shift's length later.
func (o options) repeat(ctx context.Context, db *history.DB) error {
	q := history.Query{Line: lineName}
	var records []history.Record
	for r, err := range db.Spectra(ctx, q) {
		if err != nil {
			return err
		}
		records = append(records, r)
	}
	var means []history.Mean
	for m, err := range db.Means(ctx, q) {
		if err != nil {
			return err
		}
		means = append(means, m)
	}
	length := time.Duration(o.shift) * time.Second
	for n := 1; n < o.shifts; n++ {
		later := time.Duration(n) * length
		for from := 0; from < len(records); from += 2000 {
			part := append([]history.Record(nil), records[from:min(from+2000, len(records))]...)
			file := history.File{Name: fmt.Sprintf("shift-%03d-%06d.csv", n, from), Version: 1, Modified: part[0].Time, Received: part[0].Time, Rows: len(part)}
			file.Digest[0], file.Digest[1], file.Digest[2], file.Digest[3] = byte(n), byte(n>>8), byte(from), byte(from>>8)
			for i := range part {
				part[i].File, part[i].Row, part[i].Time, part[i].Mark = file.Name, i+1, part[i].Time.Add(later), part[i].Mark+int64(n)
			}
			b := history.Batch{Line: lineName, Files: []history.Judged{{File: file, Records: part}}}
			if from == 0 {
				for _, m := range means {
					m.From = m.From.Add(later)
					b.Means = append(b.Means, m)
				}
			}
			if err := db.Append(ctx, b); err != nil {
				return err
			}
		}
	}
	return nil
}
