//go:build !windows

package arrive

import "os"

// OpenFile opens a file of any folder as those of a Disk are opened.
func OpenFile(path string) (*os.File, error) { return os.OpenFile(path, os.O_RDONLY|plainly, 0) }

func openRoot(path string) (*os.Root, error) { return os.OpenRoot(path) }
