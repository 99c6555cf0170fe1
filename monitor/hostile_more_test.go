package monitor_test

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"asusual/model"
	"asusual/model/spectrum"
	"asusual/monitor"
	"asusual/monitor/history"
)

// sparse makes a file of that size that takes no room on most disks: a beginning, and zeros.
func (b *bench) sparse(name, beginning string, size int64) {
	b.t.Helper()
	path := filepath.Join(b.folder, name)
	for _, err := range []error{os.WriteFile(path, []byte(beginning), 0o644), os.Truncate(path, size), os.Chtimes(path, monday, monday)} {
		if err != nil {
			b.t.Fatal(err)
		}
	}
}

// bomb packs so many bytes of lines that the function writes.
func bomb(t *testing.T, size int, line func(b []byte, i int) []byte) []byte {
	t.Helper()
	var out bytes.Buffer
	z, err := gzip.NewWriterLevel(&out, gzip.BestSpeed)
	var b []byte
	for i, n := 0, 0; n < size && err == nil; n += len(b) {
		for b = b[:0]; len(b) < 1<<16; i++ {
			b = line(b, i)
		}
		_, err = z.Write(b)
	}
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// allocated returns how much has been allocated in all, freed or not.
func allocated() uint64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.TotalAlloc
}

// A flood of unreadable files does not fill the log: the first are told one by one, of the others how many; history has each.
func TestManyUnreadableFiles(t *testing.T) {
	b := newBench(t)
	for i := range 100 {
		b.put(fmt.Sprintf("%03d.csv", i), fmt.Appendf(nil, "no spectrum %d", i), monday)
	}
	b.catchUp()
	if n, log := b.counts().Unreadable, b.logged(); n != 100 || strings.Count(log, "msg=unreadable ") != 20 || strings.Count(log, "more=80 ") != 1 {
		t.Errorf("history has %d unreadable files and the log\n%s\nwant 100, 20 of them told, and that there were 80 more", n, log)
	}
}

// Files far larger than any spectrum are refused with a reason in little memory, and what is good beside them is judged.
// What is allocated is counted in all, so that no collection between hides how much was held.
func TestHugeFilesTakeLittleMemory(t *testing.T) {
	b := newBench(t)
	spectra := produced(t, 3)
	b.putAll(spectra)
	rising := func(b []byte, i int) []byte { return fmt.Appendf(b, "%d,1\n", 100+i) }
	long := "900,0.5\n" + strings.Repeat("\n", 100<<10) // the zeros begin beyond what is looked at to tell the format
	b.sparse("over.csv", "900,0.5\n901,0.5\n", 1<<30+1)
	b.sparse("zeros.csv", "", 16<<20)
	b.sparse("columns.csv", long+"901,0.5", 16<<20) // a line that does not end
	b.sparse("table.csv", "time,run,900,901\n2026-11-23T06:00:00Z,a,1,2\n"+strings.Repeat("\n", 100<<10), 16<<20)
	b.put("rising.csv.gz", bomb(t, 8<<20, rising), monday)
	b.put("header.csv.gz", bomb(t, 8<<20, func(b []byte, _ int) []byte { return append(b, "# a: b\n"...) }), monday)
	b.put("empty.csv.gz", bomb(t, 8<<20, func(b []byte, _ int) []byte { return append(b, '\n') }), monday)
	reference(t)
	line := b.line()
	line.Read.MaxBytes = 0 // as usual: 1 GiB
	before, began := allocated(), time.Now()
	b.catchUp()
	grown, took := allocated()-before, time.Since(began)
	// What can be read as a spectrum is judged: a row before the zeros, and an axis of a million channels, which fits no reference.
	var good []string
	for _, r := range b.records() {
		switch r.File {
		case "rising.csv.gz":
			if r.Condition != model.Unfit {
				t.Errorf("rising.csv.gz = %q, want %q", r.Condition, model.Unfit)
			}
		case "table.csv":
		default:
			good = append(good, r.File)
		}
	}
	if want := []string{fileName(spectra[0]), fileName(spectra[1]), fileName(spectra[2])}; !slices.Equal(good, want) {
		t.Errorf("judged beside huge files: %q, want %q", good, want)
	}
	got := map[string]string{}
	for u, err := range b.db.Unreadable(t.Context(), everything) {
		if err != nil {
			t.Fatal(err)
		}
		got[u.File] = u.Reason
	}
	for name, says := range map[string]string{"over.csv": "larger than the limit", "zeros.csv": "binary", "columns.csv": "", "table.csv": "",
		"header.csv.gz": "", "empty.csv.gz": ""} {
		if r, ok := got[name]; !ok || !strings.Contains(r, says) {
			t.Errorf("%s: reason %.200q, want one that says %q", name, r, says)
		}
		t.Logf("%s: %.200q", name, got[name])
	}
	if most := uint64(256 << 20); grown > most {
		t.Errorf("CatchUp over the huge files allocated %d MB, want at most %d", grown>>20, most>>20)
	}
	t.Logf("%d MB allocated in %v", grown>>20, took)
}

// A packed file of a hundred thousand broken blocks: the first are named, the rest stand in one record with their number, and so
// does the log. What is held does not grow with them.
func TestAFileThatIsBadThroughoutIsToldInFewWords(t *testing.T) {
	const blocks = 100_000
	b := newBench(t)
	b.put("bad.jdx.gz", bomb(t, blocks*len("##TITLE=a\n##END=\n"), func(b []byte, _ int) []byte { return append(b, "##TITLE=a\n##END=\n"...) }), monday)
	b.catchUp()
	records, count := 0, 0
	var last history.Unreadable
	for u, err := range b.db.Unreadable(t.Context(), everything) {
		if err != nil {
			t.Fatal(err)
		}
		records, count, last = records+1, count+u.Count, u
	}
	counts, err := b.db.Counts(t.Context(), everything, 0)
	if err != nil || records != spectrum.Told+1 || count < blocks || counts.Unreadable != count || counts.Received != count {
		t.Errorf("bad.jdx.gz: %d records for %d blocks, Counts %+v, %v; want %d for at least %d", records, count, counts, err, spectrum.Told+1, blocks)
	}
	if !strings.Contains(last.Reason, "not named one by one") {
		t.Errorf("bad.jdx.gz: the last reason is %q, want one that says how many there are", last.Reason)
	}
	if lines := strings.Count(b.log.String(), "\n"); lines > spectrum.Told+10 {
		t.Errorf("bad.jdx.gz: %d lines in the log, want about %d", lines, spectrum.Told+1)
	}
}

// Files in which nothing can be read fill a batch as others do, so that a folder of many is held a part at a time.
func TestAFolderOfBrokenFilesIsKeptInParts(t *testing.T) {
	const files, most = 4500, 2000
	b := newBench(t)
	for i := range files {
		if err := os.WriteFile(filepath.Join(b.folder, fmt.Sprintf("%05d.csv", i)), fmt.Appendf(nil, "no spectrum %d\n", i), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	line := b.line()
	line.Group = time.Hour
	before, parts := 0, 0
	line.Kept = func(monitor.Status) {
		c, err := b.db.Counts(t.Context(), everything, 0)
		if now := c.Unreadable; err != nil || now-before > most {
			t.Errorf("%d files were kept at once, %v, want at most %d", now-before, err, most)
		} else if now > before {
			before, parts = now, parts+1
		}
	}
	if err := monitor.CatchUp(t.Context(), line); err != nil {
		t.Fatal(err)
	}
	if before != files || parts < files/most {
		t.Errorf("%d files were kept in %d parts, want %d in %d or more", before, parts, files, files/most)
	}
}
