package keep

import (
	"errors"
	"os"
)

// Look says whether somebody holds the lock of that path, and who, without taking it and without making the file. A lock file
// that is not there is held by nobody.
func Look(path string) (by Holder, held bool, err error) {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if errors.Is(err, os.ErrPermission) { // who may only read it may look
		f, err = os.Open(path)
	}
	if errors.Is(err, os.ErrNotExist) {
		return by, false, nil
	}
	if err != nil {
		return by, false, err
	}
	defer f.Close() // which gives up the lock that it took where nobody else had it
	switch err := lock(f); {
	case errors.Is(err, errLocked):
		return readHolder(f), true, nil
	default:
		return by, false, err
	}
}
