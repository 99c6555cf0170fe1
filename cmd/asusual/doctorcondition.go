package main

import (
	"slices"
	"strconv"
	"strings"

	"asusual/cmd/asusual/config"
	"asusual/model"
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
