package main

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"slices"
	"sync"

	"gonum.org/v1/gonum/stat/distuv"

	"asusual/model/compare"
	"asusual/model/limits"
	"asusual/model/verdict"
)

// pairs are the two periods of usual production that are compared: runs of this and of that one. A half is a run that was broken off.
var pairs = [...]struct {
	name       string
	this, that float64
}{
	{"a run with the five before", 1, 5},
	{"half a run with the five before", 0.5, 5},
	{"a run with the one before", 1, 1},
	{"three runs with ten", 3, 10},
}

// A compared counts the comparisons of a line that said "changed", for each pair.
type compared struct {
	line    line
	n       int
	changed [len(pairs)]int
}

// compareAll compares usual periods of every line, each line learned from p.seeds sets of good runs, each watching p.fresh pairs of
// periods.
func compareAll(ctx context.Context, lines []line, p plan, out, progress io.Writer) error {
	results, errs := make([]compared, len(lines)), make([]error, len(lines))
	var mu sync.Mutex
	each(len(lines), func(i int) {
		results[i], errs[i] = lines[i].compares(ctx, p)
		mu.Lock()
		defer mu.Unlock()
		fmt.Fprintf(progress, "%v: done\n", lines[i])
	})
	for i, err := range errs {
		if err != nil {
			return fmt.Errorf("%v: %w", lines[i], err)
		}
	}
	return writeCompared(out, results)
}

func (l line) compares(ctx context.Context, p plan) (compared, error) {
	res := compared{line: l}
	from, err := l.maker()
	if err != nil {
		return res, err
	}
	for s := range l.sets(p) {
		if err := ctx.Err(); err != nil {
			return res, err
		}
		rng := rand.New(rand.NewPCG(p.first+uint64(s), l.stream()^0xc0))
		good := make([]production, l.Runs)
		for i := range good {
			good[i] = from.make(rng, change{}, 0)
		}
		w, tracks, err := from.learn(good, p.promise)
		if err != nil {
			return res, err
		}
		spread, err := compare.SpreadOf(trackFeatures(w.limits, tracks))
		if err != nil {
			return res, err
		}
		for range p.fresh {
			res.n++
			for i, pair := range pairs {
				if compare.Compare(w.side(from, rng, pair.this), w.side(from, rng, pair.that), spread).Verdict == verdict.Changed {
					res.changed[i]++
				}
			}
		}
	}
	return res, nil
}

// trackFeatures are the features of the runs held out, as the spread of a reference is learned from.
func trackFeatures(l *limits.Limits, tracks []limits.Track) (all [][][]float64) {
	for _, t := range tracks {
		run := make([][]float64, len(t.Points))
		for i, p := range t.Points {
			run[i] = make([]float64, l.Placed())
			l.Features(run[i], p.T, p.Q, nil)
		}
		all = append(all, run)
	}
	return all
}

// side makes a period of so many new good runs, a run a day.
func (w watch) side(l maker, rng *rand.Rand, runs float64) *compare.Side {
	side := &compare.Side{Gap: w.limits.Gap}
	t, f := make([]float64, components), make([]float64, w.limits.Placed())
	for i := 0; float64(i) < runs; i++ {
		r := l.make(rng, change{}, 0)
		n := min(1, runs-float64(i)) * float64(l.Length)
		for j := range int(n) {
			w.limits.Features(f, t, w.place(t, r, j), nil)
			side.Add(when(i, j), f)
		}
	}
	return side
}

// writeCompared writes what was measured, of all lines of the same number of good runs together.
func writeCompared(out io.Writer, results []compared) error {
	fmt.Fprintf(out, "## Comparisons of usual periods that said \"changed\"\n\n| good runs learned from | lines | comparisons of each kind |")
	for _, p := range pairs {
		fmt.Fprintf(out, " %s |", p.name)
	}
	fmt.Fprintf(out, " worst line |\n|---|---|---|%s---|\n", "---|---|---|---|")
	var runs []int
	for _, r := range results {
		runs = append(runs, r.line.Runs)
	}
	slices.Sort(runs)
	all := compared{}
	for _, n := range slices.Compact(runs) {
		some := slices.DeleteFunc(slices.Clone(results), func(r compared) bool { return r.line.Runs != n })
		rowOf(out, fmt.Sprint(n), some, &all)
	}
	sum := 0
	for _, c := range all.changed {
		sum += c
	}
	total := all.n * len(pairs)
	_, err := fmt.Fprintf(out, "\nAltogether %d of %d comparisons, %.2f %% (95 %% interval %.2f to %.2f %%).\n", sum, total, percent(sum, total),
		100*distuv.Beta{Alpha: float64(sum) + 0.5, Beta: float64(total-sum) + 0.5}.Quantile(0.025),
		100*distuv.Beta{Alpha: float64(sum) + 0.5, Beta: float64(total-sum) + 0.5}.Quantile(0.975)) // Jeffreys' interval: Brown, Cai, DasGupta, Statistical Science 16, 2001, section 4
	return err
}

func rowOf(out io.Writer, name string, results []compared, all *compared) {
	one, worst := compared{}, 0.0
	for _, r := range results {
		one.n += r.n
		for i, c := range r.changed {
			one.changed[i] += c
			worst = max(worst, percent(c, r.n))
		}
	}
	fmt.Fprintf(out, "| %s | %d | %d |", name, len(results), one.n)
	for i, c := range one.changed {
		fmt.Fprintf(out, " %.2f %% |", percent(c, one.n))
		all.changed[i] += c
	}
	all.n += one.n
	fmt.Fprintf(out, " %.1f %% |\n", worst)
}

func percent(n, of int) float64 { return 100 * float64(n) / float64(max(of, 1)) }
