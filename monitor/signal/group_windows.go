package signal

import "os/exec"

// ownGroup does nothing: the command alone is stopped.
func ownGroup(*exec.Cmd) {}
