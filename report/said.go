package report

import (
	"regexp"
	"slices"
	"strings"
	"sync"

	"asusual/model/finding"
)

// A phrase is what the program says in English below the pages, such as why a file could not be read, and the same in another
// language: * stands for what is put in, {1}, {2}, … for the same in the other language.
type phrase struct{ english, other string }

// A phrasebook turns such texts into a language.
type phrasebook []struct {
	english *regexp.Regexp
	other   string
}

func newPhrasebook(all []phrase) phrasebook {
	all = slices.Clone(all)
	slices.SortStableFunc(all, func(a, b phrase) int { return len(b.english) - len(a.english) }) // of two that fit, the longer says more
	book := make(phrasebook, len(all))
	for i, p := range all {
		book[i].english = regexp.MustCompile(`^(?s:` + strings.ReplaceAll(regexp.QuoteMeta(p.english), `\*`, `(.+?)`) + `)$`)
		book[i].other = p.other
	}
	return book
}

var germanBook = sync.OnceValue(func() phrasebook { return newPhrasebook(slices.Concat(germanPhrases, germanPhrasesMore)) })

// places is how deep phrases lie in phrases at most.
const places = 6

// plainNumber matches a number of the program, perhaps with a unit.
var plainNumber = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^[-−]?\d+\.\d+(–\d+(\.\d+)?)?( \S+)?$`) })

// in says a text in the language of the book; ok is false where the book does not have it, and then it stays as it is. What was put
// into a text, and what stands before or after a colon, is looked up, too.
func (b phrasebook) in(text string, deep int) (said string, ok bool) {
	if deep == 0 {
		return text, false
	}
	for _, p := range b {
		m := p.english.FindStringSubmatch(text)
		if m == nil {
			continue
		}
		put := make([]string, 0, 2*len(m))
		for i, part := range m[1:] {
			inner, _ := b.in(part, deep-1)
			put = append(put, "{"+string(rune('1'+i))+"}", inner)
		}
		return strings.NewReplacer(put...).Replace(p.other), true
	}
	if before, after, cut := strings.Cut(text, ": "); cut {
		first, ok1 := b.in(before, deep-1)
		rest, ok2 := b.in(after, deep-1)
		return first + ": " + rest, ok1 || ok2
	}
	if plainNumber().MatchString(text) {
		return strings.ReplaceAll(text, ".", ","), true
	}
	return text, false
}

// Said says in the language what the program says in English below the pages: why a file could not be read, how spectra are
// pretreated, what an instrument was checked for. What is not known stays as it is.
func (l *Language) Said(text string) string {
	if orEnglish(l).Tag != "de" {
		return text
	}
	said, _ := germanBook().in(text, places)
	return said
}

// about says what a finding is about: a text of the program, or the name of a condition.
func (l *Language) about(f finding.Finding) string {
	switch f.Kind {
	case finding.OffAxis, finding.NotUsed, finding.NotAbsorbance, finding.NotPretreated, finding.NoReach, finding.Default, finding.CannotCheck, finding.BandNotFound,
		finding.NotItsAxis, finding.AxisBeyond, finding.LeansBeyond, finding.ExposureNotTold, finding.ItemChanged, finding.BandMoved,
		finding.LightLevel, finding.LineNoise:
		return l.Said(f.About)
	case finding.Overstays, finding.InTransition, finding.Untimely:
		return l.condition(f.About)
	case finding.Overlap:
		if a, b, ok := strings.Cut(f.About, " and "); ok {
			return l.condition(a) + " " + l.say("and") + " " + l.condition(b)
		}
	}
	return f.About
}
