package main

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/shift"
	"asusual/cmd/asusual/words"
	"asusual/model/oatline"
	"asusual/monitor"
	"asusual/monitor/arrive"
	"asusual/monitor/history"
	"asusual/monitor/keep"
)

type demoOptions struct {
	dir  string
	days int
	seed uint64
}

func (a *app) demoCommand() *cobra.Command {
	var o demoOptions
	c := &cobra.Command{
		Use:  "demo",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return a.demo(c.Context(), o) },
	}
	f := c.Flags()
	f.StringVar(&o.dir, "dir", "asusual-demo", "the `FOLDER` to make")
	f.IntVar(&o.days, "days", 7, "how `MANY` good days to learn from, 2 to 60")
	f.Uint64Var(&o.seed, "seed", 1, "the `NUMBER` that makes this line and no other")
	return c
}

// maxDemoDays keeps a slip of the finger from filling a disk: a day is some 1,300 files.
const maxDemoDays = 60

func (a *app) demo(ctx context.Context, o demoOptions) error {
	if o.days < 2 || o.days > maxDemoDays {
		return wrongUse("--days %d: the demo learns from 2 to %d days", o.days, maxDemoDays)
	}
	if left, err := os.ReadDir(o.dir); err == nil && len(left) > 0 {
		return &words.DemoExists{Dir: o.dir}
	}
	if err := os.MkdirAll(o.dir, 0o755); err != nil {
		return err
	}
	err := a.demoIn(ctx, o)
	if err != nil && ctx.Err() != nil {
		return &words.DemoHalf{Dir: o.dir}
	}
	return err
}

// demoIn makes everything in the folder of the demo.
func (a *app) demoIn(ctx context.Context, o demoOptions) error {
	line, err := oatline.New(oatline.Settings{Seed: o.seed})
	if err != nil {
		return err
	}
	plan := oatline.Demo(oatline.PlanOptions{Seed: o.seed, Days: o.days})
	c, err := a.demoConfig(o.dir)
	if err != nil {
		return err
	}
	if err := a.writeLine(ctx, "making good days", line, plan.Learn, o.dir, false); err != nil {
		return err
	}
	last := plan.Learn[len(plan.Learn)-1].To()
	if _, err := a.learnLine(ctx, c, c.Lines[0], last); err != nil {
		return err
	}
	if err := a.writeLine(ctx, "playing the day", line, plan.Watch, o.dir, true); err != nil {
		return err
	}
	return a.demoDay(ctx, c, plan)
}

// demoDay judges the day that was played, writes the report of its shift and says where to look.
func (a *app) demoDay(ctx context.Context, c *config.Config, plan oatline.Plan) (err error) {
	l := c.Lines[0]
	w, err := a.watched(ctx, c, l, nil)
	if err != nil {
		return err
	}
	db, err := history.Open(ctx, c.History, "asusual demo")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	p := a.progress()
	defer p.end()
	done, total := 0, oatline.Count(plan.Watch)
	w.History = db
	w.Order = arrive.ByName // the names hold the times; the files were all written just now
	// The day's own clock, so that the same seed makes the same report.
	clock := plan.Watch[0].From
	w.Now = func() time.Time { return clock }
	w.Judged = func(r history.Record) {
		clock = r.Time
		done++
		p.step("judging the day", done, total)
	}
	if err := monitor.CatchUp(ctx, w); err != nil {
		return err
	}
	p.step("writing the report", 0, 0)
	span, _ := c.Plan().At(plan.Watch[0].From)
	page, h, err := a.handoverOf(ctx, c, db, l, span, time.Time{})
	if err != nil {
		return err
	}
	p.end()
	if a.json {
		return a.tellHandover(page, h, span)
	}
	a.say("%s\n", strings.ToUpper(handoverSentence(h)[:1])+handoverSentence(h)[1:])
	for _, e := range h.Episodes {
		a.say("  %s  the process had changed, since about %s", words.Between(e.From.In(h.Zone), e.To.In(h.Zone)), e.ChangedSince.In(h.Zone).Format("15:04"))
	}
	dir := filepath.Dir(c.File)
	a.say("\nlook at")
	a.say("  %s   the report of the shift", page)
	a.say("  %s   what was learned, and what it can see", cardOf(l.Reference))
	a.say("  %s   the settings\n", c.File)
	a.say("then try:\n  cd %s\n  asusual judge spectra", quoted(dir)) // two lines: not every shell of Windows knows &&
	return nil
}

// demoShifts are those of the invented line.
var demoShifts = []shift.Shift{
	{Name: "early", From: 5*60 + 30, To: 14 * 60}, {Name: "late", From: 14 * 60, To: 22*60 + 30}, {Name: "night", From: 22*60 + 30, To: 5*60 + 30},
}

// demoConfig writes the configuration of the demo's folder and reads it back, as the other commands will.
func (a *app) demoConfig(dir string) (*config.Config, error) {
	text := config.Sample(config.Answers{
		Site: "Oat hall (invented)", Zone: "UTC", Line: "Oat-drink filler", Watch: "spectra", Good: []string{"good"}, Reference: "line.reference",
		Conditions: []config.Answer{
			{Name: oatline.Rinse, From: "conditions/rinse"}, {Name: oatline.StartUp, From: "conditions/start-up"}, {Name: oatline.Air, From: "conditions/air"},
		},
		Runs: "folder", Shifts: demoShifts,
	})
	file := filepath.Join(dir, config.Name)
	if err := os.MkdirAll(filepath.Join(dir, "spectra"), 0o755); err != nil {
		return nil, err
	}
	if err := keep.WriteFile(file, []byte(text)); err != nil {
		return nil, err
	}
	return config.Read(file)
}

// writeLine writes the spectra of the stretches as a spectrometer would, a file each: those to learn from into the
// folder of their condition and run, those of the day into one folder, without a word of what they are.
func (a *app) writeLine(ctx context.Context, stage string, line *oatline.Line, stretches []oatline.Stretch, dir string, day bool) error {
	p := a.progress()
	defer p.end()
	var b []byte
	done, total := 0, oatline.Count(stretches)
	for _, st := range stretches {
		s, err := line.Series(st)
		if err != nil {
			return err
		}
		to := filepath.Join(dir, "spectra")
		if !day {
			to = filepath.Join(dir, folderOf(st), st.Run)
		}
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
			done++
			p.step(stage, done, total)
		}
	}
	return nil
}

// quoted writes a path as shells take it.
func quoted(path string) string {
	if strings.Contains(path, " ") {
		return `"` + path + `"`
	}
	return path
}

func folderOf(st oatline.Stretch) string {
	if st.Condition == oatline.InUse || st.Condition == "" {
		return "good"
	}
	return filepath.Join("conditions", st.Condition)
}
