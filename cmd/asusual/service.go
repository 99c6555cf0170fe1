package main

import (
	_ "embed"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"asusual/cmd/asusual/config"
)

// The texts of the services. What stands in {{ }} is filled in: a path, and how it is to be written there.
var (
	//go:embed service/asusual.service
	systemdText string
	//go:embed service/asusual.ps1
	windowsText string
)

// A service is what the text of a service is filled in with.
type service struct {
	Program, Folder, Config string // whole paths
}

// Log is where what the program says goes on Windows, and OldLog where to put it by.
func (s service) Log() string    { return filepath.Join(s.Folder, "asusual.log") }
func (s service) OldLog() string { return filepath.Join(s.Folder, "asusual-old.log") }

// Command is the command line that Windows runs: the log goes to a file, for a task has no terminal.
func (s service) Command() string {
	return fmt.Sprintf(`/c ""%s" watch --config "%s" 2>> "%s""`, s.Program, s.Config, s.Log())
}

// service writes what has systemd or Windows run asusual as a service for the configuration in dir.
func (a *app) service(kind, dir string) error {
	file, ok := map[string]string{"systemd": "asusual.service", "windows": "asusual.ps1"}[kind]
	if !ok {
		return wrongUse("--service %q: it is systemd or windows", kind)
	}
	program, err := os.Executable()
	if err != nil {
		return err
	}
	if dir, err = filepath.Abs(dir); err != nil {
		return err
	}
	return writeService(a.out, file, service{Program: program, Folder: dir, Config: filepath.Join(dir, config.Name)})
}

func writeService(w io.Writer, file string, s service) error {
	for _, p := range []string{s.Program, s.Folder} {
		if file == "asusual.ps1" && strings.Contains(p, "%") {
			return fmt.Errorf("%q: cmd.exe, by which the task is run, takes what stands between two %% of a path for a variable; use a path without %%", p)
		}
		if strings.ContainsAny(p, "\n\r\"") {
			return fmt.Errorf("%q: a service cannot be told of a path with a line break or a quotation mark", p)
		}
	}
	_, err := s.words().WriteString(w, map[string]string{"asusual.service": systemdText, "asusual.ps1": windowsText}[file])
	return err
}

// words are what stands in place of the marks.
func (s service) words() *strings.Replacer {
	return strings.NewReplacer(
		"{{config}}", s.Config, "{{argument config}}", argument(s.Config),
		"{{unit program}}", unitWord(s.Program),
		"{{unit folder}}", unitWord(s.Folder), "{{percent folder}}", percent(s.Folder), "{{posix folder}}", posixWord(s.Folder), "{{posix config}}", posixWord(s.Config), "{{shell folder}}", shellWord(s.Folder),
		"{{shell command}}", shellWord(s.Command()), "{{shell log}}", shellWord(s.Log()), "{{shell old log}}", shellWord(s.OldLog()))
}

// percent writes a text so that systemd sees no specifier in it (systemd.unit, "Specifiers").
func percent(s string) string { return strings.ReplaceAll(s, "%", "%%") }

// unitWord writes a text as one word of a unit file (systemd.syntax, "Quoting").
func unitWord(s string) string { return `"` + strings.ReplaceAll(percent(s), `\`, `\\`) + `"` }

// argument writes a text as an argument of the command, in which systemd looks for variables, as it does not in the
// command's own name (systemd.service, "Command lines").
func argument(s string) string { return strings.ReplaceAll(unitWord(s), "$", "$$") }

// shellWord writes a text as PowerShell's verbatim string (about_Quoting_Rules).
func shellWord(s string) string { return "'" + strings.ReplaceAll(s, "'", "''") + "'" }

// posixWord writes a text as one word of a POSIX shell (IEEE Std 1003.1, Shell Command Language, 2.2.2 Single-Quotes).
func posixWord(s string) string { return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'" }
