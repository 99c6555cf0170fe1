package model

import (
	"cmp"
	"slices"
	"time"

	"asusual/model/finding"
	"asusual/model/fitness"
	"asusual/model/spectrum"
)

// Usual is the name of the first condition: production as it was when it was known to be good.
const Usual = "usual"

// A Training gathers the spectra that a reference is learned from, as they are read: absorbances on the axis they
// came on, one buffer an axis and condition. Its zero value is ready to use.
type Training struct {
	buckets []*bucket
	leftOut []LeftOut
	unused  []Unused
}

// A LeftOut names a spectrum of the training that was not learned from, and why.
type LeftOut struct {
	Spectrum  string          `json:"spectrum"` // its file, and its row in a file of many
	Run       string          `json:"run"`
	Condition string          `json:"condition"`
	Reason    finding.Finding `json:"reason"`
}

// A bucket holds the spectra of one condition on one axis: absorbances x (rows × p, one spectrum a row).
type bucket struct {
	condition string
	axis      *spectrum.Axis
	x         []float64
	rows      []row
}

type row struct {
	name, run string
	file      string
	number    int // in its file, 0 in a file of one
	time      time.Time
}

// Add takes one spectrum of the condition. A spectrum of which no absorbance can be made, or that is not fit to
// judge, is not lost: it stands among those left out, with the reason.
func (t *Training) Add(condition string, s spectrum.Spectrum) {
	a, why := Usable(s)
	if why != nil {
		t.leave(condition, s, *why)
		return
	}
	b := t.bucket(condition, a.Axis)
	b.x = append(b.x, a.Values...)
	b.rows = append(b.rows, row{name: s.Name(), run: s.Run, file: s.File, number: s.Row, time: s.Time})
}

// Usable returns the absorbance of a spectrum, or why it can be neither learned from nor judged.
func Usable(s spectrum.Spectrum) (spectrum.Spectrum, *finding.Finding) {
	a, err := s.Absorbance()
	if err != nil {
		why := finding.Of(finding.NotAbsorbance, err.Error())
		return s, &why
	}
	if why := fitness.Check(a.Values); len(why) > 0 {
		return s, &why[0]
	}
	return a, nil
}

// Expect says that the spectra of the condition on the axis are to be kept in room, whose capacity all of them should need, so that
// adding them does not move the buffer. Where some are kept already, they stay where they are.
func (t *Training) Expect(condition string, axis *spectrum.Axis, room []float64) {
	b := t.bucket(condition, axis)
	if b.x == nil {
		b.x = room[:0]
	}
	b.rows = slices.Grow(b.rows, cap(room)/axis.Len())
}

// Len returns how many spectra of the condition were taken in so far.
func (t *Training) Len(condition string) int {
	n := 0
	for _, b := range t.buckets {
		if b.condition == condition {
			n += len(b.rows)
		}
	}
	return n
}

// Axis returns the axis that most spectra of usual production lie on; the first one seen where several tie.
func (t *Training) Axis() *spectrum.Axis { return t.axisOf(Usual) }

func (t *Training) axisOf(condition string) *spectrum.Axis {
	var best *bucket
	for _, b := range t.buckets {
		if b.condition == condition && (best == nil || len(b.rows) > len(best.rows)) {
			best = b
		}
	}
	if best == nil {
		return nil
	}
	return best.axis
}

func (t *Training) bucket(condition string, axis *spectrum.Axis) *bucket {
	for _, b := range t.buckets {
		if b.condition == condition && b.axis.Equal(axis) {
			return b
		}
	}
	b := &bucket{condition: condition, axis: axis}
	t.buckets = append(t.buckets, b)
	return b
}

func (t *Training) leave(condition string, s spectrum.Spectrum, why finding.Finding) {
	t.leftOut = append(t.leftOut, LeftOut{Spectrum: s.Name(), Run: s.Run, Condition: condition, Reason: why})
}

// conditions returns the names of the conditions besides usual, sorted.
func (t *Training) conditions() []string {
	var names []string
	for _, b := range t.buckets {
		if b.condition != Usual && !slices.Contains(names, b.condition) {
			names = append(names, b.condition)
		}
	}
	slices.Sort(names)
	return names
}

