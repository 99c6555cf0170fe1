package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"asusual/model/verdict"
)

// write writes all tables.
func write(out io.Writer, results []result, p plan) error {
	var b strings.Builder
	fmt.Fprintf(&b, "Promise: %v. A run is %d or fewer spectra, one every %v. %d sets of good runs a line, a third of that where whole spectra are made.\n\n", p.promise, results[0].line.Length, every, p.seeds)
	falseEpisodes(&b, results, p)
	seen(&b, results)
	goals(&b, results, p)
	_, err := io.WriteString(out, b.String())
	return err
}

// rate returns the episodes as multiples of what was promised, with a two-sided 90 % interval, whose upper end is the
// 95 % bound: Garwood's for a Poisson count (Fiducial limits for the Poisson distribution, Biometrika 28, 1936), widened
// where sets of good runs differ more than such counts do.
func (r result) rate(p plan) (lo, rate, hi float64) {
	promised := p.promise.Episodes * r.hours / p.promise.Per.Hours()
	sum, n := 0.0, float64(len(r.episodes))
	for _, e := range r.episodes {
		sum += float64(e)
	}
	over := 0.0
	for _, e := range r.episodes {
		d := float64(e) - sum/n
		over += d * d / max(n-1, 1)
	}
	over = max(over/max(sum/n, 1/n), 1)
	if sum > 0 {
		lo = over * distuv.ChiSquared{K: 2 * sum / over}.Quantile(0.05) / 2
	}
	hi = over * distuv.ChiSquared{K: 2*sum/over + 2}.Quantile(0.95) / 2
	return lo / promised, sum / promised, hi / promised
}

func falseEpisodes(b *strings.Builder, results []result, p plan) {
	b.WriteString("False episodes, as a share of those promised:\n\n")
	b.WriteString("| line | hours watched | promised | seen | share of promise (90 % interval) | good spectra outside the border |\n|---|---|---|---|---|---|\n")
	for _, r := range results {
		n := 0
		for _, e := range r.episodes {
			n += e
		}
		lo, rate, hi := r.rate(p)
		fmt.Fprintf(b, "| %v | %.0f | %.1f | %d | %.2f (%.2f–%.2f) | %.2f %% |\n",
			r.line, r.hours, p.promise.Episodes*r.hours/p.promise.Per.Hours(), n, rate, lo, hi, 100*r.outside)
	}
}

// A group pools lines that differ only in runs and channels.
type group struct {
	phi, between float64
	length       int
	delays       [len(changes)]delays
}

// groups pools lines with at least 8 runs.
func groups(results []result) []group {
	var out []group
	for _, r := range results {
		if r.line.Runs < 8 {
			continue
		}
		i := slices.IndexFunc(out, func(g group) bool {
			return g.phi == r.line.Phi && g.between == r.line.Between && g.length == r.line.Length
		})
		if i < 0 {
			i = len(out)
			out = append(out, group{phi: r.line.Phi, between: r.line.Between, length: r.line.Length})
		}
		for c := range changes {
			d, s := &out[i].delays[c], r.delays[c]
			d.asusual = append(d.asusual, s.asusual...)
			d.textbook = append(d.textbook, s.textbook...)
			d.knowing = append(d.knowing, s.knowing...)
			d.patient = append(d.patient, s.patient...)
			d.since = append(d.since, s.since...)
		}
	}
	return out
}

func seen(b *strings.Builder, results []result) {
	b.WriteString("\nChanges, lines with 8 runs or more: share seen before the run ends, and median delay in spectra:\n\n")
	b.WriteString("| neighbours φ | runs differ | spectra left | change | asusual | textbook | knowing | beginning, error: median (80 % within) |\n|---|---|---|---|---|---|---|---|\n")
	for _, g := range groups(results) {
		for c, d := range g.delays {
			fmt.Fprintf(b, "| %g | %g | %d | %s %g | %s | %s | %s | %s |\n", g.phi, g.between, g.length-g.length/3,
				changes[c].kind, changes[c].size, say(d.asusual), say(d.textbook), say(d.knowing), errors(d.since))
		}
	}
}

// say writes the share seen and the median delay.
func say(x []float64) string {
	n := 0
	for _, v := range x {
		if !math.IsInf(v, 1) {
			n++
		}
	}
	m := "–"
	if v := median(x); !math.IsInf(v, 1) {
		m = fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.0f %%, %s", 100*float64(n)/float64(len(x)), m)
}

// errors writes the median and the range of the middle 80 %.
func errors(x []float64) string {
	if len(x) < 10 {
		return "–"
	}
	y := slices.Sorted(slices.Values(x))
	return fmt.Sprintf("%+.0f (%+.0f to %+.0f)", y[len(y)/2], y[len(y)/10], y[len(y)*9/10])
}

// median returns that of x, in which the unseen (+Inf) count as later than all.
func median(x []float64) float64 {
	y := slices.Sorted(slices.Values(x))
	return y[len(y)/2]
}

// goals writes how far the goals are met.
func goals(b *strings.Builder, results []result, p plan) {
	lines, kept, bound := 0, 0, 0
	for _, r := range results {
		if r.line.Runs < 8 {
			continue
		}
		lines++
		_, rate, hi := r.rate(p)
		if rate <= 1 {
			kept++
		}
		if hi <= 2 {
			bound++
		}
	}
	fmt.Fprintf(b, "\nGoals, lines with 8 runs or more:\n\n- false episodes no more than promised: %d of %d lines; 95 %% bound at most twice: %d of %d\n", kept, lines, bound, lines)
	half, twice, patient, can := 0, 0, 0, 0
	rows := 0
	for _, g := range groups(results) {
		for _, d := range g.delays {
			a, t, k := median(d.asusual), median(d.textbook), median(d.knowing)
			if math.IsInf(k, 1) {
				continue // nobody can see it in what is left of the run
			}
			rows++
			if !math.IsInf(a, 1) {
				can++
				if a <= t/2 {
					half++
				}
				if a <= 2*k {
					twice++
				}
				if a <= 2*median(d.patient) {
					patient++
				}
			}
		}
	}
	fmt.Fprintf(b, "- of %d changes that the detector that knows them sees in half of the runs, asusual sees %d in half of the runs; its median delay is at most half of the textbook chart's in %d, and within twice that of the knowing detector in %d, or in %d where that, too, has to see it in %d spectra in a row\n", rows, can, half, twice, patient, verdict.OnDelay)
}
