package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/words"
)

// An app is what every command shares: where it reads and writes, and the options before all others.
type app struct {
	in          io.Reader
	out, errOut io.Writer
	now         func() time.Time

	configFile string
	json       bool
	quiet      bool

	historyFile string // another history than that of the configuration

	listed []*cobra.Command // all, in the order of somebody's first day

	status int    // what the command found, where it did not fail
	unheed func() // stops heeding signals
}

// run does what the arguments say and returns the exit status.
func run(ctx context.Context, args []string, in io.Reader, out, errOut io.Writer) int {
	return (&app{in: in, out: out, errOut: errOut, now: time.Now}).run(ctx, args)
}

func (a *app) run(ctx context.Context, args []string) int {
	a.unheed = func() {}
	defer func() { a.unheed() }()
	root := a.rootCommand(args)
	root.SetArgs(args)
	root.SetIn(a.in)
	root.SetOut(a.out)
	root.SetErr(a.errOut)
	c, err := root.ExecuteContextC(ctx)
	if err == nil {
		return a.status
	}
	if errors.Is(err, context.Canceled) && c.Context().Err() != nil {
		fmt.Fprintln(a.errOut, words.Stopped)
		return statusFailed
	}
	status := ofError(err)
	last := "asusual doctor, which checks the whole set-up"
	if status == statusUsage {
		last = c.CommandPath() + " --help"
	}
	words.WriteError(a.errOut, err, last)
	return status
}

func (a *app) rootCommand(args []string) *cobra.Command {
	var version bool // the library's own flag would be answered by a template, and what calls methods by name is large
	root := &cobra.Command{
		Use:           "asusual",
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.ArbitraryArgs,

		PersistentPreRun: a.heed,
		RunE: func(c *cobra.Command, args []string) error {
			if version {
				return a.version()
			}
			if len(args) == 0 {
				return c.Help()
			}
			if near := c.SuggestionsFor(args[0]); len(near) > 0 {
				return wrongUse("unknown command %q; is %s meant?", args[0], strings.Join(near, " or "))
			}
			return wrongUse("unknown command %q", args[0])
		},
	}
	root.CompletionOptions.HiddenDefaultCmd = true
	root.CompletionOptions.DisableDefaultCmd = args != nil && !slices.Contains(args, "completion") // as with commands
	f := root.PersistentFlags()
	f.StringVar(&a.configFile, "config", "", "the configuration `FILE` (default "+config.Name+" in the current folder, where there is one)")
	f.BoolVar(&a.json, "json", false, "write what other programs can read")
	f.BoolVar(&a.quiet, "quiet", false, "write only what was asked for: no progress, no hints")
	root.Flags().BoolVarP(&version, "version", "v", false, "version for asusual")
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	root.SuggestionsMinimumDistance = 2
	root.SetHelpFunc(a.help)
	root.SetHelpCommand(&cobra.Command{Use: "help", Hidden: true, RunE: a.helpOf(root)})
	more := a.packing()
	if len(more) > 0 {
		args = nil // it writes of all
	}
	a.listed = append(a.commands(args), more...)
	root.AddCommand(a.listed...)
	a.describe(root)
	return root
}

// commands returns the commands in the order in which the help shows them. One that the arguments do not name cannot run, and has its
// name only: making the options of all would take a twentieth of the time of --help. Without arguments all are whole.
func (a *app) commands(args []string) []*cobra.Command {
	var all []*cobra.Command
	for _, c := range []struct {
		name string
		make func() *cobra.Command
	}{
		{"demo", a.demoCommand}, {"init", a.initCommand}, {"doctor", a.doctorCommand}, {"inspect", a.inspectCommand}, {"learn", a.learnCommand},
		{"approve", a.approveCommand}, {"judge", a.judgeCommand}, {"watch", a.watchCommand}, {"status", a.statusCommand},
		{"acknowledge", a.acknowledgeCommand}, {"shelve", a.shelveCommand}, {"handover", a.handoverCommand}, {"compare", a.compareCommand},
		{"conditions", a.conditionsCommand}, {"instrument", a.instrumentCommand}, {"site", a.siteCommand}, {"export", a.exportCommand},
		{"import", a.importCommand}, {"backup", a.backupCommand}, {"prune", a.pruneCommand}, {"version", a.versionCommand},
	} {
		if args == nil || slices.Contains(args, c.name) {
			all = append(all, c.make())
		} else {
			all = append(all, &cobra.Command{Use: c.name, Run: func(*cobra.Command, []string) {}})
		}
	}
	return all
}

// config reads the configuration that --config names, or the one in the current folder where there is one.
func (a *app) config() (*config.Config, error) {
	file := a.configFile
	if file == "" {
		file = config.Name
	}
	c, err := config.Read(file)
	switch {
	case errors.Is(err, fs.ErrNotExist) && a.configFile == "":
		return &config.Config{}, nil
	case errors.Is(err, fs.ErrNotExist):
		return nil, wrongUse("%s: no such configuration file", file)
	}
	return c, err
}

// lineNamed returns the configuration, and its line of that name; "" where it has one only.
func (a *app) lineNamed(name string) (*config.Config, config.Line, error) {
	c, err := a.config()
	if err != nil {
		return nil, config.Line{}, err
	}
	l, err := c.Find(name)
	return c, l, err
}

// say writes a line to the person, unless the command is quiet or writes for programs.
func (a *app) say(format string, args ...any) {
	if !a.quiet && !a.json {
		fmt.Fprintf(a.out, format+"\n", args...)
	}
}

// isTerminal reports whether somebody is looking at what is written to w.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}
