package keep

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// lock takes an exclusive lock of one byte far behind the content: locked bytes cannot be read by others on Windows, and
// the holder's name must be.
func lock(f *os.File) error {
	at := &windows.Overlapped{OffsetHigh: 1}
	err := windows.LockFileEx(windows.Handle(f.Fd()),
		windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, at)
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) || errors.Is(err, windows.ERROR_IO_PENDING) {
		return errLocked
	}
	return err
}

// syncFolder has nothing to do: NTFS journals a rename, and Windows has no call to sync a folder.
func syncFolder(string) error { return nil }

// passing reports whether an error of a file may be gone soon: somebody has it open, or it is being replaced.
func passing(err error) bool {
	for _, e := range []error{windows.ERROR_SHARING_VIOLATION, windows.ERROR_LOCK_VIOLATION, windows.ERROR_ACCESS_DENIED, windows.ERROR_USER_MAPPED_FILE} {
		if errors.Is(err, e) {
			return true
		}
	}
	return false
}