// gather moves the condition's spectra onto one axis, run by run and in order of time within a run. Where gap is
// above zero, runs are cut anew: a run ends where the next spectrum is more than gap later. Spectra whose axis does not
// cover the given one are left out with the reason.
func (t *Training) gather(condition string, axis *spectrum.Axis, gap time.Duration) *bucket {
	all := &bucket{condition: condition, axis: axis}
	for _, b := range t.buckets {
		if b.condition != condition {
			continue
		}
		if b.axis.Equal(axis) && all.x == nil {
			all.x, all.rows = b.x, b.rows // the usual case: one axis, nothing is copied
			continue
		}
		t.move(all, b)
	}
	all.sort(gap)
	return all
}

// move appends the spectra of b, resampled, to the bucket all.
func (t *Training) move(all, b *bucket) {
	r, err := spectrum.NewResampler(b.axis, all.axis)
	if err != nil {
		for _, w := range b.rows {
			t.leftOut = append(t.leftOut, LeftOut{
				Spectrum: w.name, Run: w.run, Condition: b.condition, Reason: finding.Of(finding.OffAxis, err.Error()),
			})
		}
		return
	}
	p := b.axis.Len()
	y := make([]float64, all.axis.Len())
	for i, w := range b.rows {
		r.Apply(y, b.x[i*p:(i+1)*p])
		all.x = append(all.x, y...)
		all.rows = append(all.rows, w)
	}
}

// sort brings the spectra into the order of runs (by their first time, then their name) and of time within a run; at one time they are
// in the order of their files and of the rows in them, as they are judged. The order of reading decides nothing, so the same spectra
// always give the same reference.
func (b *bucket) sort(gap time.Duration) {
	order := make([]int, len(b.rows))
	for i := range order {
		order[i] = i
	}
	byTime := func(i, j int) int {
		v, w := &b.rows[i], &b.rows[j]
		return cmp.Or(v.time.Compare(w.time), cmp.Compare(v.file, w.file), cmp.Compare(v.number, w.number), cmp.Compare(v.name, w.name))
	}
	slices.SortFunc(order, byTime)
	if gap > 0 {
		b.cut(order, gap)
	}
	first := map[string]time.Time{}
	for _, i := range order {
		if _, seen := first[b.rows[i].run]; !seen {
			first[b.rows[i].run] = b.rows[i].time
		}
	}
	slices.SortStableFunc(order, func(i, j int) int {
		ri, rj := b.rows[i].run, b.rows[j].run
		return cmp.Or(first[ri].Compare(first[rj]), cmp.Compare(ri, rj))
	})
	b.permute(order)
}

// cut names each run after the time of its first spectrum, in full where another began at the same second by the clock: where clocks
// go back, an hour comes twice.
func (b *bucket) cut(order []int, gap time.Duration) {
	var run string
	taken := map[string]bool{}
	for n, i := range order {
		at := b.rows[i].time
		if n == 0 || at.Sub(b.rows[order[n-1]].time) > gap {
			if run = at.Format("2006-01-02 15:04:05"); taken[run] {
				run = at.Format("2006-01-02 15:04:05.999999999 -07:00")
			}
			taken[run] = true
		}
		b.rows[i].run = run
	}
}

// permute puts row order[i] at place i, in the buffer itself: a second one would double the memory.
func (b *bucket) permute(order []int) {
	p := b.axis.Len()
	held := make([]float64, p)
	done := make([]bool, len(order))
	for start := range order {
		if done[start] || order[start] == start {
			continue
		}
		copy(held, b.x[start*p:(start+1)*p])
		heldRow := b.rows[start]
		i := start
		for ; order[i] != start; i = order[i] {
			copy(b.x[i*p:(i+1)*p], b.x[order[i]*p:(order[i]+1)*p])
			b.rows[i] = b.rows[order[i]]
			done[i] = true
		}
		copy(b.x[i*p:(i+1)*p], held)
		b.rows[i] = heldRow
		done[i] = true
	}
}

// keep drops the rows that the mask does not hold, in the buffer itself.
func (b *bucket) keep(mask []bool) {
	p, n := b.axis.Len(), 0
	for i, ok := range mask {
		if !ok {
			continue
		}
		copy(b.x[n*p:(n+1)*p], b.x[i*p:(i+1)*p])
		b.rows[n] = b.rows[i]
		n++
	}
	b.x, b.rows = b.x[:n*p], b.rows[:n]
}
