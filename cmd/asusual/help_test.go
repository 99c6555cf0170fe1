package main

import (
	"bytes"
	"go/ast"
	"go/token"
	"os"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
)

// call runs the program and returns its exit status and what it wrote.
func call(t *testing.T, args ...string) (status int, out, errOut string) {
	t.Helper()
	var o, e bytes.Buffer
	status = run(t.Context(), args, strings.NewReader(""), &o, &e)
	return status, o.String(), e.String()
}

// every returns the program and all commands below it.
func every() []*cobra.Command {
	a := &app{out: &bytes.Buffer{}, errOut: &bytes.Buffer{}}
	var all []*cobra.Command
	var add func(c *cobra.Command)
	add = func(c *cobra.Command) {
		if c.Name() != "help" && c.Name() != "completion" {
			all = append(all, c)
		}
		for _, sub := range c.Commands() {
			if !sub.Hidden {
				add(sub)
			}
		}
	}
	add(a.rootCommand(nil))
	return all
}

func TestEveryCommandHasHelpWithAnExampleAndItsExitStatus(t *testing.T) {
	for _, c := range every() {
		path := strings.Fields(c.CommandPath())[1:]
		status, out, errOut := call(t, append(path, "--help")...)
		if status != 0 || errOut != "" {
			t.Errorf("%s --help = %d, %q, want 0 and no error", c.CommandPath(), status, errOut)
		}
		for _, want := range []string{"\nEXAMPLE\n  $ asusual ", "\nEXIT STATUS\n  0   done", "\n  2   the command line or the configuration is wrong"} {
			if !strings.Contains(out, want) {
				t.Errorf("%s --help does not say %q:\n%s", c.CommandPath(), want, out)
			}
		}
		c.LocalFlags().VisitAll(func(f *pflag.Flag) {
			if !f.Hidden && !strings.Contains(out, "--"+f.Name+" ") {
				t.Errorf("%s --help does not name --%s:\n%s", c.CommandPath(), f.Name, out)
			}
		})
		_, asked, _ := call(t, append([]string{"help"}, path...)...)
		if asked != out {
			t.Errorf("help %s is not the same as %s --help", strings.Join(path, " "), c.CommandPath())
		}
		if strings.Contains(out, "(default 1h0m0s)") {
			t.Errorf("%s --help has a default that is each line's own:\n%s", c.CommandPath(), out)
		}
		for line := range strings.SplitSeq(out, "\n") {
			if n := len([]rune(line)); n > 120 {
				t.Errorf("%s --help has a line of %d signs: %s", c.CommandPath(), n, line)
			}
		}
	}
}

// The help of a command names the exit statuses that its file gives it, and no others: a verdict's, or that nothing can be said.
func TestHelpTellsTheStatusesThatACommandHas(t *testing.T) {
	const changed, cannotSay = "\n  10  the process has changed", "\n  11  cannot say"
	of := map[string][]string{ // by what is assigned to the status
		"ofVerdict": {changed, cannotSay}, "statusOf": {changed, cannotSay}, "statusChanged": {changed}, "statusCannotSay": {cannotSay},
	}
	want := map[string][]string{"asusual": {changed, cannotSay}}
	for _, s := range sources(t) {
		if s.test || s.room != "cmd/asusual" {
			continue
		}
		ast.Inspect(s.file, func(node ast.Node) bool {
			set, ok := node.(*ast.AssignStmt)
			if !ok || len(set.Lhs) != 1 {
				return true
			}
			if to, ok := set.Lhs[0].(*ast.SelectorExpr); !ok || to.Sel.Name != "status" {
				return true
			}
			ast.Inspect(set.Rhs[0], func(node ast.Node) bool {
				if name, ok := node.(*ast.Ident); ok {
					command := "asusual " + strings.TrimSuffix(path.Base(s.name), ".go")
					want[command] = append(want[command], of[name.Name]...)
				}
				return true
			})
			return true
		})
	}
	n := 0
	for _, c := range every() {
		_, out, _ := call(t, append(strings.Fields(c.CommandPath())[1:], "--help")...)
		for _, status := range []string{changed, cannotSay} {
			gives := slices.Contains(want[c.CommandPath()], status)
			if tells := strings.Contains(out, status); tells != gives {
				t.Errorf("%s --help tells %q: %v, want %v", c.CommandPath(), status, tells, gives)
			}
			if gives {
				n++
			}
		}
	}
	if n < 2+2*5+1 { // the program, and those that tell a verdict, and instrument
		t.Errorf("%d statuses of verdicts are found, want those of all commands", n)
	}
}

