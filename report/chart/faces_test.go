package chart

import (
	"bytes"
	"compress/gzip"
	"os"
	"path/filepath"
	"testing"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
)

// TestFacesAreThoseOfTheLibrary: what is packed into the program is what the library has, byte for byte. The flag -regen packs it anew.
func TestFacesAreThoseOfTheLibrary(t *testing.T) {
	for _, face := range []struct {
		name      string
		packed    []byte
		published []byte
	}{
		{"LiberationSans-Regular.ttf.gz", regularFace, liberationsansregular.TTF},
		{"LiberationSans-Bold.ttf.gz", boldFace, liberationsansbold.TTF},
	} {
		if *regen {
			var b bytes.Buffer
			w, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
			if err != nil {
				t.Fatal(err)
			}
			w.Write(face.published) // into memory
			w.Close()
			if err := os.WriteFile(filepath.Join("faces", face.name), b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if got, err := unpack(face.packed); err != nil || !bytes.Equal(got, face.published) {
			t.Errorf("%s holds %d bytes, %v; want the %d of the library; go test -regen packs them", face.name, len(got), err, len(face.published))
		}
	}
}

func BenchmarkUnpack(b *testing.B) {
	for b.Loop() {
		if _, err := unpack(regularFace); err != nil {
			b.Fatal(err)
		}
	}
}
