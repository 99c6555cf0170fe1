package monitor_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"asusual/model"
	"asusual/model/oatline"
	"asusual/model/pretreat"
	"asusual/model/spectrum"
	"asusual/monitor"
	"asusual/monitor/history"
)

func TestCatchUpJudgesEachFileOnce(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 150)
	b.putAll(spectra)
	b.put("20261123-broken.csv", []byte("1000,0.1\n1001,zero\n1002,0.1\n"), monday)
	b.catchUp()
	b.expect("after one pass", spectra)
	ref := reference(t)
	for i, r := range b.records() {
		want := ref.Judge(spectra[i])
		// A file has six decimals, so the position is not quite that of the spectrum before it was written.
		if !(math.Abs(r.Distance-want.Distance) <= 0.05*(1+want.Distance)) || r.Condition == "" || r.Verdict == "" || r.Reference != ref.Fingerprint() {
			t.Fatalf("record %d = %+v, want distance %v", i, r, want.Distance)
		}
	}
	if us := all(t, b.db.Unreadable(t.Context(), everything)); len(us) != 1 || us[0].TextLine != 2 || !strings.Contains(us[0].Reason, "zero") {
		t.Errorf("Unreadable = %+v, want the broken file and its line 2", us)
	}
	means, n := all(t, b.db.Means(t.Context(), everything)), 0
	for _, m := range means {
		n += m.Count
	}
	if len(means) < 30 || n != len(spectra) {
		t.Errorf("Means = %d stretches of %d spectra, want 30 of %d", len(means), n, len(spectra))
	}
	if m := means[0]; m.Length != 5*time.Minute || !m.From.Equal(monday) {
		t.Errorf("the first mean is of %v from %v, want 5m from %v", m.Length, m.From, monday)
	}
	refs := all(t, b.db.References(t.Context(), everything))
	if len(refs) != 1 || refs[0].Fingerprint != ref.Fingerprint() || !refs[0].Since.Equal(monday) {
		t.Errorf("References = %+v, want one since %v", refs, monday)
	}
	before := b.counts()
	b.catchUp()
	if after := b.counts(); !reflect.DeepEqual(after, before) {
		t.Errorf("Counts after a second pass = %+v, want %+v", after, before)
	}
}

// A law: a watch that was stopped and started anywhere says what one that was not says.
func TestARestartChangesNothing(t *testing.T) {
	spectra := produced(t, 240, oatline.Upset{Kind: oatline.OilPump, After: 100 * time.Minute})
	whole := newBench(t)
	whole.putAll(spectra)
	whole.catchUp()
	want := whole.records()
	episodes := all(t, whole.db.Episodes(t.Context(), everything))
	if len(episodes) == 0 || episodes[0].Instrument != "fit" || episodes[0].Group == "" {
		t.Fatalf("Episodes with an oil pump that fails = %+v, want one of a group, the instrument fit", episodes)
	}
	groups := all(t, whole.db.Groups(t.Context(), everything))
	if len(groups) == 0 || groups[0].Spectra < 8 || groups[0].Episode.IsZero() {
		t.Fatalf("Groups with an oil pump that fails = %+v, want one of many spectra, met in the episode", groups)
	}
	if of := all(t, whole.db.OfGroup(t.Context(), everything, groups[0].Name)); len(of) < groups[0].Spectra-8 || of[0].Condition != model.Uncharted {
		t.Errorf("OfGroup = %d records, want about the %d of the group", len(of), groups[0].Spectra)
	}
	// The mean of a group is that of all its spectra: those that history names, and those before it was a group.
	if m := groups[0].Mean; m == nil || m.Count != groups[0].Spectra || m.Axis.Len() != len(m.Values) {
		t.Errorf("the mean of %s = %+v, want that of its %d spectra", groups[0].Name, m, groups[0].Spectra)
	}
	for _, cuts := range [][]int{{1}, {120}, {60, 130, 131, 200}} {
		b := newBench(t)
		from := 0
		for _, to := range append(cuts, len(spectra)) {
			b.putAll(spectra[from:to])
			b.catchUp()
			from = to
			if err := b.db.Close(); err != nil {
				t.Fatal(err)
			}
			b.open()
		}
		got := b.records()
		if len(got) != len(want) {
			t.Fatalf("stopped at %v: %d records, want %d", cuts, len(got), len(want))
		}
		for i := range got {
			got[i].Received = want[i].Received
			if !reflect.DeepEqual(got[i], want[i]) {
				t.Fatalf("stopped at %v: record %d = %+v, want %+v", cuts, i, got[i], want[i])
			}
		}
		if got := all(t, b.db.Episodes(t.Context(), everything)); !reflect.DeepEqual(got, episodes) {
			t.Errorf("stopped at %v: Episodes = %+v, want %+v", cuts, got, episodes)
		}
		if got := all(t, b.db.Groups(t.Context(), everything)); !reflect.DeepEqual(got, groups) {
			t.Errorf("stopped at %v: Groups = %+v, want %+v", cuts, got, groups)
		}
		a, err := b.db.State(t.Context(), "Filler 3")
		if want, err2 := whole.db.State(t.Context(), "Filler 3"); err != nil || err2 != nil || !reflect.DeepEqual(a, want) {
			t.Errorf("stopped at %v: State = %v, %v, want that of one pass", cuts, a.Newest, errors.Join(err, err2))
		}
	}
}

