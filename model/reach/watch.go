package reach

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"asusual/model/holdout"
	"asusual/model/limits"
	"asusual/model/runner"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// A watch holds what goes on after each moment at which a change may begin.
type watch struct {
	set     holdout.Set
	placed  *holdout.Placed
	limits  *limits.Limits
	passing *limits.Passing
	each    runner.Runner
	within  int       // spectra
	mean    []float64 // of the raw spectra
	starts  []begin
}

// A begin is a moment: the track and the spectrum of it at which a change begins, and what the memories held.
type begin struct {
	track, at int
	held      limits.Recall
	ahead     *limits.Ahead // what comes then
}

func newWatch(s holdout.Set, p *holdout.Placed, l *limits.Limits, opt Options) (*watch, error) {
	w := &watch{set: s, placed: p, limits: l, passing: l.Passing(), each: opt.Each, mean: s.Mean()}
	w.within = opt.Within
	if w.within == 0 {
		w.within = usualWithin(p.Tracks, l)
	}
	room := 0 // moments at which a change can begin
	for _, t := range p.Tracks {
		room += w.room(t)
	}
	if room == 0 {
		return nil, fmt.Errorf("reach: no run is %d spectra long, so that none can change and be watched for %d after the first %d", w.within+l.Warm, w.within, l.Warm)
	}
	w.begin(min(opt.Starts, room), room)
	w.each.Do(len(w.starts), func(i int) {
		b := &w.starts[i]
		b.ahead = w.passing.Ahead(&b.held, p.Tracks[b.track].Points[b.at:b.at+w.within])
	})
	return w, nil
}

// usualWithin returns the number of spectra within which a change is to be seen: three times the length of the slow memory,
// in which it takes in 95 % of a step; at least 20, at most 200 and half of a usual run.
func usualWithin(tracks []limits.Track, l *limits.Limits) int {
	slow := 1.0
	for _, q := range l.Questions {
		slow = min(slow, q.R)
	}
	var n float64
	for _, t := range tracks {
		n += float64(len(t.Points)) / float64(len(tracks))
	}
	return int(max(1, min(max(20, 3/slow), 200, n/2, n-float64(l.Warm))))
}

// room returns at how many moments of the track a change can begin.
func (w *watch) room(t limits.Track) int { return max(0, len(t.Points)-w.within-w.limits.Warm+1) }

// begin chooses count moments of room, evenly, and lets the memories run up to each.
func (w *watch) begin(count, room int) {
	tracks := w.placed.Tracks
	starts, seen := make([][]begin, len(tracks)), 0
	before := make([]int, len(tracks)) // moments of the tracks before
	for j, t := range tracks {
		before[j] = seen
		seen += w.room(t)
	}
	w.each.Do(len(tracks), func(j int) {
		var r limits.Recall
		f, seen, points := make([]float64, w.limits.Len()), before[j], tracks[j].Points
		for i := 0; i <= len(points)-w.within && i < len(points); i++ {
			if i >= w.limits.Warm {
				if seen*count/room != (seen+1)*count/room {
					b := begin{track: j, at: i}
					b.held.CopyFrom(&r)
					starts[j] = append(starts[j], b)
				}
				seen++
			}
			w.limits.Features(f, points[i].T, points[i].Q, points[i].Parts)
			w.limits.Step(&r, f)
		}
	})
	w.starts = slices.Concat(starts...)
}

