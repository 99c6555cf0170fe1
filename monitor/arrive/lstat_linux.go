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

// kinds are the types of files, as their modes have them.
var kinds = map[uint32]fs.FileMode{
	unix.S_IFREG: 0, unix.S_IFDIR: fs.ModeDir, unix.S_IFLNK: fs.ModeSymlink, unix.S_IFIFO: fs.ModeNamedPipe,
	unix.S_IFSOCK: fs.ModeSocket, unix.S_IFBLK: fs.ModeDevice, unix.S_IFCHR: fs.ModeDevice | fs.ModeCharDevice,
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
			kind, ok := kinds[s.Mode&unix.S_IFMT]
			if !ok {
				kind = fs.ModeIrregular
			}
			return &stat{base, s.Size, kind, time.Unix(s.Mtim.Unix())}
		case unix.EINTR: // of a file system in user space
		default:
			return nil
		}
	}
}
