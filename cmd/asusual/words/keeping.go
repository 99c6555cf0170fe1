package words

import (
	"errors"

	"asusual/cmd/asusual/config"
	"asusual/monitor"
)

// helpsOfKeeping is the help of the commands that have to do with what is kept: a reference that is signed off, history.
var helpsOfKeeping = map[string]Text{
	"approve": {
		Use:   "--by NAME --note TEXT [--reference FILE]",
		Short: "signs a reference off: a person stands for it",
		Long: `
approve notes in the reference who stands for it, when and on what grounds, and in the history of the line. Its card and
the reports say so. A new version, by learn --extend or conditions name, has to be approved anew. Whether a watch
accepts only approved references stands in the configuration, as approved-only of the line; until a version is approved,
the one before stays in force.

It is a note and no lock: who may write the file may approve. With --log it lists who approved which version.`,
		Example: `
  $ asusual approve --by "A. Miller" --note "four weeks held against the laboratory"
  $ asusual approve --reference line.reference --by "A. Miller" --note "as agreed on Monday"
  $ asusual approve --log`,
	},
}

// ofKeeping returns hints of errors about what is kept.
func ofKeeping(err error) string {
	if errors.Is(err, monitor.ErrNotApproved) {
		return "look at its card, then: asusual approve --by NAME --note TEXT; or take approved-only out of " + config.Name
	}
	return ""
}
