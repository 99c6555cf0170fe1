package main

import (
	"context"
	"os"
	"strings"
	"testing"
)

// TestSmall measures every job once with small files, in this process and without peers. Where all is checked, it
// builds the program and measures that, too.
func TestSmall(t *testing.T) {
	asusual := "none"
	if os.Getenv("CI") != "" {
		asusual = ""
	}
	args := strings.Fields("-here -files 200 -channels 128 -rows 4200 -wide 64 -shift 400 -shifts 3 -python none")
	if asusual != "" {
		args = append(args, "-asusual", asusual)
	}
	var out, errOut strings.Builder
	if status := run(context.Background(), append(args, "-dir", t.TempDir()), &out, &errOut); status != 0 {
		t.Fatalf("bench %v = %d: %s", args, status, errOut.String())
	}
	rows := 0
	for _, line := range strings.Split(out.String(), "\n") {
		cells := strings.Split(line, "|")
		if len(cells) < 8 || cells[1] == "---" || strings.TrimSpace(cells[1]) == "job" {
			continue
		}
		rows++
		measured := strings.TrimSpace(cells[3]) != "–"
		if program := strings.Contains(cells[1], "whole") || strings.Contains(cells[1], "shift") || strings.Contains(cells[1], "compare") ||
			strings.Contains(cells[1], "help"); measured != (!program || asusual == "") {
			t.Errorf("bench %v: measured %v in the row %s", args, measured, line)
		}
		for what, note := range map[string]string{"core": "200 spectra", "streamed": "4200 spectra, read", "backlog": "files/s"} {
			if strings.Contains(cells[1], what) && !strings.Contains(cells[7], note) {
				t.Errorf("bench %v: the row of %s notes %q, want %q in it", args, what, cells[7], note)
			}
		}
	}
	if want := len((&bench{}).list()); rows != want {
		t.Errorf("bench %v prints %d rows, want %d:\n%s", args, rows, want, out.String())
	}
}

// TestGrowth: the smallest size of each growing job.
func TestGrowth(t *testing.T) {
	for _, job := range []string{"growth learn 600 128", "growth pca 4500 64", "growth judge 50 128", "growth history 3000 6"} {
		took, err := options{dir: t.TempDir(), child: job}.childJob(context.Background())
		if err != nil || took.Wall <= 0 {
			t.Errorf("%s = %+v, %v; want a time", job, took, err)
		}
	}
}

func TestWrongUse(t *testing.T) {
	for _, args := range []string{"-files 3", "-channels 2000", "somewhere", "-nothing"} {
		var out, errOut strings.Builder
		if status := run(context.Background(), strings.Fields(args), &out, &errOut); status != 2 || errOut.Len() == 0 {
			t.Errorf("bench %s = %d, %q; want 2 and a reason", args, status, errOut.String())
		}
	}
	var out, errOut strings.Builder
	if status := run(context.Background(), []string{"-child", "nothing"}, &out, &errOut); status != 1 || !strings.Contains(errOut.String(), `"nothing" is no job`) {
		t.Errorf("bench -child nothing = %d, %q; want 1 and that it is no job", status, errOut.String())
	}
}

func TestAgainst(t *testing.T) {
	for _, c := range []struct {
		peer, ours took
		want       string
	}{
		{took{Wall: 2.5, CPU: 2.4, Peak: 731}, took{Wall: 0.5, CPU: 0.8}, "2.5 s (5 ×; CPU 3 ×), 731 MB"},
		{took{Wall: 30e-6}, took{Wall: 2e-6}, "30 µs (15 ×)"},
		{took{Wall: 30e-3}, took{Missing: true}, "30 ms"},
		{took{Missing: true, Note: "Python has no 'numpy'"}, took{Wall: 1}, "not measured: Python has no 'numpy'"},
	} {
		if got := against(c.peer, c.ours); got != c.want {
			t.Errorf("against(%+v, %+v) = %q, want %q", c.peer, c.ours, got, c.want)
		}
	}
}
