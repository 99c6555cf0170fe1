package monitor_test

import (
	"bufio"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/model/finding"
	"asusual/model/intake"
	"asusual/model/item"
	"asusual/model/oatline"
	"asusual/model/spectrum"
	"asusual/monitor"
	"asusual/monitor/history"
)

// ofCarton is how many spectra there are of each carton of oat drink, and beltAfter how many of the empty belt come after it.
const (
	ofCarton  = 5
	beltAfter = 2
)

// cartons are files of the spectra of n single cartons, a second apart, with the empty belt between, and what is to be judged of
// each: the mean of all but its first and last.
func cartons(t testing.TB, n int, upsets ...oatline.Upset) (steps []step, means []spectrum.Spectrum) {
	t.Helper()
	all := produced(t, n*ofCarton, upsets...)
	at := monday
	add := func(name string, s spectrum.Spectrum) {
		s.Time, s.File = at, name
		steps = append(steps, step{name, at, text(t, s)})
		at = at.Add(time.Second)
	}
	for k := range n {
		mean := all[k*ofCarton]
		mean.Time, mean.Values = at.Add((ofCarton-1)*time.Second/2), make([]float64, len(mean.Values))
		for j := range ofCarton {
			s := all[k*ofCarton+j]
			if j > 0 && j < ofCarton-1 {
				for i, v := range s.Values {
					mean.Values[i] += v / (ofCarton - 2)
				}
			}
			add(fmt.Sprintf("carton-%03d_%d.csv", k, j), s)
		}
		mean.File = fmt.Sprintf("carton-%03d_0.csv", k)
		means = append(means, mean)
		for j := range beltAfter {
			belt := all[0]
			belt.Values = make([]float64, len(belt.Values))
			for i := range belt.Values {
				belt.Values[i] = 0.002 + 0.001*math.Sin(float64(i+j+7*k))
			}
			add(fmt.Sprintf("carton-%03d_%d.csv", k, ofCarton+j), belt)
		}
		at = at.Add(5 * time.Second)
	}
	return steps, means
}

// itemsByName gathers cartons by the number in their files' names; the belt has hardly any absorbance.
func itemsByName(gap time.Duration) *monitor.Instrument {
	name, err := intake.ParseName("carton-{id}_*.csv")
	if err != nil {
		panic(err)
	}
	return &monitor.Instrument{Options: intake.Options{Trigger: intake.ByName, Name: name,
		Items: &item.Options{Presence: &item.Presence{Above: 0.05}, Gap: gap, Trim: 1, Least: 2}}}
}

func (b *bench) withItems(gap time.Duration) monitor.Line {
	l := b.line()
	l.Instrument = itemsByName(gap)
	return l
}

func (b *bench) roles() map[string]int {
	b.t.Helper()
	n, err := b.db.Roles(b.t.Context(), everything)
	if err != nil {
		b.t.Fatal(err)
	}
	return n
}

