package oatline

import (
	"fmt"
	"math/rand/v2"
	"time"
)

// A Plan is what a line does over some days: stretches to learn from, in all conditions, and stretches to watch, each
// in the order of time. Spectra of learning carry their condition as the Label; those of Watch do too, so that a test
// can ask what they were, and whoever plays them as files leaves it out.
type Plan struct {
	Learn, Watch []Stretch
}

// PlanOptions say how long a plan is. The zero value is a week of learning and a spectrum every 20 s.
type PlanOptions struct {
	Seed  uint64        // of the lengths of the runs
	First time.Time     // the midnight that begins the first day, in the site's time zone; zero: 18 November 2026, UTC
	Days  int           // good days to learn from; 0: 7
	Every time.Duration // from spectrum to spectrum; 0: 20 s
}

func (o PlanOptions) filled() PlanOptions {
	if o.First.IsZero() {
		o.First = time.Date(2026, time.November, 18, 0, 0, 0, 0, time.UTC)
	}
	if o.Days <= 0 {
		o.Days = 7
	}
	if o.Every <= 0 {
		o.Every = 20 * time.Second
	}
	return o
}

// Count returns how many spectra the stretches have together.
func Count(ss []Stretch) int {
	n := 0
	for _, s := range ss {
		n += s.N
	}
	return n
}

// Of returns those of the stretches that are in the given condition.
func Of(condition string, ss []Stretch) []Stretch {
	var out []Stretch
	for _, s := range ss {
		if s.Condition == condition {
			out = append(out, s)
		}
	}
	return out
}

// How long the line spends in each condition, in the plans below.
const (
	rinseFor   = 10 * time.Minute
	startUpFor = 5 * time.Minute
	airFor     = 6 * time.Minute
	runFor     = 120 * time.Minute
	runVaries  = 20 * time.Minute // a run is up to so much longer or shorter
)

// A planner writes a plan: it puts stretches one behind the other.
type planner struct {
	at    time.Time
	every time.Duration
	out   []Stretch
}

// add puts a stretch of the given length at the end.
func (p *planner) add(run, lot, condition string, long time.Duration, us ...Upset) {
	s := Stretch{
		Run: run, Lot: lot, Condition: condition, From: p.at, Every: p.every,
		N: max(1, int(long/p.every)), Upsets: us,
	}
	p.out = append(p.out, s)
	p.at = s.To()
}

// production adds rinse, start-up and a run in use, which all carry the lot of the run's name.
func (p *planner) production(run string, long time.Duration, us ...Upset) {
	p.add(run+"-rinse", "", Rinse, rinseFor)
	p.add(run+"-start-up", run, StartUp, startUpFor)
	p.add(run, "", InUse, long, us...)
}

func (p *planner) endOfDay(day string) {
	p.add(day+"-last-rinse", "", Rinse, rinseFor)
	p.add(day+"-air", "", Air, airFor)
}

// learnDays plans days on which all is well: three runs of about two hours from 06:00 on, each after a rinse and a
// start-up, and at the end a rinse and an empty beam.
func learnDays(o PlanOptions) []Stretch {
	rnd := rand.New(rand.NewPCG(seeds(o.Seed, "plan")))
	p := planner{every: o.Every}
	for d := range o.Days {
		midnight := o.First.AddDate(0, 0, d)
		day := midnight.Format(time.DateOnly)
		p.at = midnight.Add(6 * time.Hour)
		for _, run := range []string{"a", "b", "c"} {
			long := runFor + time.Duration((2*rnd.Float64()-1)*float64(runVaries))
			p.production(day+"-"+run, long.Truncate(time.Minute))
		}
		p.endOfDay(day)
	}
	return p.out
}

// Demo returns the plan of the demo: good days, then a day to watch, from 05:40 to 14:00. In its first run rinse water
// leaks in for 20 minutes. In its second the oil pump drifts down for an hour and a quarter until it is set right. In
// its third the rinse water leaks in again, for 25 minutes. Rinses and start-ups lie between, an empty beam at the end.
func Demo(o PlanOptions) Plan {
	o = o.filled()
	midnight := o.First.AddDate(0, 0, o.Days)
	day := midnight.Format(time.DateOnly)
	leak := Usual(Dilution, 50*time.Minute)
	leak.For = 20 * time.Minute
	again := Usual(Dilution, 45*time.Minute)
	again.For = 25 * time.Minute
	pump := Usual(OilPump, 55*time.Minute)
	pump.For = 75 * time.Minute

	p := planner{every: o.Every, at: midnight.Add(5*time.Hour + 40*time.Minute)}
	p.production(day+"-a", 130*time.Minute, leak)
	p.production(day+"-b", 160*time.Minute, pump)
	p.production(day+"-c", 115*time.Minute, again)
	p.endOfDay(day)
	return Plan{Learn: learnDays(o), Watch: p.out}
}

// Scenario returns the same good days, and to watch one run of three hours with the given upsets, or without any.
func Scenario(o PlanOptions, us ...Upset) Plan {
	o = o.filled()
	midnight := o.First.AddDate(0, 0, o.Days)
	p := planner{every: o.Every, at: midnight.Add(6 * time.Hour)}
	p.add(fmt.Sprintf("%s-a", midnight.Format(time.DateOnly)), "", InUse, 3*time.Hour, us...)
	return Plan{Learn: learnDays(o), Watch: p.out}
}
