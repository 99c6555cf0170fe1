package words

import (
	"cmp"
	"errors"
	"strconv"
	"time"

	"asusual/cmd/asusual/config"
	"asusual/monitor"
	"asusual/monitor/archive"
	"asusual/monitor/history"
)

// Errors of the commands that have to do with what is kept.
type (
	// NothingToKeep says that nothing is ever taken out of history.
	NothingToKeep struct{}
	// AmongSpectra says that settings were to be written among spectra.
	AmongSpectra struct{ Path string }
	// Watched says that a watch has the history, and does by itself what was asked.
	Watched struct{ Err error }
	// ReportThere says that a report of another history than the line's would take the place of one that is there.
	ReportThere struct{ Page, History string }
	// ReportFuller says that a report that is there was made from more than history has now.
	ReportFuller struct {
		Page string
		Why  error
	}
	// LeftBehind says that the log of a history is there without its file.
	LeftBehind struct{ Log, History string }
	// HalfRead says that a month was read into a history in part.
	HalfRead struct {
		History string
		Stopped bool // somebody stopped it
		Why     error
	}
	// NotOver says that a month is not over, which is to be written to keep.
	NotOver struct {
		Month string
		End   time.Time // from which on it is
	}
	// NotBrought says that spectra have waited for long to be brought to the server, which a month is to be written from.
	NotBrought struct {
		Line, History string
		Spectra       int
		Since         time.Time
	}
	// NoLineThere says that a history has no line of that name.
	NoLineThere struct {
		Line, History string
		There         []string
	}
)

func (e *NothingToKeep) Error() string {
	return "everything is kept for ever: nothing says for how long"
}
func (e *Watched) Error() string {
	return "a watch has the history, and takes out what is too old once a day: " + e.Err.Error()
}
func (e *ReportThere) Error() string {
	return e.Page + ": there is a report already, and " + e.History + " may know less than what it was made from; nothing was changed"
}
func (e *ReportFuller) Error() string { return e.Page + ": " + e.Why.Error() + "; nothing was changed" }
func (e *LeftBehind) Error() string {
	return e.Log + ": it is left of a history " + e.History + " that is not there any more, and would damage a new one of that name; nothing was changed"
}
func (e *HalfRead) Error() string {
	if e.Stopped {
		return e.History + ": stopped before the end; it has a part of the month"
	}
	return e.History + ": it has a part of the month: " + e.Why.Error()
}
func (e *NotOver) Error() string {
	return e.Month + " is not whole before " + e.End.Format("2006-01-02 15:04") + ": an archive of it now would lack what is to come; nothing was written"
}
func (e *NotBrought) Error() string {
	return e.Line + ": " + Count(e.Spectra, "spectrum waits", "spectra wait") + " on this computer for the server, since " + Moment(e.Since) +
		", and an archive may lack them; nothing was written"
}
func (e *NoLineThere) Error() string {
	return e.History + ": no line " + strconv.Quote(e.Line) + " there; it has " + cmp.Or(List(e.There), "none")
}
func (e *AmongSpectra) Error() string {
	return e.Path + ": this folder holds spectra, and nothing is written among them"
}
func (e *Watched) Unwrap() error { return e.Err }

// What is said of files that are gone, of which prune takes out what is known.
const (
	GoneFiles = "gone from the folder, and their spectra taken out a week ago or longer; their contents stay known"
	FilesStay = "what is known of files stays for now"
)

