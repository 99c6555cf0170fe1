package monitor_test

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strconv"
	"strings"
	"testing"
	"time"

	"asusual/model/intake"
	"asusual/model/oatline"
	"asusual/monitor"
	"asusual/monitor/history"
)

// crashEnv makes the test binary watch the bench in that folder until it is killed.
const crashEnv = "ASUSUAL_TEST_WATCH"

// crashItemsEnv makes it gather single items.
const crashItemsEnv = "ASUSUAL_TEST_ITEMS"

// crashTellEnv makes it tell what it kept.
const crashTellEnv = "ASUSUAL_TEST_TELL"

// killsEnv says how often TestKilledAtRandomMoments kills.
const killsEnv = "ASUSUAL_TEST_KILLS"

// ownEnd is the exit status of one that ends by itself. Windows gives 1 to one that is killed.
const ownEnd = 2

func TestMain(m *testing.M) {
	if dir := os.Getenv(crashEnv); dir != "" {
		if err := watchUntilKilled(dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(ownEnd)
		}
	}
	os.Exit(m.Run())
}

func watchUntilKilled(dir string) error {
	log := slog.New(slog.NewTextHandler(os.Stderr, nil))
	refs, err := monitor.NewReferenceFile(filepath.Join(dir, "reference"), log)
	if err != nil {
		return err
	}
	db, err := history.Open(context.Background(), filepath.Join(dir, "history"), "crash test")
	if err != nil {
		return err
	}
	line := monitor.Line{Name: "Filler 3", Folder: filepath.Join(dir, "spectra"), References: refs, History: db, Log: log,
		Settle: 100 * time.Millisecond, Poll: 20 * time.Millisecond, Group: time.Millisecond,
		Instrument: &monitor.Instrument{Options: intake.Options{Rules: ownRules}}}
	if os.Getenv(crashItemsEnv) != "" {
		line.Instrument = itemsByName(time.Hour)
	}
	if os.Getenv(crashTellEnv) != "" {
		most := 0
		line.Kept = func(s monitor.Status) {
			if s.Spectra > most {
				most = s.Spectra
				fmt.Println("kept", most)
			}
		}
	}
	fmt.Println("up")
	line.Board = monitor.NewBoard(filepath.Join(dir, "state.json"), log)
	go line.Board.Run(context.Background())
	return monitor.Watch(context.Background(), line)
}

// A process that watches is killed at random moments while files arrive: one by one, renamed or written in place, in a burst, as
// rows of a table. At the end every spectrum has been judged once, and lies where a watch without a scratch places it.
func TestKilledAtRandomMoments(t *testing.T) {
	kills := 12
	if s := os.Getenv(killsEnv); s != "" {
		n, err := strconv.Atoi(s)
		if err != nil {
			t.Fatalf("%s: %v", killsEnv, err)
		}
		kills = n
	}
	b := newBench(t)
	if err := b.db.Close(); err != nil { // the other process is the watcher
		t.Fatal(err)
	}
	dir := filepath.Dir(b.path)
	writeReference(t, filepath.Join(dir, "reference"))
	const each = 12
	spectra := produced(t, kills*each, oatline.Upset{Kind: oatline.Dilution, After: time.Duration(kills*each/2) * time.Minute})
	rng := rand.New(rand.NewPCG(1, uint64(kills)))
	life := 80 * time.Millisecond // at most, after it is up; longer on a machine that is slow to start one
	for k := range kills {
		cmd := exec.Command(os.Args[0], "-test.run=^$")
		cmd.Env = append(os.Environ(), crashEnv+"="+dir)
		var said bytes.Buffer
		cmd.Stderr = &said
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		began := time.Now()
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		if k%5 != 4 { // every fifth is killed while it starts, or soon after
			if _, err := bufio.NewReader(out).ReadString('\n'); err != nil {
				t.Fatal(err)
			}
			life = max(life, time.Since(began))
		}
		for _, s := range []step{counts("dark", spectra[0].Axis, spectra[k*each].Time, 0, nil), counts("white", spectra[0].Axis, spectra[k*each].Time, 1, nil)} {
			b.put(s.name, s.text, s.at)
		}
		killed := make(chan error, 1) // while files go on to come
		time.AfterFunc(time.Duration(rng.Int64N(int64(life))), func() { killed <- cmd.Process.Kill() })
		for i, s := range spectra[k*each : (k+1)*each] {
			path := filepath.Join(b.folder, fileName(s))
			switch {
			case k%4 == 3: // the hour's table, rewritten with a row more
				b.put(fmt.Sprintf("table%03d.csv", k), table(t, spectra[k*each:k*each+i+1]), s.Time)
			case i%3 == 0:
				if err := os.WriteFile(path, text(t, s), 0o644); err != nil {
					t.Fatal(err)
				}
			default:
				b.put(fileName(s), text(t, s), s.Time)
			}
			if i%4 != 0 {
				<-time.After(time.Duration(rng.IntN(8)) * time.Millisecond)
			}
		}
		if err := <-killed; err != nil {
			t.Fatal(err)
		}
		if err := cmd.Wait(); err == nil || strings.Contains(said.String(), "level=ERROR") || cmd.ProcessState.ExitCode() >= ownEnd {
			t.Fatalf("the watch ended by itself: %v\n%s", err, said.String())
		}
	}
	b.open()
	before := len(b.records())
	b.pass(b.withOwn())
	b.expect("after all kills", spectra)
	files := map[string]bool{}
	for _, o := range all(t, b.db.Own(t.Context(), everything)) {
		files[o.File] = true
	}
	if c := b.counts(); c.Own != 2*kills || len(files) != 2*kills || c.Unreadable > 0 {
		t.Errorf("after all kills: %d of the instrument's own from %d files, %d unreadable, want %d, each once", c.Own, len(files), c.Unreadable, 2*kills)
	}
	if before == 0 {
		t.Error("nothing was judged before the last start: the processes were killed too soon to tell anything")
	}
	t.Logf("%d kills: %d of %d spectra were judged by the processes that were killed", kills, before, len(spectra))
	b.sameAsUnscathed()
}

