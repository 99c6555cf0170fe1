//go:build !linux

package arrive

import "io/fs"

// lstat describes a file of a folder that Below has opened, or the link that it is; nil for one that is not there.
func lstat(folder *Disk, base string) fs.FileInfo { return lstatIn(folder, base) }
