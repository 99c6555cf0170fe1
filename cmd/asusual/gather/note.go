package gather

import "asusual/model/finding"

// A Note is what was found while a spectrum was made ready to be judged.
type Note struct {
	Findings []finding.Finding // what is doubtful about it
	Item     string            // the id of the item that it is of; "" where it has none
	Count    int               // spectra that it is the mean of; 0 or 1 where it stands for itself
}
