package finding

// Kinds that tell why a spectrum lies outside.
const (
	AboveT2 Kind = "above-t2" // values: T², limit
	AboveQ  Kind = "above-q"  // values: Q residual, limit
)

// Kinds that tell why a spectrum cannot be judged.
const (
	NotFinite     Kind = "not-finite"     // values: channel, from 1
	Flat          Kind = "flat"           // values: the value of every channel
	Saturated     Kind = "saturated"      // values: channels at the top, the value they share
	OffAxis       Kind = "off-axis"       // about: why it does not fit the axis of the reference
	NotAbsorbance Kind = "not-absorbance" // about: why no absorbance could be made of it
	NotPretreated Kind = "not-pretreated" // about: why the pretreatment refused it
)

// Kinds that tell why known-good spectra were left out, and what is doubtful about it.
const (
	ApartInPattern   Kind = "apart-in-pattern" // values: distance from the middle, in usual distances
	ApartInShape     Kind = "apart-in-shape"   // values: residual, in usual residuals
	RunApart         Kind = "run-apart"        // about: the run; values: distance in usual distances, spectra
	TooFewToSift     Kind = "too-few-to-sift"  // values: spectra, fewest
	TooFewRunsToSift Kind = "too-few-runs-to-sift"
	MuchSifted       Kind = "much-sifted" // values: spectra left out, spectra
)

// Kinds that tell how well holding out could be done.
const (
	FewRuns     Kind = "few-runs"     // values: runs, blocks of time held out instead, runs wanted
	RunsGrouped Kind = "runs-grouped" // values: runs, groups
)

// Kinds that tell how far the promise can be trusted.
const (
	Extrapolated Kind = "extrapolated"  // values: hours of good production, hours that the promise speaks of
	WidenedFew   Kind = "widened-few"   // values: runs, runs wanted
	NoTimes      Kind = "no-times"      // values: seconds assumed between spectra
	RunsNotTold  Kind = "runs-not-told" // values: pause in minutes that is taken for the end of a run
)

// Kinds that learning gives.
const (
	KeptAll Kind = "kept-all" // nobody looked for spectra that do not belong
	NoReach Kind = "no-reach" // about: why the reach could not be measured
	Overlap Kind = "overlap"  // about: "A and B"; values: percent of A's spectra within B
)

// Kinds that tell what a departure from usual looks like.
const (
	MovesAs Kind = "moves-as" // about: a fault of an instrument, in words; values: percent of the departure that it explains
)

// Kinds that tell why the instrument is not fit.
const (
	Noisier   Kind = "noisier"    // values: noise in the middle and at the edges of the axis, as multiples of the usual
	LikeAxis  Kind = "like-axis"  // about: unit of the axis; values: shift, stretch end to end, percent of the departure
	LikeLight Kind = "like-light" // values: offset and slope end to end in absorbance, percent of the departure
	LikePath  Kind = "like-path"  // values: percent more absorbance, percent of the departure
	MostUnfit Kind = "most-unfit" // more than half of the spectra of late could not be judged
)

// Kinds that tell why a named condition is no longer taken for one.
const (
	Overstays Kind = "overstays" // about: the condition; values: minutes in it, minutes that it may last
)