// TestItems: each carton is judged once, by its mean; the belt and the edges take no part; and what was judged can be read again.
func TestItems(t *testing.T) {
	const n = 12
	steps, means := cartons(t, n)
	b := newBench(t)
	for _, s := range steps {
		b.put(s.name, s.text, s.at)
	}
	few := means[0]
	few.Time = steps[len(steps)-1].at.Add(time.Minute)
	b.put("carton-few_0.csv", text(t, few), few.Time)
	b.put("other.csv", text(t, means[1]), few.Time.Add(time.Second))
	line := b.withItems(10 * time.Second)
	b.pass(line)
	ref := reference(t)
	records := b.records()
	if len(records) != n {
		t.Fatalf("%d records, want one a carton, %d", len(records), n)
	}
	for i, r := range records {
		want := ref.Judge(means[i])
		if r.File != means[i].File || !r.Time.Equal(means[i].Time) || !(math.Abs(r.Distance-want.Distance) <= 0.05*(1+want.Distance)) {
			t.Errorf("record %d = %s at %v, distance %v; want %s at %v, %v", i, r.File, r.Time, r.Distance, means[i].File, means[i].Time, want.Distance)
		}
		said := fmt.Sprint(r.Reasons)
		if !strings.Contains(said, fmt.Sprintf("the mean of 3 spectra of the item %03d; 2 at its edges were left out", i)) {
			t.Errorf("record %d says %s", i, said)
		}
	}
	if got, want := b.roles(), map[string]int{history.OfItem: n*ofCarton + 1, history.EmptyBelt: n * beltAfter}; !reflect.DeepEqual(got, want) {
		t.Errorf("Roles = %v, want %v", got, want)
	}
	us := all(t, b.db.Unreadable(t.Context(), everything))
	if len(us) != 2 || !strings.Contains(us[0].Reason+us[1].Reason, "the item few has 0 spectra after its edges were taken off, 2 are wanted") ||
		!strings.Contains(us[0].Reason+us[1].Reason, "its name holds no id") {
		t.Errorf("Unreadable = %+v, want the item of one spectrum and the file without an id", us)
	}
	again := all(t, monitor.Reread(t.Context(), line, b.db.Spectra(t.Context(), everything)))
	if len(again) != n {
		t.Fatalf("Reread gives %d, want %d", len(again), n)
	}
	for i, s := range again {
		for j, v := range s.Values {
			if !(math.Abs(v-means[i].Values[j]) <= 2e-6) { // files have six decimals
				t.Fatalf("Reread: carton %d has %g at channel %d, want %g", i, v, j, means[i].Values[j])
			}
		}
	}
	// Gone through again, nothing is new.
	b.put("copy of carton-000_1.csv", steps[1].text, steps[1].at)
	b.pass(line)
	if c := b.counts(); len(b.records()) != n || c.Copies != 1 || b.roles()[history.OfItem] != n*ofCarton+1 {
		t.Errorf("after a second pass %d records, %+v, %v", len(b.records()), c, b.roles())
	}
	for _, s := range steps[:ofCarton] { // a carton of which a file is gone cannot be read again, and is told
		if strings.HasSuffix(s.name, "_3.csv") {
			b.put(s.name, []byte("900,1\n901,1\n"), s.at.Add(time.Hour))
		}
	}
	failed := 0
	for _, err := range monitor.Reread(t.Context(), line, b.db.Spectra(t.Context(), everything)) {
		if err != nil {
			failed++
		}
	}
	if failed != 1 {
		t.Errorf("Reread without a file of one carton: %d errors, want 1", failed)
	}
}

// TestItemsByTheClock: the last item ends when nothing comes for longer than the gap, and one that is open when the watch stops
// goes on with the next.
func TestItemsByTheClock(t *testing.T) {
	steps, _ := cartons(t, 2)
	b := newBench(t)
	line := b.withItems(10 * time.Minute)
	stop := watching(t, line)
	for _, s := range steps[:ofCarton-2] {
		b.put(s.name, s.text, s.at)
	}
	eventuallyRoles(t, b, ofCarton-2)
	stop()
	if n := len(b.records()); n != 0 {
		t.Fatalf("%d records of an item that is open, want none", n)
	}
	line = b.withItems(2 * time.Second)
	wait := kept(t, &line)
	for _, s := range steps[ofCarton-2 : ofCarton] {
		b.put(s.name, s.text, s.at)
	}
	stop = watching(t, line)
	defer stop()
	wait(1)
	stop()
	records := b.records()
	if len(records) != 1 || !strings.Contains(fmt.Sprint(records[0].Reasons), "the mean of 3 spectra of the item 000") {
		t.Errorf("records %+v, want the one item of all its spectra", records)
	}
}

// eventuallyRoles waits until history has so many spectra of items.
func eventuallyRoles(t *testing.T, b *bench, n int) {
	t.Helper()
	eventually(t, fmt.Sprint(n, " spectra of items"), func() bool { return b.roles()[history.OfItem] == n })
}

// TestItemsByTheBelt: where the reference has no model of the belt that is to tell items, each spectrum says so.
func TestItemsByTheBelt(t *testing.T) {
	steps, _ := cartons(t, 1)
	b := newBench(t)
	b.put(steps[0].name, steps[0].text, steps[0].at)
	line := b.withItems(time.Minute)
	line.Instrument.Options.Items.Presence, line.Instrument.ByBelt = nil, true
	b.pass(line)
	us := all(t, b.db.Unreadable(t.Context(), everything))
	if len(us) != 1 || !strings.Contains(us[0].Reason, "the reference has no model of the empty belt; learn it again") {
		t.Errorf("Unreadable = %+v, want that the reference does not know the belt", us)
	}
}

