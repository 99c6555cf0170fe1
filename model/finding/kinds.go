package finding

// Kinds that tell why a spectrum lies outside.
const (
	AboveT2 Kind = "above-t2" // values: T², limit
	AboveQ  Kind = "above-q"  // values: Q residual, limit
)

// Kinds that tell why a spectrum cannot be judged.
const (
	NotFinite     Kind = "not-finite"     // values: channel, from 1
	TooLarge      Kind = "too-large"      // values: channel, from 1, its value
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
	StartUp          Kind = "start-up"         // about: the run; values: its first spectra that were left out, minutes until it settled
	StartUpUntimed   Kind = "start-up-untimed" // the same without minutes
	TooFewToSift     Kind = "too-few-to-sift"  // values: spectra, fewest
	TooFewAlike      Kind = "too-few-alike"    // values: spectra that agree with each other, spectra, all of which are kept
	TooFewRunsToSift Kind = "too-few-runs-to-sift"
	ShortRunsToSift  Kind = "short-runs-to-sift" // values: runs, spectra, fewest spectra in a run
	MuchSifted       Kind = "much-sifted"        // values: spectra left out, spectra
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
	FewNotTold   Kind = "few-not-told"  // the same where runs are too few to tell; values: runs, that pause
)

// Kinds that learning gives.
const (
	NotUsed      Kind = "not-used"       // about: why nothing could be made of it
	NotUsedOther Kind = "not-used-other" // several, each for a reason of its own
	KeptAll      Kind = "kept-all"       // nobody looked for spectra that do not belong
	NoReach      Kind = "no-reach"       // about: why the reach could not be measured
	Default      Kind = "default"        // about: why no pretreatment could be chosen by what it lets see
	Overlap      Kind = "overlap"        // about: "A and B"; values: percent of A's spectra within B
)

// Kinds that tell what a departure from usual looks like.
const (
	MovesAs Kind = "moves-as" // about: a fault of an instrument, in words; values: percent of the departure that it explains
)

// Kinds that tell why the instrument is not fit.
const (
	Noisier             Kind = "noisier"                // values: noise in the middle and at the edges of the axis, as multiples of the usual
	FarNoisier          Kind = "far-noisier"            // the same; the noise is at least so much
	Repeating           Kind = "repeating"              // values: spectra in a row that are the same
	LikeAxis            Kind = "like-axis"              // about: unit of the axis; values: shift, stretch end to end, percent of the departure
	LikeLight           Kind = "like-light"             // values: offset and slope end to end in absorbance, percent of the departure, ends less middle
	LikeStretch         Kind = "like-stretch"           // the same as LikeAxis, where the stretch is most of it
	LikeShiftAndStretch Kind = "like-shift-and-stretch" // the same where both count
	LikeSlope           Kind = "like-slope"             // about: none; values as LikeLight, where the slope is most of it
	LikeCurve           Kind = "like-curve"             // the same where what both ends have more than the middle is most of it
	StuckHere           Kind = "stuck-here"             // about: unit of the axis; values: channels, where the first lies
	OutHere             Kind = "out-here"               // about: unit of the axis; values: channels that stand out alone, where the first lies, percent of the latest spectra in which it does
	LikePath            Kind = "like-path"              // values: percent more absorbance, percent of the departure
	MostUnfit           Kind = "most-unfit"             // more than half of the spectra of late could not be judged
)

// Kinds that tell what is odd about a named condition, or between two, or about the pace.
const (
	Overstays    Kind = "overstays"     // about: the condition; values: minutes in it, minutes that it may last
	TooSlow      Kind = "too-slow"      // values: seconds of the last pause, of one that ends a run, between spectra that were learned from
	Untimely     Kind = "untimely"      // about: the condition, and when, where that is told elsewhere than at a spectrum
	InTransition Kind = "in-transition" // about: the condition that was left
)

// Kinds that tell how an absorbance was made of intensities.
const (
	Masked          Kind = "masked"            // about: unit of the axis; values: channels masked, saturated among them, channels, where the first lies
	StaleReference  Kind = "stale-reference"   // values: hours between it and the sample, hours allowed
	StaleDark       Kind = "stale-dark"        // values: hours between it and the sample, hours allowed
	DarkBetween     Kind = "dark-between"      // values: ms wanted, ms of the shorter and of the longer dark
	ExposureNotTold Kind = "exposure-not-told" // about: which of sample, dark and reference do not say it
)

// Kinds that tell what the checks of an instrument found.
const (
	DarkLevel     Kind = "dark-level"     // values: percent moved, limit
	DarkNoise     Kind = "dark-noise"     // values: multiple of the first, limit
	LightLevel    Kind = "light-level"    // about: region; values: percent of the first level, percent moved that is the limit
	LineNoise     Kind = "line-noise"     // about: region; values: absorbance, limit
	LineNoisier   Kind = "line-noisier"   // values: multiple of the first, limit
	SaturatedNow  Kind = "saturated-now"  // values: channels, first of them from 1
	DeadChannels  Kind = "dead-channels"  // values: channels, first of them from 1
	HotChannels   Kind = "hot-channels"   // values: channels, first of them from 1
	StuckChannels Kind = "stuck-channels" // values: channels, first of them from 1
	Unrepeatable  Kind = "unrepeatable"   // values: absorbance, limit, repeats
	BandMoved     Kind = "band-moved"     // about: unit and the way it was found; values: stated, found less stated, tolerance
	BandNotFound  Kind = "band-not-found" // about: why; values: stated
	CannotCheck   Kind = "cannot-check"   // about: why
)

// Kinds that tell what does not fit between a reference and the detector.
const (
	LeansBeyond     Kind = "leans-beyond"      // about: detector and range; values: percent of what the reference looks at
	LeansOnEdges    Kind = "leans-on-edges"    // values: percent of what the reference looks at, percent of the channels
	AxisBeyond      Kind = "axis-beyond"       // about: detector and range; values: channels beyond, channels
	NotItsAxis      Kind = "not-its-axis"      // about: why the axis is not the detector's
	FewChannels     Kind = "few-channels"      // values: channels, wanted
	ExposureTooLong Kind = "exposure-too-long" // values: ms of integration, ms between spectra
	ExposureUnusual Kind = "exposure-unusual"  // values: ms, usual from, usual to
	LeaveOutCO2     Kind = "leave-out-co2"     // about: unit; values: from, to
)

// Kinds that tell how an interferogram was transformed, and how items were gathered.
const (
	ShortSide   Kind = "short-side"   // values: points before the centre, points wanted
	Clipped     Kind = "clipped"      // values: points at the highest or lowest value
	LongItem    Kind = "long-item"    // about: the item; values: spectra
	FewInItem   Kind = "few-in-item"  // about: the item; values: spectra, wanted
	ItemChanged Kind = "item-changed" // about: what changed within the item
	MeanOfItem  Kind = "mean-of-item" // about: the item; values: spectra in the mean, at its edges, seconds that it took
	LateOfItem  Kind = "late-of-item" // about: the item
	OfItems     Kind = "of-items"     // values: items, spectra in them, spectra of the empty belt
)

// Kinds that a report of a period, or a comparison of two, gives.
const (
	OtherPlane      Kind = "other-plane"       // about: the fingerprint of a reference; values: spectra
	OtherReference  Kind = "other-reference"   // about: the period; values: spectra
	RunsNotCompared Kind = "runs-not-compared" // values: good runs, runs wanted
	TakenOut        Kind = "taken-out"         // about: before when
	UnfitThen       Kind = "unfit-then"        // about: the period; values: spectra that were taken while the instrument was unfit
)
