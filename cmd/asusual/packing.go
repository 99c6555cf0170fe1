//go:build packing

package main

import (
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

// Where a package of Debian puts things.
const (
	packedProgram = "/usr/bin/asusual"
	packedFolder  = "/var/lib/asusual"
)

// packedHead stands at the head of the unit in a package, which makes the account and the folder and puts the unit in its place.
const packedHead = `# A service of systemd that watches the lines of /var/lib/asusual/asusual.toml. What is left to do:
#
#   sudo -u asusual -- asusual init /var/lib/asusual   then name in asusual.toml where the spectra lie, which that user has to be able to read
#   sudo -u asusual -- asusual learn --config /var/lib/asusual/asusual.toml
#   sudo systemctl enable --now asusual
#   journalctl -u asusual                              what it says
#   sudo usermod -aG asusual NAME                      who is to read history and reports, once logged in anew
#
# A new reference is taken up without a restart; a changed asusual.toml wants: sudo systemctl restart asusual
`

// packing is the command "packing DIR TIME", which writes what a package holds beside the program: the manual pages of
// section 1, dated with that time (RFC 3339), to DIR/man, completions to DIR/completions, a unit of systemd to DIR/asusual.service.
func (a *app) packing() []*cobra.Command {
	return []*cobra.Command{{
		Use:    "packing",
		Hidden: true,
		Args:   cobra.ExactArgs(2),
		RunE: func(c *cobra.Command, args []string) error {
			at, err := time.Parse(time.RFC3339, args[1])
			if err != nil {
				return usageError{err}
			}
			for _, part := range []string{"man", "completions"} {
				if err := os.MkdirAll(filepath.Join(args[0], part), 0o755); err != nil {
					return err
				}
			}
			if err := writeManual(c.Root(), filepath.Join(args[0], "man"), at); err != nil {
				return err
			}
			if err := writeCompletions(c.Root(), filepath.Join(args[0], "completions")); err != nil {
				return err
			}
			f, err := os.Create(filepath.Join(args[0], "asusual.service"))
			if err != nil {
				return err
			}
			defer f.Close()
			var unit strings.Builder
			err = writeService(&unit, "asusual.service", service{Program: packedProgram, Folder: packedFolder, Config: packedFolder + "/asusual.toml"})
			if err != nil {
				return err
			}
			_, body, _ := strings.Cut(unit.String(), "[Unit]\n")
			if _, err := f.WriteString(packedHead + "[Unit]\n" + body); err != nil {
				return err
			}
			return f.Close()
		},
	}}
}

func writeManual(root *cobra.Command, dir string, at time.Time) error {
	root.DisableAutoGenTag = true // what made the page does not matter to its reader
	forPages(root)
	return doc.GenManTree(root, &doc.GenManHeader{Section: "1", Date: &at, Source: "asusual", Manual: "User Commands"}, dir)
}

// forPages adds the exit statuses, which the library's page has no place for, and keeps the library, which reads texts as
// Markdown, from taking brackets for links.
func forPages(c *cobra.Command) {
	title, statuses, _ := strings.Cut(exitHelp(pathOf(c)), "\n")
	c.Long = plain(c.Long) + "\n\n# " + title + "\n```\n" + statuses + "\n```\n"
	c.Use = plain(c.Use)
	for _, sub := range c.Commands() {
		forPages(sub)
	}
}

// plain escapes what Markdown takes for markup.
func plain(s string) string {
	return strings.NewReplacer(`\`, `\\`, "[", `\[`, "]", `\]`, "*", `\*`, "_", `\_`, "<", `\<`, "`", "\\`").Replace(s)
}

func writeCompletions(root *cobra.Command, dir string) error {
	for name, write := range map[string]func(string) error{
		"asusual.bash": func(f string) error { return root.GenBashCompletionFileV2(f, true) },
		"_asusual":     root.GenZshCompletionFile,
		"asusual.fish": func(f string) error { return root.GenFishCompletionFile(f, true) },
		"asusual.ps1":  root.GenPowerShellCompletionFileWithDesc,
	} {
		if err := write(filepath.Join(dir, name)); err != nil {
			return err
		}
	}
	return nil
}