func TestATableThatGrows(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 40)
	for _, n := range []int{3, 4, 5, 30} {
		b.put("day.csv", table(t, spectra[:n]), monday.Add(time.Duration(n)*time.Minute))
		b.catchUp()
		b.expect(fmt.Sprintf("%d rows", n), spectra[:n])
	}
	for i, r := range b.records() {
		if r.Row != i+1 || r.File != "day.csv" {
			t.Errorf("record %d = %s row %d, want day.csv row %d", i, r.File, r.Row, i+1)
		}
	}
	broken := append(table(t, spectra[:30]), "2026-11-23T06:31:00Z,,,a,b,c\n"...)
	b.put("day.csv", broken, monday.Add(time.Hour))
	b.catchUp()
	us := all(t, b.db.Unreadable(t.Context(), everything))
	lines := bytes.Count(broken, []byte("\n"))
	if len(us) != 1 || us[0].Row != 31 || us[0].TextLine != lines {
		t.Errorf("Unreadable = %+v, want row 31 in line %d", us, lines)
	}
	if c := b.counts(); c.Copies != 0 {
		t.Errorf("Copies = %d, want none", c.Copies)
	}

	b.put("day.csv", table(t, spectra), monday.Add(2*time.Hour)) // its broken row is mended: it was saved anew
	b.catchUp()
	b.expect("saved anew", spectra)
	if c := b.counts(); c.Copies != 30 {
		t.Errorf("Copies after it was saved anew = %d, want the 30 rows of before", c.Copies)
	}
	b.put("copy of day.csv", table(t, spectra[:20]), monday.Add(3*time.Hour)) // a copy of an earlier state, under another name
	b.catchUp()
	b.expect("with a copy", spectra)
	if cs := all(t, b.db.Copies(t.Context(), everything)); len(cs) != 2 || cs[1].Of != "day.csv" || cs[1].Rows != 20 {
		t.Errorf("Copies = %+v, want 20 rows of day.csv", cs)
	}
}