// The examples must be command lines that the program takes.
func TestExamplesAreCommandLines(t *testing.T) {
	for _, c := range every() {
		for line := range strings.SplitSeq(words.Help(pathOf(c)).Example, "\n") {
			_, command, ok := strings.Cut(line, "asusual ")
			if !ok {
				continue
			}
			command, _, _ = strings.Cut(command, " #")
			command, _, _ = strings.Cut(command, " >")
			command, _, _ = strings.Cut(command, " ||")
			a := &app{out: &bytes.Buffer{}, errOut: &bytes.Buffer{}}
			found, rest, err := a.rootCommand(nil).Find(split(command))
			if err == nil {
				err = found.ParseFlags(rest)
			}
			if err == nil && found.Args != nil {
				err = found.Args(found, found.Flags().Args())
			}
			if err != nil || !found.HasParent() {
				t.Errorf("example %q: %v, want a command line of a command", line, err)
			}
		}
	}
}

// split divides a command line at its spaces, except between double quotes.
func split(s string) []string {
	var all []string
	for i, part := range strings.Split(s, `"`) {
		if i%2 == 1 {
			all = append(all, part)
			continue
		}
		all = append(all, strings.Fields(part)...)
	}
	return all
}

func TestWrongCommandLines(t *testing.T) {
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"jugde"}, "asusual: unknown command \"jugde\"; is judge meant?\ntry: asusual --help\n"},
		{[]string{"brew"}, "asusual: unknown command \"brew\"\ntry: asusual --help\n"},
		{[]string{"help", "brew"}, "asusual: unknown command \"brew\"\ntry: asusual --help\n"},
		{[]string{"judge"}, "asusual: judge takes PATH… --reference FILE; it got 0 arguments\ntry: asusual judge --help\n"},
		{[]string{"conditions", "name", "a"}, "asusual: conditions name takes GROUP NAME; it got 1 argument\ntry: asusual conditions name --help\n"},
		{[]string{"judge", "--colour", "x"}, "asusual: unknown flag: --colour\ntry: asusual --help, or --help after the command\n"},
		{[]string{"demo", "--days", "many"}, "asusual: invalid argument \"many\" for \"--days\" flag: strconv.ParseInt: parsing \"many\": invalid syntax\ntry: --help after the command\n"},
		{[]string{"demo", "--days", "1"}, "asusual: --days 1: the demo learns from 2 to 60 days\ntry: asusual demo --help\n"},
	} {
		t.Chdir(t.TempDir())
		status, out, errOut := call(t, c.args...)
		if status != statusUsage || out != "" || errOut != c.want {
			t.Errorf("asusual %v = %d, %q, %q, want %d and %q", c.args, status, out, errOut, statusUsage, c.want)
		}
	}
}

func TestHelpShowsTheCommandsInTheOrderOfUse(t *testing.T) {
	_, out, _ := call(t)
	last := -1
	for _, name := range []string{"demo", "init", "inspect", "learn", "judge", "watch", "handover", "export"} {
		at := strings.Index(out, "\n  "+name+" ")
		if at <= last {
			t.Errorf("help shows %s at %d, want it after %d", name, at, last)
		}
		last = at
	}
}

