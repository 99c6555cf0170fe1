package finding

import "sync"

// Words says each kind in one language: {about} stands for what a finding is about, {0}, {1}, … for its numbers.
type Words map[Kind]string

// English has the words of every kind. Lower case, no full stop: they stand in lists and after colons.
var English = sync.OnceValue(func() Words {
	return Words{
		AboveT2: "inside the pattern of usual variation, but further out than usual (T² {0}, limit {1})",
		AboveQ:  "has a shape that usual spectra do not have (Q residual {0}, limit {1})",

		NotFinite:     "channel {0} holds no number",
		TooLarge:      "channel {0} holds {1}, which no absorbance can be",
		Flat:          "all channels hold the same value, {0}",
		Saturated:     "{0} channels stand at the same highest value, {1}, as a saturated detector writes them",
		OffAxis:       "{about}",
		NotAbsorbance: "{about}",
		NotPretreated: "{about}",

		ApartInPattern:   "lies {0} times as far from the middle of the known-good spectra as they usually do",
		ApartInShape:     "has a shape that the other known-good spectra do not have (residual {0} times the usual one)",
		RunApart:         "the whole run {about} lies apart from the other known-good runs, {0} times as far out as their spectra usually lie",
		StartUp:          "start-up: the run {about} settled only {1} minutes after it began, so its first {0} spectra were left out",
		StartUpUntimed:   "start-up: the run {about} did not begin as it went on, so its first {0} spectra were left out",
		TooFewToSift:     "{0} known-good spectra are too few to tell which of them do not belong; {1} are needed",
		TooFewAlike:      "too few of the known-good spectra are alike, {0} of {1}, to tell which of them do not belong: all were kept. Look whether they are all of good production",
		TooFewRunsToSift: "{0} known-good runs are too few to tell whether a whole run does not belong; {1} are needed",
		ShortRunsToSift:  "{0} known-good runs of {1} spectra in all are too short to tell whether a whole run does not belong; {2} spectra a run are needed. Single spectra were sifted",
		MuchSifted:       "{0} of {1} known-good spectra were left out; where more than a quarter does not belong, the wrong part may have been kept",

		FewRuns:     "{0} known-good runs are few: {1} blocks of time were held out instead of whole runs, and differences between runs are known less well than with {2} runs or more",
		RunsGrouped: "{0} known-good runs were held out in {1} groups",

		Extrapolated:        "{0} hours of good production stand behind the promise, which speaks of one false episode in {1} hours: it reaches beyond what was seen, and rests on how the extremes of the good runs fall off",
		WidenedFew:          "{0} good runs tell little about how much runs differ, so the limits stand wide; with {1} or more they come closer and smaller changes are seen",
		NoTimes:             "the good spectra carry no times: the promise counts one spectrum as {0} seconds, and nothing tells where a run ends",
		FewNotTold:          "{0} good runs are too few to tell the pauses between runs from those within them: while watching, a new run begins after a pause of {1} minutes, and runs that follow each other sooner count as one",
		FewNotTold + single: "one good run does not tell the pauses between runs from those within them: while watching, a new run begins after a pause of {1} minutes, and runs that follow each other sooner count as one",
		RunsNotTold:         "the pauses between good runs are no longer than those within them: while watching, a new run begins after a pause of {0} minutes, and runs that follow each other sooner count as one",

		NotUsed:      "{about}",
		NotUsedOther: "for other reasons, each its own; asusual inspect names them",

		KeptAll: "all spectra were taken for good, as asked: none was looked at for whether it belongs",
		NoReach: "how small a change this reference can see is not known: {about}",
		Default: "no pretreatment could be chosen by what it lets see, so SNV was taken, which is right for most: {about}",
		Overlap: "{about} lie over each other: {0} % of the first lie within the second",

		MovesAs: "moves as {about} would make it ({0} % of the departure): check the instrument first",

		Repeating:           "the last {0} spectra are the same in every channel: the instrument, or what writes its files, gives one again and again",
		FarNoisier:          "the spectra are far noisier than when the reference was learned: at least {0} times in the middle of the axis, at least {1} times at its edges",
		Noisier:             "the spectra are noisier than when the reference was learned: {0} times in the middle of the axis, {1} times at its edges",
		LikeAxis:            "moves as an axis shift of {0} {about} would: check the instrument before the process",
		LikeLight:           "moves as a film on the window or another light would, by {0} absorbance on the whole: check probe and lamp before the process",
		LikeStretch:         "moves as an axis stretched by {1} {about} from end to end would: check the instrument before the process",
		LikeShiftAndStretch: "moves as an axis shift of {0} {about} in the middle and a stretch of {1} {about} from end to end would: check the instrument before the process",
		LikeSlope:           "moves as a film on the window or another light would, by {1} absorbance from end to end: check probe and lamp before the process",
		LikeCurve:           "moves as a film on the window or another light would, by {3} absorbance at both ends against the middle: check probe and lamp before the process",
		StuckHere + single:  "the channel at {1} {about} gives the same value again and again while the others move: look at the detector, or leave it out",
		OutHere + single:    "the channel at {1} {about} stands out alone from those beside it, in {2} % of the latest spectra: look at the detector, or leave it out",
		StuckHere:           "{0} channels give the same value again and again while the others move, the first lies at {1} {about}: look at the detector, or leave it out",
		OutHere:             "{0} channels stand out alone from those beside them, the first, at {1} {about}, in {2} % of the latest spectra: look at the detector, or leave it out",
		LikePath:            "moves as a longer path would, by {0} %: look at the probe as well as at the process",
		MostUnfit:           "more than half of the latest spectra could not be judged",

		Masked + single: "1 of {2} channels, at {3} {about}, was masked and taken from its neighbours; {1} of them saturated, the others without light",
		Masked:          "{0} of {2} channels were masked and taken from their neighbours, {1} of them saturated, the others without light; the first lies at {3} {about}",
		StaleReference:  "the nearest reference spectrum was measured {0} h away, more than {1} h: measure a new one",
		StaleDark:       "the nearest dark spectrum was measured {0} h away, more than {1} h: measure a new one",
		DarkBetween:     "there is no dark spectrum of {0} ms; it was taken from those of {1} and {2} ms, as darkness grows along a straight line with the integration time",
		ExposureNotTold: "{about} does not say its integration time; it was taken for the same as the others'",

		DarkLevel:              "the dark level has moved by {0} % since the first dark spectra, limit {1} %: look at the detector's cooling and at stray light",
		DarkNoise:              "dark spectra are {0} times as noisy as the first ones, limit {1}: look at the detector's cooling",
		LightLevel:             "the reference stands at {0} % of its first level over {about}, limit {1} % away: look at lamp, window and fibre",
		LineNoise:              "the 100 % line is noisy over {about}: {0} absorbance, limit {1}",
		LineNoisier:            "the 100 % line is {0} times as noisy as at first, limit {1}: look at lamp and fibre",
		SaturatedNow:           "{0} channels of the reference are saturated, the first is channel {1}: shorten the integration time",
		SaturatedNow + single:  "channel {1} of the reference is saturated: shorten the integration time",
		DeadChannels + single:  "channel {1} is dead: it gives no light where its neighbours do",
		HotChannels + single:   "channel {1} is hot: it stands far above its neighbours in the dark",
		StuckChannels + single: "channel {1} is stuck: it gives the same value again and again",
		DeadChannels:           "{0} channels are dead, the first is channel {1}: they give no light where their neighbours do",
		HotChannels:            "{0} channels are hot, the first is channel {1}: they stand far above their neighbours in the dark",
		StuckChannels:          "{0} channels are stuck, the first is channel {1}: they give the same value again and again",
		Unrepeatable:           "{2} repeats differ from their mean by {0} absorbance, limit {1}",
		BandMoved:              "the band stated at {0} lies {1} {about} beside it, tolerance {2}",
		BandNotFound:           "the band stated at {0} could not be placed: {about}",
		CannotCheck:            "{about}",

		LeansBeyond:     "{0} % of what this reference looks at lies beyond {about}, where there is little but noise: leave those channels out",
		LeansOnEdges:    "{0} % of what this reference looks at lies on the outer {1} % of the channels, where detectors are noisy: leave the outermost channels out",
		AxisBeyond:      "{0} of {1} channels lie beyond {about}: leave them out, or name the detector that is there",
		NotItsAxis:      "the axis is not the detector's: {about}",
		FewChannels:     "{0} channels are few; with {1} or more, shapes are told apart better",
		ExposureTooLong: "an integration time of {0} ms does not go into {1} ms between spectra",
		ExposureUnusual: "an integration time of {0} ms is unusual; {1} to {2} ms are common practice",
		LeaveOutCO2:     "{0}–{1} {about} is left out: there the air's carbon dioxide absorbs, and changes with who breathes nearby",

		ShortSide:   "{0} points before the centre are few to tell the phase by; {1} are wanted",
		Clipped:     "{0} points of the interferogram stand at its highest or lowest value: the detector may be overloaded",
		LongItem:    "the item {about} did not end after {0} spectra; it was closed there",
		FewInItem:   "the item {about} has {0} spectra after its edges were taken off, {1} are wanted",
		ItemChanged: "the item was closed because {about} changed within it",
		MeanOfItem:  "the mean of {0} spectra of the item {about}; {1} at its edges were left out",
		LateOfItem:  "came after its item {about} was closed: it is not in the item's mean, and is not judged",
		OfItems:     "each spectrum that was learned from is the mean of one item: {0} items of {1} spectra; {2} of the empty belt were left out",

		Overstays:    "lies where {about} lies, but stays: {0} minutes so far, and {about} lasts {1} minutes at most",
		TooSlow:      "spectra come with pauses of {0} s, and a pause of more than {1} s ends a run, so that no run is long enough to tell: the reference was learned from spectra {2} s apart. Learn it from spectra at this pace",
		Untimely:     "{about} outside its times",
		InTransition: "on the way out of {about}",

		TakenOut:                 "what came before {about} was taken out of history, as the settings say: this report lacks it",
		UnfitThen:                "{about}: the instrument was unfit while {0} spectra were taken; they take no part, and what differs may be its own",
		OtherPlane:               "{0} spectra were judged by another reference, fingerprint {about}: the score plot and the map leave them out, and usual in the other pictures is that of the present one",
		RunsNotCompared:          "how much usual runs differ is not known: the reference was learned from {0} good runs, not held against each other; learn it anew from {1} or more",
		RunsNotCompared + single: "how much usual runs differ is not known: the reference was learned from one good run; learn it anew from {1} or more",
		OtherReference:           "{about}: {0} spectra were judged by another reference and are left out",
	}
})
