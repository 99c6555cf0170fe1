//go:build linux || darwin

package keep

import (
	"os"
	"syscall"
)

// Free returns how many bytes of the disk that holds the path this user may still fill.
func Free(path string) (uint64, error) {
	var s syscall.Statfs_t
	if err := syscall.Statfs(path, &s); err != nil {
		return 0, err
	}
	return s.Bavail * uint64(s.Bsize), nil // of whole blocks
}

// SameDisk reports whether two paths lie on one disk.
func SameDisk(a, b string) bool {
	one, err := os.Stat(a)
	other, err2 := os.Stat(b)
	if err != nil || err2 != nil {
		return false
	}
	x, ok := one.Sys().(*syscall.Stat_t)
	y, ok2 := other.Sys().(*syscall.Stat_t)
	return ok && ok2 && x.Dev == y.Dev
}
