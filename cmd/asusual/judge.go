package main

import (
	"bufio"
	"cmp"
	"context"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/gather"
	"asusual/model"
	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/spectrum"
	"asusual/model/verdict"
)

type judgeOptions struct {
	spectraOptions
	reference string
}

func (a *app) judgeCommand() *cobra.Command {
	var o judgeOptions
	c := &cobra.Command{
		Use:  "judge",
		Args: cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return a.judge(c.Context(), args, o) },
	}
	o.add(c.Flags())
	c.Flags().StringVar(&o.reference, "reference", "", "the reference `FILE` (default that of the line)")
	return c
}

func (a *app) judge(ctx context.Context, paths []string, o judgeOptions) error {
	c, err := a.config()
	if err != nil {
		return err
	}
	l, err := o.over(c)
	if err != nil {
		return err
	}
	ref, _, err := a.reference(o.reference, l)
	if err != nil {
		return err
	}
	src, err := a.input(c, l, paths)
	if err != nil {
		return err
	}
	day, err := a.place(ctx, src, ref)
	if err != nil {
		return err
	}
	day.zone = c.Zone()
	day.follow(ref, l)
	a.status = ofVerdict(day.verdict.String())
	w := bufio.NewWriter(a.out)
	switch {
	case a.json:
		err = day.writeJSON(w, ref)
	case !a.quiet:
		err = day.write(w, ref)
	}
	if err != nil {
		return err
	}
	return w.Flush()
}

// A judged is one spectrum that was placed.
type judged struct {
	file string
	row  int
	time time.Time
	model.Judgement
	item  string    // the id of the item that it is of
	count int       // spectra that it is the mean of; 0 where it stands for itself
	raw   []float32 // its absorbance, for the look at the instrument; half the size is enough for that
}

// A day is what judge found: every spectrum, the episodes, and the verdict over all.
type day struct {
	zone       *time.Location
	spectra    []judged // in the order of time; those without a time first, in the order of their files
	unreadable []*spectrum.Unreadable
	episodes   []verdict.Episode
	open       bool // the last episode had not ended
	doubtful   bool // the instrument was unfit while an episode was open
	verdict    verdict.Verdict
	reasons    []finding.Finding // why it cannot be said, or what the change looks like
	instrument fitness.State
	inside     int
	odd        []oddStay  // in conditions outside their times
	stood      []standing // how the instrument stood by its own checks
	gathered   *itemCount // of items; nil where each spectrum stands for itself
}

// An oddStay is a stay in a condition at a time at which it is not expected.
type oddStay struct {
	condition string
	from, to  time.Time
	last      int // the spectrum up to which it goes
}

// place reads the spectra and places each against the reference. Where one lies does not depend on the others, so the
// order of reading is no matter here.
func (a *app) place(ctx context.Context, src *input, ref *model.Reference) (*day, error) {
	d := &day{}
	if err := fitsItems(src.line, ref); err != nil {
		return nil, err
	}
	src.belt = ref.Belt
	judger := model.NewJudger(ref)
	var err error
	d.stood, err = a.followed(ctx, src, "judging", func(b gather.Batch) error {
		d.unreadable = append(d.unreadable, b.Unreadable...)
		for i, s := range b.Spectra {
			one := judged{file: s.File, row: s.Row, time: s.Time}
			judger.Judge(&one.Judgement, s)
			if len(b.Notes) > 0 {
				n := b.Notes[i]
				one.item, one.count = n.Item, n.Count
				one.Reasons = append(one.Reasons, n.Findings...)
			}
			if one.Condition != model.Unfit {
				one.raw = single(judger.Absorbance())
			}
			d.spectra = append(d.spectra, one)
		}
		return nil
	})
	if src.items() != nil {
		d.gathered = &src.gathered
	}
	slices.SortStableFunc(d.spectra, func(x, y judged) int {
		return cmp.Or(x.time.Compare(y.time), cmp.Compare(x.file, y.file), cmp.Compare(x.row, y.row))
	})
	return d, err
}

