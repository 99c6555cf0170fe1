package main

import (
	"strings"
	"time"

	"asusual/cmd/asusual/words"
	"asusual/model/finding"
	"asusual/report"
)

// language is that of the site; nil for English.
func (e *examination) language() *report.Language {
	if e.config == nil {
		return nil
	}
	return e.config.Site.Language
}

// count, figure and lasting say numbers and times as the pages do.
func (e *examination) count(n int) string            { return e.language().Count(n) }
func (e *examination) figure(v float64) string       { return e.language().Fixed(v, 1) }
func (e *examination) lasted(d time.Duration) string { return e.language().Lasts(d) }

// reasons says findings in one sentence.
func (e *examination) reasons(all []finding.Finding) string {
	var texts []string
	for _, f := range all {
		texts = append(texts, e.language().Clause(f))
	}
	return strings.Join(texts, "; ")
}

func (e *examination) say(key string, put ...string) string { return words.Doctor(e.tag, key, put...) }

func (e *examination) note(line, state, key string, put []string) {
	for i := 1; i < len(put); i += 2 {
		switch put[i-1] {
		case "reason", "axis", "quantity":
			put[i] = e.language().Said(put[i])
		}
	}
	s := seen{Kind: "check", Line: line, Check: key, State: state, Text: e.say(key, put...)}
	if state != fine {
		s.Try = words.Doctor(e.tag, key+".try", put...)
	}
	e.found = append(e.found, s)
}

func (e *examination) fine(line, key string, put ...string)  { e.note(line, fine, key, put) }
func (e *examination) look(line, key string, put ...string)  { e.note(line, look, key, put) }
func (e *examination) wrong(line, key string, put ...string) { e.note(line, wrong, key, put) }
