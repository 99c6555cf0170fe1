package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"asusual/model/oatline"
)

// The products, by what tells them from the plain one all year: less oil, another grain.
var products = []struct {
	name   string
	recipe []oatline.Upset
}{
	{"plain", []oatline.Upset{{Kind: oatline.OilPump, Size: 0.30}}},
	{"full", nil},
	{"cocoa", []oatline.Upset{{Kind: oatline.OilPump, Size: 0.15}, {Kind: oatline.NewBand, Size: 0.02, NM: 1490}}},
}

const (
	runLength   = 5 * time.Hour
	goodRuns    = 10 // before the year, and after the detector was exchanged
	lampLife    = 120
	lampLost    = 0.10 // of the light, at the end of a lamp's life
	newShift    = 0.8  // nm, of the new detector's axis
	newNoise    = 0.15
	upsetLength = 75 * time.Minute
)

// nKinds are the kinds of upset: those of package oatline, and another product.
var nKinds = len(oatline.Kinds()) + 1

func kindWord(kind int) string {
	if kind == nKinds-1 {
		return "other product"
	}
	return oatline.Kind(kind).String()
}

func instrumental(kind int) bool { return kind < nKinds-1 && oatline.Kind(kind).Instrument() }

// A mishap is one upset of the year.
type mishap struct {
	kind     int
	times    float64 // the usual size
	product  int
	from, to time.Time
}

// A plan is a year.
type plan struct {
	line    *oatline.Line
	every   time.Duration
	season  float64   // share of water that it adds, at its most
	first   time.Time // the midnight that begins it
	days    int
	mishaps []mishap
	on      map[int]map[int]*mishap // by day and product
}

func (o options) plan() (*plan, error) {
	line, err := oatline.New(oatline.Settings{Seed: o.seed, Channels: o.channels})
	if err != nil {
		return nil, err
	}
	p := &plan{line: line, every: o.every, season: o.season, first: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), days: o.days, on: map[int]map[int]*mishap{}}
	dice := rand.New(rand.NewPCG(o.seed, 365))
	if free := len(products) * (p.days - p.commissioning()); o.upsets > free {
		return nil, fmt.Errorf("%d upsets do not fit into %d runs", o.upsets, free)
	}
	p.mishaps = make([]mishap, o.upsets)
	for i := range p.mishaps {
		m := mishap{kind: i % nKinds, times: []float64{0.5, 1, 2}[i/nKinds%3]}
		day := dice.IntN(p.days)
		m.product = dice.IntN(len(products))
		for p.on[day][m.product] != nil || p.unwatched(day) || day == p.exchange() { // one mishap a run
			day, m.product = dice.IntN(p.days), dice.IntN(len(products))
		}
		after := 30*time.Minute + time.Duration(dice.Int64N(int64(runLength-upsetLength-time.Hour)))
		m.from = p.start(day, m.product).Add(after.Truncate(time.Minute))
		m.to = m.from.Add(upsetLength)
		p.mishaps[i] = m
		p.put(&p.mishaps[i])
	}
	return p, nil
}

func (p *plan) put(m *mishap) {
	day := p.day(m.from)
	if p.on[day] == nil {
		p.on[day] = map[int]*mishap{}
	}
	p.on[day][m.product] = m
}

// day returns the day of the year, from 0; days before it are below zero.
func (p *plan) day(at time.Time) int { return int(math.Floor(at.Sub(p.first).Hours() / 24)) }

// start returns when a product's run of a day begins.
func (p *plan) start(day, product int) time.Time {
	return p.first.AddDate(0, 0, day).Add(6*time.Hour + time.Duration(product)*(runLength+20*time.Minute))
}

// exchange returns the day on which the detector is exchanged: the first of November, or none where the year is shorter.
func (p *plan) exchange() int {
	if day := p.day(time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC)); day < p.days {
		return day
	}
	return math.MaxInt
}

// unwatched reports whether the runs of a day are there to learn from, after the detector was exchanged.
func (p *plan) unwatched(day int) bool {
	return day > p.exchange() && day <= p.exchange()+goodRuns
}

// commissioning returns how many days have no place for upsets.
func (p *plan) commissioning() int {
	n := 0
	for day := range p.days {
		if p.unwatched(day) || day == p.exchange() {
			n++
		}
	}
	return n
}

// run returns a product's run of a day, the mishap in it.
func (p *plan) run(day, product int) []oatline.Stretch {
	at := p.start(day, product)
	name := at.Format("2006-01-02") + " " + products[product].name
	all := oatline.Stretch{Run: name, From: at, Every: p.every, N: int(runLength / p.every), Upsets: append(p.standing(day), products[product].recipe...)}
	m := p.on[day][product]
	switch {
	case m == nil:
	case m.kind == nKinds-1:
		return p.swapped(all, *m, day)
	default:
		u := oatline.Usual(oatline.Kind(m.kind), m.from.Sub(at))
		u.Size, u.Ramp, u.For = min(u.Size*m.times, 0.7+4*float64(m.kind)), min(u.Ramp, upsetLength/2), upsetLength
		all.Upsets = append(all.Upsets, u)
	}
	return []oatline.Stretch{all}
}

// swapped puts another product into a run for the time of the mishap.
func (p *plan) swapped(all oatline.Stretch, m mishap, day int) []oatline.Stretch {
	before, other, after := all, all, all
	before.N = int(m.from.Sub(all.From) / p.every)
	other.From, other.N, other.Lot = m.from, int(upsetLength/p.every), all.Run+" other"
	other.Upsets = append(p.standing(day), products[(m.product+1)%len(products)].recipe...)
	after.From, after.N = m.to, all.N-before.N-other.N
	return []oatline.Stretch{before, other, after}
}

// nothing is a size that is not seen; a size of 0 would be the usual one.
const nothing = 1e-9

// lightLost returns the share of the light that the lamp has lost on a day; it was new when the references were learned.
func (p *plan) lightLost(day int) float64 { return lampLost * float64(max(day, 0)%lampLife) / lampLife }

// monday returns the last day on which the empty beam was measured anew: a Monday, or the day on which the lamp was replaced.
func (p *plan) monday(day int) int {
	since := (int(p.first.AddDate(0, 0, day).Weekday()) + 6) % 7
	return max(day-since, day-max(day, 0)%lampLife)
}

// standing returns what season, lamp and detector do on a day.
func (p *plan) standing(day int) []oatline.Upset {
	turn := (1 - math.Cos(2*math.Pi*float64(day)/365)) / 2
	us := []oatline.Upset{
		{Kind: oatline.Dilution, Size: max(p.season*turn, nothing)},
		{Kind: oatline.LampAgeing, Size: max(p.lightLost(day)-p.lightLost(p.monday(day)), nothing)},
	}
	if day >= p.exchange() {
		us = append(us, oatline.Upset{Kind: oatline.AxisShift, Size: newShift}, oatline.Upset{Kind: oatline.MoreNoise, Size: newNoise})
	}
	return us
}
