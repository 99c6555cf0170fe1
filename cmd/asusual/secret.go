package main

import (
	"bytes"
	"os"
	"strings"

	"asusual/cmd/asusual/words"
)

// secretText returns the text of a file that holds a token or a password, as editors of any system write it.
func secretText(path string) (string, error) {
	b, err := os.ReadFile(path)
	if err != nil {
		return "", err
	}
	if bytes.HasPrefix(b, []byte{0xff, 0xfe}) || bytes.HasPrefix(b, []byte{0xfe, 0xff}) || bytes.IndexByte(b, 0) >= 0 {
		return "", &words.NotUTF8{Path: path}
	}
	return strings.TrimPrefix(string(b), "\ufeff"), nil
}

// passwordIn returns the password that stands in a file: its first line, with blanks that belong to it.
func passwordIn(path string) (string, error) {
	text, err := secretText(path)
	line, _, _ := strings.Cut(text, "\n")
	return strings.TrimSuffix(line, "\r"), err
}