// A watch that is stopped before it has begun ends in good order.
func TestAWatchThatIsStoppedAtOnce(t *testing.T) {
	b := newBench(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := monitor.Watch(ctx, b.line()); err != nil {
		t.Errorf("Watch = %v, want nil", err)
	}
}

// A row that is still being written is not judged before its line ends.
func TestHalfARowWaits(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 5)
	whole := table(t, spectra)
	half := whole[:bytes.LastIndexByte(whole[:len(whole)-1], '\n')+40]
	b.put("day.csv", half, time.Now())
	line := b.line()
	line.Quiet = time.Hour
	wait := kept(t, &line)
	stop := watching(t, line)
	defer func() { stop() }()
	wait(4)
	stop()
	b.expect("without the half row", spectra[:4])
	b.put("day.csv", whole[:len(whole)-1], time.Now()) // now whole, but no line end follows
	line.Quiet = time.Millisecond
	wait = kept(t, &line)
	stop = watching(t, line)
	wait(1)
	stop()
	b.expect("after a quiet time", spectra)
	if c := b.counts(); c.Unreadable != 0 || c.Copies != 0 {
		t.Errorf("Counts = %+v, want nothing unreadable and no copies", c)
	}
}

func TestCopiesAndResaves(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 4)
	b.putAll(spectra[:3])
	b.put("other name.csv", text(t, spectra[1]), monday.Add(time.Hour)) // in the same batch as its original
	b.catchUp()
	b.expect("with a copy", spectra[:3])
	b.put("a third name.csv", text(t, spectra[1]), monday.Add(2*time.Hour)) // and in a later one
	var zipped bytes.Buffer
	z := gzip.NewWriter(&zipped)
	if _, err := z.Write(text(t, spectra[2])); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	b.put(fileName(spectra[2])+".gz", zipped.Bytes(), monday.Add(3*time.Hour))
	b.catchUp()
	b.expect("with three copies", spectra[:3])
	if c := b.counts(); c.Copies != 3 || c.Received != 6 {
		t.Errorf("Counts = %+v, want 3 copies of 6 received", c)
	}

	b.put(fileName(spectra[0]), text(t, spectra[3]), monday.Add(4*time.Hour)) // another spectrum under a known name
	b.catchUp()
	b.expect("with a name used again", spectra)
	if !strings.Contains(b.logged(), "written to after it was judged") {
		t.Errorf("log does not say that the file was written to after it was judged:\n%s", b.logged())
	}
	now := time.Now()
	if err := os.Chtimes(filepath.Join(b.folder, fileName(spectra[2])), now, now); err != nil {
		t.Fatal(err)
	}
	before := b.counts()
	b.catchUp()
	if after := b.counts(); !reflect.DeepEqual(after, before) {
		t.Errorf("Counts after a file was touched = %+v, want %+v", after, before)
	}

	line := b.line()
	line.Copies = true
	b.put("wanted twice.csv", text(t, spectra[1]), monday.Add(5*time.Hour))
	if err := monitor.CatchUp(t.Context(), line); err != nil {
		t.Fatal(err)
	}
	if got := len(b.records()); got != 5 {
		t.Errorf("records where copies are wanted = %d, want 5", got)
	}
}

func TestZippedFiles(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 3)
	for _, s := range spectra {
		var out bytes.Buffer
		z := gzip.NewWriter(&out)
		if _, err := z.Write(text(t, s)); err != nil {
			t.Fatal(err)
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		b.put(fileName(s)+".gz", out.Bytes(), s.Time)
	}
	b.catchUp()
	b.expect("zipped", spectra)
}

func TestLateSpectraDoNotDisturbTheVerdict(t *testing.T) {
	spectra := produced(t, 100)
	b := newBench(t)
	b.putAll(spectra[20:])
	b.catchUp()
	state, err := b.db.State(t.Context(), "Filler 3")
	if err != nil {
		t.Fatal(err)
	}
	b.putAll(spectra[:20])
	b.catchUp()
	b.expect("with late ones", spectra)
	after, err := b.db.State(t.Context(), "Filler 3")
	if err != nil || !bytes.Equal(after.Course, state.Course) || !after.Newest.Equal(state.Newest) {
		t.Errorf("State after late spectra = %+v, %v, want %+v", after, err, state)
	}
	if c := b.counts(); c.Late != 20 {
		t.Errorf("Late = %d, want 20", c.Late)
	}
}

