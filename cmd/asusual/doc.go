// Command asusual says whether a production line still looks as it did when it was known to be good, from its
// near-infrared spectra. It shows a change in an optical signature; it measures no composition, no safety and no allergen, and
// food-safety plans, local codes and licensed practice come first.
//
// # See it at work
//
//	$ asusual demo
//	The process has changed, since about 2026-11-25 12:00.
//	…
//	look at
//	  asusual-demo/reports/2026-11-25/early/handover.html   the report of the shift
//
// demo makes an invented oat-drink line's spectra, learns from its good days, judges the day after and reports. No set-up
// and no network; the same --seed makes the same files.
//
// # Set a line up
//
//	$ asusual init
//	asusual.toml is written.
//	1. Put spectra from when the line was good into good, a folder a run.
//	2. asusual learn
//	3. Have the spectrometer write to spectra, then: asusual watch
//
// init writes a commented asusual.toml and the folders that it names. With --good PATH it looks at spectra that are there
// already and writes down what it found. init --print shows every setting; init --service systemd, or windows, writes what
// keeps a watch running on this computer.
//
// # What are these files?
//
//	$ asusual inspect good
//	7,482 spectra in 7,482 files
//	  format    two columns, comma between, decimal point
//	  axis      256 channels, 900–1700 nm
//	  quantity  absorbance
//	  time      from the header
//	…
//
// What cannot be read is named with its file, its line and the reason.
//
// # Learn what is usual
//
//	$ asusual learn --good good --condition rinse=conditions/rinse --reference line.reference
//	line learned (6a0a213ecfc8).
//	…
//
// learn writes the reference and, beside it, its card: line-card.html and its pictures, which say what was learned and what
// this reference can see. With an asusual.toml, "asusual learn" alone does.
//
//	$ asusual learn --extend spectra/2026-12-01
//	line extended (0c5d7a10be31, before 6a0a213ecfc8).
//	…
//
// adds further good runs, as a new version of the reference, and says what that changes in limits and reach. What the reference
// calls changed is refused unless --trust is given.
//
//	$ asusual approve --by "A. Miller" --note "four weeks held against the laboratory"
//	line (0c5d7a10be31) is approved by A. Miller, 2026-12-02 09:30: four weeks held against the laboratory
//	…
//
// signs the reference off: it is noted in the reference, on its card, in reports and in history. With approved-only in the
// configuration a watch accepts no other; a new version has to be approved anew.
//
// # Judge once
//
//	$ asusual judge today --reference line.reference
//	As usual.
//	…
//	$ asusual judge today --reference line.reference --json | tail -1
//	{"kind":"verdict","verdict":"as usual","since":"2026-11-25T06:00:00Z","spectra":90,…}
//
// judge goes through spectra in the order of time with the rules of watch, and keeps nothing. Its lines of JSON are of
// the kinds spectrum, unreadable, episode and, last of all, verdict.
//
// # Watch a line
//
//	$ asusual watch
//	time=… level=INFO msg=watching line="Filler 3" folder=spectra history=asusual.history
//
// watch judges each spectrum as it arrives, keeps everything in history, writes the report of each shift two minutes after its
// end, and keeps the state file of [signal] up to date. Ctrl-C stops it; a new start goes on where it was.
//
// # How does it stand?
//
//	$ asusual status
//	Filler 3: the process has changed, since about 2026-11-25 12:00.
//	  last spectrum   2026-11-25 12:31:20, 8 s ago, distance 2.31, uncharted, group 2026-11-25 A
//	  pace            0.05 spectra a second, none waiting
//	…
//	  alarm           unacknowledged since 2026-11-25 12:06
//	watched by process 4711, since 2026-11-25 05:58; last sign of life 4 s ago
//
// status reads the state file of a running watch, and says so where nobody watches. Where nothing is judged, since the folder is out of
// reach or no spectrum came for an hour (fresh under [[line]], or four pauses between its spectra where that is longer), it says that
// nothing can be said, and what was said last, but nothing of the change that it was; so do the state file, the broker and the command of [signal].
//
//	$ asusual acknowledge --by "A. Miller" --why "oil pump is being looked at"
//	Filler 3: acknowledged by A. Miller; the alarm is now acknowledged.
//	$ asusual shelve --for 30m --by "A. Miller" --why "trial with another recipe"
//	Filler 3: shelved until 2026-11-25 13:10 by A. Miller; the alarm is now shelved.
//
// Each line has an alarm, which stands where the process has changed. acknowledge and shelve ask something of it; history keeps
// who did it and why, and "acknowledge --log" lists it.
//
//	$ asusual doctor
//	all lines
//	  fine   asusual.toml; lines: 1, shifts: 3
//	  …
//	Filler 3
//	  fine   watched folder spectra; files: 7,482, the newest 8 s old
//	  …
//	21 fine, 1 to look at, 0 wrong
//
// doctor checks the whole set-up, and says of what is not fine what to try.
//
// # The report of a shift
//
//	$ asusual handover --shift early --date 2026-11-25
//	Filler 3, early, 2026-11-25 05:30–14:00: as usual.
//	reports/2026-11-25/early/handover.html
//
// handover makes the report from history, and renews reports/index.html. Without options it is the shift that ended last, or, where
// history has nothing of that, the one of the newest spectrum. A watch makes it anew where more of the shift came within two weeks, such
// as from a share that was away.
//
// # One stretch against another
//
//	$ asusual compare --this today --that yesterday
//	Filler 3, today against yesterday: as usual.
//	They differ by 0.95 times the usual spread between runs (-4.3 to 6.2), from 3 runs and 2 runs.
//	reports/compare/filler-3-2026-11-26-with-2026-11-25/compare.html
//
// compare rests on whole runs, since neighbouring spectra are no independent witnesses. A period is a day, today, yesterday,
// last-week (the seven days before today), or two days or moments with .. between them.
//
// # Is it the instrument?
//
//	$ asusual instrument
//	The instrument is ageing, since 2026-11-25 10:01.
//	  the reference stands at 75.02 % of its first level over all channels, limit 20 % away: look at lamp, window and fibre
//	  caution: the light source of a probe is hot and bright: isolate it before working on it
//	…
//
// instrument looks at the dark, reference and standard spectra that the line has, as [line.instrument] tells them from those of
// production, and says whether the instrument can be believed, since when not, and why.
//
// # Conditions and groups
//
//	$ asusual conditions
//	known conditions of Filler 3
//	  usual  7,482 spectra  21 runs
//	  rinse  630 spectra    21 runs  longest stay 15 min  since version 1, 2026-11-24 15:02
//
//	1 group of uncharted spectra
//	  group 2026-11-25 A  60 spectra  2026-11-25 06:45–07:05
//	$ asusual conditions name "2026-11-25 A" leak
//	$ asusual conditions forget leak
//
// A group that gets a name is a condition from then on, and no change any more. A running watch takes the new version of
// the reference up.
//
// # All lines on one page
//
//	$ asusual site
//	/plant/reports/site.html
//	$ asusual site --history ../filler-4/asusual.history --listen 127.0.0.1:8090
//
// How each line stands now and since when, its last spectrum, its instrument and who watches it. Of a line whose last spectrum is older
// than fresh under its [[line]] nothing can be said, or than an hour where the line is of another history; --fresh 8h states it for all.
// A line that is out of use stands last and does not count: one that no [[line]] of this history names any more, and one of another
// history that nobody watches and of which nothing came for 30 days.
// With
//
//	[history]
//	server = "postgres://line3@history.plant/asusual"
//
// the histories of many lines are on one PostgreSQL server: a watch keeps what it judges in its own file first, and brings it
// there; while the server is away it waits in the file. The other commands read from the server.
//
// # History as a table
//
//	$ asusual export --from 2026-11-25 --to 2026-11-25
//	time,file,row,line,condition,t2,q,distance,inside,verdict,run,late,reference,reasons
//	…
//
//	$ asusual export --month 2026-11 archive
//	archive/2026-11: 86,400 spectra of Filler 3, with their means, episodes, groups, alarms and checks.
//	$ asusual import archive/2026-11 --history november.history
//
// writes all that history holds of a month as CSV files, and reads them back into a history of their own, from which handover,
// compare, conditions and export with --history work as from the line's.
//
//	$ asusual backup /backup/asusual-2026-11-25.history
//	$ asusual prune --dry-run
//	Filler 3: to be taken out, were this no dry run
//	  spectra  2,505,600  older than 400 days, before 2025-10-21
//	…
//
// backup copies history while a watch writes it. prune takes out what is older than [history] says, of a file and of a server; a watch
// does so once a day.
//
// # Which build is this?
//
//	$ asusual version
//
// names the commit, the Go and the system that the program was built with and for.
//
// # Options of every command
//
// --config FILE names the configuration; without it, asusual.toml of the current folder is taken where there is one. --json
// writes for other programs, --quiet only what was asked for. Options win over the configuration.
//
// # Exit status
//
//	0   done; the verdict, where there is one, is as usual
//	1   the work could not be done
//	2   the command line or the configuration is wrong
//	10  the process has changed
//	11  cannot say
//
// # The configuration
//
// asusual.toml is TOML; unknown keys and values that are not allowed are errors that name their line. "asusual init --print"
// writes it with every setting there is, each explained.
package main
