package keep

import "testing"

func TestFolderName(t *testing.T) {
	for name, want := range map[string]string{
		"day": "day", "Late Shift": "late-shift", "../../etc": "etc", `a\b:c*?"<>|`: "a-b-c", "": "unnamed", "...": "unnamed", "Nacht, früh": "nacht-früh", "NUL": "nul-", "COM1": "com1-", "lpt 9": "lpt-9", "com12": "com12",
		"夜": "夜", "a\u202eb": "a-b",
	} {
		if got := FolderName(name); got != want {
			t.Errorf("FolderName(%q) = %q, want %q", name, got, want)
		}
	}
}
