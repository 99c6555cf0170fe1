package keep

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"golang.org/x/sys/windows"
)

// Free returns how many bytes of the disk that holds the path this user may still fill.
func Free(path string) (uint64, error) {
	if path != "" && !os.IsPathSeparator(path[len(path)-1]) {
		path += `\` // without which the name of a share is none
	}
	p, err := windows.UTF16PtrFromString(path)
	if err != nil {
		return 0, err
	}
	var free uint64
	err = windows.GetDiskFreeSpaceEx(p, &free, nil, nil)
	return free, err
}

// SameDisk reports whether two paths lie on one disk. The letter alone does not tell: a folder may stand for another disk. Nor does
// the number of the disk, which its copies have, too.
func SameDisk(a, b string) bool {
	one, err := disk(a)
	other, err2 := disk(b)
	return err == nil && err2 == nil && one == other
}

// disk returns the letter, or the share, and the number of the disk that a path lies on.
func disk(path string) (string, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	var info windows.ByHandleFileInformation
	err = windows.GetFileInformationByHandle(windows.Handle(f.Fd()), &info)
	return fmt.Sprint(strings.ToUpper(filepath.VolumeName(path)), " ", info.VolumeSerialNumber), err
}
