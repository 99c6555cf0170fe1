package chart

// Words are the texts of the pictures, in one language. In each, {…} stands for what is put in.
type Words struct {
	Usual, Limit, First, Newest, Beyond        string
	Score, ScoreAlone, MapAxis, MapNote        string
	Distance, DistanceNote, NoSpectra, Changed string
	Conditions, Unfit                          string
	UsualBand, Difference, About               string
	SmallestBand, NotSeen, MeanUsual           string
	Components, Carried, LeftOver, Chosen      string
	Share                                      string
	Decimal                                    string
	Weekdays                                   [7]string // from Sunday
}

// English has the texts in English.
var English = Words{
	Usual:        "usual",
	Limit:        "limit",
	First:        "first {time}",
	Newest:       "newest {time}",
	Beyond:       "{n} further out",
	Score:        "score t{i} ({share} % of usual variation)",
	ScoreAlone:   "score t{i}",
	MapAxis:      "map axis {i}",
	MapNote:      "logarithmic away from usual",
	Distance:     "distance from usual",
	DistanceNote: "logarithmic above the limit",
	NoSpectra:    "no spectra",
	Changed:      "changed",
	Conditions:   "condition",
	Unfit:        "unfit",
	UsualBand:    "usual ± 2σ",
	Difference:   "difference from usual",
	About:        "about",
	SmallestBand: "smallest band seen nine times in ten",
	NotSeen:      "not seen",
	MeanUsual:    "mean of usual",
	Components:   "components k",
	Carried:      "share of variation, %",
	LeftOver:     "left over in runs held out, %",
	Chosen:       "chosen: k = {k}",
	Share:        "share of spectra",
	Decimal:      ".",
	Weekdays:     [7]string{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"},
}
