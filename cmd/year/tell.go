package main

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"asusual/model"
	"asusual/model/finding"
	"asusual/model/fitness"
)

func encode(r *model.Reference) ([]byte, error) {
	var b bytes.Buffer
	err := r.Encode(&b)
	return b.Bytes(), err
}

func decode(data []byte) (*model.Reference, error) { return model.Decode(bytes.NewReader(data)) }

// A tally counts what became of the mishaps of a month or a kind.
type tally struct {
	mishaps, seen, door int
	process, instrument int // episodes without a mishap, by whose door they were laid at
	delays              []time.Duration
	missed              []string
}

func (t *tally) take(m mishap, e *episode) {
	t.mishaps++
	if e == nil {
		t.missed = append(t.missed, fmt.Sprintf("%s × %g", kindWord(m.kind), m.times))
		return
	}
	t.seen++
	t.delays = append(t.delays, e.From.Sub(m.from))
	if e.instrumental() == instrumental(m.kind) {
		t.door++
	}
}

func (t *tally) delay() string {
	if len(t.delays) == 0 {
		return "–"
	}
	slices.Sort(t.delays)
	return fmt.Sprintf("%.0f min", t.delays[len(t.delays)/2].Minutes())
}

// instrumental reports whether the episode was laid at the instrument's door.
func (e episode) instrumental() bool {
	return e.Instrument != "" && e.Instrument != string(fitness.Fit) ||
		slices.ContainsFunc(e.Reasons, func(f finding.Finding) bool { return f.Kind == finding.MovesAs })
}

// explain returns the first episode that tells a mishap, and marks all of them as explained.
func (g *game) explain(m mishap, explained []bool) *episode {
	var first *episode
	for i, e := range g.episodes {
		if e.product != m.product || e.From.After(m.to.Add(30*time.Minute)) || !e.To.IsZero() && e.To.Before(m.from) {
			continue
		}
		explained[i] = true
		if first == nil && !e.From.Before(m.from) {
			first = &g.episodes[i]
		}
	}
	return first
}

// tell prints the tables.
func (g *game) tell(w io.Writer, took time.Duration) error {
	months, kinds := map[time.Month]*tally{}, make([]tally, nKinds)
	of := func(at time.Time) *tally {
		if months[at.Month()] == nil {
			months[at.Month()] = &tally{}
		}
		return months[at.Month()]
	}
	explained := make([]bool, len(g.episodes))
	for _, m := range g.mishaps {
		e := g.explain(m, explained)
		of(m.from).take(m, e)
		kinds[m.kind].take(m, e)
	}
	exchanged := 0
	for i, e := range g.episodes {
		switch {
		case explained[i]:
		case g.day(e.From) == g.exchange():
			exchanged++
		case e.instrumental():
			of(e.From).instrument++
		default:
			of(e.From).process++
		}
	}
	var b strings.Builder
	fmt.Fprintf(&b, "Seed %d, a spectrum every %v, %d channels, a season of %g, promise: %v. %d references learned; all in %.0f s.\n\n",
		g.seed, g.every, g.channels, g.season, g.promise.OrUsual(), g.learned, took.Seconds())
	g.tellMonths(&b, months)
	b.WriteString("\n| kind | upsets | seen | median delay | laid at the right door |\n|---|---|---|---|---|\n")
	for i, k := range kinds {
		fmt.Fprintf(&b, "| %s | %d | %d | %s | %d |\n", kindWord(i), k.mishaps, k.seen, k.delay(), k.door)
	}
	if g.exchange() < g.days {
		fmt.Fprintf(&b, "\nOn the day of the new detector %d episodes were told on %d lines.\n", exchanged, len(products))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (g *game) tellMonths(b *strings.Builder, months map[time.Month]*tally) {
	b.WriteString("| month | hours watched | upsets | seen | median delay | missed | without an upset: laid at the process | at the instrument | promised | nothing could be said | light lost at the end |\n|---|---|---|---|---|---|---|---|---|---|---|\n")
	var all tally
	var watched, silent time.Duration
	promise := g.promise.OrUsual()
	promised := func(d time.Duration) float64 { return promise.Episodes * d.Hours() / promise.Per.Hours() }
	row := func(what, light string, t *tally, d, silent time.Duration) {
		missed := strings.Join(t.missed, ", ")
		if missed == "" {
			missed = "–"
		}
		fmt.Fprintf(b, "| %s | %.0f | %d | %d | %s | %s | %d | %d | %.1f | %.0f min | %s |\n", what, d.Hours(), t.mishaps, t.seen, t.delay(), missed, t.process, t.instrument, promised(d), silent.Minutes(), light)
	}
	for m := time.January; m <= time.December; m++ {
		if g.watched[m] == 0 {
			continue
		}
		t := months[m]
		if t == nil {
			t = &tally{}
		}
		last := min(g.day(time.Date(2026, m+1, 1, 0, 0, 0, 0, time.UTC)), g.days) - 1
		row(m.String(), fmt.Sprintf("%.0f %%", 100*g.lightLost(last)), t, g.watched[m], g.silent[m])
		watched, silent = watched+g.watched[m], silent+g.silent[m]
		all.mishaps, all.seen = all.mishaps+t.mishaps, all.seen+t.seen
		all.process, all.instrument = all.process+t.process, all.instrument+t.instrument
		all.delays = append(all.delays, t.delays...)
	}
	row("the year", "", &all, watched, silent)
}
