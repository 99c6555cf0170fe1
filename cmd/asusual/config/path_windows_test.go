package config

import "testing"

// What a path means is written down in "Naming Files, Paths, and Namespaces" of the Windows documentation: one that starts with a
// slash starts at the root of the drive, and one with a letter and no slash in the folder that a program has on that drive.
func TestPathsOfDrives(t *testing.T) {
	for _, tt := range []struct{ file, path, want string }{
		{`D:\plant\asusual.toml`, `spectra`, `D:\plant\spectra`},
		{`D:\plant\asusual.toml`, `../spectra`, `D:\spectra`},
		{`D:\plant\asusual.toml`, `E:/spectra`, `E:/spectra`},
		{`D:\plant\asusual.toml`, `\spectra`, `D:\spectra`},
		{`D:\plant\asusual.toml`, `/spectra`, `D:\spectra`},
		{`asusual.toml`, `/spectra`, `\spectra`},
		{`\\host\share\asusual.toml`, `/spectra`, `\\host\share\spectra`},
		{`D:\plant\asusual.toml`, `\\host\share\spectra`, `\\host\share\spectra`},
		{`D:\plant\asusual.toml`, `//host/share/spectra`, `//host/share/spectra`},
	} {
		if got, err := whole(tt.file, tt.path); err != nil || got != tt.want {
			t.Errorf("whole(%s, %s) = %s, %v, want %s", tt.file, tt.path, got, err, tt.want)
		}
	}
	const want = `D:spectra does not say in which folder of D:; write D:/spectra`
	if got, err := whole(`D:\plant\asusual.toml`, `D:spectra`); err == nil || err.Error() != want {
		t.Errorf("whole(D:spectra) = %s, %v, want %s", got, err, want)
	}
}
