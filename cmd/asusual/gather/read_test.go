package gather

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"asusual/model/oatline"
	"asusual/model/spectrum"
)

// oats returns n spectra of the invented line, a second apart.
func oats(t testing.TB, n int) []spectrum.Spectrum {
	t.Helper()
	line, err := oatline.New(oatline.Settings{Channels: 64})
	if err != nil {
		t.Fatal(err)
	}
	s, err := line.Series(oatline.Stretch{Run: "run-a", From: time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC), Every: time.Second, N: n})
	if err != nil {
		t.Fatal(err)
	}
	return slices.Collect(s.All())
}

// folder writes each spectrum to a file of its own, and a broken file and a table between them.
func folder(t testing.TB, n, table int) string {
	t.Helper()
	dir := t.TempDir()
	put := func(name string, b []byte) {
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	all := oats(t, n+table)
	for i, s := range all[:n] {
		b, err := oatline.AppendTwoColumns(nil, s)
		if err != nil {
			t.Fatal(err)
		}
		put(fmt.Sprintf("s%05d.csv", i), b)
	}
	put("s00002-broken.csv", []byte("1000,0.5\n1001,zero\n1002,0.5\n"))
	if table > 0 {
		var b bytes.Buffer
		if err := oatline.WriteTable(&b, slices.Values(all[n:])); err != nil {
			t.Fatal(err)
		}
		put("t.csv", b.Bytes())
	}
	return dir
}

func TestReadKeepsTheOrderOfFilesAndRows(t *testing.T) {
	const n, table = 40, 3*batchSize + 17
	l, err := List([]string{folder(t, n, table)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, workers := range []int{1, 2, 7} {
		var got []spectrum.Spectrum
		var bad []*spectrum.Unreadable
		var last int
		progress := 0
		err := Read(t.Context(), l.Files, Options{Workers: workers, Progress: func(done, total int) { progress = done }}, func(b Batch) error {
			if len(b.Spectra) > batchSize {
				t.Errorf("Read hands over %d spectra at a time, want at most %d", len(b.Spectra), batchSize)
			}
			if b.Last {
				last++
			}
			got, bad = append(got, b.Spectra...), append(bad, b.Unreadable...)
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		if len(got) != n+table || len(bad) != 1 || last != len(l.Files) || progress != len(l.Files) {
			t.Fatalf("Read with %d workers = %d spectra, %d unreadable, %d files, want %d, 1, %d", workers, len(got), len(bad), last, n+table, len(l.Files))
		}
		if !strings.HasSuffix(bad[0].File, "s00002-broken.csv") || bad[0].Line != 2 {
			t.Errorf("Read with %d workers: %v, want the broken file and its line 2", workers, bad[0])
		}
		if !slices.IsSortedFunc(got, func(a, b spectrum.Spectrum) int { return a.Time.Compare(b.Time) }) {
			t.Errorf("Read with %d workers: spectra are not in the order of their files and rows", workers)
		}
	}
}

func TestReadStops(t *testing.T) {
	l, err := List([]string{folder(t, 200, 0)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	enough := errors.New("enough")
	if err := Read(t.Context(), l.Files, Options{}, func(Batch) error { return enough }); !errors.Is(err, enough) {
		t.Errorf("Read = %v, want the error of take", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	n := 0
	err = Read(ctx, l.Files, Options{}, func(Batch) error {
		if n++; n == 3 {
			cancel()
		}
		return nil
	})
	if !errors.Is(err, context.Canceled) || n > 8 {
		t.Errorf("Read after cancel = %v with %d batches, want it to stop", err, n)
	}
}

func TestReadTellsOfAFileThatWentAway(t *testing.T) {
	var bad []*spectrum.Unreadable
	err := Read(t.Context(), []File{{Path: filepath.Join(t.TempDir(), "gone.csv")}}, Options{}, func(b Batch) error {
		bad = append(bad, b.Unreadable...)
		return nil
	})
	if err != nil || len(bad) != 1 || strings.Contains(bad[0].Reason, "open") {
		t.Errorf("Read(gone.csv) = %v, %v, want one unreadable file with its reason", bad, err)
	}
}

func TestReadMakesAbsorbanceOfIntensity(t *testing.T) {
	line, err := oatline.New(oatline.Settings{Channels: 64})
	if err != nil {
		t.Fatal(err)
	}
	a := oats(t, 1)[0]
	sample, dark, bright, err := line.Intensities(a)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "s.csv")
	b, err := oatline.AppendTwoColumns(nil, sample)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b, 0o644); err != nil {
		t.Fatal(err)
	}
	var got []spectrum.Spectrum
	err = Read(t.Context(), []File{{Path: path}}, Options{Dark: &dark, Bright: &bright}, func(b Batch) error {
		got = append(got, b.Spectra...)
		return nil
	})
	if err != nil || len(got) != 1 || got[0].Quantity != spectrum.Absorbance {
		t.Fatalf("Read = %v, %v, want one absorbance", got, err)
	}
	for i, v := range got[0].Values {
		if d := v - a.Values[i]; d > 1e-3 || d < -1e-3 { // counts were written with two decimals
			t.Fatalf("absorbance at channel %d = %g, want %g", i, v, a.Values[i])
		}
	}
}

// What take copies is the same whether Values are used again or not, though it shuffles the spectra it is given.
func TestReadReuse(t *testing.T) {
	l, err := List([]string{folder(t, 300, 900)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	all := func(reuse bool) (out []float64) {
		err := Read(t.Context(), l.Files, Options{Reuse: reuse, Workers: 3}, func(b Batch) error {
			for _, s := range b.Spectra {
				out = append(out, s.Values...)
			}
			if len(b.Spectra) > 1 {
				b.Spectra[0] = b.Spectra[1]
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	want := all(false)
	if got := all(true); !slices.Equal(got, want) || len(want) != 1200*64 {
		t.Errorf("Read with Reuse gave %d values that are not the %d without", len(got), len(want))
	}
}

func TestOne(t *testing.T) {
	dir := folder(t, 1, 3)
	if s, err := One(filepath.Join(dir, "s00000.csv"), spectrum.Options{}); err != nil || len(s.Values) != 64 {
		t.Errorf("One(s00000.csv) = %v, %v, want the spectrum", s, err)
	}
	if _, err := One(filepath.Join(dir, "t.csv"), spectrum.Options{}); err == nil || !strings.HasSuffix(err.Error(), "it must hold one spectrum and holds 3 spectra") {
		t.Errorf("One(t.csv) = %v, want that there are three", err)
	}
}

func TestSurvey(t *testing.T) {
	l, err := List([]string{folder(t, 12, 20)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	var v Survey
	if err := Read(t.Context(), l.Files, Options{}, func(b Batch) error { v.Add(b); return nil }); err != nil {
		t.Fatal(err)
	}
	v.Finish()
	if v.Files != 14 || v.Spectra != 32 || v.Broken != 1 || len(v.Unreadable) != 1 || v.Timeless != 0 || len(v.Kinds) != 2 {
		t.Errorf("Survey = %+v, want 14 files, 32 spectra, 1 broken, 2 kinds", v)
	}
	if len(v.Runs) != 1 || v.Runs[0].Name != "run-a" || v.Runs[0].Spectra != 32 || v.To.Sub(v.From) != 31*time.Second {
		t.Errorf("Survey.Runs = %+v, want the one run of 32 s", v.Runs)
	}
}

// Of a file that is bad throughout few reasons are held, and all count.
func TestSurveyOfABadFile(t *testing.T) {
	const blocks = 3000
	dir := tree(t, "good/x")
	bad := filepath.Join(dir, "good", "bad.jdx")
	if err := os.WriteFile(bad, []byte(strings.Repeat("##TITLE=a\n##END=\n", blocks)), 0o644); err != nil {
		t.Fatal(err)
	}
	var v Survey
	if err := Read(t.Context(), []File{{Path: bad}}, Options{}, func(b Batch) error { v.Add(b); return nil }); err != nil {
		t.Fatal(err)
	}
	if len(v.Unreadable) != spectrum.Told+1 || v.Bad != blocks || v.Broken != 1 {
		t.Errorf("Survey of %d bad blocks = %d named, %d counted, %d files broken; want %d, %[1]d, 1", blocks, len(v.Unreadable), v.Bad, v.Broken, spectrum.Told+1)
	}
}

func TestEach(t *testing.T) {
	for _, n := range []int{0, 1, 5, 1000} {
		var sum atomic.Int64
		Each(n, func(i int) { sum.Add(int64(i) + 1) })
		if got, want := sum.Load(), int64(n*(n+1)/2); got != want {
			t.Errorf("Each(%d) called f for a sum of %d, want %d", n, got, want)
		}
	}
}

// What learning from many files costs beside the learning; measured-out memory is that of the spectra alone.
func BenchmarkRead(b *testing.B) {
	l, err := List([]string{folder(b, 2000, 0)}, nil)
	if err != nil {
		b.Fatal(err)
	}
	for _, workers := range []int{1, 2} {
		b.Run(fmt.Sprintf("files=2000/p=64/workers=%d", workers), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := Read(b.Context(), l.Files, Options{Workers: workers}, func(Batch) error { return nil }); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func TestExtent(t *testing.T) {
	dir := t.TempDir()
	newest := time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)
	var files []File
	var size int64
	for i, text := range []string{"1000,0.1\n1001,0.2\n", "no spectrum\n", "1000,0.3\n1001,0.4\n" + strings.Repeat("# \n", smallFile/3)} {
		f := File{Path: filepath.Join(dir, fmt.Sprint(i, ".csv")), regular: i == 0}
		files, size = append(files, f), size+int64(len(text))
		if err := os.WriteFile(f.Path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chtimes(f.Path, newest, newest.Add(time.Duration(-i)*time.Hour)); err != nil {
			t.Fatal(err)
		}
	}
	files = append(files, File{Path: filepath.Join(dir, "gone.csv")})
	var got Extent
	if err := Read(t.Context(), files, Options{Extent: &got}, func(Batch) error { return nil }); err != nil {
		t.Fatal(err)
	}
	if got.Files != 4 || got.Bytes != size || !got.Written.Equal(newest) {
		t.Errorf("extent %+v, want 4 files of %d bytes, the newest of %v", got, size, newest)
	}
}