// A clock that steps back by an hour, as local time does in autumn.
func TestAClockThatIsPutBack(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 200)
	for i := range spectra {
		written := spectra[i].Time
		if i >= 100 {
			spectra[i].Time = spectra[i].Time.Add(-time.Hour + time.Second) // not the very times of before
		}
		b.put(fmt.Sprintf("%04d.csv", i), text(t, spectra[i]), written)
	}
	b.catchUp()
	b.expect("put back", spectra)
	late := b.counts().Late
	if late < 1 || late > 40 {
		t.Errorf("Late = %d, want those until it was found out, 29", late)
	}
	if n := strings.Count(b.logged(), "the clock was put back"); n != 1 {
		t.Errorf("log lines about the clock = %d, want 1:\n%s", n, b.logged())
	}
}

// A spectrum of 2030 is not the last one for ever: a watch that begins after its time was taken back says so from the start.
func TestTheLastSpectrumIsNotOneOfATimeToCome(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 41)
	b.put("0000.csv", text(t, spectra[0]), spectra[0].Time)
	for i, s := range spectra[1:] {
		if i == 0 {
			s.Time = s.Time.AddDate(4, 0, 0)
		}
		b.put(fmt.Sprintf("%04d.csv", i+1), text(t, s), spectra[i+1].Time)
	}
	b.catchUp()
	again := b.line()
	again.Board = monitor.NewBoard("", nil)
	if err := monitor.CatchUp(t.Context(), again); err != nil {
		t.Fatal(err)
	}
	if got := again.Board.Bulletin().Lines[0].LastSpectrum; !got.Equal(spectra[40].Time) {
		t.Errorf("a watch that begins says that the last spectrum is of %v, want %v", got, spectra[40].Time)
	}
}

// Spectra that come late, as those that a share brings after a weekend, take no part in the verdict: what was said before they came does not
// hold any longer for them.
func TestALateSpectrumDoesNotKeepAVerdictAlive(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 41)
	b.putAll(spectra[1:])
	b.catchUp()
	before := b.records()
	last := before[len(before)-1].Received
	b.putAll(spectra[:1])
	again := b.line()
	again.Board = monitor.NewBoard("", nil)
	if err := monitor.CatchUp(t.Context(), again); err != nil {
		t.Fatal(err)
	}
	got := again.Board.Bulletin().Lines[0]
	if all := b.records(); len(all) != 41 || !all[0].Late || got.Spectra != 1 {
		t.Fatalf("%d spectra are kept, late %v, %d judged by the second watch, want 41, the first late, and 1", len(all), all[0].Late, got.Spectra)
	}
	if !got.LastJudged.Equal(last) {
		t.Errorf("after a late spectrum the last was judged at %v, want %v, when the newest was", got.LastJudged, last)
	}
}

