package main

import (
	"bytes"
	"compress/gzip"
	"crypto/md5"
	"fmt"
	"path"
	"strings"
)

// afterInstall makes the account that the service runs as and its folder. The service is neither enabled nor started: there
// is nothing to watch before a reference was learned.
const afterInstall = `#!/bin/sh
set -e
if [ "$1" = configure ]; then
  if ! getent passwd asusual >/dev/null; then
    useradd --system --user-group --home-dir /var/lib/asusual --no-create-home --shell /usr/sbin/nologin asusual
  fi
  install -d -o asusual -g asusual -m 0750 /var/lib/asusual
  if [ -d /run/systemd/system ]; then systemctl daemon-reload || true; fi
fi
`

// beforeRemoval stops the service. What it wrote stays: /var/lib/asusual holds history and reports.
const beforeRemoval = `#!/bin/sh
set -e
if [ "$1" = remove ] && [ -d /run/systemd/system ]; then systemctl --no-reload disable --now asusual.service || true; fi
`

// debian returns a Debian package, format 2.0 (deb(5)): an ar archive of its format's version, the control files and the files.
func debian(t *tree, arch string, program []byte, beside entries) ([]byte, error) {
	files, err := debianFiles(program, beside)
	if err != nil {
		return nil, err
	}
	size := 0
	var sums strings.Builder
	for _, e := range files.sorted() {
		size += len(e.data)
		fmt.Fprintf(&sums, "%x  %s\n", md5.Sum(e.data), e.name)
	}
	control := fmt.Sprintf(`Package: asusual
Version: %s
Architecture: %s
Maintainer: the asusual project <root@localhost>
Installed-Size: %d
Depends: passwd
Section: science
Priority: optional
Description: tells whether a production line still looks as usual
 asusual watches the near-infrared spectra of a production line, learns from
 known-good production how they look, and says one thing: as usual, the
 process has changed, or cannot say. It needs no calibration.
`, t.version, arch, (size+1023)/1024)
	meta, err := tarred("./", entries{
		{"control", []byte(control), false}, {"md5sums", []byte(sums.String()), false},
		{"postinst", []byte(afterInstall), true}, {"prerm", []byte(beforeRemoval), true},
	}, t.at)
	if err != nil {
		return nil, err
	}
	data, err := tarred("./", files, t.at)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	b.WriteString("!<arch>\n")
	for _, part := range []entry{{"debian-binary", []byte("2.0\n"), false}, {"control.tar.gz", meta, false}, {"data.tar.gz", data, false}} {
		fmt.Fprintf(&b, "%-16s%-12d%-6d%-6d%-8s%-10d`\n", part.name, t.at.Unix(), 0, 0, "100644", len(part.data))
		b.Write(part.data)
		if len(part.data)%2 == 1 {
			b.WriteByte('\n')
		}
	}
	return b.Bytes(), nil
}

// debianFiles says where the files of a package go (Filesystem Hierarchy Standard 3.0; completions as bash, zsh and fish look for them).
func debianFiles(program []byte, beside entries) (entries, error) {
	files := entries{{"usr/bin/asusual", program, true}}
	for _, e := range beside {
		to := e
		switch {
		case path.Dir(e.name) == "man":
			var b bytes.Buffer
			z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
			if err != nil {
				return nil, err
			}
			if _, err := z.Write(e.data); err != nil {
				return nil, err
			}
			if err := z.Close(); err != nil {
				return nil, err
			}
			to.name, to.data = "usr/share/man/man1/"+path.Base(e.name)+".gz", b.Bytes()
		case e.name == "completions/asusual.bash":
			to.name = "usr/share/bash-completion/completions/asusual"
		case e.name == "completions/_asusual":
			to.name = "usr/share/zsh/vendor-completions/_asusual"
		case e.name == "completions/asusual.fish":
			to.name = "usr/share/fish/vendor_completions.d/asusual.fish"
		case path.Ext(e.name) == ".service":
			to.name = "usr/lib/systemd/system/asusual.service"
		case e.name == "LICENSE":
			to.name = "usr/share/doc/asusual/copyright"
		case path.Dir(e.name) == ".":
			to.name = "usr/share/doc/asusual/" + e.name
		default:
			continue // PowerShell's completions
		}
		files = append(files, to)
	}
	return files, nil
}
