package keep

import (
	"path/filepath"
	"strings"

	"golang.org/x/sys/windows"
)

// Free returns how many bytes of the disk that holds the path this user may still fill.
func Free(path string) (uint64, error) {
	p, err := windows.UTF16PtrFromString(path)
	if err != nil {
		return 0, err
	}
	var free uint64
	err = windows.GetDiskFreeSpaceEx(p, &free, nil, nil)
	return free, err
}

// SameDisk reports whether two paths lie on one disk.
func SameDisk(a, b string) bool {
	a, err := filepath.Abs(a)
	b, err2 := filepath.Abs(b)
	return err == nil && err2 == nil && strings.EqualFold(filepath.VolumeName(a), filepath.VolumeName(b))
}
