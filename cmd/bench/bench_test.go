package main

import (
	"context"
	"os"
	"strings"
	"testing"
)

// TestSmall measures jobs once with small files, in this process and without peers. Where all is checked, it builds the
// program and measures that, too.
func TestSmall(t *testing.T) {
	dir := t.TempDir()
	notes := map[string]string{"core": "200 spectra", "streamed": "4200 spectra, read", "backlog": "files/s"}
	asusual := "none"
	if os.Getenv("CI") != "" {
		var err error
		if asusual, err = build(t.Context(), dir); err != nil {
			t.Fatal(err)
		}
		notes["shift"], notes["compare"] = "", ""
	}
	for _, job := range []string{"core", "streamed", "backlog", "whole", "shift", "compare", "help"} {
		args := strings.Fields("-here -files 200 -channels 128 -rows 4200 -wide 64 -shift 400 -shifts 3 -python none -jobs " + job)
		if asusual == "none" && (job == "shift" || job == "compare") {
			continue // without the program there is nothing to make a history for
		}
		var out, errOut strings.Builder
		if status := run(t.Context(), append(args, "-dir", dir, "-asusual", asusual), &out, &errOut); status != 0 {
			t.Fatalf("bench %v = %d: %s", args, status, errOut.String())
		}
		lines := strings.Split(strings.TrimSpace(out.String()), "\n")
		cells := strings.Split(lines[len(lines)-1], "|")
		if len(cells) != 8 || !strings.Contains(cells[1], job) {
			t.Errorf("bench %v prints %s, want the row of the job last", args, out.String())
			continue
		}
		needs := job == "whole" || job == "help"
		if measured := !strings.Contains(cells[3], "not measured"); measured != (!needs || asusual != "none") {
			t.Errorf("bench %v: measured %v in the row %v", args, measured, cells)
		}
		if !strings.Contains(cells[3], notes[job]) {
			t.Errorf("bench %v notes %q, want %q in it", args, cells[3], notes[job])
		}
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

func TestRatio(t *testing.T) {
	for _, c := range []struct {
		peer, ours took
		want       string
	}{
		{took{Wall: 2.5, CPU: 2.4, Peak: 731}, took{Wall: 0.5, CPU: 0.8}, "5 × (CPU 3 ×)"},
		{took{Wall: 30e-6}, took{Wall: 2e-6}, "15 ×"},
		{took{Wall: 30e-3}, took{Missing: true}, "–"},
		{took{Missing: true, Note: "Python has no 'numpy'"}, took{Wall: 1}, "–"},
	} {
		if got := ratio(c.peer, c.ours); got != c.want {
			t.Errorf("ratio(%+v, %+v) = %q, want %q", c.peer, c.ours, got, c.want)
		}
	}
}

func TestDiffers(t *testing.T) {
	ours := took{T2: 16.8, Q: 2.844e-6}
	for _, c := range []struct {
		peer took
		want string
	}{
		{took{T2: 16.8 * (1 + 1e-9), Q: 2.844e-6 * (1 - 1e-9)}, ""},
		{took{T2: 16.8, Q: 2.909e-6}, "; another limit of Q: 2.909e-06, ours is 2.844e-06"},
		{took{Q: 2.844e-6}, "; another limit of T²: 0, ours is 16.8"},
		{took{Missing: true}, ""},
	} {
		if got := differs(c.peer, ours); got != c.want {
			t.Errorf("differs(%+v) = %q, want %q", c.peer, got, c.want)
		}
	}
}

func TestMet(t *testing.T) {
	core, all := took{Wall: 2}, goal{wall: 5, peak: 150, size: 25, cores: 3, ratios: []float64{5, 25}}
	for _, c := range []struct {
		goal  goal
		ours  took
		peers []took
		want  string
	}{
		{all, took{Wall: 1, Peak: 100, Size: 20}, []took{{Wall: 5}, {Wall: 25}}, "yes"},
		{all, took{Wall: 10, Peak: 300, Size: 50}, []took{{Wall: 40}, {Wall: 100}},
			"no: time 2 times the most, memory 2 times the most, binary 2 times the most, time 1.67 times the most, 4 × of 5 ×, 10 × of 25 ×"},
		{all, took{Wall: 1}, []took{{Missing: true}, {Missing: true}}, "open: a peer was not measured"},
		{all, took{Missing: true}, nil, "–"},
		{goal{}, took{Wall: 100}, nil, "yes"},
	} {
		if got := c.goal.met(c.ours, c.peers, core); got != c.want {
			t.Errorf("met(%+v, %+v, %+v) = %q, want %q", c.goal, c.ours, c.peers, got, c.want)
		}
	}
	if got := (goal{cores: 3}).met(took{Wall: 1}, nil, took{}); got != "open: the core was not measured" {
		t.Errorf("met without the core = %q, want it open", got)
	}
}