// prepare works out what the changes do in every fold, and their products with the residuals of the spectra watched.
func (w *watch) prepare(changes []*change) error {
	folds := w.placed.Folds
	for _, c := range changes {
		c.moves = make([]move, len(folds))
		c.along = make([][]float64, len(w.starts))
	}
	err := w.each.Try(len(folds), func(i int) (err error) {
		for _, c := range changes {
			if c.moves[i], err = w.move(&folds[i], c.raw, w.small(c.raw[0])); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	var room sync.Pool // the folds are many, those at work at once few
	w.each.Do(len(folds), func(f int) {
		rows, ok := room.Get().(*mat.Dense)
		if p := folds[f].PCA.P; !ok || rows.RawMatrix().Cols != p {
			rows = w.rows(f)
		}
		defer room.Put(rows)
		for i, b := range w.starts {
			if w.placed.Of[b.track] != f {
				continue
			}
			w.residuals(rows, b)
			for _, c := range changes {
				c.along[i] = along(rows, c.moves[f].d)
			}
		}
	})
	return nil
}

// along returns e·d of each row of x with the pattern that falls to it.
func along(x *mat.Dense, d [][]float64) []float64 {
	e := x.RawMatrix()
	v := make([]float64, e.Rows)
	if len(d) == 1 {
		blas64.Gemv(blas.NoTrans, 1, e, blas64.Vector{N: e.Cols, Inc: 1, Data: d[0]}, 0, blas64.Vector{N: e.Rows, Inc: 1, Data: v})
		return v
	}
	for i := range v {
		v[i] = dot(x.RawRowView(i), d[i%len(d)])
	}
	return v
}

// rows is what the residuals of one moment after another, of a fold, are put into.
func (w *watch) rows(fold int) *mat.Dense {
	return mat.NewDense(w.within, w.placed.Folds[fold].PCA.P, nil)
}

// residuals fills x, within×p, with the residuals e of the spectra after b, in the model that did not see them.
func (w *watch) residuals(x *mat.Dense, b begin) {
	f := &w.placed.Folds[w.placed.Of[b.track]]
	work, t := make([]float64, f.Chain.Work()), make([]float64, f.PCA.K)
	from := w.placed.Rows[b.track].From + b.at
	for i := range w.within {
		row := x.RawRowView(i)
		if err := f.Chain.Apply(row, w.set.X.RawRowView(from+i), work); err != nil {
			clear(row) // cannot be: holdout has pretreated it
		}
		f.PCA.Scores(t, row)
		f.PCA.Residual(row, row, t)
	}
}

// small returns a size of the change that moves the mean spectrum by a thousandth of its own spread.
func (w *watch) small(raw []float64) float64 {
	var sum, ss, top float64
	for i, v := range w.mean {
		sum += v
		ss += v * v
		top = max(top, math.Abs(raw[i]))
	}
	n := float64(len(w.mean))
	sd := math.Sqrt(max(ss/n-sum*sum/(n*n), 1e-12))
	return 1e-3 * sd / max(top, 1e-300)
}

// move works out what the patterns of a change do in a fold's model: their effect on the mean spectrum at the given size,
// through the pretreatment, per unit.
func (w *watch) move(f *holdout.Fold, raw [][]float64, size float64) (move, error) {
	p, k := f.PCA.P, f.PCA.K
	work := make([]float64, f.Chain.Work())
	before, changed := make([]float64, p), make([]float64, len(w.mean))
	if err := f.Chain.Apply(before, w.mean, work); err != nil {
		return move{}, fmt.Errorf("reach: the mean spectrum: %w", err)
	}
	m := move{r2: make([]float64, len(raw))}
	own := make([]float64, k)
	for j, r := range raw {
		for i, v := range w.mean {
			changed[i] = v + size*r[i]
		}
		d := make([]float64, p)
		if err := f.Chain.Apply(d, changed, work); err != nil {
			return m, fmt.Errorf("reach: the mean spectrum, changed: %w", err)
		}
		for i := range d {
			d[i] = (d[i] - before[i]) / size
		}
		m.d = append(m.d, d)
		m.r2[j] = dot(d, d)
		for a := range own {
			own[a] = dot(f.PCA.Loading(a), d)
			m.r2[j] -= own[a] * own[a]
		}
		m.r2[j] = max(m.r2[j], 0)
		t := make([]float64, k)
		for a := range t {
			t[a] = dot(f.Turn[a*k:(a+1)*k], own)
		}
		m.t = append(m.t, t)
		parts := make([]float64, f.Bank.Len())
		if len(parts) > 0 {
			f.Bank.Change(parts, d, own)
		}
		m.parts = append(m.parts, parts)
	}
	if len(raw) == 1 {
		m.pull = w.passing.Pull(m.t[0], m.parts[0])
	}
	return m, nil
}

func dot(a, b []float64) float64 {
	var s float64
	for i, v := range a {
		s += v * b[i]
	}
	return s
}
