package model

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
)

// FileVersion is the version of the reference file that Encode writes. Decode reads it and all before it.
const FileVersion = 4

// fileFormat says what the file is to whoever opens it.
const fileFormat = "asusual reference"

// The file, version 4, is one JSON object:
//
//	{"format":"asusual reference","version":4,"sha256":"…","reference":{…}}
//
// sha256 is that of the reference's own bytes without insignificant space, in lower-case hexadecimal. Numbers are
// written with as many digits as reading them back exactly takes. Version 1 knew no source, no files of a run and no
// approvals, versions 1 and 2 no leaps and no stretches of the axis: they are judged by what they have.
type referenceFile struct {
	Format    string          `json:"format"`
	Version   int             `json:"version"`
	SHA256    string          `json:"sha256"`
	Reference json.RawMessage `json:"reference"`
}

// Errors that Decode returns, wrapped with particulars.
var (
	ErrNotReference = errors.New("not a reference file")
	ErrNewer        = errors.New("written by a newer version")
	ErrAltered      = errors.New("altered since it was learned")
)

// Encode writes the reference as a file that Decode reads back exactly.
func (r *Reference) Encode(w io.Writer) error {
	body, err := json.Marshal(r)
	if err != nil {
		return fmt.Errorf("writing the reference: %w", err)
	}
	sum := sha256.Sum256(body)
	frame, err := json.Marshal(referenceFile{fileFormat, FileVersion, hex.EncodeToString(sum[:]), nil})
	if err != nil {
		return fmt.Errorf("writing the reference: %w", err)
	}
	frame = bytes.TrimSuffix(frame, []byte("null}")) // where the body goes as it is: json would look through all of it once more
	_, err = w.Write(slices.Concat(frame, body, []byte("}\n")))
	return err
}

// Decode reads a reference. A file that is none, that a newer version wrote, or that is not as it was written is
// refused: errors.Is tells ErrNotReference, ErrNewer and ErrAltered apart.
func Decode(rd io.Reader) (*Reference, error) {
	b, err := io.ReadAll(rd)
	if err != nil {
		return nil, err
	}
	var f referenceFile
	if err := json.Unmarshal(b, &f); err != nil || f.Format != fileFormat {
		return nil, fmt.Errorf("%w: it does not say %q; a reference is made by learn", ErrNotReference, fileFormat)
	}
	if f.Version > FileVersion {
		return nil, fmt.Errorf("%w: file version %d, this program reads up to %d; use the newer program, or learn again", ErrNewer, f.Version, FileVersion)
	}
	if f.Version < 1 {
		return nil, fmt.Errorf("%w: file version %d does not exist", ErrNotReference, f.Version)
	}
	var body bytes.Buffer
	if err := json.Compact(&body, f.Reference); err != nil {
		return nil, fmt.Errorf("%w: %v", ErrAltered, err)
	}
	sum := sha256.Sum256(body.Bytes())
	if got := hex.EncodeToString(sum[:]); got != f.SHA256 {
		return nil, fmt.Errorf("%w: its checksum is %.12s…, the file says %.12s…; take a copy that nobody edited, or learn again", ErrAltered, got, f.SHA256)
	}
	var r Reference
	if err := json.Unmarshal(f.Reference, &r); err != nil {
		return nil, fmt.Errorf("%w: %v", ErrNotReference, err)
	}
	if err := r.validate(); err != nil {
		return nil, fmt.Errorf("%w: %v", ErrNotReference, err)
	}
	return &r, nil
}

// Fingerprint returns twelve hexadecimal digits that tell this reference from every other: the start of the checksum that
// its file has while nobody has approved it. Approvals leave it as it is, since they are of it. It is empty for a reference
// that cannot be written.
func (r *Reference) Fingerprint() string {
	bare := *r
	bare.Approvals = nil
	body, err := json.Marshal(&bare)
	if err != nil {
		return ""
	}
	sum := sha256.Sum256(body)
	return hex.EncodeToString(sum[:6])
}
