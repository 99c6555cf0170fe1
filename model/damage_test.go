package model_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"asusual/model"
	"asusual/model/spectrum"
)

// sealed is a file of that reference, whose checksum is right: one that a program with a fault wrote, or somebody who meant it.
func sealed(version int, body []byte) []byte {
	return fmt.Appendf(nil, `{"format":"asusual reference","version":%d,"sha256":"%x","reference":%s}`, version, sha256.Sum256(body), body)
}

// keptBody is the reference in a file that an earlier version wrote.
func keptBody(t testing.TB, version int) any {
	t.Helper()
	b, err := os.ReadFile(fmt.Sprintf("testdata/version-%d.reference", version))
	if err != nil {
		t.Fatal(err)
	}
	var file struct{ Reference any }
	d := json.NewDecoder(bytes.NewReader(b))
	d.UseNumber()
	if err := d.Decode(&file); err != nil {
		t.Fatal(err)
	}
	return file.Reference
}

// A joint is a value in a tree of JSON: its path, and how to put another in its place. Of a list the first and the last element are
// joints, since those between are as these.
type joint struct {
	path string
	was  any
	set  func(v any)
}

func joints(path string, v any, set func(any)) []joint {
	all := []joint{{path, v, set}}
	switch v := v.(type) {
	case map[string]any:
		for _, key := range sortedKeys(v) {
			all = append(all, joints(path+"."+key, v[key], func(n any) { v[key] = n })...)
		}
	case []any:
		for _, i := range slices.Compact([]int{0, len(v) - 1}) {
			if i >= 0 && i < len(v) {
				all = append(all, joints(fmt.Sprintf("%s[%d]", path, i), v[i], func(n any) { v[i] = n })...)
			}
		}
	}
	return all
}

func sortedKeys(m map[string]any) (keys []string) {
	for key := range m {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	return keys
}

// others are what may stand in the place of a value: nothing, an extreme, another kind, a list longer or shorter by one.
func others(was any) []any {
	all := []any{nil, json.Number("0"), json.Number("-1"), json.Number("7"), json.Number("1e308"), json.Number("5e-324"), "x", true, []any{}, map[string]any{}}
	if list, ok := was.([]any); ok && len(list) > 0 {
		all = append(all, list[1:], append(slices.Clone(list), list[0]))
	}
	return all
}

// withstands reads a sealed reference: it is refused, or it judges without a panic and reads back as the same.
func withstands(t testing.TB, what string, version int, body any) {
	t.Helper()
	b, err := json.Marshal(body)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if p := recover(); p != nil {
			t.Errorf("a reference with %s: panic: %v", what, p)
		}
	}()
	r, err := model.Decode(bytes.NewReader(sealed(version, b)))
	if (err == nil) == (r == nil) {
		t.Fatalf("Decode of a reference with %s = %v, %v", what, r, err)
	}
	if r == nil {
		return
	}
	_ = r.Judge(spectrum.Spectrum{Axis: r.Axis(), Values: slices.Clone(r.Picture.Mean), Quantity: spectrum.Absorbance})
	var back bytes.Buffer
	if err := r.Encode(&back); err != nil {
		t.Errorf("a reference with %s is read, and cannot be written: %v", what, err)
		return
	}
	if again, err := model.Decode(&back); err != nil || again.Fingerprint() != r.Fingerprint() {
		t.Errorf("a reference with %s does not read back: %v", what, err)
	}
}

// TestDamagedReference puts something else in each place of a reference and sets the checksum right, so that what stands behind the
// checksum is asked.
func TestDamagedReference(t *testing.T) {
	for version := 1; version <= model.FileVersion; version++ {
		body := keptBody(t, version)
		b, err := json.Marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := model.Decode(bytes.NewReader(sealed(version, b))); err != nil {
			t.Fatalf("Decode of version %d, sealed anew = %v, want it read", version, err)
		}
		if version != model.FileVersion { // the fuzz target takes the earlier ones too
			continue
		}
		for i, j := range joints("", body, func(v any) { body = v }) {
			for k, v := range others(j.was) {
				if plain := k < 10; plain && (i+k)%5 != 0 { // neighbours are much alike: each takes a fifth
					continue
				}
				said, _ := json.Marshal(v)
				j.set(v)
				withstands(t, fmt.Sprintf("%.60s at %q, version %d", said, j.path, version), version, body)
			}
			j.set(j.was)
		}
	}
}

// FuzzDamagedReference puts any JSON in any place of a reference.
func FuzzDamagedReference(f *testing.F) {
	for i, text := range []string{`null`, `-1`, `[1,2,3]`, `{"k":3}`, `1e308`, `"2026-11-25T06:00:00Z"`, `[[0]]`} {
		f.Add(i+1, uint(97*i), text)
	}
	f.Fuzz(func(t *testing.T, version int, at uint, text string) {
		var v any
		d := json.NewDecoder(strings.NewReader(text))
		d.UseNumber()
		if d.Decode(&v) != nil {
			return
		}
		version = 1 + (version%model.FileVersion+model.FileVersion)%model.FileVersion
		body := keptBody(t, version)
		all := joints("", body, func(v any) { body = v })
		j := all[at%uint(len(all))]
		j.set(v)
		withstands(t, fmt.Sprintf("%.60s at %q, version %d", text, j.path, version), version, body)
	})
}
