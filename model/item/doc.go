// Package item makes one spectrum of each single piece that passes the instrument: it leaves out the empty belt and the
// edges of pieces, and averages what is left of one piece. It does not judge: what it gives is judged as any spectrum, so
// that verdicts count pieces.
package item
