//go:build !linux

package monitor_test

import "testing"

func smallDisk(t *testing.T, _ string) string {
	t.Helper()
	t.Skip("a small file system of its own needs Linux and root")
	return ""
}

func readOnly(*testing.T, string) {}

func fill(*testing.T, string) {}