func single(x []float64) []float32 {
	y := make([]float32, len(x))
	for i, v := range x {
		y[i] = float32(v)
	}
	return y
}

// follow goes through the spectra in the order of time, with the rules of watch.
func (d *day) follow(ref *model.Reference, l config.Line) {
	course := model.NewCourse(ref, model.CourseState{})
	course.Longest, course.Grace, course.Expected = l.Longest(), l.Grace, l.Expected(d.zone)
	course.Zone = d.zone
	var tally verdict.Tally
	raw := make([]float64, ref.Axis().Len())
	d.instrument = fitness.Fit
	checks := d.stood
	for i := range d.spectra {
		s := &d.spectra[i]
		for ; len(checks) > 0 && !checks[0].at.After(s.time); checks = checks[1:] {
			course.Check(checks[0].state, checks[0].at, checks[0].why)
		}
		if s.Inside {
			d.inside++
		}
		for j, v := range s.raw {
			raw[j] = float64(v)
		}
		turn := course.Add(s.time, &s.Judgement, raw)
		d.instrument = turn.Instrument
		s.Reasons = append(s.Reasons, turn.Notes...)
		d.note(i, turn.Notes)
		if !turn.Named {
			tally.Count(turn.Verdict)
		}
		if why := butSlow(turn.Reasons); turn.Verdict == verdict.Changed || turn.Verdict == verdict.CannotSay && len(why) > 0 {
			d.reasons = why
		}
		// An episode that the instrument is not fit to tell leaves the whole in doubt.
		d.doubtful = d.doubtful || turn.Verdict == verdict.CannotSay && course.State.Verdict.Open != nil
		if turn.Closed != nil {
			d.episodes = append(d.episodes, *turn.Closed)
		}
	}
	if last := course.State.Verdict.SoFar(); last != nil {
		last.Group = course.State.Group
		d.episodes = append(d.episodes, *last)
		d.open = true
	}
	switch d.verdict = tally.Verdict(); {
	case d.verdict == verdict.AsUsual && d.doubtful:
		d.verdict = verdict.CannotSay
	case d.verdict == verdict.AsUsual:
		d.reasons = nil
	case d.verdict == verdict.CannotSay && slices.ContainsFunc(course.State.Reasons, isSlow):
		d.reasons = course.State.Reasons
	}
}

func isSlow(f finding.Finding) bool { return f.Kind == finding.TooSlow }

// butSlow returns the findings without that spectra come too slowly: it holds while they do, and says nothing of any before or after.
func butSlow(all []finding.Finding) []finding.Finding {
	if !slices.ContainsFunc(all, isSlow) {
		return all
	}
	return slices.DeleteFunc(slices.Clone(all), isSlow)
}

// note goes on with a stay outside its times, or begins one.
func (d *day) note(i int, notes []finding.Finding) {
	for _, f := range notes {
		at, n := d.spectra[i].time, len(d.odd)
		switch {
		case f.Kind != finding.Untimely:
		case n > 0 && d.odd[n-1].condition == f.About && d.odd[n-1].last == i-1:
			d.odd[n-1].to, d.odd[n-1].last = at, i
		default:
			d.odd = append(d.odd, oddStay{f.About, at, at, i})
		}
	}
}

// since returns from when on the verdict holds: the change, or the first spectrum; zero where nothing can be said.
func (d *day) since() time.Time {
	switch {
	case d.verdict == verdict.Changed && len(d.episodes) > 0:
		return d.episodes[0].ChangedSince
	case d.verdict == verdict.AsUsual:
		return d.from()
	}
	return time.Time{}
}

// from returns the time of the first spectrum that has one.
func (d *day) from() time.Time {
	for _, s := range d.spectra {
		if !s.time.IsZero() {
			return s.time
		}
	}
	return time.Time{}
}

func (d *day) to() time.Time {
	if len(d.spectra) == 0 {
		return time.Time{}
	}
	return d.spectra[len(d.spectra)-1].time
}
