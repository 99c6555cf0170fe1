package arrive

import (
	"io/fs"
	"time"

	"golang.org/x/sys/unix"
)

// A stat is what a listing has to know of a file.
type stat struct {
	name     string
	size     int64
	mode     fs.FileMode
	modified time.Time
}

func (s *stat) Name() string       { return s.name }
func (s *stat) Size() int64        { return s.size }
func (s *stat) Mode() fs.FileMode  { return s.mode }
func (s *stat) ModTime() time.Time { return s.modified }
func (s *stat) IsDir() bool        { return s.mode.IsDir() }
func (s *stat) Sys() any           { return nil }

// kind returns the type of a file of which the system has that mode.
func kind(mode uint32) fs.FileMode {
	switch mode & unix.S_IFMT {
	case unix.S_IFREG:
		return 0
	case unix.S_IFDIR:
		return fs.ModeDir
	case unix.S_IFLNK:
		return fs.ModeSymlink
	case unix.S_IFIFO:
		return fs.ModeNamedPipe
	case unix.S_IFSOCK:
		return fs.ModeSocket
	case unix.S_IFBLK:
		return fs.ModeDevice
	case unix.S_IFCHR:
		return fs.ModeDevice | fs.ModeCharDevice
	}
	return fs.ModeIrregular
}

// lstat describes a file of a folder that Below has opened, or the link that it is; nil for one that is not there. It asks the system
// itself, for the size, the type and the time alone: many goroutines that ask by os.Root wait for each other.
func lstat(folder *Disk, base string) fs.FileInfo {
	if folder.dir == nil {
		return lstatIn(folder, base)
	}
	var s unix.Stat_t
	for {
		switch err := unix.Fstatat(int(folder.dir.Fd()), base, &s, unix.AT_SYMLINK_NOFOLLOW); err {
		case nil:
			return &stat{base, s.Size, kind(s.Mode), time.Unix(s.Mtim.Unix())}
		case unix.EINTR: // of a file system in user space
		default:
			return nil
		}
	}
}
