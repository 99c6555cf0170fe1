// Package item makes one spectrum of each item, a single thing that passes the instrument: it leaves out the empty belt and
// the edges of items, and averages what is left of one. It does not judge: what it gives is judged as any spectrum, so
// that verdicts count items.
package item
