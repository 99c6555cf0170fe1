package holdout

import (
	"fmt"
	"slices"
	"sort"
	"time"

	"asusual/model/finding"
)

const (
	// fewestRuns is the number of runs below which blocks of time are held out: with four, a reference of three runs says
	// little about how a fifth would lie. Common practice in cross-validation, no source.
	fewestRuns = 5

	// mostFolds bounds the models that are learned. Above it groups of whole runs are held out: each model still learns from
	// more than nine runs in ten.
	mostFolds = 16

	// wantBlocks is how many blocks of time stand for runs where there are few runs.
	wantBlocks = 10

	// fewestRows is the number of spectra that a held-out block needs at least.
	fewestRows = 5

	// Of a run of two blocks or three, one may be shorter by rounding.
	fewestOfTwoBlocks   = fewestRows + (fewestRows+1)/2
	fewestOfThreeBlocks = 2*fewestRows + (fewestRows+1)/2
)

// Fewest returns how many spectra of one run, or of two, are in any case divided into three blocks. The longer of two has two blocks.
func Fewest(runs int) int {
	if runs == 2 {
		return 2*fewestOfTwoBlocks - 1
	}
	return fewestOfThreeBlocks
}

// A fold is what one model does not see. It is placed by a model of all other rows but those of its gaps.
type fold struct {
	held []Range // what is placed, each a track
	skip []Range // what is not learned from: held, with the gaps at both sides of it
}

func (f fold) skips(row int) bool {
	for _, r := range f.skip {
		if row >= r.From && row < r.To {
			return true
		}
	}
	return false
}

// plan divides the set into folds, by whole runs wherever there are enough of them.
func (s Set) plan() ([]fold, []finding.Finding, error) {
	switch r := len(s.Runs); {
	case r == 0:
		return nil, nil, fmt.Errorf("nothing to hold out: no known-good runs")
	case r < fewestRuns:
		return s.blocks()
	case r <= mostFolds:
		folds := make([]fold, r)
		for i, run := range s.Runs {
			folds[i] = fold{held: []Range{run}, skip: []Range{run}}
		}
		return folds, nil, nil
	}
	folds := make([]fold, mostFolds)
	for i, run := range s.Runs {
		f := &folds[i%mostFolds]
		f.held, f.skip = append(f.held, run), append(f.skip, run)
	}
	return folds, []finding.Finding{finding.Of(finding.RunsGrouped, "", float64(len(s.Runs)), mostFolds)}, nil
}

// blocks cuts each run into blocks of time of about equal length. A model of one block learns neither from it nor from half
// a block at each side: neighbours in time resemble each other (Roberts et al. 2017, Cross-validation strategies for data with
// temporal, spatial, hierarchical, or phylogenetic structure, Ecography 40, 913–929).
func (s Set) blocks() ([]fold, []finding.Finding, error) {
	n, _ := s.X.Dims()
	length := max(n/wantBlocks, fewestRows)
	var folds []fold
	for _, run := range s.Runs {
		count := max(1, (run.Len()+length/2)/length)
		for b := range count {
			held := Range{
				Name: fmt.Sprintf("%s, part %d of %d", run.Name, b+1, count),
				From: run.From + run.Len()*b/count,
				To:   run.From + run.Len()*(b+1)/count,
			}
			gap := held.Len() / 2
			skip := Range{From: max(run.From, held.From-gap), To: min(run.To, held.To+gap)}
			folds = append(folds, fold{held: []Range{held}, skip: []Range{skip}})
		}
	}
	if len(folds) < 3 {
		return nil, nil, s.tooFew()
	}
	return folds, []finding.Finding{finding.Of(finding.FewRuns, "", float64(len(s.Runs)), float64(len(folds)), fewestRuns)}, nil
}

// tooFew says what is missing, and of how many runs there is too little: each run is divided by itself.
func (s Set) tooFew() error {
	n, _ := s.X.Dims()
	if r := len(s.Runs); r > 1 {
		return fmt.Errorf("%d known-good spectra of %d runs are too few to hold any out; %d are needed, or three runs", n, r, Fewest(r))
	}
	return fmt.Errorf("%d known-good spectra of one run are too few to hold any out; %d are needed, or three runs", n, Fewest(1))
}

// stopped is the pause within a run, where it is also longer than 20 usual ones and than three of those that come often, from which on it is
// a stop and no production: the gap that ends a run where only pauses tell runs apart.
const stopped = 30 * time.Minute

// span returns how much production the rows stand for: from the first to the last, and one usual step more. Of a stop it counts as much as
// of a usual pause: a run named by its lot may go on over nights, and a clock that was wrong once is years away. Zero is not known.
func (s Set) span(r Range) time.Duration {
	if s.Times == nil || r.Len() < 2 {
		return 0
	}
	d := s.Times[r.To-1].Sub(s.Times[r.From])
	if d > stopped {
		d = s.worked(r)
	}
	return max(0, d+d/time.Duration(r.Len()-1))
}

// worked returns the time from the first of the rows to the last, without its stops. Of two rows that are further apart nothing is known.
func (s Set) worked(r Range) (d time.Duration) {
	if r.Len() == 2 {
		return 0
	}
	pauses := make([]time.Duration, 0, r.Len()-1)
	for i := r.From + 1; i < r.To; i++ {
		pauses = append(pauses, s.Times[i].Sub(s.Times[i-1]))
	}
	slices.Sort(pauses)
	usual := pauses[(len(pauses)-1)/2]
	if usual == 0 { // a clock coarser than the pace
		above := pauses[sort.Search(len(pauses), func(i int) bool { return pauses[i] > 0 }):]
		usual = above[(len(above)-1)/2]
	}
	often := pauses[(len(pauses)-1)*9/10] // of sets of spectra, such as one an hour, the pause between them; nights and slips of a clock are rare
	for _, p := range pauses {
		if p > max(20*usual, 3*often, stopped) {
			p = usual
		}
		d += p
	}
	return d
}
