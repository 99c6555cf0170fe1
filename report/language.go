package report

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"asusual/model/finding"
	"asusual/model/limits"
	"asusual/report/chart"
)

// A Language is all the words of the pages and pictures in one language.
type Language struct {
	Tag      string            // of BCP 47, such as "en"
	Text     map[string]string // the sentences, by key; {…} stands for what is put in
	Findings finding.Words
	Pictures chart.Words
}

// say returns a sentence with the given names and values put in, in pairs. A key without a sentence is shown as it stands.
func (l *Language) say(key string, put ...string) string {
	text, ok := l.Text[key]
	if !ok {
		return "[" + key + "]"
	}
	if len(put) == 0 {
		return text
	}
	old := make([]string, len(put))
	for i, s := range put {
		if i%2 == 0 {
			s = "{" + s + "}"
		}
		old[i] = s
	}
	return strings.NewReplacer(old...).Replace(text)
}

// Say returns a sentence of the language, for whoever puts a page together.
func (l *Language) Say(key string, put ...string) string { return orEnglish(l).say(key, put...) }

// condition says a condition: those that bear no name that a person gave are said in the language.
func (l *Language) condition(name string) string {
	if text, ok := l.Text["condition."+name]; ok {
		return text
	}
	return name
}

// ConditionName says a condition in the language.
func (l *Language) ConditionName(name string) string { return orEnglish(l).condition(name) }

// group says the name of an uncharted group, such as "group 2026-11-25 A", in the language; the name that a person gave stays.
func (l *Language) group(name string) string {
	if id, ok := strings.CutPrefix(name, "group "); ok {
		return l.say("group.name", "id", id)
	}
	return l.condition(name)
}

// GroupName says the name of an uncharted group in the language.
func (l *Language) GroupName(name string) string { return orEnglish(l).group(name) }

// quantity says what a spectrum shows.
func (l *Language) quantity(name string) string {
	if text, ok := l.Text["quantity."+name]; ok {
		return text
	}
	return name
}

// promise says a promise in the language; what is none stands as it is.
func (t *teller) promise(s string) string {
	p, err := limits.ParsePromise(s)
	if err != nil {
		return s
	}
	return t.say("promise", "n", t.short(p.Episodes, 3), "time", t.duration(p.Per))
}

// count returns one of two sentences, for one and for many (or none).
func (l *Language) count(key string, n int, put ...string) string {
	if n == 1 {
		key += ".one"
	} else {
		key += ".many"
	}
	return l.say(key, append(put, "n", l.whole(n))...)
}

// finding says a finding as a sentence.
func (l *Language) finding(f finding.Finding) string {
	return sentence(l.clause(f))
}

// clause says a finding as a part of a sentence.
func (l *Language) clause(f finding.Finding) string {
	f.About = l.about(f)
	return f.In(l.Findings)
}

// Clause says a finding as a part of a sentence.
func (l *Language) Clause(f finding.Finding) string { return orEnglish(l).clause(f) }

// sentence gives a clause a capital and a full stop.
func sentence(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(first)) + s[n:] + stop(s)
}

func stop(s string) string {
	if strings.HasSuffix(s, ".") || strings.HasSuffix(s, "!") || strings.HasSuffix(s, "?") {
		return ""
	}
	return "."
}

// orEnglish returns the language, or English for none.
func orEnglish(l *Language) *Language {
	if l == nil {
		return English()
	}
	return l
}