// TestItemsLate: a carton whose files come late is judged for itself and takes no part in the verdict.
func TestItemsLate(t *testing.T) {
	steps, means := cartons(t, 4)
	each := ofCarton + beltAfter
	b := newBench(t)
	line := b.withItems(3 * time.Second)
	for _, s := range slices.Concat(steps[:each], steps[2*each:]) {
		b.put(s.name, s.text, s.at)
	}
	b.pass(line)
	for _, s := range steps[each : 2*each] {
		b.put(s.name, s.text, s.at)
	}
	b.pass(line)
	records := b.records()
	if len(records) != 4 {
		t.Fatalf("%d records, want 4", len(records))
	}
	for i, r := range records {
		if r.File != means[i].File || r.Late != (i == 1) || r.Reasons[len(r.Reasons)-1].Kind != finding.MeanOfItem {
			t.Errorf("record %d = %s, late %v, %v", i, r.File, r.Late, r.Reasons)
		}
	}
}

// TestItemsLateOfClosed: a spectrum that comes after its carton was judged is told with the carton's id, counted once, and makes no
// carton of its own.
func TestItemsLateOfClosed(t *testing.T) {
	steps, _ := cartons(t, 4)
	each := ofCarton + beltAfter
	held := steps[each+2]
	b := newBench(t)
	line := b.withItems(3 * time.Second)
	for _, s := range slices.Concat(steps[:each+2], steps[each+3:]) {
		b.put(s.name, s.text, s.at)
	}
	b.pass(line)
	b.put(held.name, held.text, held.at)
	b.pass(line)
	b.put("again "+held.name, held.text, held.at) // an id of its own, and known
	b.pass(line)
	want := map[string]int{history.OfItem: 4*ofCarton - 1, history.LateOfItem: 1, history.EmptyBelt: 4 * beltAfter}
	if got := b.roles(); !reflect.DeepEqual(got, want) {
		t.Errorf("Roles = %v, want %v", got, want)
	}
	us := all(t, b.db.Unreadable(t.Context(), everything))
	if len(us) != 1 || us[0].File != held.name || !us[0].Time.Equal(held.at) || !strings.Contains(us[0].Reason, "came after its item 001 was closed") {
		t.Errorf("Unreadable = %+v, want that the one came late, with its carton's id", us)
	}
	records := b.records()
	if len(records) != 4 || !strings.Contains(fmt.Sprint(records[1].Reasons), "the mean of 2 spectra of the item 001") {
		t.Errorf("records %+v, want 4 cartons, the second of what came in time", records)
	}
	if c := b.counts(); c.Received != 6 || c.Judged != 4 || c.Unreadable != 1 || c.Copies != 1 {
		t.Errorf("Counts = %+v, want 4 judged, 1 that cannot be used and 1 copy", c)
	}
	if again := all(t, monitor.Reread(t.Context(), line, b.db.Spectra(t.Context(), everything))); len(again) != 4 {
		t.Errorf("Reread gives %d cartons, want 4", len(again))
	}
}