// sameAsUnscathed compares the records with those of one pass over the same files: all but what hangs on the order in which
// files came.
func (b *bench) sameAsUnscathed() {
	b.t.Helper()
	twin := newBench(b.t)
	twin.folder = b.folder
	twin.pass(twin.withOwn())
	want, got := twin.records(), b.records()
	if len(want) != len(got) {
		b.t.Fatalf("%d records, one pass gives %d", len(got), len(want))
	}
	for i := range got {
		got[i].Received, got[i].Late, got[i].Verdict = want[i].Received, want[i].Late, want[i].Verdict
		got[i].Group, got[i].Instrument = want[i].Group, want[i].Instrument
		if !reflect.DeepEqual(got[i], want[i]) {
			b.t.Fatalf("record %d = %+v, one pass gives %+v", i, got[i], want[i])
		}
	}
}

func writeReference(t *testing.T, path string) {
	t.Helper()
	var out bytes.Buffer
	if err := reference(t).Encode(&out); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, out.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

func TestAHistoryThatIsLockedIsWaitedFor(t *testing.T) {
	b := newBench(t)
	release := lockDatabase(t, b.path)
	line := b.line()
	board := monitor.NewBoard("", nil)
	line.Board = board
	stop := watching(t, line)
	defer stop()
	spectra := produced(t, 3)
	b.putAll(spectra)
	says := func(words string) {
		eventually(t, "the log says that "+words, func() bool { return strings.Contains(b.logged(), words) })
	}
	says("history cannot be written")
	if ls := board.Bulletin().Lines; len(ls) != 1 || !strings.Contains(ls[0].Trouble, "locked by another program") {
		t.Errorf("board while history is locked = %+v, want the trouble", ls)
	}
	release()
	says("history can be written again")
	stop()
	b.expect("after the lock", spectra)
}

func TestADiskThatFills(t *testing.T) {
	small := smallDisk(t, "1m")
	b := &bench{t: t, folder: t.TempDir(), path: filepath.Join(small, "history")}
	b.open()
	defer func() {
		if err := b.db.Close(); err != nil {
			t.Error(err)
		}
	}()
	ballast := filepath.Join(small, "ballast")
	fill(t, ballast)
	line := b.line()
	wait := kept(t, &line)
	stop := watching(t, line)
	defer stop()
	spectra := produced(t, 50)
	b.putAll(spectra)
	eventually(t, "the log says that the disk is full", func() bool {
		return strings.Contains(b.logged(), "history cannot be written") && strings.Contains(b.logged(), "disk is full")
	})
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	wait(len(spectra))
	stop()
	b.expect("after the disk had room again", spectra)
}

func TestAHistoryThatCannotBeWritten(t *testing.T) {
	dir := smallDisk(t, "4m")
	path := filepath.Join(dir, "history")
	db, err := history.Open(t.Context(), path, "test")
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Append(t.Context(), history.Batch{Line: "Filler 3"}); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	readOnly(t, dir)
	if _, err := history.Open(t.Context(), path, "test"); !errors.Is(err, history.ErrReadOnly) || !strings.Contains(err.Error(), path) {
		t.Errorf("Open on a read-only disk = %v, want %v and the file named", err, history.ErrReadOnly)
	}
	r, err := history.Read(t.Context(), path)
	if err != nil {
		t.Fatalf("Read on a read-only disk = %v, want nil", err)
	}
	if lines, err := r.Lines(t.Context()); err != nil || len(lines) != 1 {
		t.Errorf("Lines = %q, %v, want one", lines, err)
	}
	if err := r.Close(); err != nil {
		t.Error(err)
	}
}