func TestHostileFiles(t *testing.T) {
	b := newBench(t)
	good := produced(t, 2)
	b.putAll(good)
	var bomb bytes.Buffer
	z := gzip.NewWriter(&bomb)
	for i := range 200_000 { // a spectrum without end: 2 MB of lines in a few kilobytes
		if _, err := fmt.Fprintf(z, "%d,0.1\n", 900+i); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	b.put("bomb.csv.gz", bomb.Bytes(), monday)
	b.put("huge.csv", make([]byte, 2<<20), monday)
	b.put("empty.csv", nil, monday)
	b.put("picture.csv", []byte("\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00"), monday)
	line := b.line()
	line.Read.MaxBytes = 1 << 20
	want := map[string]string{"bomb.csv.gz": "unpacks to more than", "huge.csv": "larger than the limit", "empty.csv": "empty", "picture.csv": ""}
	hostile(t, b, want)
	for range 2 { // the second pass finds nothing new to say
		if err := monitor.CatchUp(t.Context(), line); err != nil {
			t.Fatal(err)
		}
		got := map[string]string{}
		for _, u := range all(t, b.db.Unreadable(t.Context(), everything)) {
			got[u.File] += u.Reason
		}
		for name, says := range want {
			if reason, ok := got[name]; !ok || !strings.Contains(reason, says) {
				t.Errorf("%q is unreadable for %q, %v, want %q", name, reason, ok, says)
			}
		}
		if len(got) != len(want) {
			t.Errorf("Unreadable = %q, want %d files", got, len(want))
		}
	}
	b.expect("with hostile files", good)
}

// Values that are numbers and no absorbances: squares of them overflow. They are kept as something, and the watch goes on.
// Spectra are read again as those that were judged, whatever has become of their files.
func TestReread(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 12)
	b.put("day.csv", table(t, spectra[:6]), monday)
	b.putAll(spectra[6:])
	b.catchUp()
	reread := func(n int, lost ...string) {
		t.Helper()
		got, errs := 0, ""
		for s, err := range monitor.Reread(t.Context(), b.line(), b.db.Spectra(t.Context(), everything)) {
			if err != nil {
				errs += err.Error() + "; "
				continue
			}
			if !s.Time.Equal(spectra[got].Time) && len(lost) == 0 || len(s.Values) != channels {
				t.Errorf("Reread, spectrum %d = %v, want %v", got, s.Time, spectra[got].Time)
			}
			got++
		}
		for _, says := range lost {
			if !strings.Contains(errs, says) {
				t.Errorf("Reread = %q, want %q", errs, says)
			}
		}
		if got != n || len(lost) == 0 && errs != "" {
			t.Errorf("Reread = %d spectra, %s, want %d", got, errs, n)
		}
	}
	reread(12)
	if err := os.Remove(filepath.Join(b.folder, fileName(spectra[7]))); err != nil {
		t.Fatal(err)
	}
	b.put("day.csv", table(t, spectra[2:8]), monday) // the first two rows are gone
	b.put(fileName(spectra[8]), text(t, spectra[9]), monday)
	reread(8, fileName(spectra[7])+": cannot be read again: ", "day.csv: 2 of its spectra are not there", fileName(spectra[8])+": 1 of")
	line := b.line()
	line.Folder += " away"
	for _, err := range monitor.Reread(t.Context(), line, b.db.Spectra(t.Context(), everything)) {
		if !errors.Is(err, os.ErrNotExist) {
			t.Errorf("Reread of a folder that is gone = %v, want %v", err, os.ErrNotExist)
		}
	}
}

// Whatever a file holds, and whether or not the pretreatment scales it: nothing that is no number comes out, and the others are judged.
func TestAbsurdValues(t *testing.T) {
	for _, steps := range [][]pretreat.Step{{{Name: "snv"}}, nil, {{Name: "derivative", Window: 40, Degree: 2, Order: 1}}} {
		ref, err := learnBy(1, steps...)
		if err != nil {
			t.Fatal(err)
		}
		b := newBench(t)
		spectra := produced(t, 30)
		for i, v := range []float64{1e300, -1e300, 1e160, 1e-300, 0, math.MaxFloat64, 40, 1e12, -1e11} {
			for c := range spectra[10+i].Values {
				spectra[10+i].Values[c] = v / (1 + float64(c)/100) // no two alike, as of a full detector
				if c%2 == 0 {
					spectra[10+i].Values[c] /= -3
				}
			}
		}
		spectra[19].Values[channels/2] = math.MaxFloat64
		for _, s := range spectra {
			var out bytes.Buffer
			for c, v := range s.Values {
				fmt.Fprintf(&out, "%g,%g\n", s.Axis.At(c), v)
			}
			b.put(fileName(s), out.Bytes(), s.Time)
		}
		line := b.line()
		line.References = monitor.Always{Reference: monitor.Of(ref)}
		line.Read.Quantity = spectrum.Absorbance // and no counts of a detector, as which they would be refused
		if err := monitor.CatchUp(t.Context(), line); err != nil {
			t.Fatalf("%v: CatchUp = %v, want nil", steps, err)
		}
		if c := b.counts(); c.Judged+c.Unreadable != 30 || c.Judged < 20 {
			t.Errorf("%v: Counts = %+v, want 30 received, at least the 20 good ones judged", steps, c)
		}
		for _, r := range b.records() {
			for _, v := range append(r.Scores, r.T2, r.Q, r.Distance) {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%v: record %+v holds what is no number", steps, r)
				}
			}
			for _, f := range r.Reasons {
				for _, v := range f.Values {
					if math.IsNaN(v) || math.IsInf(v, 0) {
						t.Fatalf("%v: record %+v has a reason that holds what is no number", steps, r)
					}
				}
			}
		}
		if s, err := b.db.State(t.Context(), "Filler 3"); err != nil || s.Course == nil {
			t.Errorf("%v: State = %v, want one", steps, err)
		}
	}
}

