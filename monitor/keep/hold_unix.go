//go:build unix

package keep

import (
	"errors"
	"os"
	"syscall"
)

// lock takes the advisory lock of the whole file. It belongs to the open file, so a second opening in the same process
// is refused as another process is.
func lock(f *os.File) error {
	for {
		switch err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); {
		case errors.Is(err, syscall.EINTR):
		case errors.Is(err, syscall.EWOULDBLOCK):
			return errLocked
		default:
			return err
		}
	}
}

// syncFolder makes a rename in the folder last through a power cut.
func syncFolder(folder string) error {
	d, err := os.Open(folder)
	if err != nil {
		return err
	}
	defer d.Close()
	// Some network file systems cannot sync a folder; there the rename is as lasting as they make it.
	if err := d.Sync(); err != nil && !errors.Is(err, syscall.EINVAL) && !errors.Is(err, syscall.ENOTSUP) {
		return err
	}
	return nil
}

// passing reports whether an error of a file may be gone soon. Here a file can be replaced while others have it open.
func passing(error) bool { return false }
