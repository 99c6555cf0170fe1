package config

import (
	"fmt"
	"path/filepath"
	"slices"
	"time"

	"asusual/model/check"
	"asusual/model/detector"
	"asusual/model/fourier"
	"asusual/model/spectrum"
)

// An Instrument says what the line provides to check and to use its raw intensities.
type Instrument struct {
	Dark      string             // the file of one dark spectrum that is used for all
	Reference string             // the file of one reference (white, or empty path) spectrum that is used for all
	From      []string           // folders in which the instrument's own spectra lie, beside those that are read anyway
	Detector  *detector.Detector // nil: not named
	Exposure  time.Duration      // integration time of one spectrum; 0: what the files say
	Every     time.Duration      // from one spectrum to the next; 0: what the times of the spectra say
	Rules     check.Rules        // tell dark, reference and standard spectra from those of production
	Check     check.Settings
	Fourier   *fourier.Options // how interferograms are transformed; nil: files hold none
}

// Own reports whether a spectrum is the instrument's own by where its file lies, how that is called, and the label that stands in it.
// A path of the configuration and one of a command line may be relative, each in its way.
func (i Instrument) Own(file, label string) bool {
	if i.Rules.Of(spectrum.Spectrum{File: file, Label: label}) != check.Sample {
		return true
	}
	whole, err := filepath.Abs(file)
	lies := func(path string) bool {
		p, err2 := filepath.Abs(path)
		return path != "" && err == nil && err2 == nil && inside(p, whole)
	}
	return lies(i.Dark) || lies(i.Reference) || slices.ContainsFunc(i.From, lies)
}

// decodeInstrument reads [line.instrument] and what is below it.
func decodeInstrument(t *table) Instrument {
	var in Instrument
	t.filePath("dark", &in.Dark)
	t.filePath("reference", &in.Reference)
	if t.has("dark") != t.has("reference") {
		t.doc.wrong(t.path, "[line.instrument] has only one of dark and reference; an absorbance needs both")
	}
	t.filePaths("from", &in.From)
	t.parse("detector", func(s string) error {
		d, err := detector.Named(s)
		in.Detector = &d
		return err
	})
	t.parse("integration-time", func(s string) (err error) {
		in.Exposure, err = positive(s)
		return err
	})
	t.parse("every", func(s string) (err error) {
		in.Every, err = positive(s)
		return err
	})
	t.number("full-counts", &in.Check.Light.Full)
	if in.Check.Light.Full < 0 {
		t.wrongKind("full-counts", in.Check.Light.Full, "a number of counts above 0")
	}
	t.parse("stale-after", func(s string) (err error) {
		in.Check.Light.Stale, err = positive(s)
		return err
	})
	t.count("first", &in.Check.First)
	t.moment("since", &in.Check.Since)
	for _, c := range t.tables("check") {
		in.Rules = append(in.Rules, decodeRule(c))
	}
	if s := t.table("standard"); s != nil {
		in.Check.Standard = decodeStandard(s)
	}
	if l := t.table("limits"); l != nil {
		decodeLimits(l, &in.Check.Limits)
	}
	t.end()
	return in
}

// positive reads a duration above zero.
func positive(s string) (time.Duration, error) {
	d, err := time.ParseDuration(s)
	if err != nil || d <= 0 {
		return 0, fmt.Errorf("%q is not a duration such as 8h or 30m", s)
	}
	return d, nil
}

func decodeRule(t *table) check.Rule {
	var r check.Rule
	t.parse("role", func(s string) error {
		if err := r.Role.UnmarshalText([]byte(s)); err != nil || r.Role == check.Sample {
			return fmt.Errorf("%q is not one of dark, reference, standard", s)
		}
		return nil
	})
	if !t.has("role") {
		t.doc.wrong(t.path, "a [[line.instrument.check]] needs a role: dark, reference or standard")
	}
	t.text("folder", &r.Folder)
	t.text("name", &r.Name)
	t.text("label", &r.Label)
	if err := (check.Rules{r}).Validate(); err != nil && t.has("role") {
		t.doc.wrong(t.path, "a [[line.instrument.check]] needs folder, name or label, a pattern such as dark*.csv")
	}
	t.end()
	return r
}

func decodeStandard(t *table) *check.Certificate {
	c := &check.Certificate{Unit: spectrum.Nanometre}
	t.text("name", &c.Name)
	t.parse("unit", func(s string) (err error) {
		c.Unit, err = spectrum.ParseUnit(s)
		return err
	})
	t.parse("method", func(s string) error { return c.Method.UnmarshalText([]byte(s)) })
	t.number("window", &c.Window)
	before := len(t.doc.problems)
	for _, b := range t.tables("band") {
		var band check.Band
		b.number("at", &band.At)
		b.number("tolerance", &band.Tolerance)
		if !b.has("at") {
			t.doc.wrong(b.path, "a [[line.instrument.standard.band]] needs at, as the certificate states it")
		}
		b.end()
		c.Bands = append(c.Bands, band)
	}
	if err := c.Validate(); err != nil && len(t.doc.problems) == before {
		t.doc.wrong(t.path, "%v", err)
	}
	t.end()
	return c
}

// decodeLimits reads the limits that are set, each a list of two: ageing and unfit.
func decodeLimits(t *table, l *check.Limits) {
	for _, p := range [...]struct {
		key string
		to  *check.Pair
	}{
		{"dark-level", &l.DarkLevel}, {"dark-noise", &l.DarkNoise}, {"light", &l.Light}, {"line-mean", &l.LineMean}, {"line", &l.LineEach},
		{"line-times", &l.LineTimes}, {"saturated", &l.Saturated}, {"dead", &l.Dead}, {"hot", &l.Hot}, {"stuck", &l.Stuck},
		{"repeat", &l.Repeat}, {"band", &l.Band},
	} {
		t.pair(p.key, p.to)
	}
	t.end()
}

// pair reads a list of two numbers, the second at least the first.
func (t *table) pair(key string, dst *check.Pair) {
	v, ok := t.get(key)
	if !ok {
		return
	}
	list, _ := v.([]any)
	var n []float64
	for _, x := range list {
		switch x := x.(type) {
		case int64:
			n = append(n, float64(x))
		case float64:
			n = append(n, x)
		}
	}
	if len(list) != 2 || len(n) != 2 || !(n[0] >= 0 && n[1] >= n[0]) || n[1]-n[1] != 0 {
		t.wrongKind(key, v, "two numbers in brackets, such as [10, 50]: ageing above the first, unfit above the second")
		return
	}
	*dst = check.Pair{Ageing: n[0], Unfit: n[1]}
}

// decodeInterferogram reads [line.interferogram].
func decodeInterferogram(t *table) *fourier.Options {
	var o fourier.Options
	t.number("step", &o.Step)
	t.parse("apodization", func(s string) error { return o.Apodization.UnmarshalText([]byte(s)) })
	t.count("zero-filling", &o.ZeroFill)
	t.count("phase-points", &o.PhasePoints)
	t.number("from", &o.From)
	t.number("to", &o.To)
	if _, err := fourier.NewTransformer(o); err != nil {
		t.doc.wrong(t.path, "%v", err)
	}
	t.end()
	return &o
}
