package arrive

import (
	"slices"
	"syscall"
)

// localTypes are file systems of this computer's own disks and memory, by the number that statfs gives (Linux man-pages,
// statfs(2)): ext2 to ext4, XFS, Btrfs, F2FS, ZFS, tmpfs, overlayfs. FAT is none of them, whose times are two seconds apart.
var localTypes = []uint32{0xef53, 0x58465342, 0x9123683e, 0xf2f52010, 0x2fc12fc1, 0x01021994, 0x794c7630}

// local reports whether the folder lies on a disk of this computer.
func local(path string) bool {
	var s syscall.Statfs_t
	return syscall.Statfs(path, &s) == nil && slices.Contains(localTypes, uint32(s.Type))
}
