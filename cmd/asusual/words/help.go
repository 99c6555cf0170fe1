package words

import (
	"slices"
	"strings"
)

// A Text is the help of one command.
type Text struct {
	of      string // the command's path
	Use     string // the arguments after the command's name
	Short   string // one line, in the list of commands
	Long    string // what it does, in paragraphs
	Example string // lines that begin with $ are typed
	Verdict bool   // its exit status tells a verdict

	CannotSay bool // of a verdict it tells only that nothing can be said
}

// Help returns the help of the command of that path, such as "learn"; "" is the program itself. The help of a command
// that has none is empty.
func Help(path string) Text {
	var t Text
	for _, list := range [...][]Text{helps, helpsOfWatching, helpsOfKeeping} {
		if i := slices.IndexFunc(list, func(t Text) bool { return t.of == path }); i >= 0 {
			t = list[i]
		}
	}
	t.Long, t.Example = strings.TrimSpace(t.Long), strings.Trim(t.Example, "\n")
	return t
}

var helps = []Text{
	{
		of:    "",
		Use:   "COMMAND",
		Short: "tells whether a production line still looks as usual, from its near-infrared spectra",
		Long: `
asusual watches the near-infrared spectra of a production line and says one thing: whether the process still looks as
it did when it was known to be good. It needs a folder of known-good spectra, and no calibration.

It shows a change in an optical signature. It measures no composition, no safety and no allergen; no product is
released or rejected on it alone: food-safety plans, local codes and licensed practice come first. The light source of a
probe is hot and bright: isolate it before working on it.`,
		Example: `
  $ asusual demo                     # see it at work on an invented line
  $ asusual init                     # settings for your own line
  $ asusual learn                    # learn what is usual
  $ asusual watch                    # watch the line`,
	},
	{
		of:    "demo",
		Use:   "[--dir D] [--days N] [--seed S]",
		Short: "shows everything at work on an invented oat-drink line",
		Long: `
demo makes the spectra of an invented oat-drink line: some good days, and one day on which things go wrong. It learns
from the good days, judges the other as watch would, writes the report of its shift and says where to look. The folder
it leaves is a whole set-up to try the other commands in.

It needs no set-up and no network, and the same seed makes the same spectra.`,
		Example: `
  $ asusual demo
  $ asusual demo --dir try --days 10 --seed 7
  $ cd try
  $ asusual judge spectra`,
	},
	{
		of:    "init",
		Use:   "[DIR | SPECTRA] [--good PATH] [--watch PATH] [--name NAME]",
		Short: "writes a commented asusual.toml and the folders it names",
		Long: `
init writes asusual.toml to a folder, the current one if none is named, and makes the folders that it names. Pointed at
known-good spectra, a folder or a file, it writes the settings to the current folder, for nothing is written among
spectra. It looks at them and writes down what it found: format, axis, quantity, runs, where the time comes from, and
shifts, where runs begin at the same times of day. Whatever is there already stays as it is.`,
		Example: `
  $ asusual init
  $ asusual init D:\spectra\may
  $ asusual init line3 --name "Filler 3" --good D:\spectra\may --watch D:\spectra\out`,
	},
	{
		of:    "version",
		Short: "says which build this is",
		Long: `
version says which commit the program was built from, by which Go, for which system: what to name when asking for help.`,
		Example: `
  $ asusual version
  $ asusual version --json`,
	},
	{
		of:    "inspect",
		Use:   "PATH…",
		Short: "reads spectra and says what they are, and what is wrong with which",
		Long: `
inspect reads files and folders of spectra and says what they are: format, axis and its unit, quantity, how many, from
when to when, which runs; and which files cannot be read, and why. It changes nothing.`,
		Example: `
  $ asusual inspect good
  $ asusual inspect --axis cm-1 lot7.dx lot8.dx
  $ asusual inspect --json good`,
	},
	{
		of:    "learn",
		Use:   "--good PATH… [--condition NAME=PATH]… --reference FILE",
		Short: "learns the reference from spectra known to be good",
		Long: `
learn reads spectra from when the line was known to be good and writes the reference: what usual looks like, how far it
reaches, and how long something may be odd before it is called a change. Beside it goes its card, an HTML page and a
PNG that say what was learned and what this reference can see. Runs matter more than spectra: five days tell more than
five hours.

Spectra that do not belong with the others are left out and named. Other states of the line, such as a rinse, are
learned from folders of their own with --condition, so that they are no change.

With --extend the reference is learned anew from the known-good spectra and further good runs, as a new version with its
history; limits and reach before and after are told. What the reference calls changed is refused, unless --trust says
that it is good.

What is not said on the command line is taken from the configuration.`,
		Example: `
  $ asusual learn
  $ asusual learn --extend spectra/2026-12-01 spectra/2026-12-02
  $ asusual learn --good good --condition rinse=conditions/rinse --reference line.reference
  $ asusual learn --good may.csv --runs column=batch --pretreat "snv, derivative window=15" --reference may.reference`,
	},
	{
		of:    "judge",
		Use:   "PATH… --reference FILE",
		Short: "judges spectra once, in order of time, and keeps no history",
		Long: `
judge reads spectra and judges them in the order of time, with the same rules as watch: where each lies against the
reference, which episodes there are, and the verdict. With --json it writes one JSON object a line: the spectra, what
could not be read, the episodes, and last of all the verdict. The condition of a spectrum is usual, the name of a known
one, transition (on the way out of a known one), uncharted (of no known one), or unfit (not to be judged).`,
		Example: `
  $ asusual judge today --reference line.reference
  $ asusual judge today --reference line.reference --json > today.jsonl
  $ asusual judge today --quiet || echo "look at the line"`,
		Verdict: true,
	},
	{
		of:    "watch",
		Use:   "[--line NAME] [--listen ADDR]",
		Short: "watches the line, keeps history, and writes a report at the end of each shift",
		Long: `
watch judges each spectrum as it arrives in the folder of the line, keeps everything in history, and writes the report
of each shift when it ends. Stop it with Ctrl-C; when it starts again it goes on where it was: nothing is judged twice
and nothing is missed. It reads the files of the spectrometer, and never moves, changes or deletes one. With --listen a
browser shows how the line stands, on this computer alone; for other computers a token is needed, and a certificate
keeps it from being read on the way. [live] in the configuration says the same for good; options go before it.`,
		Example: `
  $ asusual watch
  $ asusual watch --line "Filler 3" --listen 127.0.0.1:8080
  $ asusual watch --listen 0.0.0.0:8443 --token-file token --certificate cert.pem --key key.pem
  $ asusual watch --config /plant/asusual.toml`,
	},
	{
		of:    "handover",
		Use:   "[--shift NAME] [--date YYYY-MM-DD]",
		Short: "writes the report of a shift from history",
		Long: `
handover writes the report of a shift from history: an HTML page and its pictures, in the folder of the reports. Without
options it is the shift that ended last; where history has nothing of that, the one of the newest spectrum, which may
still run. The exit status tells the verdict of the shift.`,
		Example: `
  $ asusual handover
  $ asusual handover --shift night --date 2026-11-25`,
		Verdict: true,
	},
	{
		of:    "export",
		Use:   "[--from T] [--to T] [--format csv|json] | --month YYYY-MM DIR",
		Short: "writes history as a table, or a month of it as CSV files",
		Long: `
export writes what history holds, one row a spectrum in the order of time, as CSV or as one JSON object a line. A time
is a day, 2026-11-25, or a moment, 2026-11-25T06:00, in the time zone of the site; a day at the end is included.
In CSV a name that begins with =, +, - or @ has an apostrophe before it, for a spreadsheet would run it as a formula;
JSON and the files of --month have it as it is. Conditions are called as judge has them.

With --month it writes everything that history holds of a month, as CSV files with a checksum each, into a folder of the
month's name below DIR: to keep for years, and to be read back by import. A month is refused until an hour after
its end.`,
		Example: `
  $ asusual export > all.csv
  $ asusual export --month 2026-11 archive
  $ asusual export --from 2026-11-25 --to 2026-11-25 --format json`,
	},
	{
		of:    "compare",
		Use:   "--this PERIOD --that PERIOD",
		Short: "says whether one stretch of time looks like another",
		Long: `
compare lays the spectra of one period beside those of another, both from history, and says whether they look alike. A
period is a day, 2026-11-25; today, yesterday or last-week, which is the seven days before today; or two days or moments
with .. between them. Runs count, not spectra, since neighbouring spectra are no independent witnesses. It writes a page
with pictures and says where.`,
		Example: `
  $ asusual compare --this today --that yesterday
  $ asusual compare --this 2026-11-25 --that last-week
  $ asusual compare --this 2026-11-25T06:00..2026-11-25T14:00 --that 2026-11-24`,
		Verdict: true,
	},
	{
		of:    "instrument",
		Use:   "[PATH…]",
		Short: "says whether the instrument can be believed, from its own dark, reference and standard spectra",
		Long: `
instrument says what the line's watch recorded of its dark, reference and standard spectra. Where a folder is named, or
nothing is recorded yet, it looks at those in that folder, or in the watched one, in the order of time. It says whether
the instrument is fit, ageing or unfit, since when and why: the level and noise in the dark, the light, the 100 % line,
channels that are dead, hot, stuck or saturated, repeats, and where a standard's bands lie. The first spectra of each
kind are what later ones are compared with. How they are told from production, the detector, and all limits stand in
[line.instrument]. It changes nothing.

The light source of a probe is hot and bright: isolate it before working on it.

The exit status is 11 where the instrument is unfit: nothing can then be said of the process.`,
		Example: `
  $ asusual instrument
  $ asusual instrument checks --line "Filler 3"
  $ asusual instrument --json > instrument.jsonl`,
		CannotSay: true,
	},
	{
		of:    "conditions",
		Use:   "[name GROUP NAME | forget NAME]",
		Short: "lists the known conditions and the groups of uncharted spectra",
		Long: `
conditions lists the conditions of the reference, and the groups of spectra in history that lie together and belong to
none of them. A group that somebody knows can be given its name: it is then a condition, and no change any more.`,
		Example: `
  $ asusual conditions
  $ asusual conditions name "group 2026-11-25 A" rinse`,
	},
	{
		of:    "conditions name",
		Use:   "GROUP NAME",
		Short: "turns a group of uncharted spectra into a condition of that name",
		Long: `
conditions name reads the spectra of a group again from the folder of the line, learns the condition from them and
writes the reference and its card anew. What is usual stays as it was. A running watch takes the new version up.

A group is meant by its whole name, or by an end of it that no other group has. A later "asusual learn" keeps the
condition: as it is, or learned again from the group's files where spectra are pretreated in another way then. Where
these are gone, learn says so and writes nothing.`,
		Example: `
  $ asusual conditions name "group 2026-11-25 A" rinse
  $ asusual conditions name "2026-11-25 A" rinse`,
	},
	{
		of:    "conditions forget",
		Use:   "NAME",
		Short: "takes a condition out of the reference: its spectra are uncharted again",
		Long: `
conditions forget writes the reference and its card anew without the condition. What history says of the past stays as
it is.`,
		Example: `
  $ asusual conditions forget rinse`,
	},
}
