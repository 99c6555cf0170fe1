package check

import (
	"fmt"
	"math"
	"slices"

	"asusual/model/finding"
	"asusual/model/light"
	"asusual/model/spectrum"
)

// surely is how many times the noise of a channel a dark level of ofChannels lies from zero, at least, where a share of it says anything;
// the median of more wanders less, by the root of their number. An instrument that takes its darkness off by itself writes zero and noise.
// Chosen so that the median wanders by less than a tenth of it.
const (
	surely     = 10
	ofChannels = 16
)

// dark checks a dark spectrum.
func (b *Book) dark(s spectrum.Spectrum) []Result {
	past, l := b.darkPast(s), b.set.Limits
	level, noise := median(s.Values), math.NaN()
	if past.Last != nil {
		noise = between(past.Last, s.Values)
	}
	hot := hotIn(s.Values)
	past.Last = slices.Clone(s.Values)
	about := exposure(s)
	if past.N < b.set.First {
		past.N++
		past.Level += (level - past.Level) / float64(past.N)
		past.Hot = united(past.Hot, hot)
		if !math.IsNaN(noise) {
			past.Pairs++
			past.Noise += (noise*noise - past.Noise) / float64(past.Pairs)
		}
		rs := []Result{{Measure: DarkLevel, About: about, Value: 0, Unit: "%", Limit: l.DarkLevel}}
		b.dropDarks(about, rs)
		return rs
	}
	rs := []Result{cannot("dark level", "the first dark spectra lie no further from 0 counts than noise takes them, of which no share can be taken")}
	if math.Abs(past.Level) > surely*math.Sqrt(past.Noise*ofChannels/float64(max(ofChannels, len(s.Values)))) {
		moved := 100 * (level - past.Level) / math.Abs(past.Level)
		away := math.Abs(moved)
		rs[0] = result(DarkLevel, away, "%", l.DarkLevel, finding.Of(finding.DarkLevel, "", moved, l.DarkLevel.Next(away)))
	}
	if past.Noise > 0 {
		times := noise / math.Sqrt(past.Noise)
		rs = append(rs, result(DarkNoise, times, "×", l.DarkNoise, finding.Of(finding.DarkNoise, "", times, l.DarkNoise.Next(times))))
	}
	rs = append(rs, b.channels(Hot, finding.HotChannels, without(hot, past.Hot), l.Hot))
	for i := range rs {
		rs[i].About = about
	}
	b.dropDarks(about, rs)
	return rs
}

// dropDarks drops earlier results of darks that none of the new ones takes the place of: of that integration time, and of those of
// which no dark is kept any more, so that none is computed with.
func (b *Book) dropDarks(about string, rs []Result) {
	s := &b.State
	kept := func(of string) bool {
		return slices.ContainsFunc(s.Darks, func(d spectrum.Spectrum) bool { return exposure(d) == of })
	}
	s.Latest = slices.DeleteFunc(s.Latest, func(old Result) bool {
		switch old.Measure {
		case DarkLevel, DarkNoise, Hot:
			return !kept(old.About) || old.About == about && !slices.ContainsFunc(rs, old.same)
		}
		return false
	})
}

// exposure names the integration time of a spectrum, "" where it does not say.
func exposure(s spectrum.Spectrum) string {
	if s.Exposure > 0 {
		return s.Exposure.String()
	}
	return ""
}

// darkPast returns the past of the darks of that integration time, a new one if there is none. The oldest goes where there
// are too many.
func (b *Book) darkPast(s spectrum.Spectrum) *DarkPast {
	d := b.State.Dark
	i := slices.IndexFunc(d, func(p DarkPast) bool { return p.Exposure == s.Exposure })
	if i < 0 {
		if len(d) == mostDarks {
			d = slices.Delete(d, 0, 1)
		}
		d = append(d, DarkPast{Exposure: s.Exposure})
		i = len(d) - 1
	}
	b.State.Dark = d
	return &d[i]
}

// channels is the result of a list of channels.
func (b *Book) channels(m Measure, kind finding.Kind, list []int, limit Pair) Result {
	share := 100 * float64(len(list)) / float64(b.State.Axis.Len())
	first := 0
	if len(list) > 0 {
		first = list[0] + 1
	}
	return result(m, share, "%", limit, finding.Of(kind, "", float64(len(list)), float64(first)))
}

