//go:build !unix

package arrive

const plainly = 0
