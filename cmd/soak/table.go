package main

import (
	"fmt"
	"strings"
	"time"
)

const heading = "| files | judged | lost | doubled | delay p50 | p99 | most | first verdict | files/s | CPU a file | memory at start | after a fifth | at the end | at most | to stop | load |\n" +
	"|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|\n"

// row writes a result as a row of the table.
func (r *result) row() string {
	rate := "–"
	if r.took > 0 {
		rate = fmt.Sprintf("%.0f", float64(r.judged)/r.took.Seconds())
	}
	name := r.job.name
	if len(r.byThen) > 0 {
		name += fmt.Sprintf(" (at %s)", strings.Trim(strings.ReplaceAll(fmt.Sprint(r.byThen), " ", ", "), "[]"))
	}
	judged := fmt.Sprintf("%d of %d", r.judged, r.job.files)
	if r.unreadable > 0 {
		judged += fmt.Sprintf(", %d unreadable", r.unreadable)
	}
	cells := []string{name, judged, fmt.Sprint(r.lost), fmt.Sprint(r.doubled), span(r.p50), span(r.p99), span(r.most), span(r.first), rate,
		span(r.cpu / time.Duration(max(r.judged, 1))), megabytes(r.atStart), megabytes(r.atFifth), megabytes(r.atEnd), megabytes(r.peak),
		span(r.stopped), r.load}
	return "| " + strings.Join(cells, " | ") + " |\n"
}

// memory writes the memory over a job of more than a minute, and by how much it grew over the second half of that, where all
// that is set up at the start has been.
func (r *result) memory() string {
	if len(r.course) < 2 {
		return ""
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s, memory after each minute, MB:", r.job.name)
	for _, n := range r.course {
		fmt.Fprintf(&b, " %.1f", float64(n)/1e6)
	}
	half := r.course[len(r.course)/2:]
	if files := float64(r.judged) * float64(len(half)-1) / float64(len(r.course)); len(half) > 1 && files > 0 {
		grown := slope(half) * float64(len(half)-1)
		fmt.Fprintf(&b, "; over the last %d it grew by %.1f MB, %.0f bytes a file", len(half)-1, grown/1e6, grown/files)
	}
	return b.String() + ".\n"
}

// slope is that of the straight line of least squares through values that are one apart.
func slope(values []int64) float64 {
	var sum, weights float64
	middle := float64(len(values)-1) / 2
	for i, v := range values {
		sum += (float64(i) - middle) * float64(v)
		weights += (float64(i) - middle) * (float64(i) - middle)
	}
	return sum / weights
}

// span writes a time with three significant digits.
func span(d time.Duration) string {
	switch {
	case d == 0:
		return "–"
	case d < time.Millisecond:
		return fmt.Sprintf("%.3g µs", float64(d)/1e3)
	case d < time.Second:
		return fmt.Sprintf("%.3g ms", float64(d)/1e6)
	}
	return fmt.Sprintf("%.3g s", d.Seconds())
}

func megabytes(n int64) string {
	if n == 0 {
		return "–"
	}
	return fmt.Sprintf("%.0f MB", float64(n)/1e6)
}