// reference checks a reference spectrum.
func (b *Book) reference(s spectrum.Spectrum) []Result {
	lit, full, perMS, err := b.lightOf(s)
	if err != nil {
		return []Result{cannot("reference", err.Error())}
	}
	past, l := &b.State.Light, b.set.Limits
	if past.N > 0 && past.PerMS != perMS {
		return []Result{cannot("reference", "the reference spectrum and those before it do not both say their integration time; their levels cannot be compared")}
	}
	past.PerMS = perMS
	past.Rows = append(past.Rows, slices.Clone(s.Values))
	if len(past.Rows) > stuckRows {
		past.Rows = slices.Delete(past.Rows, 0, len(past.Rows)-stuckRows)
	}
	rs := []Result{b.channels(Saturated, finding.SaturatedNow, full, l.Saturated)}
	dead, stuck := deadIn(lit), stuckIn(past.Rows)
	var noise []Noise
	if past.Last != nil {
		noise = LineOf(s.Axis, past.Last, lit, b.regions())
		rs = append(rs, b.line(noise)...)
	}
	past.Last = lit
	if past.N < b.set.First {
		past.first(lit, noise, dead, stuck)
		return append(rs, Result{Measure: LightLevel, About: "all channels", Value: 0, Unit: "%", Limit: l.Light})
	}
	rs = append(rs, b.lineTimes(noise)...)
	rs = append(rs, b.channels(Dead, finding.DeadChannels, without(dead, past.Dead), l.Dead))
	if len(past.Rows) == stuckRows {
		rs = append(rs, b.channels(Stuck, finding.StuckChannels, without(stuck, past.Stuck), l.Stuck))
	}
	return append(rs, b.levels(lit)...)
}

// lightOf returns the light of a reference, whatever it holds, and where the detector was full.
func (b *Book) lightOf(s spectrum.Spectrum) (lit []float64, full []int, perMS bool, err error) {
	switch s.Quantity {
	case spectrum.Intensity:
		l, err := b.store.Light(s)
		return l.Values, l.Full, l.PerMS, err
	case spectrum.Reflectance, spectrum.Transmittance:
		lit = slices.Clone(s.Values)
	case spectrum.Absorbance:
		lit = make([]float64, len(s.Values))
		for i, a := range s.Values {
			lit[i] = math.Pow(10, -a)
		}
	default:
		return nil, nil, false, fmt.Errorf("the reference spectrum holds %s, of which no light can be told", s.Quantity)
	}
	if i := light.OutOfRange(lit); i >= 0 {
		return nil, nil, false, fmt.Errorf("the reference spectrum: channel %d holds %.6g, which cannot be computed with", i+1, s.Values[i])
	}
	return lit, nil, false, nil
}

// first takes one of the first references into the baseline.
func (p *LightPast) first(lit []float64, noise []Noise, dead, stuck []int) {
	if p.Mean == nil {
		p.Mean = make([]float64, len(lit))
	}
	p.N++
	for i, v := range lit {
		p.Mean[i] += (v - p.Mean[i]) / float64(p.N)
	}
	p.Dead, p.Stuck = united(p.Dead, dead), united(p.Stuck, stuck)
	if noise == nil {
		return
	}
	if p.Noise == nil {
		p.Noise = make([]float64, len(noise))
	}
	p.Pairs++
	for i, n := range noise {
		if !math.IsNaN(n.RMS) {
			p.Noise[i] += (n.RMS*n.RMS - p.Noise[i]) / float64(p.Pairs)
		}
	}
}

// line is the noise of the 100 % line, by region and on average.
func (b *Book) line(noise []Noise) []Result {
	l, unit := b.set.Limits, b.State.Axis.Unit()
	var rs []Result
	sum, n := 0.0, 0
	for _, r := range noise {
		about := r.In(unit)
		if math.IsNaN(r.RMS) {
			rs = append(rs, cannot(about, fmt.Sprintf("the 100 %% line over %s could not be looked at: %d channels have no light", about, r.NoLight)))
			continue
		}
		one := result(LineNoise, r.RMS, "absorbance", l.LineEach, finding.Of(finding.LineNoise, about, r.RMS, l.LineEach.Next(r.RMS)))
		one.About = about
		rs = append(rs, one)
		sum += r.RMS
		n++
	}
	if n > 0 {
		m := sum / float64(n)
		rs = append(rs, result(LineMean, m, "absorbance", l.LineMean, finding.Of(finding.LineNoise, "all regions on average", m, l.LineMean.Next(m))))
	}
	return rs
}

// lineTimes holds the noise against the first: the root mean square, over the regions, of their multiples. One region alone has too few
// channels to tell a multiple of 1.5 from chance.
func (b *Book) lineTimes(noise []Noise) []Result {
	past, sum, n := b.State.Light.Noise, 0.0, 0
	for i, r := range noise {
		if i < len(past) && past[i] > 0 && !math.IsNaN(r.RMS) {
			sum += r.RMS * r.RMS / past[i]
			n++
		}
	}
	if n == 0 {
		return nil
	}
	times, l := math.Sqrt(sum/float64(n)), b.set.Limits.LineTimes
	return []Result{result(LineTimes, times, "×", l, finding.Of(finding.LineNoisier, "", times, l.Next(times)))}
}

