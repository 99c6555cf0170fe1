//go:build !linux && !darwin && !windows

package keep

import "errors"

// Free returns how many bytes of the disk that holds the path this user may still fill.
func Free(string) (uint64, error) { return 0, errors.ErrUnsupported }

// SameDisk reports whether two paths lie on one disk, where that can be told.
func SameDisk(string, string) bool { return false }