// helpsOfKeeping is the help of the commands that have to do with what is kept: a reference that is signed off, history.
var helpsOfKeeping = []Text{
	{
		of:    "approve",
		Use:   "--by NAME --note TEXT [--reference FILE]",
		Short: "signs a reference off: a person stands for it",
		Long: `
approve notes in the reference who stands for it, when and on what grounds, and in the history of the line. Its card and
the reports say so. A new version, by learn --extend or conditions name, has to be approved anew. Whether a watch
accepts only approved references stands in the configuration, as approved-only of the line; until a version is approved,
the one before stays in force, also after a restart and for reports: it lies beside the file, with .in-force after its
name, and its card beside the card, in a file whose name ends in -in-force.html.

It is a note and no lock: who may write the file may approve. With --log it lists who approved which version.`,
		Example: `
  $ asusual approve --by "A. Miller" --note "four weeks held against the laboratory"
  $ asusual approve --reference line.reference --by "A. Miller" --note "as agreed on Monday"
  $ asusual approve --log`,
	},
	{
		of:    "doctor",
		Use:   "[--line NAME] [--write-test]",
		Short: "checks the whole set-up and says what is fine, what is not, and what to try",
		Long: `
doctor looks at the configuration, the folders and the right to use them, clocks and time zone, the room on the disks,
whether notifications of new files arrive, the reference and the newest spectra against it, the instrument's own checks,
history and who has it, its server and by how many seconds the clocks differ, the live page, the program and the broker
that are told. It changes nothing, and writes only hidden files of a moment into folders of the watch's own; with
--write-test also one into each watched folder.

Each thing is fine, worth a look, or wrong. The exit status is 1 where something is wrong.`,
		Example: `
  $ asusual doctor
  $ asusual doctor --quiet
  $ asusual doctor --line "Filler 3" --json`,
	},
	{
		of:    "import",
		Use:   "DIR… --history FILE",
		Short: "reads months that export wrote into a history, to make reports of them",
		Long: `
import reads folders that export --month wrote into a history of their own, which is made where there is none: several
months may lie in one. A folder that is not as it was written is refused, and so is a month that the history has.
With --history, handover, compare, conditions and export read that history instead of the line's. A report that is there
already and is another is not written over from it.`,
		Example: `
  $ asusual import archive/2026-10 archive/2026-11 --history autumn.history
  $ asusual handover --history autumn.history --shift early --date 2026-11-03
  $ asusual compare --history autumn.history --this 2026-11-03 --that 2026-10-20`,
	},
	{
		of:    "backup",
		Use:   "FILE",
		Short: "copies history to a file, also while a watch writes it",
		Long: `
backup writes a copy of the history to a file, where nothing may be yet: as it stood at one moment, whole and as small
as can be. A watch goes on meanwhile. Make one before an update too: a newer program may bring the history forward,
which the older one cannot read then. To go back to it, stop the watch, remove what is left beside the history with
-wal or -shm after its name, and put the file in the place of the history.`,
		Example: `
  $ asusual backup /backup/asusual-2026-11-25.history`,
	},
	{
		of:    "prune",
		Use:   "[--dry-run] [--line NAME]",
		Short: "takes out of history what is older than is to be kept",
		Long: `
prune takes out of history what is older than [history] says in keep-spectra, keep-means and keep-episodes; with
--dry-run it only counts. A watch does the same by itself, once a day; while one runs, prune --dry-run alone works. Age
counts from now, but from two weeks after the newest spectrum of the line at the latest, or from half of what is kept: a
clock that was set a year ahead does not take everything out, and of a line that stands the last stays. The files of
the spectrometer are not touched, and stay known, so that none is judged again; only rows of a table that were taken out
are, where the table is saved anew with them.

What is known of a file of one spectrum is taken out, too, a week after its spectrum, once the file is gone from the
watched folder: its name, and not its content, so that it is known again should it return, under whatever name. Of an
empty folder none is: a share may not be mounted. A server keeps what it knows of files, for another computer that takes
the line over; of files that are still in the folder everything stays known.

Where the history is on a server it is taken out there, also while a watch runs, and of the line's own file, unless a
watch has it. A computer without a [[line]] takes it out of all lines on the server, or of that of --line.

What is taken out is gone: export --month keeps it as plain files, backup as a whole.`,
		Example: `
  $ asusual prune --dry-run
  $ asusual prune`,
	},
}

// ofKeeping returns hints of errors about what is kept.
func ofKeeping(err error) string {
	switch {
	case errors.Is(err, monitor.ErrNotApproved):
		return "look at its card, then: asusual approve --by NAME --note TEXT; or take approved-only out of " + config.Name
	case is[*NothingToKeep](err):
		return `keep-spectra = "400 days" in [history] of ` + config.Name + "; asusual init --print explains it"
	case is[*AmongSpectra](err):
		return "make a folder for the settings, go there, and: asusual init " + amongPath(err)
	case is[*ReportThere](err):
		return "put the reports that are there aside, or have [reports] in a copy of " + config.Name + ", given by --config, name another folder"
	case is[*ReportFuller](err):
		return "put the report that is there aside, where one of what is left is wanted all the same"
	case is[*LeftBehind](err):
		return "another file after --history; or, where that history is not wanted any more, put what is left of it aside"
	case is[*HalfRead](err):
		return "all the months anew, into another file after --history; that one is best thrown away"
	case is[*NoLineThere](err):
		return "one of the names that the history has, after --line"
	case is[*NotOver](err):
		return "asusual export --from T --to T > FILE for what there is; --month after that"
	case is[*NotBrought](err):
		var e *NotBrought
		errors.As(err, &e)
		return "asusual watch, which brings them there; or the same with --history " + e.History + ", which has what this computer judged"
	case is[*Watched](err):
		return "asusual prune --dry-run, to see what it will take out; or stop the watch first"
	case errors.Is(err, archive.ErrExists):
		return "another folder, or put the one that is there aside"
	case errors.Is(err, archive.ErrThere):
		return "another file after --history"
	case errors.Is(err, archive.ErrAltered):
		return "a copy that nobody edited, or asusual export --month anew"
	case errors.Is(err, archive.ErrNotArchive):
		return "a folder that asusual export --month wrote, such as archive/2026-11"
	case errors.Is(err, archive.ErrNewer):
		return "a newer asusual"
	case errors.Is(err, history.ErrExists):
		return "another name, or put the file that is there aside"
	}
	return ""
}

// amongPath returns the folder of spectra that an error is about.
func amongPath(err error) string {
	var among *AmongSpectra
	errors.As(err, &among)
	return strconv.Quote(among.Path)
}
