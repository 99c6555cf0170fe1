package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/words"
)

// describe gives the command and those below it their help, and takes wrong arguments for wrong use.
func (a *app) describe(c *cobra.Command) {
	h := words.Help(pathOf(c))
	c.Short = h.Short
	c.Long = h.Long
	c.Example = h.Example
	c.Use = strings.TrimSpace(c.Name() + " " + h.Use)
	c.DisableFlagsInUseLine = true
	if check := c.Args; check != nil {
		c.Args = func(c *cobra.Command, args []string) error {
			switch err := check(c, args); {
			case err == nil:
				return nil
			case strings.Contains(err.Error(), "arg(s)"): // the library counts them, and does not say what they are
				return wrongUse("%s takes %s; it got %s", pathOf(c), h.Use, words.Count(len(args), "argument", "arguments"))
			default:
				return usageError{err}
			}
		}
	}
	for _, sub := range c.Commands() {
		a.describe(sub)
	}
}

// pathOf returns the command's name below the program: "conditions name".
func pathOf(c *cobra.Command) string {
	_, path, _ := strings.Cut(c.CommandPath(), " ")
	return path
}

// help writes the help of a command.
func (a *app) help(c *cobra.Command, _ []string) {
	c.InitDefaultHelpFlag() // the library adds it late
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s\n\n  %s\n\n%s\n", c.CommandPath(), c.Short, c.UseLine(), c.Long)
	if c.HasAvailableSubCommands() {
		b.WriteString("\nCOMMANDS\n")
		all := c.Commands()
		if !c.HasParent() {
			all = a.listed // where the library sorts by name
		}
		for _, sub := range all {
			if !sub.Hidden {
				fmt.Fprintf(&b, "  %-11s %s\n", sub.Name(), words.Help(strings.TrimSpace(pathOf(c)+" "+sub.Name())).Short)
			}
		}
	}
	fmt.Fprintf(&b, "\nEXAMPLE\n%s\n", c.Example)
	if c.HasAvailableLocalFlags() {
		fmt.Fprintf(&b, "\nOPTIONS\n%s", c.LocalFlags().FlagUsagesWrapped(100))
	}
	if c.HasAvailableInheritedFlags() {
		fmt.Fprintf(&b, "\nOPTIONS OF EVERY COMMAND\n%s", c.InheritedFlags().FlagUsagesWrapped(100))
	}
	fmt.Fprintf(&b, "\n%s\n", exitHelp(pathOf(c)))
	fmt.Fprint(a.out, b.String())
}

// helpOf is the command "help", for who writes it before a command's name.
func (a *app) helpOf(root *cobra.Command) func(*cobra.Command, []string) error {
	return func(_ *cobra.Command, args []string) error {
		c, rest, err := root.Find(args)
		if err != nil || len(rest) > 0 {
			return wrongUse("unknown command %q", strings.Join(args, " "))
		}
		a.help(c, nil)
		return nil
	}
}
