package monitor_test

import "testing"

// hostile has nothing to add where names and links are tame.
func hostile(*testing.T, *bench, map[string]string) {}
