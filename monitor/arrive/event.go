package arrive

// A Hint says what a notification hints at.
type Hint uint8

// The hints.
const (
	Changed  Hint = iota // the file or folder is new or was written to
	Complete             // the file was renamed into its place: its content is whole
	Gone                 // it was removed or renamed away
	Lost                 // notifications were lost; only a listing tells which
)

// An Event is one notification.
type Event struct {
	Hint Hint
	Rel  string // relative to the folder, with slashes; "." for the folder itself
}

// A Source sends notifications. It may send too many, too few or none.
type Source interface {
	Events() <-chan Event
	Follow(dir string) error // asks for the notifications of a folder, relative, also when it was asked before
	Unfollow(dir string)     // gives them up again; nothing where they were not asked for
}
