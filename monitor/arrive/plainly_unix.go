//go:build unix

package arrive

import "syscall"

// plainly opens a file without being put into the mode in which it could wait for data, and out of it again when it turns out to be
// no pipe: that would be four calls of the system more. A regular file is read as ever.
const plainly = syscall.O_NONBLOCK
