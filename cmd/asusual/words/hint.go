package words

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"

	"asusual/cmd/asusual/config"
	"asusual/cmd/asusual/gather"
	"asusual/model"
	"asusual/monitor/history"
	"asusual/monitor/keep"
	"asusual/monitor/mqtt"
	"asusual/report/live"
)

// Stopped is said when somebody stopped a command before it was done. One that leaves something half made has an error of its own.
const Stopped = "stopped before the end; nothing was written half"

// WriteError says an error and what to try: what is known of the error, or else the last resort.
func WriteError(w io.Writer, err error, last string) {
	fmt.Fprintf(w, "asusual: %v\ntry: %s\n", err, cmp.Or(Hint(err), last))
}

// Hint returns what a person may try after the error, and "" where nothing is known.
func Hint(err error) string {
	if hint := cmp.Or(ofReason(err), ofSystem(err)); hint != "" {
		return hint
	}
	text := err.Error()
	for _, h := range byText {
		if strings.Contains(text, h.part) {
			return h.hint
		}
	}
	return ""
}

// ofReason returns the hint after one of the program's own errors.
func ofReason(err error) string {
	var file *config.Error
	if errors.As(err, &file) {
		return fmt.Sprintf("mend that line of %s; `asusual init --print` shows every setting there is", file.File)
	}
	var missing *config.Missing
	if errors.As(err, &missing) {
		return missing.Try
	}
	for _, h := range []func(error) string{ofCommands, ofKeeping, ofModel, ofHistory, ofBroker} {
		if hint := h(err); hint != "" {
			return hint
		}
	}
	return ""
}

// is reports whether the error is, or wraps, one of type E.
func is[E error](err error) bool {
	var e E
	return errors.As(err, &e)
}

func ofCommands(err error) string {
	switch {
	case errors.Is(err, live.ErrToken):
		return "--listen 127.0.0.1:8080 for this computer alone, or --token-file FILE with a token of 16 characters or more"
	case is[*NoToken](err):
		return "write a token into it, such as what `openssl rand -hex 16` prints; or leave the file out, where everybody on this computer may see the page"
	case is[*NotUTF8](err):
		return "save it anew as UTF-8 in an editor; in PowerShell, Set-Content -Encoding utf8 writes it, and > does not"
	case is[*Exists](err):
		return "asusual init OTHERFOLDER, or edit the file that is there"
	case is[*DemoExists](err):
		return "asusual demo --dir OTHERFOLDER"
	case is[*DemoHalf](err):
		return "asusual demo --dir OTHERFOLDER; the half one is best thrown away"
	case is[*TableHalf](err):
		return "the same once more; the part that was written is best thrown away"
	case is[*NoneReadable](err):
		return "the folder that holds the spectra and nothing else; text in two columns, tables with a spectrum a row, and JCAMP-DX can be read, and asusual inspect says of each file what is wrong"
	case is[*NoReference](err):
		return "asusual learn, which writes it"
	case is[*NotGood](err):
		return "asusual judge on the same paths shows more; --trust takes them all the same, where you know that they are good"
	case is[*NotKept](err):
		var e *NotKept
		errors.As(err, &e)
		return "the pretreatment of before, by --pretreat; or its spectra in a folder, named by --condition; or, where it is not needed any more, asusual conditions forget " + e.Names[0]
	case is[*BeingWritten](err):
		return "the same once more"
	case is[*Meanwhile](err):
		return "the same once more, which goes on from what is there now"
	case is[*NotBeside](err):
		return "close what has that file open, such as a spreadsheet, and then the same once more"
	case is[*NotOurs](err):
		return "another name for the reference"
	case is[*Named](err):
		var e *Named
		errors.As(err, &e)
		return "asusual conditions forget " + e.Name + ", and then the new name"
	case is[*NoWatch](err):
		return "asusual watch, which writes it"
	case is[*NoHistory](err):
		return "asusual watch, which writes it; or another --config"
	case is[*NoWatchFolder](err):
		return "make it, or have watch in " + config.Name + " name the folder that the spectrometer writes to"
	case is[*NoSpectraInPeriod](err):
		return "asusual export, to see of which times there are spectra"
	case is[*NoGroup](err):
		return "asusual conditions, which lists the groups"
	case is[*GroupGone](err):
		return "a group that is newer; keep-spectra under [history] in " + config.Name + " says for how long spectra are kept"
	case errors.Is(err, gather.ErrNone):
		return "asusual inspect on the folder that holds the spectra; hidden and temporary files do not count"
	}
	return ""
}

