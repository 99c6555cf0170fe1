package finding

// Words says each kind in one language: {about} stands for what a finding is about, {0}, {1}, … for its numbers.
type Words map[Kind]string

// English has the words of every kind. Lower case, no full stop: they stand in lists and after colons.
var English = Words{
	AboveT2: "inside the pattern of usual variation, but further out than usual (T² {0}, limit {1})",
	AboveQ:  "has a shape that usual spectra do not have (Q residual {0}, limit {1})",

	NotFinite:     "channel {0} holds no number",
	Flat:          "all channels hold the same value, {0}",
	Saturated:     "{0} channels stand at the same highest value, {1}, as a saturated detector writes them",
	OffAxis:       "{about}",
	NotAbsorbance: "{about}",
	NotPretreated: "{about}",
}