// TestItemsLateKilled: spectra come late while processes that gather items are killed. At the end every spectrum is of its carton or
// late of it, once, and each carton was judged once.
func TestItemsLateKilled(t *testing.T) {
	const kills = 5
	steps, _ := cartons(t, 2*kills)
	each := ofCarton + beltAfter
	var shuffled []step // the third of each carton comes after the next one
	for k := range 2 * kills {
		c := steps[k*each : (k+1)*each]
		shuffled = append(shuffled, c[:2]...)
		shuffled = append(shuffled, c[3:]...)
		if k > 0 {
			shuffled = append(shuffled, steps[(k-1)*each+2])
		}
	}
	b := newBench(t)
	itemsKilled(t, b, shuffled, kills)
	b.pass(b.withItems(time.Hour))
	last := steps[len(steps)-each+2]
	b.put(last.name, last.text, last.at)
	b.pass(b.withItems(time.Hour))
	roles := b.roles()
	late := roles[history.LateOfItem]
	if roles[history.OfItem]+late != 2*kills*ofCarton || late == 0 || roles[history.EmptyBelt] != 2*kills*beltAfter {
		t.Errorf("Roles = %v, want %d spectra of cartons, some of them late, and %d of the belt", roles, 2*kills*ofCarton, 2*kills*beltAfter)
	}
	told := map[string]int{}
	for _, u := range all(t, b.db.Unreadable(t.Context(), everything)) {
		if !strings.Contains(u.Reason, "came after its item "+u.File[7:10]+" was closed") {
			t.Errorf("%s: %s, want the id of its carton", u.File, u.Reason)
		}
		told[u.File]++
	}
	if len(told) != late || told[last.name] != 1 {
		t.Errorf("told to be late: %v, want %d files, the last of them %s", told, late, last.name)
	}
	for name, n := range told {
		if n != 1 {
			t.Errorf("%s is told %d times", name, n)
		}
	}
	if n := len(b.records()); n != 2*kills {
		t.Errorf("%d cartons were judged, want %d", n, 2*kills)
	}
}

// itemsKilled lets processes that gather items watch the bench, and kills each at a random moment while its part of the steps
// arrives.
func itemsKilled(t *testing.T, b *bench, steps []step, kills int) {
	t.Helper()
	if err := b.db.Close(); err != nil { // the other process is the watcher
		t.Fatal(err)
	}
	dir := filepath.Dir(b.path)
	writeReference(t, filepath.Join(dir, "reference"))
	rng := rand.New(rand.NewPCG(5, 6))
	life := 80 * time.Millisecond // at most, after it is up; longer on a machine that is slow to start one
	for part := range slices.Chunk(steps, (len(steps)+kills-1)/kills) {
		cmd := exec.Command(os.Args[0], "-test.run=^$")
		cmd.Env = append(os.Environ(), crashEnv+"="+dir, crashItemsEnv+"=1")
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		began := time.Now()
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		if _, err := bufio.NewReader(out).ReadString('\n'); err != nil {
			t.Fatal(err)
		}
		life = max(life, time.Since(began))
		killed := make(chan error, 1) // while files go on to come
		time.AfterFunc(time.Duration(rng.Int64N(int64(life))), func() { killed <- cmd.Process.Kill() })
		for _, s := range part {
			b.put(s.name, s.text, s.at)
			<-time.After(time.Duration(rng.Int64N(2 * int64(life) / int64(len(part)))))
		}
		if err := <-killed; err != nil {
			t.Fatal(err)
		}
		_ = cmd.Wait() // it was killed
	}
	b.open()
}

// TestItemsKilledAtRandomMoments: a process that gathers items is killed again and again in the midst of them. At the end every
// spectrum is of its item once, and each item was judged once, by the mean that one pass over the files gives.
func TestItemsKilledAtRandomMoments(t *testing.T) {
	const kills = 8
	b := newBench(t)
	steps, _ := cartons(t, 2*kills)
	itemsKilled(t, b, steps, kills)
	before := b.roles()[history.OfItem]
	b.pass(b.withItems(time.Hour))
	twin := newBench(t)
	twin.folder = b.folder
	twin.pass(twin.withItems(time.Hour))
	if got, want := b.roles(), twin.roles(); !reflect.DeepEqual(got, want) || want[history.OfItem] != 2*kills*ofCarton {
		t.Errorf("after all kills %v, one pass gives %v", got, want)
	}
	got, want := b.records(), twin.records()
	if len(got) != len(want) || len(want) != 2*kills {
		t.Fatalf("%d items after all kills, one pass gives %d, want %d", len(got), len(want), 2*kills)
	}
	for i := range got {
		got[i].Received = want[i].Received
		if !reflect.DeepEqual(got[i], want[i]) {
			t.Errorf("item %d = %+v, one pass gives %+v", i, got[i], want[i])
		}
	}
	if before == 0 {
		t.Error("nothing was gathered before the last start: the processes were killed too soon to tell anything")
	}
	t.Logf("%d kills: %d of %d spectra were gathered by the processes that were killed", kills, before, 2*kills*ofCarton)
}
