package monitor

import (
	"context"
	"fmt"
	"slices"
	"time"

	"asusual/model/finding"
	"asusual/model/spectrum"
	"asusual/monitor/history"
)

// meanOf returns what a record says of the item that was judged; ok is false for a spectrum that stands for itself.
func meanOf(r history.Record) (f finding.Finding, ok bool) {
	i := slices.IndexFunc(r.Reasons, func(f finding.Finding) bool { return f.Kind == finding.MeanOfItem && len(f.Values) == 3 })
	if i < 0 {
		return f, false
	}
	return r.Reasons[i], true
}

// item returns the mean of the spectra of an item, as it was judged.
func (r *rereader) item(ctx context.Context, rec history.Record) (spectrum.Spectrum, error) {
	mean, _ := meanOf(rec)
	count, edges := int(mean.Values[0]), int(mean.Values[1])
	files, wanted, err := r.parts(ctx, rec, mean)
	if err != nil {
		return spectrum.Spectrum{}, err
	}
	var all []spectrum.Spectrum
	for _, name := range files {
		r.file(name, wanted[name], func(s spectrum.Spectrum, e error) bool {
			if e != nil {
				err = e
				return false
			}
			all = append(all, s)
			return true
		})
	}
	if err == nil && len(all) != count+edges {
		err = fmt.Errorf("%s: %d of the %d spectra of the item %s can be read again", rec.File, len(all), count+edges, mean.About)
	}
	if err != nil {
		return spectrum.Spectrum{}, err
	}
	slices.SortStableFunc(all, func(x, y spectrum.Spectrum) int { return x.Time.Compare(y.Time) })
	out := all[0]
	out.Time, out.Values = rec.Time, make([]float64, out.Axis.Len())
	for _, s := range all[edges/2 : edges/2+count] {
		if len(s.Values) != len(out.Values) {
			return out, fmt.Errorf("%s: %d values, the other spectra of the item %s have %d", s.Name(), len(s.Values), mean.About, len(out.Values))
		}
		for i, v := range s.Values {
			out.Values[i] += v / float64(count)
		}
	}
	return out, nil
}

// parts finds the files of an item's spectra in history, and the marks of these.
func (r *rereader) parts(ctx context.Context, rec history.Record, mean finding.Finding) (files []string, wanted map[string]map[int64]int, err error) {
	half := time.Duration(mean.Values[2]/2*float64(time.Second)) + time.Millisecond
	q := history.Query{Line: r.line.Name, From: rec.Time.Add(-half), To: rec.Time.Add(half)}
	left, begun := int(mean.Values[0]+mean.Values[1]), false
	wanted = map[string]map[int64]int{}
	for o, err := range r.line.History.Own(ctx, q) {
		if err != nil {
			return nil, nil, err
		}
		if o.Role != history.OfItem {
			continue
		}
		begun = begun || o.File == rec.File && o.Row == rec.Row // what is before is of the item before
		if !begun || left == 0 {
			continue
		}
		left--
		if wanted[o.File] == nil {
			files, wanted[o.File] = append(files, o.File), map[int64]int{}
		}
		wanted[o.File][o.Mark]++
	}
	if left > 0 {
		return nil, nil, fmt.Errorf("%s: history has %d spectra too few of the item %s", rec.File, left, mean.About)
	}
	return files, wanted, nil
}