func TestAReferenceReplacedWhileWatching(t *testing.T) {
	b := newBench(t)
	path := filepath.Join(t.TempDir(), "line.reference")
	write := func(ref *model.Reference, damage bool) {
		var out bytes.Buffer
		if err := ref.Encode(&out); err != nil {
			t.Fatal(err)
		}
		text := out.Bytes()
		if damage {
			text[len(text)/2] ^= 1
		}
		if err := os.WriteFile(path+".new", text, 0o644); err != nil {
			t.Fatal(err)
		}
		if err := os.Rename(path+".new", path); err != nil {
			t.Fatal(err)
		}
	}
	first := reference(t)
	second, err := learn(2)
	if err != nil {
		t.Fatal(err)
	}
	write(first, false)
	line := b.line()
	refs, err := monitor.NewReferenceFile(path, line.Log)
	if err != nil {
		t.Fatal(err)
	}
	line.References = refs
	spectra := produced(t, 6)
	for i, step := range []struct {
		do   func()
		want string
	}{
		{func() {}, first.Fingerprint()},
		{func() { write(second, true) }, first.Fingerprint()},
		{func() { write(second, false) }, second.Fingerprint()},
		{func() { os.Remove(path) }, second.Fingerprint()},
		{func() { write(first, false) }, first.Fingerprint()},
	} {
		step.do()
		refs.LookNow()
		b.put(fileName(spectra[i]), text(t, spectra[i]), spectra[i].Time)
		if err := monitor.CatchUp(t.Context(), line); err != nil {
			t.Fatal(err)
		}
		rs := b.records()
		if got := rs[len(rs)-1].Reference; len(rs) != i+1 || got != step.want {
			t.Errorf("step %d: judged by %s, want %s", i, got, step.want)
		}
	}
	for _, says := range []string{"is refused", "is gone", "a new reference is in force"} {
		if !strings.Contains(b.logged(), says) {
			t.Errorf("log does not say %q:\n%s", says, b.logged())
		}
	}
	if _, err := monitor.NewReferenceFile(filepath.Join(t.TempDir(), "none"), nil); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("NewReferenceFile of nothing = %v, want %v", err, os.ErrNotExist)
	}
}