func ofModel(err error) string {
	switch {
	case errors.Is(err, model.ErrTooFew):
		return "asusual inspect on the same folder, to see what is there and what is wrong with it"
	case errors.Is(err, model.ErrNewer):
		return "a newer asusual, or asusual learn"
	case errors.Is(err, model.ErrAltered), errors.Is(err, model.ErrNotReference):
		return "a copy from before, or asusual learn"
	}
	return ""
}

func ofHistory(err error) string {
	switch {
	case errors.Is(err, history.ErrFirstStart):
		return "start the watch once while the server can be reached; from then on it goes on without it, too"
	case errors.Is(err, history.ErrStartAgain):
		return "asusual watch, again"
	case errors.Is(err, history.ErrTwoHistories):
		return "asusual export of both, to see what each has; then move the file away to go on from the server's, or give the line another name"
	case errors.Is(err, history.ErrFarBehind):
		return "a newer copy of the server's history, put back there; or the line taken out there, after which it is carried over anew"
	case errors.Is(err, history.ErrBusy):
		return "end what holds it, such as another program that has the history open for writing, or a backup; then try again"
	case errors.Is(err, history.ErrNoEntry):
		return "user and database in the address under [history] in " + config.Name + ", and the password in PGPASSWORD or the file of PGPASSFILE (.pgpass) of the user who runs this; the server's log says more"
	case errors.Is(err, history.ErrAway):
		return "look whether the server runs and answers this computer, and whether its address under [history] in " + config.Name + " is right"
	case is[*keep.Held](err):
		return "stop the other one first; one history has one watcher"
	case errors.Is(err, history.ErrReadOnly) && strings.Contains(err.Error(), "postgres://"):
		return "asusual doctor, which names the right that is missing at the server"
	case errors.Is(err, history.ErrReadOnly):
		return "ask for the right to write that file and its folder, or have [history] in " + config.Name + " name another"
	case errors.Is(err, history.ErrNewer):
		return "a newer asusual; or the backup of before the update, put back"
	case errors.Is(err, history.ErrNotHistory), errors.Is(err, history.ErrDamaged):
		return "a copy from before, or another file in [history] of " + config.Name
	case errors.Is(err, history.ErrFull):
		return "make room on the disk"
	}
	return ""
}

func ofBroker(err error) string {
	switch {
	case is[*mqtt.Refusal](err):
		return "user and password-file, and the right to these topics, at the broker and under [signal.mqtt] in " + config.Name
	case errors.Is(err, mqtt.ErrMalformed):
		return "a broker that speaks MQTT 5, or its right port, under [signal.mqtt] in " + config.Name
	}
	return ""
}

func ofSystem(err error) string {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "look at the spelling, and at the folder that the command runs in"
	case errors.Is(err, fs.ErrPermission):
		return "ask for the right to read and write there, or run as the user who has it"
	}
	return ""
}

// byText holds the hints after errors of libraries, which have no type of their own.
var byText = []struct{ part, hint string }{
	{"no such configuration file", "asusual init, which writes one; or the path of the one that is there"},
	{"unknown command", "asusual --help"},
	{"unknown flag", "asusual --help, or --help after the command"},
	{"unknown shorthand flag", "asusual --help, or --help after the command; options have two dashes"},
	{"flag needs an argument", "--help after the command"},
	{"invalid argument", "--help after the command"},
}