// levels holds the light against the first, over all channels and by region: the median over channels of their ratio. A region that
// stands as all channels do, within a quarter of the first limit, has the same reason, which is said once.
func (b *Book) levels(lit []float64) []Result {
	a, past, l := b.State.Axis, b.State.Light.Mean, b.set.Limits.Light
	lo, hi := a.Range()
	var rs []Result
	var whole Result
	for i, r := range append([]Region{{lo, hi}}, b.regions()...) {
		about := "all channels"
		if i > 0 {
			about = r.In(a.Unit())
		}
		var ratio []float64
		for j, v := range lit {
			if r.has(a.At(j), hi) && past[j] > 0 {
				ratio = append(ratio, v/past[j])
			}
		}
		if len(ratio) == 0 {
			rs = append(rs, cannot(about, "the first references had no light over "+about))
			continue
		}
		left := 100 * median(ratio)
		one := result(LightLevel, math.Abs(left-100), "%", l, finding.Of(finding.LightLevel, about, left, l.Next(math.Abs(left-100))))
		one.About = about
		if i == 0 {
			whole = one
		} else if one.State == whole.State && math.Abs(one.Value-whole.Value) <= l.Ageing/4 {
			one.Finding = finding.Finding{}
		}
		rs = append(rs, one)
	}
	return rs
}

// standard checks a standard's spectrum.
func (b *Book) standard(s spectrum.Spectrum) []Result {
	a, err := b.absorbance(s)
	if err != nil {
		return []Result{cannot("standard", err.Error())}
	}
	st := &b.State
	if !st.Repeated.IsZero() && s.Time.Sub(st.Repeated).Abs() > b.set.Pause {
		st.Repeats = nil
	}
	st.Repeats, st.Repeated = append(st.Repeats, slices.Clone(a.Values)), s.Time
	if len(st.Repeats) > mostRepeats {
		st.Repeats = slices.Delete(st.Repeats, 0, 1)
	}
	var rs []Result
	if r, err := RepeatsOf(st.Repeats); err == nil {
		l := b.set.Limits.Repeat
		rs = append(rs, result(Repeatable, r.RMS, "absorbance", l, finding.Of(finding.Unrepeatable, "", r.RMS, l.Next(r.RMS), float64(len(st.Repeats)))))
	}
	return append(rs, b.bands(a)...)
}

func (b *Book) absorbance(s spectrum.Spectrum) (a spectrum.Spectrum, err error) {
	if s.Quantity == spectrum.Intensity {
		made, err := b.store.Absorbance(s)
		return made.Spectrum, err
	}
	if a, err = s.Absorbance(); err != nil {
		return a, err
	}
	if i := light.OutOfRange(a.Values); i >= 0 {
		return a, fmt.Errorf("the standard's spectrum: channel %d holds %.6g, which cannot be computed with", i+1, a.Values[i])
	}
	return a, nil
}

// bands places the bands of the certificate.
func (b *Book) bands(a spectrum.Spectrum) []Result {
	std := b.set.Standard
	if std == nil {
		return nil
	}
	axis, err := a.Axis.In(std.Unit)
	if err != nil {
		return []Result{cannot("standard", err.Error())}
	}
	lo, hi := axis.Range()
	var rs []Result
	for _, band := range std.Bands {
		about := std.about(band)
		if band.At < lo || band.At > hi {
			rs = append(rs, missing(about, band.At, fmt.Sprintf("the axis goes from %.6g to %.6g %s", lo, hi, std.Unit.Symbol())))
			continue
		}
		at, err := std.Locate(axis, a.Values, band.At)
		if err != nil {
			rs = append(rs, missing(about, band.At, err.Error()))
			continue
		}
		tolerance := band.Tolerance
		if tolerance == 0 {
			tolerance = std.Tolerance(band.At)
		}
		l := Pair{b.set.Limits.Band.Ageing * tolerance, b.set.Limits.Band.Unfit * tolerance}
		off := math.Abs(at - band.At)
		one := result(BandAt, off, std.Unit.Symbol(), l, finding.Of(finding.BandMoved, std.Unit.Symbol()+" ("+std.Method.String()+")", band.At, at-band.At, tolerance))
		one.About = about
		rs = append(rs, one)
	}
	return rs
}

func missing(about string, at float64, why string) Result {
	return Result{Measure: BandAt, About: about, Finding: finding.Of(finding.BandNotFound, why, at)}
}