// A group is named while the line runs: the reference has a new version, and the verdict goes on as if nothing had been.
func TestAVersionWithANamedGroupGoesOn(t *testing.T) {
	spectra := produced(t, 200, oatline.Upset{Kind: oatline.Dilution, After: 100 * time.Minute, Size: 0.3})
	b := newBench(t)
	b.putAll(spectra[:150])
	b.catchUp()
	groups := all(t, b.db.Groups(t.Context(), everything))
	if len(groups) == 0 {
		t.Fatal("Groups with a leak of water = none, want one")
	}
	train := &model.Training{}
	of := b.db.OfGroup(t.Context(), everything, groups[0].Name)
	for _, s := range all(t, monitor.Reread(t.Context(), b.line(), of)) {
		train.Add("leak", s)
	}
	named, err := reference(t).WithCondition(model.Naming{Name: "leak", At: monday}, train)
	if err != nil {
		t.Fatal(err)
	}
	before, err := b.db.State(t.Context(), "Filler 3")
	if err != nil {
		t.Fatal(err)
	}
	b.putAll(spectra[150:])
	line := b.line()
	line.References = monitor.Always{Reference: monitor.Of(named)}
	if err := monitor.CatchUp(t.Context(), line); err != nil {
		t.Fatal(err)
	}
	rs := b.records()
	last := rs[len(rs)-1]
	if last.Reference != named.Fingerprint() || last.Condition != "leak" || rs[150].Verdict != rs[149].Verdict {
		t.Errorf("after the version: %+v; the first verdict %q after %q; want leak, and the verdict as it stood", last, rs[150].Verdict, rs[149].Verdict)
	}
	after, err := b.db.State(t.Context(), "Filler 3")
	if err != nil || after.Basis != before.Basis || after.Reference == before.Reference {
		t.Errorf("State = %s on %s, %v, want another reference on the basis %s", after.Reference, after.Basis, err, before.Basis)
	}
	if refs := all(t, b.db.References(t.Context(), everything)); len(refs) != 2 || refs[1].Fingerprint != named.Fingerprint() {
		t.Errorf("References = %+v, want both", refs)
	}
	if log := b.logged(); strings.Contains(log, "another reference is in force") || !strings.Contains(log, "the verdict goes on") {
		t.Errorf("log = %s, want that the verdict goes on", log)
	}
}

