//go:build unix

package monitor_test

import (
	"net"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// hostile puts into the folder what Unix has to offer, and adds what is expected of it.
func hostile(t *testing.T, b *bench, want map[string]string) {
	t.Helper()
	secret := filepath.Join(t.TempDir(), "secret.csv")
	long := strings.Repeat("n", 251) + ".csv"
	for _, err := range []error{
		os.WriteFile(secret, []byte("1000,1\n1001,2\n"), 0o644),
		os.Symlink(secret, filepath.Join(b.folder, "secret.csv")),
		os.Symlink("/dev/zero", filepath.Join(b.folder, "zero.csv")),
		os.Symlink(b.folder, filepath.Join(b.folder, "loop")),
		syscall.Mkfifo(filepath.Join(b.folder, "pipe.csv"), 0o644),
		os.WriteFile(filepath.Join(b.folder, "line\nbreak<script>.csv"), []byte("no\nspectrum\n"), 0o644),
		os.WriteFile(filepath.Join(b.folder, long), []byte("no spectrum"), 0o644),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	for name, says := range map[string]string{"secret.csv": "leads out of the folder", "zero.csv": "leads out of the folder",
		"loop": "link", "pipe.csv": "named pipe", "line\nbreak<script>.csv": "", long: ""} {
		want[name] = says
	}
	socket, err := net.Listen("unix", filepath.Join(b.folder, "socket.csv"))
	if err != nil {
		t.Logf("no socket could be made: %v", err) // the path of the folder is too long on some systems
	} else {
		t.Cleanup(func() { _ = socket.Close() })
		want["socket.csv"] = "socket"
	}
	zero, err := os.Stat("/dev/zero")
	if err != nil {
		t.Fatal(err)
	}
	if s, ok := zero.Sys().(*syscall.Stat_t); ok {
		if err := syscall.Mknod(filepath.Join(b.folder, "device.csv"), syscall.S_IFCHR|0o666, int(s.Rdev)); err != nil {
			t.Logf("no device could be made, which only root may: %v", err)
			return
		}
		want["device.csv"] = "device"
	}
}
