package chart

import (
	"math"
	"strconv"
	"strings"
)

// Words are the texts of the pictures, in one language. In each, {…} stands for what is put in.
type Words struct {
	Usual, Limit, First, Newest, Beyond   string
	Score, ScoreAlone, MapAxis, MapNote   string
	Distance, DistanceNote, NoSpectra     string
	TooLong                               string
	UsualBand, Difference                 string
	SmallestBand, NotSeen, MeanUsual      string
	Components, Carried, LeftOver, Chosen string
	Share                                 string
	Ageing, Unfit, FromMean               string
	Decimal                               string
	Weekdays                              [7]string // from Sunday
	Months                                [12]string
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
	TooLong:      "{name} (too long)",
	UsualBand:    "usual ± 2σ",
	Difference:   "difference from usual",
	SmallestBand: "smallest band seen nine times in ten",
	NotSeen:      "not seen",
	MeanUsual:    "mean of usual",
	Components:   "components k",
	Carried:      "share of variation, %",
	LeftOver:     "left over in runs held out, %",
	Chosen:       "chosen: k = {k}",
	Share:        "share of spectra",
	Ageing:       "ageing above",
	Unfit:        "unfit above",
	FromMean:     "difference from the mean of the repeats",
	Decimal:      ".",
	Weekdays:     [7]string{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"},
	Months:       [12]string{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"},
}

// ScoreLabel says what stands on the axis of score i (from 1), which carries a share of usual variation; a share that is
// not above zero is left out.
func (w *Words) ScoreLabel(i int, share float64) string {
	text := w.ScoreAlone
	if share > 0 && finite(share) {
		text = w.Score
	}
	number := strings.NewReplacer("0", "₀", "1", "₁", "2", "₂", "3", "₃", "4", "₄", "5", "₅", "6", "₆", "7", "₇", "8", "₈", "9", "₉").Replace(strconv.Itoa(i))
	return strings.NewReplacer("{i}", number, "{share}", strconv.FormatFloat(math.Round(100*share), 'f', 0, 64)).Replace(text)
}

// MapLabel says what stands on axis i (from 1) of the map of conditions.
func (w *Words) MapLabel(i int) string {
	return strings.Replace(w.MapAxis, "{i}", strconv.Itoa(i), 1)
}
