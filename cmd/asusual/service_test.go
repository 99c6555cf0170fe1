package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// systemd itself reads the unit and finds nothing wrong, also where the paths are awkward.
func TestUnitIsWhatSystemdTakes(t *testing.T) {
	analyze, err := exec.LookPath("systemd-analyze")
	if err != nil {
		t.Skip("needs systemd-analyze, of Debian's package systemd")
	}
	for _, name := range []string{"plant", "Hall 3, 100% oats & $more"} {
		dir := filepath.Join(t.TempDir(), name)
		if err := os.Mkdir(dir, 0o755); err != nil {
			t.Fatal(err)
		}
		program := filepath.Join(dir, "asusual")
		if err := os.WriteFile(program, []byte("#!/bin/sh\n"), 0o755); err != nil {
			t.Fatal(err)
		}
		var unit bytes.Buffer
		if err := writeService(&unit, "asusual.service", service{program, dir, filepath.Join(dir, "asusual.toml")}); err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), "asusual.service")
		text := strings.Replace(unit.String(), "User=asusual", "User=daemon", 1) // there is none of that name here
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		said, err := exec.Command(analyze, "verify", "--man=no", file).CombinedOutput()
		if err != nil || bytes.Contains(said, []byte("asusual")) { // it may complain of the machine's other units
			t.Errorf("systemd-analyze verify of the unit for %q = %v, want nothing\n%s", dir, err, said)
		}
	}
}

// TestTaskOfWindows: the script that is run again ends the task that runs, which would go on with the program and the folder of before;
// and its lines to copy are copied whole, so that words behind a command are a comment to PowerShell and no arguments.
func TestTaskOfWindows(t *testing.T) {
	var out bytes.Buffer
	if err := writeService(&out, "asusual.ps1", service{`C:\asusual.exe`, `D:\f`, `D:\f\asusual.toml`}); err != nil {
		t.Fatal(err)
	}
	stop := strings.Index(out.String(), "\nStop-ScheduledTask -TaskName 'asusual' -ErrorAction SilentlyContinue\n")
	if anew := strings.Index(out.String(), "\nRegister-ScheduledTask -Force"); stop < 0 || stop > anew {
		t.Errorf("the task is not stopped before it is registered anew:\n%s", out.String())
	}
	commands := 0
	for line := range strings.Lines(out.String()) {
		if command, ok := strings.CutPrefix(line, "#   "); ok {
			commands++
			if command, _, _ = strings.Cut(command, " # "); strings.Contains(strings.TrimSpace(command), "  ") {
				t.Errorf("words behind a command would be its arguments: %q", line)
			}
		}
	}
	if commands < 8 {
		t.Errorf("%d lines to copy, want 8 or more:\n%s", commands, out.String())
	}
}

func TestServiceWords(t *testing.T) {
	s := service{`C:\tools\asusual.exe`, `D:\O'Hara 100%`, `D:\O'Hara 100%\asusual.toml`}
	for _, tt := range []struct{ file, want string }{
		{"asusual.service", `ExecStart="C:\\tools\\asusual.exe" watch --config "D:\\O'Hara 100%%\\asusual.toml"`},
		{"asusual.service", `WorkingDirectory=D:\O'Hara 100%%`},
		{"asusual.service", `chown asusual 'D:\O'\''Hara 100%' `}, // not what lies in it: the spectrometer's folder may be there
		{"asusual.service", `usermod -aG asusual NAME`},
		{"asusual.service", `learn --config 'D:\O'\''Hara 100%\asusual.toml'`},
		{"asusual.service", `asusual init 'D:\O'\''Hara 100%' --service`},
		{"asusual.ps1", `-WorkingDirectory 'D:\O''Hara 2'`},
		{"asusual.ps1", `-Argument '/c ""C:\tools\asusual.exe" watch --config "D:\O''Hara 2\asusual.toml" 2>> "`},
		{"asusual.ps1", `asusual init 'D:\O''Hara 2' --service`},
		{"asusual.ps1", `-RepetitionInterval (New-TimeSpan -Minutes 5)`},
		{"asusual.ps1", `-Trigger $start, $again`},
		{"asusual.service", `ExecStartPre=/usr/bin/head -c 0 "D:\\O'Hara 100%%\\asusual.toml"`}, // whose status is 1, after which it is started again
		{"asusual.ps1", `icacls 'D:\O''Hara 2' /grant '*S-1-5-19:`},
		{"asusual.ps1", `-UserId ([Security.Principal.SecurityIdentifier]'S-1-5-19')`}, // LOCAL SERVICE: MS-DTYP, 2.4.2.4
		{"asusual.ps1", `Register-ScheduledTask -Force`},
		{"asusual.ps1", `Disable-ScheduledTask -TaskName 'asusual'`},
		{"asusual.ps1", `Move-Item -Force -LiteralPath 'D:\O''Hara 2`},
	} {
		s := s
		if tt.file == "asusual.ps1" {
			s.Folder, s.Config = `D:\O'Hara 2`, `D:\O'Hara 2\asusual.toml`
		}
		var out bytes.Buffer
		if err := writeService(&out, tt.file, s); err != nil || !strings.Contains(out.String(), tt.want) {
			t.Errorf("writeService(%s) = %v, want a text with\n%s\ngot\n%s", tt.file, err, tt.want, out.String())
		}
		if strings.Contains(out.String(), "{{") {
			t.Errorf("writeService(%s) leaves a mark:\n%s", tt.file, out.String())
		}
	}
	if err := writeService(&bytes.Buffer{}, "asusual.ps1", s); err == nil || !strings.Contains(err.Error(), "a path without %") {
		t.Errorf("writeService for Windows and a folder with %% = %v, want it refused", err)
	}
	s.Folder = "two\nlines"
	if err := writeService(&bytes.Buffer{}, "asusual.service", s); err == nil || !strings.Contains(err.Error(), "line break") {
		t.Errorf("writeService for a folder with a line break = %v, want it refused", err)
	}
}
