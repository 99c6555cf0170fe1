package words

// helpsOfWatching is the help of the commands that have to do with a watch that runs.
var helpsOfWatching = []Text{
	{
		of:    "status",
		Use:   "[--line NAME]",
		Short: "says how the lines stand, and whether somebody watches them",
		Long: `
status says what a running watch is doing, by its state file: the verdict of each line and since when, its last
spectrum, how many come a second and how far the watch is behind, the instrument, the alarm, and the last sign of life.
It asks nothing of the watch and needs no server: it works over a network share, too.

The exit status tells the verdict, the worst where there are several lines. A verdict holds while the line is watched:
where its folder or its history has been out of reach for a minute, or nothing was judged for longer than fresh of the
[[line]], an hour where it is not set, or four pauses between its spectra where that is longer, nothing can be said, and
what was said last is named. Of a line of the configuration that nobody watches nothing can be said; where nobody
watches at all any more, the exit status is 11, and where no watch has written the state file yet, 1.`,
		Example: `
  $ asusual status
  $ asusual status --line "Filler 3" --json
  $ asusual status --quiet || echo "look at the lines"`,
		Verdict: true,
	},
	{
		of:    "site",
		Use:   "[--history WHERE]... [--out FILE | --listen ADDR]",
		Short: "shows how all lines stand, on one page",
		Long: `
site writes one page over all lines that the history has: the verdict of each now and since when, its last spectrum, its
instrument, and, where the history is on a server, who watches it. Lines of other histories, files or postgres://…, are
shown too: with --history, or with histories under [site] in the configuration.

With --listen it writes no file, and shows the page in a browser, new every quarter of a minute. Other computers reach
it only with a token, as the live page of a watch.

Nothing can be said now of a line that nobody watches, nor of one whose last spectrum is older than --fresh or lies as
far ahead. Where --fresh is not given that is fresh of its [[line]], or four pauses between its spectra where that is
longer, and an hour for a line that is not stated here. How it last stood is named beside. The exit status tells
the worst of all lines; where a history did not answer, nothing can be said of all.

A line that is out of use stands last and does not count: one of this history's file that no [[line]] names, as after it
got another name, and one that is not stated here, that nobody is known to watch and of which no spectrum has come for
30 days.`,
		Example: `
  $ asusual site
  $ asusual site --history ../filler-4/asusual.history --out lines.html
  $ asusual site --listen 127.0.0.1:8090`,
		Verdict: true,
	},
	{
		of:    "acknowledge",
		Use:   "[--line NAME] --by NAME --why REASON",
		Short: "says that somebody knows of the alarm of a line",
		Long: `
acknowledge notes that somebody knows that the process has changed. It changes no verdict. Who, when and why are kept in
history. A running watch is asked through a file beside its history, and its answer is waited for; where nobody watches,
it is done at once. Who may write to that folder, the name of the history with .requests, may acknowledge: the watch
makes it for its own user, and chmod g+w lets others of its group do so, too. Where the history is on a server, it is
done on the computer that watches the line.

With --log it lists what became of the alarm so far.`,
		Example: `
  $ asusual acknowledge --by "A. Miller" --why "oil pump is being looked at"
  $ asusual acknowledge --log`,
	},
	{
		of:    "shelve",
		Use:   "[--line NAME] (--for DURATION | --off) --by NAME --why REASON",
		Short: "puts the alarm of a line aside for a limited time",
		Long: `
shelve puts the alarm of a line aside for a time of at most a day: it is followed and kept in history all the same, and
stands again as it must when the time is over. It changes no verdict. --off ends it before that. Who and why are kept.`,
		Example: `
  $ asusual shelve --for 30m --by "A. Miller" --why "trial with another recipe"
  $ asusual shelve --off --by "A. Miller" --why "trial is over"`,
	},
}
