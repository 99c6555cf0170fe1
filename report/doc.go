// Package report makes the pages that people read: the handover of a shift, the card of a reference, the comparison of two
// periods and the index of all reports. It takes plain data and returns bytes; it reads no file and no clock.
//
// A page is one self-contained HTML file: its style and pictures lie inside, it runs no script and asks for nothing from
// outside. It prints on A4 and can be read without colour. The same data give the same bytes, and every text that comes
// from outside, such as the name of a file, is escaped.
//
// What a page says is in three places: words.go has every sentence, the files that are named after a page choose among them,
// and what ends in html.go holds the layout, which report/tag writes. A number that is not finite is shown as a dash; a picture that cannot be drawn is
// replaced by the reason.
package report