func TestWatchTakesFilesAsTheyCome(t *testing.T) {
	b := newBench(t)
	line := b.line()
	wait := kept(t, &line)
	stop := watching(t, line)
	defer stop()
	spectra := produced(t, 60)
	for i, s := range spectra {
		if i%2 == 0 {
			b.put("renamed/"+fileName(s), text(t, s), time.Now())
		} else if err := os.WriteFile(filepath.Join(b.folder, fileName(s)), text(t, s), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	wait(len(spectra))
	stop()
	b.expect("watched", spectra)
}

func TestAFolderThatVanishesAndReturns(t *testing.T) {
	b := newBench(t)
	line := b.line()
	line.Board = monitor.NewBoard("", nil)
	trouble := func() string { return line.Board.Bulletin().Lines[0].Trouble }
	wait := kept(t, &line)
	stop := watching(t, line)
	defer stop()
	spectra := produced(t, 4)
	b.putAll(spectra[:2])
	wait(2)
	if got := trouble(); got != "" {
		t.Errorf("trouble on the board while the folder is there = %q, want none", got)
	}
	if err := os.Rename(b.folder, b.folder+" away"); err != nil {
		t.Skipf("a watched folder cannot be moved here: %v", err)
	}
	eventually(t, "the log says that the folder cannot be listed", func() bool { return strings.Contains(b.logged(), "cannot be listed") })
	eventually(t, "the board tells of it", func() bool { return strings.Contains(trouble(), "the folder cannot be listed: ") })
	if err := os.Mkdir(b.folder, 0o755); err != nil {
		t.Fatal(err)
	}
	b.putAll(spectra) // two of them were judged, and the folder is another one
	wait(4)
	eventually(t, "the board tells of it no more", func() bool { return trouble() == "" })
	stop()
	b.expect("back again", spectra)
	if c := b.counts(); c.Copies != 0 || c.Judged != 4 {
		t.Errorf("Counts = %+v, want 4 judged, no copies", c)
	}
}

func TestWatchRefusesToStart(t *testing.T) {
	b := newBench(t)
	line := b.line()
	line.Folder = filepath.Join(b.folder, "missing")
	if err := monitor.Watch(t.Context(), line); !errors.Is(err, os.ErrNotExist) || !strings.Contains(err.Error(), "missing") {
		t.Errorf("Watch of a missing folder = %v, want it named", err)
	}
	if err := monitor.Watch(t.Context(), monitor.Line{}); err == nil {
		t.Error("Watch of nothing = nil, want an error")
	}
	line = b.line()
	line.References = failing{}
	if err := monitor.CatchUp(t.Context(), line); !errors.Is(err, errNone) {
		t.Errorf("CatchUp without a reference = %v, want %v", err, errNone)
	}
	read, err := history.Read(t.Context(), b.path)
	if err != nil {
		t.Fatal(err)
	}
	defer read.Close()
	line = b.line()
	line.History = read
	b.putAll(produced(t, 1))
	if err := monitor.Watch(t.Context(), line); !errors.Is(err, history.ErrNotWatcher) {
		t.Errorf("Watch with a history that is read = %v, want %v", err, history.ErrNotWatcher)
	}
}

type failing struct{}

func (failing) Current() (*monitor.Reference, error) { return nil, errNone }

func TestLinesShareAHistoryAndABoard(t *testing.T) {
	a, b := newBench(t), newBench(t)
	first, second := a.line(), b.line()
	second.Name, second.History = "Filler 4", a.db
	spectra := produced(t, 5)
	a.putAll(spectra)
	b.putAll(spectra[:2])
	state := filepath.Join(t.TempDir(), "state.json")
	board := monitor.NewBoard(state, nil)
	first.Board, second.Board = board, board
	waitA, waitB := kept(t, &first), kept(t, &second)
	ctx, cancel := context.WithCancel(context.Background())
	shown := make(chan struct{})
	go func() { board.Run(ctx); close(shown) }()
	stopA, stopB := watching(t, first), watching(t, second)
	waitA(5)
	waitB(2)
	stopA()
	stopB()
	before := time.Now().Truncate(time.Second)
	cancel()
	<-shown
	after := time.Now()
	bulletin, err := monitor.ReadBulletin(state)
	if err != nil {
		t.Fatal(err)
	}
	if !bulletin.Stopped || bulletin.PID != os.Getpid() || bulletin.Heartbeat.Before(before) || bulletin.Heartbeat.After(after) || len(bulletin.Lines) != 2 {
		t.Fatalf("ReadBulletin = %+v, want two lines, stopped just now", bulletin)
	}
	if s := bulletin.Lines[0]; s.Line != "Filler 3" || s.Spectra != 5 || !s.LastSpectrum.Equal(spectra[4].Time) || s.Distance == 0 || s.Instrument != "fit" {
		t.Errorf("state of Filler 3 = %+v, want 5 spectra, the last of %v", s, spectra[4].Time)
	}
	for name, n := range map[string]int{"Filler 3": 5, "Filler 4": 2} {
		if c, err := a.db.Counts(t.Context(), history.Query{Line: name}, 0); err != nil || c.Judged != n {
			t.Errorf("Counts of %s = %+v, %v, want %d", name, c, err, n)
		}
	}
	if _, err := monitor.ReadBulletin(a.path); err == nil {
		t.Error("ReadBulletin of a history = nil, want an error")
	}
}

// What is stated of a condition that the reference does not know has no effect: the log says so, once.
func TestAConditionThatNobodyBears(t *testing.T) {
	b := newBench(t)
	line := b.line()
	line.Longest = map[string]time.Duration{"Rinse": time.Hour}
	line.Expected = map[string]func(time.Time) bool{"Rinse": func(time.Time) bool { return true }, "film": func(time.Time) bool { return true }}
	b.putAll(produced(t, 4))
	b.pass(line)
	if log := b.logged(); strings.Count(log, "is not known to the reference") != 1 || !strings.Contains(log, `conditions="Rinse, film"`) {
		t.Errorf("log = %s, want it said once of both", log)
	}
}