// The manual in doc.go has every command, the table of exit statuses as the program has it, and command lines that it takes.
func TestManual(t *testing.T) {
	b, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	manual := strings.ReplaceAll(string(b), "\n//", "\n")
	for _, c := range every()[1:] {
		if !strings.Contains(manual, "\t$ "+strings.TrimSpace(c.CommandPath())) {
			t.Errorf("doc.go has no example of %s", c.CommandPath())
		}
	}
	for line := range strings.SplitSeq(manual, "\n") {
		_, command, ok := strings.Cut(line, "\t$ asusual ")
		if !ok {
			continue
		}
		command, _, _ = strings.Cut(command, " |")
		a := &app{out: &bytes.Buffer{}, errOut: &bytes.Buffer{}}
		c, rest, err := a.rootCommand(nil).Find(split(command))
		if err == nil {
			err = c.ParseFlags(rest)
		}
		if err != nil || !c.HasParent() {
			t.Errorf("doc.go: %q: %v, want a command line of a command", command, err)
		}
	}
	for line := range strings.SplitSeq(exitHelp(""), "\n") {
		if line = strings.TrimPrefix(line, "  "); line != "EXIT STATUS" && !strings.Contains(manual, "\t"+line+"\n") {
			t.Errorf("doc.go does not say %q", line)
		}
	}
}

// A setting that README or the manual names can be written where they say, in the file that init writes.
func TestSettingsOfTheManualCanBeWritten(t *testing.T) {
	sample := config.Sample(config.Answers{Line: "Filler 3", Watch: "spectra", Good: []string{"good"}, Reference: "line.reference"})
	for _, c := range []struct {
		file       string
		setting    *regexp.Regexp
		key, table int // groups of it: the setting and its table
	}{
		{"../../README.md", regexp.MustCompile("`([a-z-]+ = [^`]+)` under `\\[([a-z]+)\\]`"), 1, 2},
		{"doc.go", regexp.MustCompile(`//\t\[([a-z]+)\]\n//\t([a-z-]+ = .+)\n`), 2, 1},
	} {
		b, err := os.ReadFile(c.file)
		if err != nil {
			t.Fatal(err)
		}
		all := c.setting.FindAllStringSubmatch(string(b), -1)
		if len(all) == 0 {
			t.Errorf("%s names no setting and its table", c.file)
		}
		for _, m := range all {
			head := "\n[" + m[c.table] + "]\n"
			if strings.Count(sample, head) != 1 {
				t.Errorf("%s: the file of init has no %q", c.file, head)
			}
			setting := strings.ReplaceAll(m[c.key], "…", "line3@history.plant/asusual")
			if _, err := config.Decode("asusual.toml", strings.Replace(sample, head, head+setting+"\n", 1)); err != nil {
				t.Errorf("%s: %s written under [%s]: %v", c.file, setting, m[c.table], err)
			}
		}
	}
}

// Whatever the program says of a command, in whichever language, is a command that it has, with options that it has.
func TestCommandsThatAreNamedAreThere(t *testing.T) {
	command := regexp.MustCompile(`\basusual ([a-z]+)((?: --[a-z-]+)*)`)
	no := []string{"live", "watches", "reference", "archive", "on", "auf"} // no commands: what else follows the name
	n := 0
	for _, s := range sources(t) {
		if s.test || isTool(s.room) {
			continue
		}
		ast.Inspect(s.file, func(node ast.Node) bool {
			text, ok := node.(*ast.BasicLit)
			if !ok || text.Kind != token.STRING {
				return true
			}
			for _, m := range command.FindAllStringSubmatch(text.Value, -1) {
				if slices.Contains(no, m[1]) {
					continue
				}
				n++
				c, _, err := (&app{out: &bytes.Buffer{}, errOut: &bytes.Buffer{}}).rootCommand(nil).Find(m[1:2])
				if err != nil || !c.HasParent() {
					t.Errorf("%s says %q, which is no command: %v", s.name, m[0], err)
					continue
				}
				for option := range strings.FieldsSeq(m[2]) {
					if c.Flag(option[2:]) == nil {
						t.Errorf("%s says %q, but %s has no %s", s.name, m[0], m[1], option)
					}
				}
			}
			return true
		})
	}
	if n < 50 {
		t.Errorf("%d commands are named, want all that are said", n)
	}
}
