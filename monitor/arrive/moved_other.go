//go:build !linux

package arrive

// Other systems do not tell a file that is renamed into a folder from one that is begun there; it settles like others.
type moves struct{}

func newMoves(string) *moves           { return nil }
func (m *moves) follow(string)         {}
func (m *moves) unfollow(string)       {}
func (m *moves) channel() <-chan Event { return nil }
func (m *moves) close()                {}
