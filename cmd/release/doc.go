// Command release makes what is handed out, from the commit that the tree stands on.
//
//	go run ./cmd/release [-dir dist] [-systems linux/amd64,…] [-changed] [-twice]
//
// For each system it builds a static program, without paths of this machine and without debugging tables, and packs it with
// README.md, LICENSE, the licences of all that is linked in, manual pages, completions and a unit of systemd: a .tar.gz, for
// Windows a .zip, and for Linux a Debian package too. SHA256SUMS has the checksums of them all, as sha256sum -c reads them.
//
// Every file carries the time of the commit and no owner, in a fixed order, so that the same commit and the same Go make the
// same bytes, on any machine. -twice proves it: the whole is made again from a fresh clone in another folder, with an empty
// build cache, and compared. (That takes some minutes.)
//
// A tree with changes that are not committed is refused, as nobody could make the same again; -changed makes it all the same,
// for trials, and the program says "with changes".
//
// The version is the commit's day and minute (UTC) and its first seven digits, such as 20261125.1011.dc0a647. The build needs Go and git.
//
// Exit status: 0 done, 1 it could not be done, or -twice saw a difference, 2 wrong command line.
package main
