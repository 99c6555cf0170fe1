package main

import (
	"context"
	"slices"
	"strconv"
	"strings"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
	"asusual/model"
	"asusual/monitor/history"
)

// conditions looks for conditions of the configuration that the reference does not know.
func (e *examination) conditions(l config.Line, ref *model.Reference) {
	if ref == nil {
		return
	}
	var known []string
	for _, k := range ref.Conditions {
		known = append(known, strconv.Quote(k.Name))
	}
	for _, c := range l.Conditions {
		switch q := strconv.Quote(c.Name); {
		case slices.Contains(known, q):
		case len(known) == 0:
			e.look(l.Name, "condition.none", "name", q)
		default:
			e.look(l.Name, "condition.unknown", "name", q, "known", strings.Join(known, ", "))
		}
	}
}

// unnamed looks for lines of the history that no [[line]] names.
func (e *examination) unnamed(ctx context.Context, db *history.DB) {
	all, err := unnamed(ctx, e.config, db)
	if err != nil {
		e.wrong("", "history.bad", "reason", err.Error(), "hint", words.HintIn(e.tag, err))
	}
	for _, l := range all {
		put := []string{"name", strconv.Quote(l.name), "last", words.Moment(l.last.In(e.config.Zone()))}
		if e.now.Sub(l.last) <= leftAfter {
			e.look("", "line.left", put...)
		} else {
			e.fine("", "line.left", put...)
		}
	}
}
